"""What a learner is told of a connective and of the two parts that it joins."""

from __future__ import annotations

import re
from functools import cache
from typing import cast

from rwtools.clue import Span
from rwtools.resources import load_json, shared
from rwtools.text import Text

__all__ = ["told"]

_QUOTE_WORDS = 12  # longer quotes are shortened in the middle
# the first sentence of a wording, up to the part that it quotes
_FIRST = re.compile(r"[.:] ")
_OPENING = re.compile(r'(?<!\S)"')
_INNER = str.maketrans("“”", "‘’")


def told(
    text: Text,
    rule: str,
    use: tuple[str, str, str | None],
    places: tuple[Span, Span | None],
    parts: tuple[Span | None, Span | None],
) -> str:
    """The explanation of a connective.

    ``use`` is its form, its relation and the direction, ``places`` are the connective and the
    second half of a pair, ``parts`` what it joins. The most special wording is taken: for this
    form, then for this direction, then for the relation. Each wording is a sentence whatever the
    quoted words are: a statement, a command, a question, a fragment. Where a part is missing, the
    words that would name both are left out, and the learner is told so.
    """
    form, label, direction = use
    words = _words(rule)
    templates = words["explanation"]
    key = f"{label}-{direction}" if direction else label
    template = (
        templates.get(f"{form}: {key}")
        or templates.get(f"{form}: {label}")
        or templates.get(key)
        or templates.get(label)
    )
    if template is None:
        template = next(t for key, t in templates.items() if key.split("-")[0] == label)
    cue = f"“{_plain(text, places[0])}”"
    if places[1] is not None:
        cue = f"{cue[:-1]} … {_plain(text, places[1])}”"
    arg1, arg2 = ("" if part is None else _quoted(text, part) for part in parts)
    if not arg1 or not arg2:
        what = "both" if not arg1 and not arg2 else "arg2" if arg1 else "arg1"
        template = f"{_FIRST.split(template)[0]}. {words['missing'][what]}"
    return template.format(cue=cue, arg1=arg1, arg2=arg2)


@cache
def _words(rule: str) -> dict[str, dict[str, str]]:
    return cast("dict[str, dict[str, str]]", load_json(shared("rules", f"{rule}.json")))


def _plain(text: Text, span: Span) -> str:
    return text.quote(span.start, span.end)


def _quoted(text: Text, span: Span) -> str:
    """The words of a span in quotation marks, shortened in the middle if they are many. Quotation
    marks in it become single ones."""
    inner = _OPENING.sub("‘", text.quote(span.start, span.end).translate(_INNER))
    words = inner.replace('"', "’").split()
    if len(words) > _QUOTE_WORDS:
        words = [*words[: _QUOTE_WORDS - 4], "…", *words[-3:]]
    return f"“{' '.join(words)}”"

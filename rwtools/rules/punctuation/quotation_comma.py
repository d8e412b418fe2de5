"""A comma parts the words that name a speaker from the speaker's own words."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.clue import Fix, Span
from rwtools.rules.model import Finding, Rule
from rwtools.rules.phrases import clear, cut_mark, quotations, short
from rwtools.text import Text, Token

__all__ = ["RULE", "find"]

_SAY = frozenset(
    "say ask reply answer cry shout whisper exclaim declare remark murmur add announce mutter "
    "yell respond".split()
)
_OPEN, _CLOSE = '"“«', '"”»'


def find(text: Text) -> list[Finding]:
    """Fault span: zero width before the quotation, its closing mark, or the comma too many.
    Fix: the comma put in or taken away. Sound: the comma between speaker and words."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    for quoted in quotations(text):
        words = text.passage[quoted.start + 1 : quoted.end - 1].split()
        if len(words) < 3 or not words[0][:1].isupper():
            continue  # a term, a title or a part of a sentence
        yield from _before(text, quoted)
        yield from _after(text, quoted)


def _says(token: Token) -> bool:
    return token.lemma in _SAY and token.tag in ("VBD", "VBZ", "VBP")


def _brings_in(token: Token) -> bool:
    """Whether a verb of saying (no bare *to say*, which may only mention words) comes here."""
    return token.lemma in _SAY and token.tag in ("VBD", "VBZ", "VBP", "VBG", "VBN")


def _before(text: Text, quoted: Span) -> Iterator[Finding]:
    left = text.token_at(quoted.start - 1) if quoted.start else None
    if left is None or left.end > quoted.start or text.passage[left.end : quoted.start] != " ":
        return
    own = _own_words(text, quoted)
    if _brings_in(left) and own:
        yield _finding(
            text, Span(left.end, left.end), "fault", left, quoted, Fix(left.end, left.end, ",")
        )
    elif left.text == "," and left.i > 1:
        before = text.tokens[left.i - 1]
        if before.lower == "that" and _says(text.tokens[left.i - 2]):
            mark = Span(left.start, left.end)
            yield _finding(text, mark, "fault-that", before, quoted, cut_mark(text, left.i))
        elif _brings_in(before):
            yield _finding(text, Span(left.start, left.end), "sound", before, quoted, None)


def _own_words(text: Text, quoted: Span) -> bool:
    """Whether the quotation is a sentence, not a title: it has a finite verb."""
    return any(
        t.tag in ("VBD", "VBZ", "VBP", "MD", "VB") for t in text.tokens_in(quoted.start, quoted.end)
    )


def _after(text: Text, quoted: Span) -> Iterator[Finding]:
    close = quoted.end - 1
    if not text.passage[close - 1].isalnum() or text.passage[quoted.end : quoted.end + 1] != " ":
        return
    following = text.tokens_in(quoted.end, quoted.end + 40)[:3]
    if len(following) < 2 or not _own_words(text, quoted):
        return
    who, verb = following[0], following[1]
    named = (who.pos in ("PRON", "PROPN") and _says(verb)) or (_says(who) and verb.pos == "PROPN")
    if not named or who.lower in ("which", "that", "who"):
        return
    speaker = verb if _says(verb) else who
    before = text.passage[: quoted.start].rstrip()
    if before and before[-1] not in ".?!,:" and not before.endswith("\n"):
        return  # the quotation is part of a longer sentence
    yield _finding(
        text, Span(close, quoted.end), "fault-after", speaker, quoted, Fix(close, close, ",")
    )


def _finding(
    text: Text, place: Span, variant: str, cue: Token, quoted: Span, fix: Fix | None
) -> Finding:
    return Finding(
        place.start,
        place.end,
        "sound" if variant == "sound" else "fault",
        0.9,
        {"cue": cue.text, "words": short(text, quoted.start + 1, quoted.end - 1).rstrip(".,!?")},
        (text.evidence(text.span(cue.i, cue.i), "cue"), text.evidence(quoted, "clause")),
        () if fix is None else (fix,),
        variant,
    )


RULE = Rule("quotation-comma", find)

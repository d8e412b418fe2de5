"""A dash between a term and its meaning, or between a statement and what it means."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.vocabulary.beside_mark import after_mark
from rwtools.vocabulary.model import Gloss
from rwtools.vocabulary.phrases import DASHES, closing
from rwtools.vocabulary.view import View


def find(view: View) -> Iterator[Gloss]:
    """What follows a dash, up to its pair or the sentence's end, explains what stands before it."""
    text, tokens = view.text, view.text.tokens
    second = -1
    for at in view.at(*DASHES):
        if at == second or at < 1 or at + 1 >= len(tokens):
            continue
        if tokens[at + 1].sent != tokens[at].sent or not _is_dash(view, at):
            continue
        end = closing(text, at + 1, frozenset({tokens[at].text, ";"}))
        if end < len(tokens) and tokens[end].text == tokens[at].text:
            second = end
        yield from after_mark(view, at, end)


def _is_dash(view: View, at: int) -> bool:
    """A short dash is one only between spaces; between figures or names it joins."""
    before, mark, after = view.text.tokens[at - 1 : at + 2]
    if mark.text != "\u2013":
        return True
    return before.end < mark.start and mark.end < after.start

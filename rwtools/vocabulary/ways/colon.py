"""A colon between a term and its meaning, or between a statement and what it means."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.vocabulary.beside_mark import after_mark
from rwtools.vocabulary.model import Gloss
from rwtools.vocabulary.phrases import closing
from rwtools.vocabulary.view import View

_STOPS = frozenset({";"})


def find(view: View) -> Iterator[Gloss]:
    """What follows a colon explains the word before it, or the statement before it."""
    text = view.text
    for at in view.at(":"):
        if at + 1 < len(text.tokens) and text.tokens[at + 1].sent == text.tokens[at].sent:
            yield from after_mark(view, at, closing(text, at + 1, _STOPS))

"""A semicolon between two statements, the second of which spells out the first."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.vocabulary.beside_mark import spelt_out
from rwtools.vocabulary.model import Gloss
from rwtools.vocabulary.phrases import closing, is_clause
from rwtools.vocabulary.view import View

_TURNS = frozenset(
    "however but yet instead rather conversely still nevertheless nonetheless otherwise although "
    "though whereas while".split()
)


def find(view: View) -> Iterator[Gloss]:
    """The statement after a semicolon, for a word of the one before: only where asked."""
    if not view.asked:
        return
    text, tokens = view.text, view.text.tokens
    for at in view.at(";"):
        end = closing(text, at + 1, frozenset({";"}))
        if end <= at + 1 or tokens[at + 1].sent != tokens[at].sent:
            continue
        if tokens[at + 1].lower not in _TURNS and is_clause(text, at + 1, end - 1):
            yield from spelt_out(view, at, at + 1, end - 1)

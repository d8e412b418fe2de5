"""A semicolon between two statements, the second of which spells out the first."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.text import Text
from rwtools.vocabulary.beside_mark import spelt_out
from rwtools.vocabulary.by_words import PERSONS, after_be, announces, turn
from rwtools.vocabulary.model import Gloss
from rwtools.vocabulary.phrases import closing, is_clause
from rwtools.vocabulary.view import View

_TURNS = frozenset(
    "however but yet instead rather conversely still nevertheless nonetheless otherwise although "
    "though whereas while".split()
)


def find(view: View) -> Iterator[Gloss]:
    """The statement after a semicolon spells out a word of the one before."""
    text, tokens = view.text, view.text.tokens
    for at in view.at(";"):
        end = closing(text, at + 1, frozenset({";"}))
        if end <= at + 1 or tokens[at + 1].sent != tokens[at].sent or announces(text, at + 1):
            continue
        if turn(text, at + 1, end) is not None:
            continue
        if tokens[at + 1].lower not in _TURNS and is_clause(text, at + 1, end - 1):
            if not view.asked and not _spells_out(text, at, end):
                continue
            yield from spelt_out(view, at, at + 1, end - 1)


def _spells_out(text: Text, at: int, end: int) -> bool:
    """Whether a pronoun takes up the subject again after a statement that ends in a quality, or in
    a person of a quality."""
    tokens = text.tokens
    last = tokens[at - 1]
    of_person = last.lemma in PERSONS and tokens[at - 2].pos == "ADJ"  # a laconic man;
    if not of_person and (not after_be(text, last.i) or last.tag in ("VBN", "VBG", "VBD")):
        return False
    turns = any(t.lower in _TURNS for t in tokens[at + 1 : end])
    return not turns and tokens[at + 1].lower in ("he", "she", "it", "they")

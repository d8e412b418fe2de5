"""Two describing words joined by *and*: "a mean and miserly man"."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.text import Text, Token
from rwtools.vocabulary.model import Gloss
from rwtools.vocabulary.view import View

_CLASSES = ("ADJ", "ADV", "VERB")


def find(view: View) -> Iterator[Gloss]:
    """The partner of a word in a pair: both say something of one thing; only where asked."""
    if not view.asked:
        return
    text, tokens = view.text, view.text.tokens
    for at in view.at("and"):
        if not 0 < at < len(tokens) - 1:
            continue
        left, right = _partners(text, at)
        if left is None or right is None:
            continue
        for word, partner in ((left, right), (right, left)):
            if view.wants(word.i, word.i) and partner.pos in _CLASSES and not partner.is_blank:
                yield Gloss(
                    text.span(word.i, word.i),
                    text.span(partner.i, partner.i),
                    "synonym",
                    "pair",
                    cue=text.span(at, at),
                    loose=True,
                )


def _partners(text: Text, at: int) -> tuple[Token | None, Token | None]:
    """The two words that *and* joins, side by side, of one class (a blank has any)."""
    left, right = text.tokens[at - 1], text.tokens[at + 1]
    if right.pos == "ADV" and at + 2 < len(text.tokens) and text.tokens[at + 2].pos == "ADJ":
        right = text.tokens[at + 2]  # "rude and openly hostile"
    alike = left.pos == right.pos and left.pos in ("ADJ", "ADV")
    blank = left.is_blank != right.is_blank and {left.pos, right.pos} & {"ADJ", "ADV"}
    return (left, right) if alike or blank else (None, None)

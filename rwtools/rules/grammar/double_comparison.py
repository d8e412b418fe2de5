"""One sign of comparison: *taller* or *more careful*, not *more taller*."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.clue import Fix
from rwtools.rules.model import Finding, Rule
from rwtools.rules.phrases import clear
from rwtools.text import Text, Token

__all__ = ["RULE", "find"]

_FORMS = {"more": frozenset({"JJR", "RBR"}), "most": frozenset({"JJS", "RBS"})}
# No comparison, or none any more.
_PLACES = frozenset(
    "inner outer upper lower latter former other elder lesser later further".split()
)
_OPEN = frozenset({"the", "a", "an", "is", "are", "was", "were", "be", "been", "much", "even"})
_IRREGULAR = frozenset({"better", "worse", "best", "worst"})


def find(text: Text) -> list[Finding]:
    """Fault span: *more* or *most* before a word that compares already. Fix: without it."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    for token in text.tokens:
        tags = _FORMS.get(token.lower)
        if tags is None or token.i + 2 >= text.sentences[token.sent].last:
            continue
        word = text.tokens[token.i + 1]
        if word.tag not in tags or not word.text.islower() or not _is_form(word, token.lower):
            continue
        if text.passage[word.end : word.end + 1] in ("-", "‑") or not _modifies(text, token, word):
            continue
        yield Finding(
            token.start,
            word.end,
            "fault",
            0.9,
            {"word": text.quote(token.start, word.end), "form": word.text, "more": token.text},
            (text.evidence(text.span(word.i, word.i), "cue"),),
            (Fix(token.start, word.start, ""),),
        )


def _is_form(word: Token, more: str) -> bool:
    if word.lower in _PLACES or word.lower in ("more", "most", "less", "least", "fewer"):
        return False
    return word.lower in _IRREGULAR or word.lower.endswith("er" if more == "more" else "est")


def _modifies(text: Text, token: Token, word: Token) -> bool:
    """Whether *more* goes with the form, not with a noun behind it (*two more older houses*): no
    noun follows, or an article or form of *be* stands before."""
    after = text.tokens[word.i + 1]
    if after.lower == "than" or after.is_punct:
        return True
    before = text.tokens[token.i - 1].lower if token.i else ""
    if before in ("a", "an"):
        return True
    noun = after.pos in ("NOUN", "PROPN", "ADJ", "VERB") or after.tag == "CC"
    if before == "the":
        return token.lower == "most" or after.tag == "NN"
    return before in _OPEN and not noun


RULE = Rule("double-comparison", find)

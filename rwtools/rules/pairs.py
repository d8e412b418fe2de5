"""Balanced halves that common practice joins with a comma: *the more ..., the less ...*; *it was
not X, it was Y*; *no X did this, no Y did that*."""

from __future__ import annotations

from collections.abc import Sequence

from rwtools.rules.places import FINITE
from rwtools.text import Text, Token

__all__ = ["is_balanced"]

_GRADED = frozenset({"JJR", "RBR"})
_OPENS_SUBJECT = frozenset({"DT", "PRP", "PRP$", "EX"})
_NOT = frozenset({"not", "n't", "n’t"})
_LONGEST = 9
_KINDS = {
    "NOUN": "noun", "PROPN": "noun", "PRON": "noun", "ADJ": "quality", "VERB": "quality",
    "ADP": "phrase",
}  # fmt: skip


def is_balanced(text: Text, left: Sequence[Token], right: Sequence[Token]) -> bool:
    """Whether the words on both sides of a comma are the halves of such a pair."""
    return _by_degrees(left, right) or _denied_and_said(text, left, right) or _both_no(left, right)


def _by_degrees(left: Sequence[Token], right: Sequence[Token]) -> bool:
    """``The faster the wheel turns, the finer the thread is.``"""
    if right[0].lower == "the" and any(t.tag in _GRADED for t in right[1:3]):
        return any(t.tag in _GRADED for t in left)
    return _opens_degree(left) and _opens_degree(right)


def _opens_degree(words: Sequence[Token]) -> bool:
    """Whether *the* and a word in *-er* stand before a subject (the tagger may take it for a noun):
    *the finer | the thread*, not *the farmer | listened*."""
    if len(words) < 3 or words[0].lower != "the":
        return False
    graded = words[1].tag in _GRADED or words[1].lower.endswith("er")
    return graded and words[2].tag in _OPENS_SUBJECT


def _denied_and_said(text: Text, left: Sequence[Token], right: Sequence[Token]) -> bool:
    """``It was not the money, it was the principle``: one pronoun, *be* with and without *not*, and
    complements of one kind."""
    if max(len(left), len(right)) > _LONGEST or min(len(left), len(right)) < 3:
        return False
    same = left[0].tag in ("PRP", "DT") and left[0].lower == right[0].lower
    if not same or not all(
        side[1].lemma == "be" and side[1].tag in FINITE for side in (left, right)
    ):
        return False
    if left[1].tag != right[1].tag or left[2].lower not in _NOT or _NOT & {t.lower for t in right}:
        return False
    if sum(t.tag in FINITE for t in left) + sum(t.tag in FINITE for t in right) > 2:
        return False
    kind = _complement(text, left)
    return bool(kind) and kind == _complement(text, right)


def _complement(text: Text, words: Sequence[Token]) -> str:
    """What completes *be*: a noun, a quality, or a phrase; empty where none is seen."""
    be = words[1]
    top = text.tokens[be.head] if be.dep in ("aux", "auxpass") else None
    if top is not None and top.i > be.i:
        return "quality" if top.pos in ("ADJ", "VERB") else ""
    found = text.child(be.i, "attr", "acomp") or text.child(be.i, "prep")
    return _KINDS.get(found.pos, "") if found is not None and found.i > be.i else ""


def _both_no(left: Sequence[Token], right: Sequence[Token]) -> bool:
    """``No lamp burned there, no dog barked.``"""
    short = max(len(left), len(right)) <= _LONGEST
    return short and left[0].lower == "no" and right[0].lower == "no"

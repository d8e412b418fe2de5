"""Words before a blank that turn its meaning round: "is anything but ____"."""

from __future__ import annotations

import re

from rwtools.clue import Span

__all__ = ["left_out", "turning_words"]

_TURNS = re.compile(
    r"(?:\b(?:anything but|far from|by no means|in no way|no longer|not at all|not|never|hardly"
    r"|scarcely|barely)|\w+n['’]t)\b",
    re.IGNORECASE,
)
"""Negators and near-negators (Quirk, Greenbaum, Leech and Svartvik 1985, "A Comprehensive Grammar
of the English Language", 10.54-10.60, from memory) that can be left out and leave a sentence."""

_STEMS = {"ca": "can", "wo": "will", "sha": "shall", "ai": "is"}
_NEAR = re.compile(r"(?:\s+[^\s.,;:?!—()]+){0,4}\s*$")
_JOINT = re.compile(r"\b(?:only|but|that|which|who|because|if|when)\b", re.IGNORECASE)


def turning_words(passage: str, blank: tuple[int, int]) -> Span | None:
    """The nearest word or phrase that turns the meaning of a blank, at most four words before it
    in the same part of the sentence; None if there is none."""
    before = passage[: blank[0]]
    for match in reversed(list(_TURNS.finditer(before))):
        between = before[match.end() :]
        if not _NEAR.fullmatch(between):
            return None
        if not _JOINT.search(between):
            return Span(match.start(), match.end())
    return None


def left_out(passage: str, words: Span, until: int) -> str:
    """The passage up to ``until`` without the turning words; of *didn't* the *did* stays."""
    said = words.of(passage)
    stem = said[:-3] if said.lower().endswith(("n't", "n’t")) else ""
    begun = passage[: words.start] + _STEMS.get(stem.lower(), stem)
    return begun.rstrip() + passage[words.end : until]

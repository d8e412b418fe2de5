"""Vocabulary items: which meaning the rest of the passage shows."""

from __future__ import annotations

from rwtools.clue import Clue
from rwtools.items.case import Case
from rwtools.items.cues import stem
from rwtools.vocabulary import signals

__all__ = ["content_stems", "features", "meaning_clues"]

_SMALL = frozenset("a an the of to in on at for with and or by as be is that".split())


def content_stems(words: str) -> set[str]:
    """Stems of the words that carry meaning."""
    return {
        stem(word)
        for word in (w.strip(".,;:!?\"'“”‘’()").lower() for w in words.split())
        if word and word not in _SMALL
    }


def meaning_clues(case: Case) -> list[Clue]:
    """What the passage says about the meaning at the gap."""
    return signals(case.open, *case.gap)


def gloss_match(case: Case) -> list[float]:
    """For each choice: words shared with a gloss, less words shared with its opposite."""
    scores = [0.0] * len(case.choices)
    own = [content_stems(choice) for choice in case.item.choices]
    for clue in meaning_clues(case):
        for evidence in clue.evidence:
            if evidence.role != "gloss":
                continue
            gloss = content_stems(evidence.quote)
            for n, words in enumerate(own):
                shared = len(words & gloss) / max(len(words), 1)
                scores[n] += -shared if clue.label == "contrast" else shared
    return scores


def features(case: Case) -> dict[str, list[float]]:
    """The named numbers that the choices are weighed by, one per choice."""
    found = {
        "judge": list(case.readings["full"].total),
        "judge anywhere": list(case.readings["bare"].total),
        "gloss": gloss_match(case),
    }
    for name in ("means", "that is", "that is anywhere"):
        if name in case.readings:
            found[f"judge {name}"] = list(case.readings[name].total)
    return found

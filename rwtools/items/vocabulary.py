"""Vocabulary items: which meaning the rest of the passage shows."""

from __future__ import annotations

import math

from rwtools.clue import Clue
from rwtools.items.case import Case
from rwtools.items.lexicon import expanded, likeness, senses
from rwtools.vocabulary import signals, zipf

__all__ = ["features", "gloss_likeness", "judged", "meaning_clues", "sense_fit"]

_MANY_SENSES = 3
_RARE = 2.5


def meaning_clues(case: Case) -> list[Clue]:
    """What the passage says about the meaning at the gap."""
    return signals(case.open, *case.gap)


def gloss_likeness(clue: Clue, choice: str) -> float:
    """How near a choice is to the words that a clue points at, 0..1; opposites count below 0."""
    near = max(
        (likeness(expanded(choice), expanded(e.quote)) for e in clue.evidence if e.role == "gloss"),
        default=0.0,
    )
    return -near if clue.label == "contrast" else near


def gloss_match(case: Case) -> list[float]:
    """For each choice what the passage's own clues say for it, the surest clues most."""
    clues = meaning_clues(case)
    return [sum(c.confidence * gloss_likeness(c, own) for c in clues) for own in case.item.choices]


def _commonness(choice: str) -> float:
    """Zipf value of the last word: a language model takes common words too gladly."""
    return max(zipf(choice.lower().split()[-1]), _RARE) if choice.split() else _RARE


def sense_fit(target: str, choice: str, *, first_only: bool = False) -> float:
    """How near a choice is to the nearest sense that the target can have, 0..1."""
    own = expanded(choice)
    return max(
        (
            likeness(own, bag)
            for place, bag in senses(target)
            if place == 0 or not first_only
        ),
        default=0.0,
    )  # fmt: skip


def _gains_unturned(case: Case) -> list[float]:
    """How much likelier (natural log) each choice is without the words that turn the blank round:
    networks read past a *not*, and what would fit without it is the choice that tempts."""
    if case.turning is None:
        return [0.0] * len(case.item.choices)
    chances = zip(case.unturned.chances, case.weighed.chances, strict=True)
    return [without - with_ for without, with_ in chances]


def judged(case: Case) -> dict[str, list[float]]:
    """What the judge says of each choice."""
    found = {"judge": list(case.readings["full"].total), "judge anywhere": list(case.near.total)}
    if case.item.blank is None:
        found |= {f"judge {n}": list(case.readings[n].total) for n in ("means", "definition")}
    return found


def features(case: Case) -> dict[str, list[float]]:
    """The named numbers that the choices are weighed by, one per choice, but for the judge's."""
    found = {"reader": list(case.weighed.chances)}
    target, choices = case.item.target, case.item.choices
    if case.item.blank is not None or target is None:
        found["reader unturned"] = _gains_unturned(case)
        found["gloss"] = gloss_match(case)
        found["common word"] = [_commonness(choice) for choice in choices]
        return found
    found["reader in place"] = list(case.in_place.chances)
    found["sense"] = [math.sqrt(sense_fit(target, choice)) for choice in choices]
    # A word of many senses is asked about because its commonest one is wrong here.
    several = len(senses(target)) > _MANY_SENSES
    found["commonest sense"] = [
        sense_fit(target, choice, first_only=True) if several else 0.0 for choice in choices
    ]
    return found

"""Which solver an item goes to."""

from __future__ import annotations

from types import ModuleType

from rwtools.items import grammar, punctuation, transition, vocabulary
from rwtools.items.case import CORE, Case
from rwtools.items.model import Item
from rwtools.items.placing import gap_of

__all__ = ["GROUPS", "features_of", "group_of", "is_covered", "judged_of"]

GROUPS = ("transition", "punctuation", "grammar", "vocabulary", "vocabulary-target")

_SKILLS: dict[str, ModuleType] = {
    "transition": transition,
    "punctuation": punctuation,
    "grammar": grammar,
    "vocabulary": vocabulary,
}


def is_covered(item: Item) -> bool:
    """Whether the item is of a core skill and has a place for its choices."""
    return item.skill in CORE and gap_of(item) is not None


def group_of(item: Item) -> str:
    """The weights that an item is weighed by: its skill, and a target apart from a blank."""
    asks_target = item.skill == "vocabulary" and item.blank is None
    return "vocabulary-target" if asks_target else item.skill


def features_of(case: Case) -> dict[str, list[float]]:
    """The features of an item, by its skill, but for the judge's."""
    found: dict[str, list[float]] = _SKILLS[case.item.skill].features(case)
    return found


def judged_of(case: Case) -> dict[str, list[float]]:
    """What the judge says of an item's choices, as features."""
    found: dict[str, list[float]] = _SKILLS[case.item.skill].judged(case)
    return found

"""A draft: a place of a passage, the author's own wording as the key, and wrong options for it."""

from __future__ import annotations

from dataclasses import dataclass

from rwtools.clue import Span
from rwtools.items.model import Skill

__all__ = ["WITHOUT_RULE", "Draft", "Option"]

WITHOUT_RULE = frozenset(
    {
        "colon-without-explanation",
        "missing-mark-before-list",
        "question-mark",
        "tense",
        "comparison",
    }
)
"""Faults of wrong choices that no rule of ``shared/rules.json`` looks for in a passage."""


@dataclass(frozen=True, slots=True)
class Option:
    """A wrong choice. ``fault`` is the id of the rule that it breaks (or one of `WITHOUT_RULE`); in
    transitions it is the relation that the choice would show. An item has no two options of the
    same ``group``. ``why`` is a plain sentence."""

    text: str
    fault: str
    why: str = ""
    group: str = ""


@dataclass(frozen=True, slots=True)
class Draft:
    """What an item will ask.

    ``place`` is the stretch of the passage that becomes the blank (or, with ``target``, the word
    asked about); ``point`` names what the item practises inside its skill; ``options`` are wrong
    choices, best first, at least three of different groups; ``evidence`` are the deciding words,
    with their roles; ``hardness`` runs from 1 (easy) to 4 (hard). ``names_faults``: the rationale
    goes on with what is wrong with the choices that are taken.
    """

    skill: Skill
    point: str
    place: Span
    key: str
    options: tuple[Option, ...]
    question: str
    rationale: str
    evidence: tuple[tuple[Span, str], ...]
    hardness: int
    target: bool = False
    names_faults: bool = False

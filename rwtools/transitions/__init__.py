"""Transitions: which connecting words a passage uses, what they join, and by which relation."""

from rwtools.transitions.find import RULES, find
from rwtools.transitions.lexicon import (
    Connective,
    Relation,
    Use,
    connectives,
    relation_of,
    relations,
)

__all__ = [
    "RULES",
    "Connective",
    "Relation",
    "Use",
    "connectives",
    "find",
    "relation_of",
    "relations",
]

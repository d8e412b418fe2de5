"""All rules, in one visible tuple. To add one: write its module and words, and name it here."""

from __future__ import annotations

from rwtools.clue import Clue, in_order
from rwtools.rules.model import Rule, to_clue
from rwtools.rules.punctuation import colon_after_incomplete_clause
from rwtools.text import Text

__all__ = ["RULES", "check"]

RULES: tuple[Rule, ...] = (colon_after_incomplete_clause.RULE,)


def check(text: Text) -> list[Clue]:
    """Every place where a rule of punctuation or grammar holds or is broken, in reading order."""
    return in_order(to_clue(rule.id, text, found) for rule in RULES for found in rule.find(text))

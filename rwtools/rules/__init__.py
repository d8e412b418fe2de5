"""Punctuation and grammar, right or wrong, by rule: one rule, one file."""

from rwtools.rules.boundaries import survey
from rwtools.rules.model import Finding, Rule, wording
from rwtools.rules.registry import RULES, check

__all__ = ["RULES", "Finding", "Rule", "check", "survey", "wording"]

"""All rules, in one visible tuple. To add one: write its module and words, and name it here."""

from __future__ import annotations

from rwtools.clue import Clue, in_order
from rwtools.rules.grammar import (
    dangling_modifier,
    parallel_structure,
    pronoun_agreement,
    subject_verb_agreement,
    verb_form,
    word_confusion,
)
from rwtools.rules.model import Rule, to_clue
from rwtools.rules.punctuation import (
    apostrophe_contraction,
    apostrophe_possessive,
    colon_after_incomplete_clause,
    comma_after_conjunction,
    comma_before_restrictive_that,
    comma_between_subject_and_verb,
    its_and_it_is,
    quotation_comma,
    semicolon_in_list,
    series_comma,
    unpaired_interruption,
)
from rwtools.text import Text

__all__ = ["RULES", "check"]

RULES: tuple[Rule, ...] = (
    colon_after_incomplete_clause.RULE,
    comma_between_subject_and_verb.RULE,
    comma_before_restrictive_that.RULE,
    comma_after_conjunction.RULE,
    its_and_it_is.RULE,
    unpaired_interruption.RULE,
    apostrophe_possessive.RULE,
    apostrophe_contraction.RULE,
    subject_verb_agreement.RULE,
    verb_form.RULE,
    word_confusion.RULE,
    pronoun_agreement.RULE,
    dangling_modifier.RULE,
    parallel_structure.RULE,
    quotation_comma.RULE,
    series_comma.RULE,
    semicolon_in_list.RULE,
)


def check(text: Text) -> list[Clue]:
    """Every place where a rule of punctuation or grammar holds or is broken, in reading order."""
    return in_order(to_clue(rule.id, text, found) for rule in RULES for found in rule.find(text))

"""All rules, in one visible tuple. To add one: write its module and words, and name it here."""

from __future__ import annotations

from rwtools.clue import Clue, in_order
from rwtools.rules.grammar import (
    a_or_an,
    dangling_modifier,
    double_comparison,
    double_conjunction,
    double_negative,
    noun_number,
    parallel_structure,
    pronoun_agreement,
    subject_verb_agreement,
    tense_shift,
    verb_form,
    who_and_whom,
    word_confusion,
)
from rwtools.rules.model import Rule, to_clue
from rwtools.rules.punctuation import (
    adverb_as_conjunction,
    apostrophe_contraction,
    apostrophe_possessive,
    colon_after_incomplete_clause,
    comma_after_conjunction,
    comma_before_restrictive_that,
    comma_before_second_verb,
    comma_between_subject_and_verb,
    comma_splice,
    fused_sentence,
    its_and_it_is,
    missing_comma_after_introduction,
    missing_comma_before_conjunction,
    quotation_comma,
    semicolon_in_list,
    semicolon_unequal_parts,
    sentence_fragment,
    series_comma,
    unpaired_interruption,
)
from rwtools.text import LONG, Text

__all__ = ["RULES", "check"]

RULES: tuple[Rule, ...] = (
    comma_splice.RULE,
    fused_sentence.RULE,
    adverb_as_conjunction.RULE,
    sentence_fragment.RULE,
    semicolon_unequal_parts.RULE,
    missing_comma_after_introduction.RULE,
    missing_comma_before_conjunction.RULE,
    comma_before_second_verb.RULE,
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
    who_and_whom.RULE,
    dangling_modifier.RULE,
    parallel_structure.RULE,
    tense_shift.RULE,
    noun_number.RULE,
    a_or_an.RULE,
    double_comparison.RULE,
    double_negative.RULE,
    double_conjunction.RULE,
    quotation_comma.RULE,
    series_comma.RULE,
    semicolon_in_list.RULE,
)


def check(text: Text) -> list[Clue]:
    """Every place where a rule of punctuation or grammar holds or is broken, in reading order.

    No rule praises what another of its kind faults, and none finds fault in a sentence too long
    for the parser.
    """
    cut = _cut_parts(text)
    clues = [to_clue(rule.id, text, found) for rule in RULES for found in rule.find(text)]
    faults = [
        clue
        for clue in clues
        if clue.label == "fault" and not any(a <= clue.start <= b for a, b in cut)
    ]
    sound = (
        clue
        for clue in clues
        if clue.label != "fault"
        and not any(f.kind == clue.kind and f.span.overlaps(clue.span) for f in faults)
    )
    return in_order([*faults, *sound])


def _cut_parts(text: Text) -> list[tuple[int, int]]:
    """Parts of sentences too long for the parser: where they end nobody knows, so no alarm there
    would be sure."""
    found: list[tuple[int, int]] = []
    goes_on = False
    for sentence in text.sentences:
        long = sentence.last - sentence.first >= LONG
        if long or goes_on:
            found.append((sentence.start, sentence.end))
        goes_on = long
    return found

"""Rules of word forms: what they praise, mend and leave alone, beyond the examples of each rule.

The sentences are our own; where a handbook stands behind a rule, the rule's file names it.
"""

from __future__ import annotations

import pytest

from rwtools.rules import check
from rwtools.text import parse


def clues(text: str, rule: str, label: str):
    return [c for c in check(parse(text)) if c.rule == rule and c.label == label]


def mended(text: str, clue) -> str:
    for fix in sorted(clue.fix, key=lambda f: -f.start):
        text = text[: fix.start] + fix.replacement + text[fix.end :]
    return text


@pytest.mark.parametrize(
    "text",
    [
        "Being rare in the wild, laboratories raise thousands of them each year.",
        "Exhausted after the race, the medal meant little to Ana.",
        "Painted in a week, Ida Rask made the mural for the price of a goat.",
        "Walking to school last Tuesday, the rain soaked my notebook.",
        "Born in 1950, her first book was a success.",
        "To open the door, the key must be turned twice.",
        "Walking through the forest, the birds sang loudly.",
    ],
)
def test_a_comma_after_an_opening_without_a_sure_doer_is_not_praised(text):
    assert not clues(text, "missing-comma-after-introduction", "sound")
    assert not clues(text, "dangling-modifier", "sound")


@pytest.mark.parametrize(
    "text",
    [
        "Reading the letter, Mara wept.",
        "To open the door, she turned the key twice.",
        "Built in 1890, the mill still stands.",
        "When the rain stopped at last, the children ran into the yard.",
    ],
)
def test_praise_of_an_opening_speaks_of_its_comma_only(text):
    [clue] = clues(text, "missing-comma-after-introduction", "sound")
    assert clue.quote == ","
    assert "sound" not in clue.explanation
    assert clue.explanation.endswith("that is its place.")


@pytest.mark.parametrize(
    ("text", "opening"),
    [
        ("Walking to school, the rain soaked my notebook.", "While I was walking to school"),
        ("After reading the letter, tears filled her eyes.", "After she had finished reading"),
        ("Exhausted after the race, the medal meant little to Ana.", "As Ana was exhausted"),
        ("Having finished his homework, the television was on.", "After he had finished his"),
        ("Hungry after the game, the pizza was gone soon.", "As someone was hungry"),
        ("Being tired, the walk seemed long to me.", "As I was tired"),
    ],
)
def test_the_mend_of_a_dangling_opening_names_the_person_of_the_sentence(text, opening):
    [clue] = clues(text, "dangling-modifier", "fault")
    assert mended(text, clue).startswith(opening)


@pytest.mark.parametrize(
    "text",
    [
        "Standing on a hill, the church can be seen for miles.",
        "Running along the coast, the path passes three farms.",
        "Waiting in the harbour, the ship was an easy target.",
        "Reading the sensor, the machine decides when to stop.",
        "Determined by the judges, the price was low.",
        "Asked too often, the question loses its force.",
        "Eating into the rock, the acid makes caves.",
        "Reading between the lines, the letter is a cry for help.",
    ],
)
def test_things_that_do_what_persons_do_are_no_fault(text):
    assert not clues(text, "dangling-modifier", "fault")


@pytest.mark.parametrize(
    "text",
    [
        "Never have I seen so many boats in one harbour.",
        "Had I known of the storm, I would have stayed in the village.",
        "Whom the gods love die young, or so the proverb says.",
        "He taught for thirty years and lives in a small flat by the river.",
        "It is I who am to blame, and not the children.",
        "The longer we waited, the more nervous the crew became.",
        "Two more clearer days, and the harvest will be in.",
        "She is one of those people who never lose a key.",
        "None of us was ready, though all of us had been warned.",
        "The unemployed are not to blame for a European crisis.",
        "Were it not for the dam, the valley would be under water.",
        "There goes the ferry, and with it our only hope.",
    ],
)
def test_right_but_unusual_sentences_get_no_fault(text):
    assert not [c for c in check(parse(text)) if c.label == "fault"]

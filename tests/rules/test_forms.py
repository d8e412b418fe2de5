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


@pytest.mark.parametrize(
    "verb",
    "wound spelt swam leapt lay bore ground found bound rose fed bled saw fell felt wove".split(),
)
def test_no_past_form_is_made_a_present_one(verb):
    # irregular verbs: common practice, no published source
    assert not [c for c in check(parse(f"He {verb} daily.")) if c.label == "fault"]


@pytest.mark.parametrize(
    "text",
    [
        "He owned two barns, one of them derelict, and a mill.",
        "He saw three foxes, one of them lame.",
        "She has two sons, one of them blind.",
        "She bought two boats, one of them painted red.",
        "They built four huts, each of them open to the sea.",
    ],
)
def test_a_share_with_an_adjective_is_a_phrase_and_no_clause(text):
    assert not [c for c in check(parse(text)) if c.label == "fault"]


@pytest.mark.parametrize(
    "text",
    [
        "She bought two boats, one of them sank.",
        "She bought two boats, one of them lost its mast.",
        "She bought two boats, one of them was painted red.",
    ],
)
def test_a_share_with_a_finite_verb_is_a_clause(text):
    assert clues(text, "comma-splice", "fault")


@pytest.mark.parametrize(
    ("text", "right"),
    [
        ("The childrens play in the garden.", "The children play in the garden."),
        ("The mens were waiting.", "The men were waiting."),
        ("Two womens came in.", "Two women came in."),
        ("Many childrens like fish.", "Many children like fish."),
        ("The childrens toys are new.", "The children's toys are new."),
        ("The mens old and dirty coats hung there.", "The men's old and dirty coats hung there."),
    ],
)
def test_a_doubled_plural_owns_only_before_a_noun(text, right):
    [clue] = clues(text, "apostrophe-possessive", "fault")
    assert mended(text, clue) == right
    assert ("theirs" in clue.explanation) == ("'s" in right)


@pytest.mark.parametrize(
    "text",
    [
        "Speaking of bread, the oven is still hot.",
        "Looking back on it, the decision was wise.",
        "Looking ahead, the road is long.",
        "Thinking of it, the plan was bad.",
        "Judging from the map, the lake is large.",
    ],
)
def test_openings_of_the_speaker_do_not_dangle(text):
    assert not clues(text, "dangling-modifier", "fault")


def test_a_look_at_a_thing_is_no_set_opening():
    assert clues("Looking at the map, the lamp went out.", "dangling-modifier", "fault")


@pytest.mark.parametrize(
    ("text", "right"),
    [
        ("Many furnitures were sold.", "Much furniture was sold."),
        ("Those furnitures look cheap.", "That furniture looks cheap."),
        ("Each advices was good.", "Each piece of advice was good."),
        ("The equipments that were sold are back.", "The equipment that was sold is back."),
        ("A few advices are enough.", "A few pieces of advice are enough."),
        ("There are many informations here.", "There is much information here."),
        ("These equipment need repair.", "This equipment needs repair."),
        ("Another information came.", "Another piece of information came."),
        ("He has told me some advices.", "He has told me some advice."),
    ],
)
def test_what_is_not_counted_is_mended_with_the_words_around_it(text, right):
    # uncounted nouns: common practice, no published source
    [clue] = clues(text, "noun-number", "fault")
    assert mended(text, clue) == right
    assert not clues(text, "subject-verb-agreement", "sound")


def test_no_mend_is_better_than_bad_english():
    [clue] = clues("He has several knowledges.", "noun-number", "fault")
    assert not clue.fix


@pytest.mark.parametrize(
    ("text", "right"),
    [
        ("Him and his brother plays chess.", "He and his brother play chess."),
        ("Him and me was late.", "He and I were late."),
        ("Me and him were late.", "He and I were late."),
        ("My brother and me was late.", "My brother and I were late."),
        ("Me and my sister in Arden goes home.", "My sister in Arden and I go home."),
        ("When him and me was late, she wept.", "When he and I were late, she wept."),
    ],
)
def test_two_persons_are_mended_at_once(text, right):
    found = [c for c in check(parse(text)) if c.label == "fault" and c.kind == "grammar"]
    assert [mended(text, clue) for clue in found] == [right]


@pytest.mark.parametrize(
    ("text", "right"),
    [
        ("I look forward to see you again.", "I look forward to seeing you again."),
        ("She let him to go.", "She let him go."),
        ("She has bought a boat a week ago.", "She bought a boat a week ago."),
        ("There is neither a bridge or a ferry.", "There is neither a bridge nor a ferry."),
        ("There isn't no one here.", "There isn't anyone here."),
        ("He is one of the richest man in the town.", "He is one of the richest men in the town."),
    ],
)
def test_fixed_patterns_of_verbs_and_pairs(text, right):
    # common practice, no published source
    [clue] = [c for c in check(parse(text)) if c.label == "fault"]
    assert mended(text, clue) == right


@pytest.mark.parametrize(
    "text",
    [
        "God made us to love one another.",
        "I have lost the key he gave me yesterday.",
        "He has slept since yesterday.",
        "They have seen both yesterday and today.",
        "One of the team is here.",
        "Part one of the series is over.",
        "An information and advice centre opened.",
        "Neither side wanted war or peace.",
    ],
)
def test_what_looks_like_such_a_pattern_is_no_fault(text):
    assert not [c for c in check(parse(text)) if c.label == "fault"]

"""Putting choices into a passage, and finding the way back to its own offsets."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rwtools.items.model import Item
from rwtools.items.placing import gap_of, placed


def item(passage: str, choices: list[str], skill: str = "transition", **more) -> Item:
    return Item(id="x", skill=skill, passage=passage, question="?", choices=choices, **more)


def test_a_choice_that_opens_a_sentence_gets_its_capital():
    found = placed(item("It rained. ____, they went.", ["however", "Even so"]))
    assert [p.words for p in found] == ["However", "Even so"]


def test_a_choice_inside_a_sentence_loses_a_capital_that_all_have():
    found = placed(item("They went, ____ it rained.", ["Although", "Because"]))
    assert [p.words for p in found] == ["although", "because"]


def test_punctuation_choices_stand_as_given():
    found = placed(item("The ____ was old.", ["Boat, it", "boat. It"], "punctuation"))
    assert [p.words for p in found] == ["Boat, it", "boat. It"]


def test_the_target_is_found_as_a_whole_word():
    one = item("A checkered past; a check on it.", ["a", "b"], "vocabulary", target="check")
    assert gap_of(one) == (20, 25)


def test_no_change_keeps_the_words_of_the_target():
    one = item("The boats is late.", ["no change", "are"], "grammar", target="is")
    assert [p.passage for p in placed(one)] == ["The boats is late.", "The boats are late."]


@given(
    st.text(max_size=30), st.text(min_size=1, max_size=12).filter(str.strip), st.text(max_size=30)
)
def test_every_offset_outside_the_choice_finds_its_way_back(before, choice, after):
    passage = before.replace("_", "") + "____" + after.replace("_", "")
    found = placed(Item.model_construct(
        id="x", skill="punctuation", passage=passage, choices=[choice, choice + "!"], target=None
    ))  # fmt: skip
    for where in found:
        for offset, character in enumerate(where.passage):
            if offset < where.start or offset >= where.end:
                start, end = where.back(offset, offset + 1)
                assert passage[start:end] == character


@pytest.mark.parametrize("skill", ["grammar", "vocabulary"])
def test_without_blank_or_target_there_is_no_place(skill):
    assert placed(item("Nothing is open here.", ["a", "b"], skill)) == []


@pytest.mark.parametrize(
    ("passage", "choices", "filled"),
    [
        (
            "The baker ____ left.",
            [", too,", "herself", ". Also he"],
            ["The baker, too, left.", "The baker herself left.", "The baker. Also he left."],
        ),
        (
            "The baker____ left.",
            [", too,", " herself", "; he"],
            ["The baker, too, left.", "The baker herself left.", "The baker; he left."],
        ),
        # No marks that close up: a fraction, and dots for what is left out.
        ("It rose by ____ points.", [".5", "5"], ["It rose by .5 points.", "It rose by 5 points."]),
        ("I saw ____ it.", ["... and liked", "and"], ["I saw ... and liked it.", "I saw and it."]),
        # Another line is not to be closed up to.
        ("A mill\n____ idle.", [", was", "was"], ["A mill\n, was idle.", "A mill\nwas idle."]),
    ],
)
def test_a_choice_that_begins_with_a_mark_closes_up(passage, choices, filled):
    item = Item(id="x", skill="punctuation", passage=passage, question="?", choices=choices)
    found = placed(item)
    assert [where.passage for where in found] == filled
    for where in found:
        start, end = where.gap
        assert where.passage == passage[:start] + where.words + passage[end:]
        assert where.back(0, len(where.passage)) == (0, len(passage))

"""Whether a stretch of words could be a sentence: cases that the parser alone gets wrong."""

from __future__ import annotations

import pytest

from rwtools.items.seams import SURE, facts
from rwtools.items.whole import chances_whole, parsed_whole, witnesses
from rwtools.text import parse, parse_many


def chance(words: str) -> float:
    return chances_whole([parse(f"{words}.", verse=False)])[0]


@pytest.mark.parametrize(
    "words",
    [
        "The seeds of the umbral pine need fire",  # a noun to the parser: need
        "The letters that the widow kept in a tin box date from the war",  # date
    ],
)
def test_a_verb_taken_for_a_noun_makes_it_unsure_not_incomplete(words):
    assert not parsed_whole(parse(f"{words}."))
    assert chance(words) > 1 - SURE


@pytest.mark.parametrize(
    "words",
    [
        "Behind the mill stood a row of elms",  # the subject after the verb, taken for an object
        "Carved from a single oak, the mast bends without breaking",  # bends: a plural noun
    ],
)
def test_a_sentence_is_seen_though_the_parse_shows_none(words):
    assert not parsed_whole(parse(f"{words}."))
    assert chance(words) > 0.5


@pytest.mark.parametrize(
    "words",
    [
        "The seeds of the umbral pine that need fire",
        "The watch of the old night guard",
        "Because the fish rest in the shade",
        "Which the farmers plant in early spring",
        "Plants with broad leaves and shallow roots",
    ],
)
def test_words_that_could_be_verbs_make_no_sentence_of_a_part(words):
    assert chance(words) < 0.5


def test_the_second_look_asks_for_agreement():
    right, wrong = witnesses(
        list(
            parse_many(
                [
                    "The seeds of the umbral pine need fire.",
                    "The watch of the old night guard.",
                ],
                verse=False,
            )
        )
    )
    assert right["plain, many"] == 1.0
    assert not any(name.startswith("plain") for name in wrong)


def test_a_question_is_left_to_the_parser():
    text = parse("Why did the tide turn?")
    assert chances_whole([text]) == [float(parsed_whole(text))]


def test_no_words_are_no_sentence():
    nothing, mark = chances_whole([parse(""), parse(".")])
    assert nothing == 0.0
    assert mark < 0.5


def test_sides_of_a_seam_carry_their_chances():
    passage = "The seeds of the umbral pine need fire; their scales open only in heat."
    at = passage.index(";")
    (found,) = facts([(passage, at, at + 2)])
    assert found.left_chance > 1 - SURE
    assert found.right_complete


def test_a_chance_is_the_same_alone_and_among_others():
    words = ["The old families harbor a grudge.", "Built by monks in the tenth century."]
    texts = list(parse_many(words, verse=False))
    assert chances_whole(texts) == [chances_whole([text])[0] for text in texts]


@pytest.mark.parametrize("words", ["The treaty signed", "One of them locked"])
def test_what_may_be_an_absolute_phrase_stays_open(words):
    assert chance(words) <= 0.5


def test_a_verb_that_stands_alone_makes_a_sentence():
    assert chance("The guests arrived") > SURE

"""Relations and uses that grammar settles, with near misses. Facts: common practice, no published
source, where none is named."""

from __future__ import annotations

import pytest

from rwtools.clue import Clue
from rwtools.text import parse
from rwtools.transitions import find


def clue_of(passage: str, quote: str) -> Clue:
    """The clue of the last connective with these words."""
    return [c for c in find(parse(passage)) if c.quote.lower() == quote][-1]


def parts(clue: Clue) -> tuple[str, ...]:
    found = {e.role: e.quote for e in clue.evidence}
    return tuple(found[role] for role in ("arg1", "arg2") if role in found)


@pytest.mark.parametrize(
    ("passage", "quote", "one", "two"),
    [
        (
            "The dog worked on. So mean was the council that it refused to buy a coat.",
            "so",
            "So mean was the council",
            "it refused to buy a coat",
        ),
        (
            "So quickly did the river rise that nobody could leave.",
            "so",
            "So quickly did the river rise",
            "nobody could leave",
        ),
        (
            "He kept to the road. Such was the noise that nobody heard the bell.",
            "such",
            "Such was the noise",
            "nobody heard the bell",
        ),
    ],
)
def test_a_degree_that_stands_first_is_joined_to_its_result(passage, quote, one, two):
    """Quirk, Greenbaum, Leech and Svartvik (1985), "A Comprehensive Grammar of the English
    Language", 15.74 and 18.24 (the sections from memory)."""
    clue = clue_of(passage, quote)
    assert (clue.rule, clue.label) == ("transition-pair", "cause")
    assert parts(clue) == (one, two)
    roles = {e.role: e.quote for e in clue.evidence}
    assert (roles["cue"], roles["reason"], roles["result"]) == ("that", one, two)


@pytest.mark.parametrize(
    "passage",
    [
        "So that was the man that she had married.",
        "So clear is the lake that came from the ice.",
        "So many boats came to the harbor that we had to wait.",
        "Such stories are the best that we have.",
        "So great was the belief that they would win that nobody fled.",
        "The army slept. So too was it slow to hear that the enemy had come.",
        "It rained. So it was the council that refused the coat.",
    ],
)
def test_other_uses_of_so_and_such_are_no_degree_with_result(passage):
    assert all(c.rule != "transition-pair" for c in find(parse(passage)))


@pytest.mark.parametrize(
    ("passage", "relation"),
    [
        ("While they soften, crush the thyme between your palms.", "simultaneity"),
        ("While the dough rests, heat the oven.", "simultaneity"),
        ("While the boys were sleeping, the river rose.", "simultaneity"),
        ("He hummed while he was mending the net.", "simultaneity"),
        ("While the plan is cheap, it is dangerous.", "concession"),
        ("While I agree with you, remember that he is old.", "concession"),
        ("While it may rain, bring no coat.", "concession"),
        ("While some were sleeping, others were not.", "concession"),
        ("Lemons are sour, while honey is sweet.", "contrast"),
    ],
)
def test_while_with_a_command_or_a_frame_in_time(passage, relation):
    assert clue_of(passage, "while").label == relation


@pytest.mark.parametrize(
    "passage",
    [
        "“You are a baker?” she asked. “Then we are colleagues.”",
        '"He is my brother." "Then you must be her brother."',
        '"The mill is shut." "Then we shall walk to Tarn."',
        "He is my brother. Then you must be her brother.",
        "He is in Tarn. Then why did you come?",
        "He is in Tarn. Then is it true?",
    ],
)
def test_then_may_mean_in_that_case(passage):
    clue = clue_of(passage, "then")
    assert (clue.label, clue.sense) == ("condition", "contingency.condition")
    assert "in that case" in clue.explanation


@pytest.mark.parametrize(
    "passage",
    [
        "He shut the door. Then he sat down.",
        "The light was green. Then it was red.",
        "Boil the beans. Then they are peeled.",
        "He shut the door. Then what happened?",
        "“Come in,” he said. “Then it is time for bed.”",
        "“We eat,” he said. “Then we will walk to Tarn.”",
        "“I have a dog,” she said. “Then there is the cat.”",
    ],
)
def test_then_puts_events_in_order(passage):
    assert clue_of(passage, "then").label != "condition"


@pytest.mark.parametrize(
    ("passage", "quote"),
    [
        ("Warm the oil slowly, or it will smoke.", "or"),
        ("Hurry or you will miss the ferry.", "or"),
        ("Don't shout, or the baby will wake.", "or"),
        ("You must hurry, or the shop will be shut.", "or"),
        ("They had to run or they would have missed the ferry.", "or"),
        ("Come early, or else the seats will be gone.", "or else"),
        ("Heat it slowly; otherwise it will smoke.", "otherwise"),
        ("Put on a coat, otherwise you will freeze.", "otherwise"),
    ],
)
def test_or_after_a_command_means_if_not(passage, quote):
    """Quirk, Greenbaum, Leech and Svartvik (1985), 13.31 (the section from memory)."""
    clue = clue_of(passage, quote)
    assert (clue.label, clue.sense) == ("condition", "contingency.negative-condition")
    assert "“if not”" in clue.explanation
    assert len(parts(clue)) == 2


@pytest.mark.parametrize(
    "passage",
    [
        "Take the path or take the boat.",
        "Stay here, or I can come with you.",
        "He will come, or he will send a letter.",
        "He should paint the door, or he will repair the lock.",
        "You may take the path or you may wait for the boat.",
        "He shouts, or else he sleeps.",
    ],
)
def test_or_joins_choices(passage):
    assert [c.label for c in find(parse(passage))] == ["alternative"]


@pytest.mark.parametrize(
    ("passage", "quote", "relation"),
    [
        ("The dam is sound; that is, it holds water.", "that is", "restatement"),
        ("The dam is sound, that is, it holds water.", "that is", "restatement"),
        ("The dam is sound — that is to say, it holds water.", "that is to say", "restatement"),
        ("The dam is sound, i.e., it holds water.", "i.e.", "restatement"),
        ("The dam is sound; put differently, it holds water.", "put differently", "restatement"),
        ("The dam is sound: in other words, it holds water.", "in other words", "restatement"),
        ("The dam was weak, or rather, it had no gate.", "or rather", "restatement"),
        ("He came at noon; to be exact, he came at ten to twelve.", "to be exact", "detail"),
        ("He had one fear, namely that the dam would break.", "namely", "detail"),
    ],
)
def test_a_word_that_says_a_statement_again(passage, quote, relation):
    """Quirk, Greenbaum, Leech and Svartvik (1985), 17.73 and 17.80 (the sections from memory)."""
    clue = clue_of(passage, quote)
    assert clue.label == relation
    one, two = parts(clue)
    assert passage.startswith(one)
    assert passage.rstrip(".").endswith(two)


@pytest.mark.parametrize(
    "passage",
    [
        "He wrote a book that is, I think, dull.",
        "The word “no,” that is, the first word, was heard.",
        "It was a hope, of course, that is tempered by fear.",
        "Habits that we learn—that is, habits that people are taught—are many.",
        "We want to be exact, he said.",
    ],
)
def test_the_same_words_around_a_phrase_or_in_a_clause_say_no_statement_again(passage):
    assert not [c for c in find(parse(passage)) if c.label == "restatement"]


@pytest.mark.parametrize(
    ("passage", "word"),
    [
        ("He came late. When did the bell ring?", "when"),
        ("He spoke of when the bell rang.", "when"),
        ("She asked if the bell rang.", "if"),
        ("Whether he came or not, the bell rang.", "or"),
        ("It was, so to speak, a loss.", "so"),
        ("Now and then he rang the bell.", "then"),
        ("If only we had a boat!", "if only"),
        ("Since when do goats climb trees?", "since"),
        ("Not until noon did the ferry sail.", "until"),
        ("Not until the spring of that year did the ferry, which was old, sail.", "until"),
        ("He slept. So loud was the bell at noon.", "so"),
        ("The word “then” is short.", "then"),
        ("She spoke of hopes and, above all, of rights.", "above all"),
    ],
)
def test_a_word_in_another_use_is_no_clue(passage, word):
    assert word not in [c.quote.lower() for c in find(parse(passage))]


@pytest.mark.parametrize(
    ("passage", "word"),
    [
        ("When the bell rang, did he come?", "when"),
        ("If she asks, the bell will ring.", "if"),
        ("He slept. So here is the plan.", "so"),
        ("If only you ask, he will help.", "if"),
        ("Since the dam broke, when has it rained?", "since"),
        ("Whether he came or he stayed, it rained. The bell rang, or it did not.", "or"),
    ],
)
def test_the_near_misses_are_clues(passage, word):
    assert word in [c.quote.lower() for c in find(parse(passage))]


def test_not_until_brings_in_what_comes_first():
    clue = clue_of("Not until the fog lifted did the ferry sail.", "until")
    assert "First comes “the fog lifted”, and then “did the ferry sail”" in clue.explanation
    clue = clue_of("The ferry did not sail until the fog lifted.", "until")
    assert "First comes “The ferry did not sail”" in clue.explanation


def test_still_with_its_comma_goes_against_what_was_said():
    clue = clue_of("The well was dry; still, the goats found grass.", "still")
    assert clue.label == "concession"
    assert not find(parse("Still water lay in the ditch."))


def test_as_with_a_subject_that_points_back_gives_a_reason():
    assert clue_of("Don't make jokes, as this can make you foes.", "as").label == "cause"

"""Uses of *as*, *when* and *however* that link nothing, and the links that look like them. Facts:
common practice, no published source, where none is named."""

from __future__ import annotations

import pytest

from rwtools.clue import Clue
from rwtools.text import parse
from rwtools.transitions import find


def words(passage: str) -> list[str]:
    return [c.quote.lower() for c in find(parse(passage))]


def clue_of(passage: str, quote: str) -> Clue:
    return next(c for c in find(parse(passage)) if c.quote.lower() == quote)


def parts(clue: Clue) -> tuple[str, str]:
    found = {e.role: e.quote for e in clue.evidence}
    return found.get("arg1", ""), found.get("arg2", "")


@pytest.mark.parametrize(
    "passage",
    [
        "As it happens, the key was lost.",
        "As luck would have it, the door was open.",
        "As far as I know, the mill is closed.",
        "The mill is closed, as I said.",
        "As I told you, the mill is closed.",
        "As I see it, the plan failed.",
        "They went so far as to burn the mill.",
        "As you know, the mill is closed.",
        "She was so kind as to open the gate.",
    ],
)
def test_a_comment_gives_no_reason_time_or_likeness(passage):
    """Quirk, Greenbaum, Leech and Svartvik (1985), "A Comprehensive Grammar of the English
    Language", 15.53 f. (the sections from memory)."""
    assert not words(passage)


@pytest.mark.parametrize(
    ("passage", "relation"),
    [
        ("As the men knew the road, they led us.", "simultaneity"),
        ("As he saw her, he ran.", "simultaneity"),
        ("As the door opened, she hid.", "simultaneity"),
        ("He stayed, as it was late.", "cause"),
        ("He took a coat, as one might need it.", "cause"),
        ("He hurried, as one could hear the storm.", "cause"),
        ("Just as she was leaving, the bell rang.", "simultaneity"),
        ("She took it, as one might lift a dead moth.", "similarity"),
        ("She spoke as a child would speak.", "similarity"),
        ("He sang as his father did.", "similarity"),
    ],
)
def test_as_still_gives_a_reason_a_time_or_a_likeness(passage, relation):
    assert clue_of(passage, "as").label == relation


@pytest.mark.parametrize(
    ("passage", "front"),
    [
        ("Try as he might, he could not lift the lid.", "Try as he might"),
        ("Young as she was, she ruled well.", "Young as she was"),
        ("Late as it was, they walked home.", "Late as it was"),
        ("Hard as they tried, they failed.", "Hard as they tried"),
        ("Much as they tried, they failed.", "Much as they tried"),
        ("But rich as the soil is, nothing grows there.", "rich as the soil is"),
    ],
)
def test_as_behind_the_first_words_concedes(passage, front):
    """Quirk, Greenbaum, Leech and Svartvik (1985), 15.39 (the section from memory)."""
    clue = clue_of(passage, "as")
    assert (clue.label, clue.sense) == ("concession", "comparison.concession")
    main = passage[passage.index(", ") + 2 : -1]
    assert parts(clue) == (main, front)
    assert f"The point admitted is “{front}”" in clue.explanation


@pytest.mark.parametrize(
    "passage",
    [
        "Cold as ice, the water hurt.",
        "Standing as it does on a hill, the church is seen from afar.",
        "Tired as he was, he fell asleep.",
        "Things as they are, we must wait.",
        "Wise as an owl she was, and kind.",
    ],
)
def test_as_behind_other_first_words_is_left_alone(passage):
    assert "as" not in words(passage)


def test_be_that_as_it_may_concedes():
    clue = clue_of("The road is long. Be that as it may, we must go.", "be that as it may")
    assert clue.label == "concession"
    assert parts(clue) == ("The road is long", "we must go")


@pytest.mark.parametrize(
    "passage",
    [
        "When he came is not known.",
        "When he came was a mystery.",
        "Tell me when you arrive.",
        "She asked when the boat left.",
        "She asked the man when the boat would leave.",
        "I remember when the mill burned.",
        "I am not sure when the boat leaves.",
        "The year when I was born was cold.",
        "He never forgot the day when the dam broke.",
    ],
)
def test_when_may_open_a_part_of_another_clause(passage):
    assert "when" not in words(passage)


@pytest.mark.parametrize(
    "passage",
    [
        "When the bell rang he was asleep.",
        "When he left the boat was full.",
        "When you come, bring bread.",
        "Tell me a story when you come.",
        "She asked a question when he came.",
        "She told him when he returned that the mill had burned.",
        "They knew when he saw the smoke that he was lost.",
        "He asked for bread when he came.",
        "She was sure of it when she saw the letter.",
        "“Sit down,” he said when she came.",
        "She wrote to those whom she had known when she was young.",
        "It rained all day when he came.",
        "The mill burned at a time when nobody was there.",
        "He could hardly speak when they came.",
        "He had hardly any money when he came.",
    ],
)
def test_when_still_tells_the_time(passage):
    assert clue_of(passage, "when").label == "simultaneity"


@pytest.mark.parametrize(
    ("passage", "word", "one"),
    [
        (
            "Hardly had the bell stopped ringing when the children ran out.",
            "hardly",
            "had the bell stopped ringing",
        ),
        (
            "Scarcely had the rain stopped when the children ran out.",
            "scarcely",
            "had the rain stopped",
        ),
        ("He had hardly sat down when the children ran out.", "hardly", "He had hardly sat down"),
    ],
)
def test_hardly_and_when_put_events_in_order(passage, word, one):
    """Quirk, Greenbaum, Leech and Svartvik (1985), 14.13 (the section from memory)."""
    clue = clue_of(passage, word)
    assert (clue.label, clue.rule) == ("sequence", "transition-pair")
    assert parts(clue) == (one, "the children ran out")
    assert "First comes" in clue.explanation


@pytest.mark.parametrize(
    "passage",
    [
        "However hard he tried, the door would not open.",
        "However much it costs, we will buy the boat.",
        "However many they were, the guards held the gate.",
        "However you look at it, the plan failed.",
        "He would come, however little it helped.",
        "You may go however you like.",
    ],
)
def test_however_may_mean_no_matter_how(passage):
    """Quirk, Greenbaum, Leech and Svartvik (1985), 15.42 (the section from memory)."""
    assert "however" not in words(passage)


@pytest.mark.parametrize(
    "passage",
    [
        "The walls are thin. However hard work pays.",
        "The lake is deep. However, it is cold.",
        "The lake rises fast, however by noon the water has fallen again.",
        "The road was closed. However sometimes he came late, and she was kind.",
        "It rained however we went.",
    ],
)
def test_however_that_links(passage):
    assert "however" in words(passage)


def test_lest_names_what_must_not_happen():
    clue = clue_of("He spoke softly lest he wake the child.", "lest")
    assert (clue.label, clue.sense) == ("purpose", "contingency.purpose")
    assert "must not happen: “he wake the child”" in clue.explanation


def test_now_that_gives_a_reason():
    clue = clue_of("Now that he stood dripping in the hall, he felt foolish.", "now that")
    roles = {e.role: e.quote for e in clue.evidence}
    assert (clue.label, roles["result"]) == ("cause", "he felt foolish")
    assert not words("Now that is a fine mill.")


def test_and_after_the_words_that_tell_who_spoke_gives_no_reason():
    clue = clue_of("“Are you coming?” he asked, and the girl nodded.", "and")
    assert clue.label == "addition"
    assert clue_of("The lamp fell, and so the hall was dark.", "so").label == "cause"


def test_no_clue_is_weaker_than_the_floor():
    clue = clue_of("He did not run. Rather, he walked.", "rather")
    assert (clue.label, parts(clue)) == ("substitution", ("He did not run", "he walked"))
    assert clue.confidence >= 0.15
    assert not words("It was rather cold.")


@pytest.mark.parametrize(
    ("passage", "relation"),
    [
        ("Whilst the plan is cheap, it has a flaw.", "concession"),
        ("Whilst I was reluctant at first, I have now read the letter twice.", "concession"),
        ("Whilst the boys were sleeping, the river rose.", "simultaneity"),
    ],
)
def test_whilst_is_told_apart_as_while_is(passage, relation):
    assert clue_of(passage, "whilst").label == relation


def test_without_links_what_is_done_and_no_thing():
    assert "without" in words("She left without saying a word.")
    assert "without" not in words("She crosses the marsh at night, without so much as a lamp.")


def test_however_often_is_no_link():
    assert words("However often he promises to go, he never leaves the porch.") == []

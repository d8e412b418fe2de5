"""What a connective joins, where the parse alone would mislead."""

from __future__ import annotations

import pytest

from rwtools.text import parse
from rwtools.transitions import find


def parts(passage: str, quote: str) -> dict[str, str]:
    clue = next(c for c in find(parse(passage)) if c.quote.lower() == quote)
    return {e.role: e.quote for e in clue.evidence}


@pytest.mark.parametrize(
    ("passage", "one", "two"),
    [
        (
            "The road was long. The view, though, was worth it.",
            "The road was long",
            "The view, though, was worth it",
        ),
        ("It rained; we were happy, though.", "It rained", "we were happy, though"),
        ("He left, though it rained.", "He left", "it rained"),
    ],
)
def test_though_between_marks_looks_back(passage, one, two):
    """Adverbial *though* (common practice, no published source)."""
    found = parts(passage, "though")
    assert (found["arg1"], found["arg2"]) == (one, two)


def test_an_opening_part_ends_at_its_comma():
    found = parts("Because high tide comes later each day, the hours shift.", "because")
    assert found["arg2"] == "high tide comes later each day"
    assert found["arg1"] == "the hours shift"


def test_even_before_when_does_not_cut_the_clause():
    found = parts("They were calm; even when the house shook, she wrote letters.", "even when")
    assert (found["arg1"], found["arg2"]) == ("she wrote letters", "the house shook")


def test_a_part_does_not_open_with_the_word_that_hangs_it_on_a_verb():
    found = parts("She says that it hears sound, while an ear hears change.", "while")
    assert found["arg1"] == "it hears sound"


def test_a_clause_is_joined_to_a_clause_not_to_an_aside_in_it():
    text = "The dialect is arcane, that is, known to very few, and its speakers live far apart."
    found = parts(text, "and")
    assert found["arg1"] == "The dialect is arcane, that is, known to very few"
    assert found["arg2"] == "its speakers live far apart"


HIVES = "Beekeepers mark their hives. "


@pytest.mark.parametrize(
    ("passage", "quote", "one", "two"),
    [
        (
            HIVES + "Each hive was painted a different color, for example, white for the queen.",
            "for example",
            "Each hive was painted a different color",
            "white for the queen",
        ),
        (
            "She kept many birds, for example, owls, and sold their eggs.",
            "for example",
            "She kept many birds",
            "owls",
        ),
        (
            "The children made toys from scraps, for instance, boats of bark, dolls "
            "of straw, and drums, and they sold them at the fair.",
            "for instance",
            "The children made toys from scraps",
            "boats of bark, dolls of straw, and drums",
        ),
        (
            "Many tools are used, for example, hammers and saws.",
            "for example",
            "Many tools are used",
            "hammers and saws",
        ),
        (
            "Animals that hunt at night, for example, bats and owls, have good ears.",
            "for example",
            "Animals that hunt at night",
            "bats and owls",
        ),
        (
            "The choir (for example, the altos) sang well.",
            "for example",
            "The choir",
            "the altos",
        ),
        ("He had one aim, namely, to see the sea.", "namely", "He had one aim", "to see the sea"),
        (
            "Mills need water, in other words, a steady stream.",
            "in other words",
            "Mills need water",
            "a steady stream",
        ),
        (
            "The engine is idle, in other words, it does no work.",
            "in other words",
            "The engine is idle",
            "it does no work",
        ),
        (
            "The children knew the path well, in fact, better than their teacher.",
            "in fact",
            "The children knew the path well",
            "better than their teacher",
        ),
    ],
)
def test_a_word_that_introduces_a_phrase_joins_it_to_its_own_sentence(passage, quote, one, two):
    found = parts(passage, quote)
    assert (found["arg1"], found["arg2"]) == (one, two)


@pytest.mark.parametrize(
    ("own", "quote"),
    [
        ("Some hives, for example, stand in the wood", "for example"),
        ("In June, for example, the hives are full", "for example"),
        ("When it rains, for example, the bees stay home", "for example"),
        ("A hive may hold, for example, ten frames", "for example"),
        ("It is true, for example, of straw hives", "for example"),
        ("The hive was called, for example, a skep", "for example"),
        ("There is proof, for example, that bees count", "for example"),
        ("Each hive was painted a different color, for example", "for example"),
        ("The hives stand close, for instance, while the queens never meet", "for instance"),
        ("The hives are, in other words, never empty", "in other words"),
        ("The oldest hive, in fact, is blue", "in fact"),
        ("The oldest hive, however, is blue", "however"),
    ],
)
def test_a_word_that_interrupts_or_ends_its_clause_looks_back(own, quote):
    found = parts(f"{HIVES}{own}.", quote)
    assert found["arg1"] == "Beekeepers mark their hives"
    assert found["arg2"] == own


@pytest.mark.parametrize(
    ("passage", "quote", "one", "two"),
    [
        (
            "The walls are thin. The lake rises fast, however by noon the water has fallen again.",
            "however",
            "The lake rises fast",
            "by noon the water has fallen again",
        ),
        (
            "The walls are thin. Olive trees grow slowly, nevertheless they bear fruit, and "
            "their owners are patient.",
            "nevertheless",
            "Olive trees grow slowly",
            "they bear fruit",
        ),
        (
            "She locked the gate, then she counted the goats.",
            "then",
            "She locked the gate",
            "she counted the goats",
        ),
    ],
)
def test_an_adverb_between_two_clauses_joins_them_though_a_comma_is_too_weak(
    passage, quote, one, two
):
    found = parts(passage, quote)
    assert found["arg1"] == one
    assert found["arg2"] == two


def test_an_adverb_behind_its_subject_does_not_split_its_clause():
    found = parts("The sky grew dark. The boat, he said, then sank.", "then")
    assert found["arg1"] == "The sky grew dark"


def test_the_subject_of_the_main_clause_is_not_left_in_the_dependent_one():
    younger = "the younger, a placid man who disliked quarrels, began at once to buy fish"
    found = parts(f"Although the elder nephew protested, {younger}.", "although")
    assert found["arg2"] == "the elder nephew protested"
    assert found["arg1"] == younger


@pytest.mark.parametrize(
    ("passage", "quote", "one", "two"),
    [
        ("Although it was cold but we swam.", "although", "we swam", "it was cold"),
        ("Although it was cold, but we swam.", "although", "we swam", "it was cold"),
        ("Because it rained so we left.", "because", "we left", "it rained"),
        ("Because it was so cold, we left.", "because", "we left", "it was so cold"),
        ("Although he had but one coin, he paid.", "although", "he paid", "he had but one coin"),
        (
            "Although he tried but failed, we praised him.",
            "although",
            "we praised him",
            "he tried but failed",
        ),
    ],
)
def test_a_second_link_does_not_hide_the_main_clause(passage, quote, one, two):
    """A doubled link (common practice, no published source)."""
    found = parts(passage, quote)
    assert (found["arg1"], found["arg2"]) == (one, two)


def test_of_for_have_does_not_cut_the_verb():
    found = parts("If you would of seen it, you would understand.", "if")
    assert (found["arg1"], found["arg2"]) == ("you would understand", "you would of seen it")


@pytest.mark.parametrize("no", ["cannot reach", "can't reach", "could not reach", "do not reach"])
def test_a_part_does_not_end_inside_a_verb_that_is_denied(no):
    found = parts(f"The harbors had froze, and so ships {no} the coast.", "so")
    assert found["arg1"] == "The harbors had froze"
    assert found["arg2"] == f"ships {no} the coast"


def test_in_order_joins_an_opening_goal_to_what_is_done():
    found = parts("In order to save oil, the keeper lit only one lamp.", "in order")
    assert (found["arg1"], found["arg2"]) == ("the keeper lit only one lamp", "to save oil")


def test_then_between_two_commands_joins_them():
    found = parts("Turn left at the mill, then cross the bridge.", "then")
    assert (found["arg1"], found["arg2"]) == ("Turn left at the mill", "cross the bridge")


@pytest.mark.parametrize("dash", ["-", "—", "–"])
def test_an_aside_between_dashes_is_not_the_result(dash):
    text = (
        f"Since they grow so slowly {dash} a millimeter a year is typical {dash} they can be used."
    )
    found = parts(text, "since")
    assert (found["reason"], found["result"]) == ("they grow so slowly", "they can be used")


@pytest.mark.parametrize(
    ("passage", "quote", "one", "two"),
    [
        ("Take it, if you like, as a gift.", "if", "Take it", "you like"),
        (
            "He went home, since it was late, with his dog.",
            "since",
            "He went home",
            "it was late",
        ),
        (
            "He stayed, because he was old, tired, and ill.",
            "because",
            "He stayed",
            "he was old, tired, and ill",
        ),
        (
            "He left, because he was, at heart, a coward.",
            "because",
            "He left",
            "he was, at heart, a coward",
        ),
        (
            "Since it rained, we — the boys and I — left early.",
            "since",
            "we — the boys and I — left early",
            "it rained",
        ),
    ],
)
def test_a_clause_between_commas_ends_at_the_second(passage, quote, one, two):
    found = parts(passage, quote)
    assert (found["arg1"], found["arg2"]) == (one, two)


@pytest.mark.parametrize(
    ("passage", "quote", "one", "two"),
    [
        (
            "“I won't go,” said Marta, “unless you come with me.”",
            "unless",
            "I won't go",
            "you come with me",
        ),
        ('"I won\'t go," said Marta, "because it rains."', "because", "I won't go", "it rains"),
        ("“If you go,” she said, “I will stay.”", "if", "I will stay", "you go"),
        (
            "“It rains,” said Marta. “Unless you come, I will stay.”",
            "unless",
            "I will stay",
            "you come",
        ),
    ],
)
def test_words_that_tell_who_speaks_are_no_part(passage, quote, one, two):
    found = parts(passage, quote)
    assert (found["arg1"], found["arg2"]) == (one, two)


@pytest.mark.parametrize(
    ("passage", "quote", "one", "two"),
    [
        (
            "As soon as the bell rang, the hall emptied.",
            "as soon as",
            "the hall emptied",
            "the bell rang",
        ),
        ("While in Rome, she learned to cook.", "while", "she learned to cook", "in Rome"),
        (
            "While researching a topic, she found a letter.",
            "while",
            "she found a letter",
            "researching a topic",
        ),
        (
            "While quiet may soothe the sick, it can trouble a child.",
            "while",
            "it can trouble a child",
            "quiet may soothe the sick",
        ),
        (
            "While rent, food, and oil cost much, the mill earns more.",
            "while",
            "the mill earns more",
            "rent, food, and oil cost much",
        ),
    ],
)
def test_a_comma_parts_an_opening_clause_that_the_parse_has_lost(passage, quote, one, two):
    found = parts(passage, quote)
    assert (found["arg1"], found["arg2"]) == (one, two)


@pytest.mark.parametrize(
    ("passage", "quote", "one", "two"),
    [
        (
            "Although at the start of the war, the king had been ready to wait, he changed his "
            "mind.",
            "although",
            "he changed his mind",
            "at the start of the war, the king had been ready to wait",
        ),
        (
            "Until the 11-cis-retinal form is changed to the day-to-day form, the cell cannot "
            "respond.",
            "until",
            "the cell cannot respond",
            "the 11-cis-retinal form is changed to the day-to-day form",
        ),
        (
            "As one girl told her teacher, who had said to go home, she was hungry.",
            "as",
            "she was hungry",
            "one girl told her teacher, who had said to go home",
        ),
    ],
)
def test_not_every_comma_or_hyphen_parts_an_opening_clause(passage, quote, one, two):
    found = parts(passage, quote)
    assert (found["arg1"], found["arg2"]) == (one, two)

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


def test_a_part_does_not_open_with_the_word_that_hangs_it_on_a_verb():
    found = parts("She says that it hears sound, while an ear hears change.", "while")
    assert found["arg1"] == "it hears sound"


def test_a_clause_is_joined_to_a_clause_not_to_an_aside_in_it():
    text = "The dialect is arcane, that is, known to very few, and its speakers live far apart."
    found = parts(text, "and")
    assert found["arg1"] == "The dialect is arcane, that is, known to very few"
    assert found["arg2"] == "its speakers live far apart"

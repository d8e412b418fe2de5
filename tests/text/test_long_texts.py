"""Texts that no writer writes, up to the limit: the work grows with their length, not its square.

Work is counted in calls, not in seconds, so that a busy machine changes nothing.
"""

from __future__ import annotations

import sys

import pytest

from rwtools.hints import hint
from rwtools.text import LONG, parse
from rwtools.text.load import _TAIL, _at_the_end
from rwtools.text.sentences import LONGEST

UNITS = ('"', "(", "- ", ", ", "; ", "\u2014", "a ", "it's ", "a\n\n", "& ", "was ", "that is, ")


def calls(passage: str) -> int:
    count = 0

    def note(*_: object) -> None:
        nonlocal count
        count += 1

    sys.setprofile(note)
    try:
        hint(passage)
    finally:
        sys.setprofile(None)
    return count


@pytest.mark.parametrize("unit", UNITS)
def test_twice_the_text_is_twice_the_work(unit):
    hint(unit * 10 + "A word.")  # loads what is loaded once
    one, two = (calls(unit * (size // len(unit))) for size in (4_000, 8_000))
    assert two < 2.6 * one


def test_the_end_of_a_word_is_looked_for_at_its_end():
    seen = []
    search = _at_the_end(lambda string: seen.append(len(string)))
    search("(" * 20_000)
    assert seen == [_TAIL]


@pytest.mark.parametrize("row", ["." * 300, "a" + "." * 300, "\u2026" * 90, "wait" + "!?" * 60])
def test_long_rows_of_marks_are_cut_as_short_ones(row):
    assert "".join(t.text for t in parse(row).tokens) == row


def test_a_text_without_stops_is_cut_at_marks_and_nothing_is_alarmed_there():
    passage = "the mill stood by the river and it was old, the wheel turned all day, " * 60
    text = parse(passage)
    assert all(s.last - s.first <= LONGEST for s in text.sentences)
    assert all(s.last - s.first >= LONG for s in text.sentences[:-1])
    assert all(text.tokens[s.first - 1].text == "," for s in text.sentences[1:])
    assert not [c for c in hint(passage) if c.label == "fault"]

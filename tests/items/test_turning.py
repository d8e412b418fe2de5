"""Words that turn the meaning of a blank round.

Which words deny, in form or in meaning: Quirk, Greenbaum, Leech and Svartvik 1985, "A Comprehensive
Grammar of the English Language", 10.54-10.60 (the sections from memory); that *anything but* and
*far from* deny as well: common practice, no published source.
"""

from __future__ import annotations

import pytest

from rwtools.items.turning import left_out, turning_words

BLANK = "____"


def found(passage: str) -> tuple[str, str] | None:
    at = passage.index(BLANK)
    words = turning_words(passage, (at, at + len(BLANK)))
    return words and (words.of(passage), left_out(passage, words, at))


@pytest.mark.parametrize(
    ("passage", "words", "rest"),
    [
        ("The book is anything but ____.", "anything but", "The book is "),
        ("They are no longer so ____ as before.", "no longer", "They are so "),
        ("Her praise was hardly ____: it was rare.", "hardly", "Her praise was "),
        ("He didn’t ____ at all.", "didn’t", "He did "),
        ("We won't ____ it.", "won't", "We will "),
        ("The talk was far from ____.", "far from", "The talk was "),
    ],
)
def test_a_turning_word_is_found_and_can_be_left_out(passage, words, rest):
    assert found(passage) == (words, rest)


@pytest.mark.parametrize(
    "passage",
    [
        "The book is ____ and was never sold.",
        "She did not sing, but she was ____.",
        "It was not only ____ but also cheap.",
        "He never said that they were ____.",
        "Nothing is known; the rest is ____.",
    ],
)
def test_a_word_that_does_not_turn_the_blank_is_not_taken(passage):
    assert found(passage) is None


VALLEY = {
    "id": "turned",
    "skill": "vocabulary",
    "passage": "The valley is no longer ____. Since the dam was built, rice stands green where "
    "goats once starved among the stones.",
    "question": "Which word fits?",
    "choices": ["barren", "fertile", "remote", "damp"],
}
UNTURNED = VALLEY | {"passage": str(VALLEY["passage"]).replace("no longer ", "")}


def test_the_path_names_the_words_that_turn_the_answer_round(with_judge):
    from rwtools import solve

    (solution,) = solve([VALLEY])
    (other,) = solve([UNTURNED])
    assert solution.answer == "A"
    (step,) = [s for s in solution.path if s.action.startswith("Mind the words")]
    assert [q.quote for q in step.evidence] == ["no longer"]
    assert "“fertile”" in step.finding
    assert other.answer == "B"
    assert not any("turn" in s.action for s in other.path)


def test_what_would_fit_without_the_turning_words_counts_against_a_choice(with_judge):
    from rwtools.items.case import gather
    from rwtools.items.groups import features_of
    from rwtools.items.model import read_item
    from rwtools.items.weights import skill_weights

    turned, plain = gather([read_item(VALLEY), read_item(UNTURNED)])
    gains = features_of(turned)["reader unturned"]
    assert max(gains) == gains[1] > 0  # "fertile" tempts
    assert gains[0] < 0  # "barren" is right
    assert skill_weights("vocabulary")["features"]["reader unturned"] < 0
    assert features_of(plain)["reader unturned"] == [0.0] * 4

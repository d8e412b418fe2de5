"""Words that turn the meaning of a blank round.

Which words deny, in form or in meaning: Quirk, Greenbaum, Leech and Svartvik 1985, "A Comprehensive
Grammar of the English Language", 10.54-10.60 (the sections from memory); that *anything but* and
*far from* deny as well: common practice, no published source.
"""

from __future__ import annotations

import pytest

from rwtools.items.turning import denying_words, left_out, turning_words, without_denial

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


def denied(passage: str) -> str | None:
    at = passage.index(BLANK)
    words = denying_words(passage, (at, at + len(BLANK)))
    return words and words.of(passage)


@pytest.mark.parametrize(
    ("passage", "words"),
    [
        ("The apology did little to ____ the farmers.", "did little to"),
        ("The new law failed to ____ trade.", "failed to"),
        ("Far from being ____, the clerk spoke up.", "Far from"),
        ("She published the figures without any ____.", "without"),
        ("He was a man of no ____.", "no"),
        ("Rather than ____ the tax, they closed their shops.", "Rather than"),
        ("No one could call the new guard ____.", "No one"),
        ("The soil is no more ____ than sand.", "no more"),
        ("The hall was not yet ____.", "not"),
    ],
)
def test_words_that_deny_a_blank_are_named(passage, words):
    assert denied(passage) == words


@pytest.mark.parametrize(
    "passage",
    [
        "He did not hesitate to ____ them.",
        "She never failed to ____ her guests.",
        "The plan was not without ____.",
        "She was no less ____ than her sister.",
        "There is no doubt ____ people will come.",
        "Never had she been so ____.",
        "He could not have been more ____.",
        "It was not merely ____ but rude.",
        "Without money the ____ family stayed at home.",
        "She was never late and always ____.",
        "No one knew that he was ____.",
        "Was it not ____?",
    ],
)
def test_two_denials_and_mere_neighbours_deny_nothing(passage):
    assert denied(passage) is None


def test_a_denial_with_a_verb_is_taken_back():
    passage = "The apology did little to ____ them."
    words = denying_words(passage, (26, 30))
    assert words is not None
    assert without_denial(passage, words, 26) == "The apology did "


APOLOGY = {
    "id": "denied",
    "skill": "vocabulary",
    "passage": "The minister's apology did little to ____ the farmers. If anything, the crowd "
    "outside grew louder, and by evening two windows had been broken.",
    "question": "Which word fits?",
    "choices": ["inform", "enrage", "calm", "reward"],
}
CLERK = {
    "id": "clerk",
    "skill": "vocabulary",
    "passage": "Far from being ____, the old clerk corrected the king twice and would not bow.",
    "question": "Which word fits?",
    "choices": ["obsequious", "insolent", "learned", "wealthy"],
}
EXPECTED = {
    "id": "set against",
    "skill": "vocabulary",
    "passage": "Although critics expected a ____ performance, the young pianist forgot two "
    "passages and struck many wrong notes.",
    "question": "Which word fits?",
    "choices": ["flawless", "clumsy", "brief", "costly"],
}


@pytest.mark.parametrize(
    ("item", "words", "answer"),
    [(APOLOGY, "did little to", "calm"), (CLERK, "Far from", "obsequious")],
)
def test_a_denied_word_is_never_said_to_agree(with_judge, item, words, answer):
    from rwtools import solve

    (solution,) = solve([item])
    told = [step.finding for step in solution.path] + [c.reason for c in solution.choices]
    assert not any("agrees with" in one for one in told)
    assert any(one.startswith(f"“{words}” turns the meaning") for one in told)
    assert any(f"the opposite of “{answer}”" in one for one in told)


def test_what_a_link_sets_against_the_blank_does_not_agree_either(with_judge):
    from rwtools import solve

    (solution,) = solve([EXPECTED])
    assert solution.choices[0].reason.startswith("“flawless” makes the contrast with")
    assert not any("agrees with" in step.finding for step in solution.path)


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

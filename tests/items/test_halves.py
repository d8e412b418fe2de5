"""Halves that do not look what they are, and choices that are no links.

A comma for a verb left out, and *had* before the subject for *if*: common rules of grammar
handbooks, from memory. All sentences are our own.
"""

from __future__ import annotations

import pytest

from rwtools.items.halves import leaves_verb_out, supposes
from rwtools.items.solving import solve
from rwtools.items.transition import holds_link, uses_of
from rwtools.text import parse


def solved(skill: str, passage: str, *choices: str):
    row = {"id": "half", "skill": skill, "passage": passage, "question": "Which choice fits?"}
    (solution,) = solve([row | {"choices": list(choices)}])
    told = [*(step.finding for step in solution.path), *(c.reason for c in solution.choices)]
    return solution, " ".join(told)


@pytest.mark.parametrize(
    ("left", "right", "out"),
    [
        ("Some of the villagers wanted a bridge.", "Others, a school.", True),
        ("In summer the family burned wood.", "In winter, peat.", True),
        ("The older sister wanted silk.", "The younger, wool.", True),
        ("The crew packed three tools.", "A hammer, an axe and a saw.", False),
        ("The crew packed the tools.", "The saw, the axe.", False),
        ("In summer the family burned wood.", "In winter, they burned peat.", False),
        ("Some of the villagers.", "Others, a school.", False),
        ("The crew left at noon.", "Their captain, a Dane.", False),
    ],
)
def test_a_comma_may_stand_for_the_verb(left, right, out):
    assert leaves_verb_out(parse(left), parse(right)) is out


@pytest.mark.parametrize(
    ("left", "right", "condition"),
    [
        ("Had the storm come an hour earlier.", "The fleet would have been lost.", True),
        ("Should the rain return.", "The bridge will be closed again.", True),
        ("Had the storm come already.", "Nobody on the shore knew.", False),
        ("Were you at the mill.", "You would know the miller.", False),
        ("Has the storm come.", "The fleet would be lost.", False),
    ],
)
def test_had_before_its_subject_may_be_if(left, right, condition):
    assert supposes(parse(left), parse(right)) is condition


def test_the_second_part_takes_its_verb_from_the_first(with_judge):
    solution, told = solved(
        "punctuation",
        "Some of the villagers wanted a ____ a school. In the end they got neither.",
        "bridge; others,",
        "bridge, others,",
        "bridge; others",
        "bridge others,",
    )
    assert solution.answer == "A"
    assert "a comma stands for the verb “wanted”" in told
    assert "is none" not in solution.choices[0].reason


def test_an_inverted_condition_is_no_question(with_judge):
    solution, told = solved(
        "punctuation",
        "Had the storm come an hour ____ fleet would have been lost.",
        "earlier, the",
        "earlier. The",
        "earlier; the",
        "earlier the",
    )
    assert solution.answer == "A"
    assert "is a question" not in told
    assert "does the work of “if”" in told


def test_a_second_name_stands_between_two_commas(with_judge):
    solution, told = solved(
        "punctuation",
        "The sisters' ____ was sold last year.",
        "house, a cottage by the sea,",
        "house, a cottage by the sea",
        "house a cottage by the sea,",
        "house; a cottage by the sea,",
    )
    assert solution.answer == "A"
    assert "leads up to the main part" not in told
    assert "is a second name for “The sisters' house”" in told


def test_a_question_after_a_colon_can_stand_alone(with_judge):
    _, told = solved(
        "punctuation",
        "The letter asked a simple ____ The duke did not know.",
        "question: who owned the bridge?",
        "question, who owned the bridge.",
        "question; who owned the bridge?",
        "question who owned the bridge.",
    )
    assert "because of the word “who”" not in told
    assert "is a direct question" in told


def test_a_set_opening_describes_nobody(with_judge):
    _, told = solved(
        "grammar",
        "Speaking of bread, ____",
        "and the oven is hot.",
        "we have none left.",
        "the oven is hot.",
        "there is none left.",
    )
    assert "had been speaking" not in told
    assert "before it stands only an opening" in told


def test_a_time_describes_nobody(with_judge):
    solution, told = solved(
        "grammar",
        "After the war, ____",
        "there was nothing left to eat.",
        "there were nothing left to eat.",
        "and nothing was left to eat.",
        "nothing being left to eat.",
    )
    assert solution.answer == "A"
    assert "describe" not in told


def test_links_of_several_words():
    assert uses_of("Now and then, however")[0][0] in ("concession", "contrast")
    assert uses_of("Small wonder, then, that") == [("cause", 1.0)]
    assert uses_of("Should") == [("condition", 1.0)]
    assert uses_of("then")[0][0] != "cause"


def test_forms_of_a_verb_are_no_links(with_judge):
    solution, told = solved(
        "transition",
        "The first prize ____ to a girl from the coast.",
        "was given",
        "is giving",
        "were given",
        "gave",
    )
    assert solution.answer is None
    assert "None of the choices is a connecting word" in told


def test_no_written_transition_item_is_refused(train_items):
    for item in train_items:
        if item.skill == "transition":
            assert any(map(holds_link, item.choices))


def test_a_capital_begins_a_new_sentence(with_judge):
    solution, _ = solved(
        "punctuation",
        "She asked where the key ____ Nobody answered.",
        "was.",
        "was?",
        "was,",
        "was;",
    )
    assert "the capital of “Nobody” begins a new one" in solution.choices[3].reason


def test_a_general_word_in_the_second_part_is_no_sign_of_an_example(with_judge):
    _, told = solved(
        "transition",
        "Crows remember faces for years. ____, a crow trapped by a man in a mask scolded every man "
        "in that mask for a decade.",
        "For instance",
        "However",
        "Therefore",
        "Meanwhile",
    )
    assert "is a general word" not in told

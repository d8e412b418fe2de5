"""What a teacher would miss or strike out in the steps of transition, grammar and mark items.

Order words, what was expected, and the tenses beside *by the time*: common rules of grammar
handbooks, from memory. All sentences are our own.
"""

from __future__ import annotations

from itertools import pairwise

import pytest

from rwtools.cli.solve import shown_steps
from rwtools.items.model import Solution
from rwtools.items.solving import solve


def solved(skill: str, passage: str, *choices: str) -> Solution:
    item = {
        "id": "told",
        "skill": skill,
        "passage": passage,
        "question": "Which choice fits?",
        "choices": list(choices),
    }
    (solution,) = solve([item])
    assert solution.answer == "A"
    return solution


def told(solution: Solution) -> str:
    return " ".join([*(s.finding for s in solution.path), *(c.reason for c in solution.choices)])


MASK = (
    "The museum first cleaned the mask with soft brushes. ____, a conservator filled the cracks "
    "with wax that had been tinted to match the wood. Last of all, the cord was replaced."
)
VIADUCT = (
    "For years, engineers assumed that the old viaduct would be the weakest point of the line. "
    "____, only the new bridges cracked when the ground shook in May."
)


def test_order_words_of_the_passage_come_before_tense(with_judge):
    solution = solved("transition", MASK, "Next", "However", "For example", "In short")
    quotes = [q.quote for q in solution.path[1].evidence]
    assert quotes == ["first", "Last of all"]
    assert "“had”" not in told(solution)


@pytest.mark.parametrize(
    "passage",
    [
        "Glass was first blown in the town in 1290. ____, the furnaces were moved to an island.",
        "The first party crossed the pass in May. ____, the second party lost its way in the snow.",
    ],
)
def test_first_that_counts_no_step_is_no_order_word(with_judge, passage):
    solution = solved("transition", passage, "Later", "In other words", "For example", "Similarly")
    assert "“first”" not in told(solution)
    assert "in their order" not in told(solution)


def test_what_was_expected_is_named(with_judge):
    solution = solved("transition", VIADUCT, "Yet", "Therefore", "Similarly", "In addition")
    step = solution.path[1]
    assert "“assumed” says what was thought or hoped for" in step.finding
    assert "“only”" not in step.finding


def test_one_who_goes_on_to_act_shows_no_failed_hope(with_judge):
    passage = (
        "Karel believed that the dam would hold. ____, he moved his family to the hill that night."
    )
    solution = solved("transition", passage, "Nevertheless", "Similarly", "For example", "In short")
    assert "“believed” says" not in told(solution)


def test_no_cut_phrase_speaks_against_a_link(with_judge):
    for passage, choices in (
        (MASK, ("Next", "However", "For example", "In short")),
        (VIADUCT, ("Yet", "Therefore", "Similarly", "In addition")),
    ):
        assert "the words “" not in told(solved("transition", passage, *choices))


def test_by_the_time_names_both_events(with_judge):
    solution = solved(
        "grammar",
        "By the time the rescue boat reached the reef, the crew ____ the last of the flares.",
        "had burned",
        "burns",
        "burned",
        "will burn",
    )
    reasons = [choice.reason for choice in solution.choices]
    assert "“reached”, which is past" in solution.path[0].finding
    assert reasons[1] == "“burns” does not show that this is done before “reached”."
    assert "comes before “reached”" in reasons[2]
    assert reasons[3] == "“will burn” is future, but “reached” is past."


def test_a_coming_time_takes_will_have(with_judge):
    solution = solved(
        "grammar",
        "By the time the new bridge opens next spring, the ferry ____ the village for a century.",
        "will have served",
        "served",
        "serves",
        "had served",
    )
    assert "“opens”, which speaks of a coming time" in solution.path[0].finding


def test_after_to_the_verb_is_no_main_verb(with_judge):
    solution = solved(
        "grammar",
        "The crate was thought to ____ a barometer, a cello, and a list of birds.",
        "contain",
        "contains",
        "containing",
        "contained",
    )
    assert "main verb" not in told(solution)
    assert all("“to”" in choice.reason for choice in solution.choices)


def test_an_object_stands_for_what_was_taken(with_judge):
    solution = solved(
        "grammar",
        "The library lends tools, and anyone who borrows a ladder must return ____ by Monday.",
        "it",
        "them",
        "they",
        "its",
    )
    assert "It stands for “a ladder”" in solution.path[0].finding


def test_a_list_with_a_relative_clause_lacks_a_main_verb(with_judge):
    solution = solved(
        "punctuation",
        "The keeper of the light had three ____ a lamp, a clock and a goat that gave no milk.",
        "companions:",
        "companions;",
        "companions,",
        "companions",
    )
    assert "because of the word “that”" not in told(solution)
    assert "it has no main verb" in told(solution)


def test_an_aside_is_quoted_up_to_its_comma(with_judge):
    solution = solved(
        "punctuation",
        "The smallest of the three ____ which had been closed since the fire, reopened in May; its "
        "door is so low that tall men have to bow.",
        "chapels,",
        "chapels",
        "chapels;",
        "chapels:",
    )
    assert "reopened in May" not in told(solution)
    assert "“which had been closed since the fire” is put in" in told(solution)


def test_the_same_place_is_shown_once(with_judge):
    solution = solved(
        "grammar",
        "Carved from a single whale bone, ____",
        "the small ship is admired.",
        "visitors admire the small ship.",
        "there is beauty in the small ship.",
        "the ship's owner is proud.",
    )
    places = [[q.quote for q in step.evidence] for step in shown_steps(solution, "where")]
    assert all(one != two for one, two in pairwise(places))

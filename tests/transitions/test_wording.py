"""Explanations are sentences, whatever the parts are."""

from __future__ import annotations

import json

import pytest

from rwtools.text import parse
from rwtools.transitions import find


def told(passage: str) -> list[str]:
    return [c.explanation for c in find(parse(passage))]


@pytest.mark.parametrize(
    "passage",
    [
        "Because the roof leaks.",
        "Otherwise, the house is sound.",
        "Duchess, on the other hand, worked until noon.",
        "Still, the goats found grass.",
    ],
)
def test_a_missing_part_is_said_to_be_missing(passage):
    (explanation,) = told(passage)
    assert explanation.endswith("The passage does not show the other part.")
    assert "{" not in explanation


@pytest.mark.parametrize("rule", ["transition-connective", "transition-pair"])
def test_each_wording_names_parts_where_any_words_can_stand(root, rule):
    """A part may be a command or a question, so it follows no *that*, and opens no sentence."""
    words = json.loads((root / "shared" / "rules" / f"{rule}.json").read_text("utf-8"))
    for key, template in words["explanation"].items():
        assert template.count("{arg1}") == template.count("{arg2}") == 1, key
        assert template.count(". ") <= 1, key
        for part in ("{arg1}", "{arg2}"):
            before = template.split(part)[0]
            assert not before.endswith(("that ", ". ")), key
        first = template.replace(": ", ". ").split(". ")[0]
        assert "{arg" not in first, key


def test_a_command_after_although_is_told_in_a_sentence():
    (explanation,) = told("Even though it snowed, bring the sheep in!")
    assert explanation.endswith("the main one, which still holds, is “bring the sheep in”.")


def test_quotation_marks_stay_in_pairs():
    explanation = told("“You are a baker?” she asked. “Then we are colleagues.”")[-1]
    assert "“‘You are a baker?’ she asked”" in explanation
    explanation = told('"We have tea," said Ada. "Then I am happy."')[-1]
    assert "“‘We have tea,’ said Ada”" in explanation

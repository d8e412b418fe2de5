"""Each way's words file and logic agree, and each does on its own examples what it says."""

from __future__ import annotations

import json
from string import Formatter

import pytest

from rwtools.resources import shared
from rwtools.text import parse
from rwtools.vocabulary import WAYS, find, wording

IDS = [way.id for way in WAYS]
LABELS = {"definition", "restatement", "synonym", "contrast", "example", "cause"}
FIELDS = {"id", "kind", "title", "explanation", "source", "right", "near_misses"}


def gloss(clue):
    return next(e.quote for e in clue.evidence if e.role == "gloss")


def fired(rule: str, text: str, target: str | None = None):
    return [c for c in find(parse(text), target=target) if c.rule == rule]


def test_ids_are_unique_and_every_words_file_has_a_way():
    assert len(set(IDS)) == len(IDS)
    files = {p.stem: json.loads(p.read_text("utf-8")) for p in shared("rules").glob("*.json")}
    assert {name for name, words in files.items() if words["kind"] == "meaning"} == set(IDS)
    for way in WAYS:
        words = wording(way.id)
        assert FIELDS <= set(words) <= FIELDS | {"near_misses_asked"}
        assert words["id"] == way.id
        assert way.find.__doc__
        assert "near" in words["explanation"]


@pytest.mark.parametrize("rule", IDS)
def test_right_examples_give_their_term_and_gloss(rule):
    words = wording(rule)
    assert len(words["right"]) >= 3
    for example in words["right"]:
        clues = fired(rule, example["text"], example.get("target"))
        assert (example["term"], example["gloss"]) in [(c.quote, gloss(c)) for c in clues], example
        for clue in clues:
            assert clue.kind == "meaning"
            assert clue.label in LABELS
            assert 0 < clue.confidence < 1
            assert clue.quote in clue.explanation
            assert gloss(clue) in clue.explanation


@pytest.mark.parametrize("rule", IDS)
def test_near_misses_are_silent(rule):
    words = wording(rule)
    assert len(words["near_misses"]) >= 3
    for text in words["near_misses"]:
        assert fired(rule, text) == [], text
    for example in words.get("near_misses_asked", []):
        assert fired(rule, example["text"], example["target"]) == [], example


@pytest.mark.parametrize("rule", IDS)
def test_explanations_quote_the_passage(rule):
    for template in wording(rule)["explanation"].values():
        names = {name for _, name, _, _ in Formatter().parse(template) if name}
        assert "gloss" in names, template
        assert names <= {"term", "gloss", "cue"}, template

"""Each rule's file, function and id agree, and each does on its own examples what it says."""

from __future__ import annotations

import json
from string import Formatter

import pytest

from rwtools.resources import corpus, shared
from rwtools.rules import RULES, check, wording
from rwtools.text import parse, parse_many

IDS = [rule.id for rule in RULES]
FIELDS = {"id", "kind", "title", "explanation", "source", "wrong", "right", "near_misses"}


def faults(text: str, rule: str | None = None):
    clues = check(parse(text))
    return [c for c in clues if c.label == "fault" and rule in (None, c.rule)]


def test_ids_are_unique_and_words_exist_for_each():
    assert len(set(IDS)) == len(IDS)
    for rule in RULES:
        words = wording(rule.id)
        assert set(words) >= FIELDS, rule.id
        assert words["id"] == rule.id
        assert rule.find.__module__.rsplit(".", 1)[-1] == rule.id.replace("-", "_")
        assert rule.find.__module__.split(".")[2] == words["kind"]
        assert rule.find.__doc__


def test_no_words_without_a_rule():
    kinds = {"punctuation", "grammar"}
    files = {p.stem: json.loads(p.read_text()) for p in shared("rules").glob("*.json")}
    assert {name for name, words in files.items() if words["kind"] in kinds} == set(IDS)


@pytest.mark.parametrize("rule", IDS)
def test_wrong_examples_fire_at_their_span_and_the_fix_mends_them(rule):
    words = wording(rule)
    assert len(words["wrong"]) >= 3
    for example in words["wrong"]:
        found = faults(example["text"], rule)
        assert found, f"silent on {example['text']!r}"
        spots = [(c.start, c.end) for c in found]
        assert (example["start"], example["end"]) in spots, (example["text"], spots)
        clue = next(c for c in found if (c.start, c.end) == (example["start"], example["end"]))
        assert clue.fix, f"no fix for {example['text']!r}"
        mended = example["text"]
        for fix in sorted(clue.fix, key=lambda f: -f.start):
            mended = mended[: fix.start] + fix.replacement + mended[fix.end :]
        assert not faults(mended, rule), f"fix does not mend: {mended!r}"
        if "mended" in example:
            assert mended == example["mended"]


@pytest.mark.parametrize("rule", IDS)
def test_right_examples_and_near_misses_are_silent(rule):
    words = wording(rule)
    assert len(words["right"]) >= 3
    assert len(words["near_misses"]) >= 3
    for text in [*words["right"], *words["near_misses"]]:
        assert not faults(text, rule), text


@pytest.mark.parametrize("rule", IDS)
def test_explanations_use_only_known_values_and_quote_the_passage(rule):
    for template in wording(rule)["explanation"].values():
        assert any(name for _, name, _, _ in Formatter().parse(template)), template


def test_no_fault_on_clean_prose():
    paragraphs = [
        paragraph
        for path in sorted(corpus("clean").glob("*.txt"))
        for paragraph in path.read_text(encoding="utf-8").split("\n\n")
        if paragraph.strip()
    ]
    assert sum(len(p.split()) for p in paragraphs) >= 6000
    alarms = [
        (clue.rule, text.passage[max(0, clue.start - 40) : clue.end + 40])
        for text in parse_many(paragraphs)
        for clue in check(text)
        if clue.label == "fault"
    ]
    assert alarms == []

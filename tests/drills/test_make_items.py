"""Items as they are kept: checked by judge, relation model, vetting and solver; the rest counted.

One small run over two passages is shared by all tests of making (see `conftest.py`).
"""

import json
import random
from collections import Counter

import pytest

from rwtools import judge
from rwtools.drills import make
from rwtools.drills.make import MakeReport, _letters, _settled, make_items
from rwtools.errors import PassageError, UsageError
from rwtools.items.solving import solve
from rwtools.items.vet import vet


@pytest.fixture(scope="module")
def run(made_once):
    return made_once


def test_items_are_made_in_each_skill(run, pairs):
    items, report = run
    assert len(items) >= 4
    assert len({item.skill for item in items}) >= 3
    assert sum(report.made.values()) == len(items)
    assert report.passages == len(pairs)


def test_what_was_tried_was_made_or_dropped_for_a_reason(run):
    _, report = run
    for skill in report.tried:
        lost = sum(n for (s, _), n in report.dropped.items() if s == skill)
        assert report.tried[skill] == report.made[skill] + lost


def test_every_item_is_vetted_and_solved_as_keyed(run):
    items, _ = run
    for item, vetted, solution in zip(items, vet(items), solve(items), strict=True):
        assert not vetted.problems, item.id
        assert solution.answer == item.answer, item.id


def test_the_judge_agrees_with_the_key(run):
    items, _ = run
    for item in items:
        if item.blank is not None:
            start, end = item.blank
            scores = judge.compare(item.passage[:start], item.choices, item.passage[end:])
            assert max(scores) == scores[item.key], item.id


def test_rationale_and_evidence_point_at_words(run):
    items, _ = run
    for item in items:
        assert item.rationale
        assert item.evidence
        assert all(item.passage[q.start : q.end] == q.quote for q in item.evidence)


def test_ids_differ_and_sources_are_named(run, pairs):
    items, _ = run
    assert len({item.id for item in items}) == len(items)
    assert {item.source for item in items} <= {name for name, _ in pairs}


def test_keys_are_as_even_as_can_be(run):
    items, _ = run
    for skill in {item.skill for item in items}:
        keys = Counter(item.answer for item in items if item.skill == skill)
        assert max(keys.values()) - min(keys[letter] for letter in "ABCD") <= 1


def test_another_seed_makes_other_items(run, pairs):
    items, _ = run
    others, _ = make_items(pairs[:1], seed=5, skills=["punctuation"])
    assert {i.id for i in others} != {i.id for i in items if i.source == pairs[0][0]}


def test_the_report_is_json(run):
    _, report = run
    assert json.loads(json.dumps(report.to_dict())) == report.to_dict()


# The rest does not need the models: only the choosing and counting around one passage's yield.


@pytest.fixture
def from_yields(monkeypatch, run):
    """Let passages give ready items instead of working them out again."""
    items, _ = run
    by_source = {}
    for item in items:
        by_source.setdefault(item.source, []).append(item)
    asked = []

    def ready(source, passage, index, skills, difficulty, seed):
        asked.append((source, skills))
        found = make.Yield()
        for item in by_source.get(source, ()):
            if item.skill in skills:
                found.items.setdefault(item.skill, []).append(item)
                found.tried[item.skill] += 1
        return found

    monkeypatch.setattr(make, "from_passage", ready)
    return asked


def test_count_is_shared_by_the_skills(from_yields, pairs):
    items, report = make_items(pairs, count=2, skills=["grammar", "punctuation"])
    assert Counter(i.skill for i in items) == {"grammar": 1, "punctuation": 1}
    assert not report.short


def test_a_shortage_is_filled_and_told(from_yields, pairs):
    items, report = make_items(pairs, count=200)
    assert report.short
    assert len(items) == sum(report.made.values()) < 200


def test_the_stream_is_read_only_as_far_as_needed(from_yields, pairs):
    def endless():
        while True:
            yield from pairs

    items, report = make_items(endless(), count=1, skills=["punctuation"])
    assert len(items) == 1
    assert report.passages == 16


def test_an_item_met_twice_is_kept_once(from_yields, pairs):
    items, report = make_items([*pairs, *pairs])
    assert len({i.id for i in items}) == len(items)
    assert sum(n for (_, why), n in report.dropped.items() if why == "the same item again")


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ({"skills": ["inference"]}, "there is no skill 'inference' to make"),
        ({"count": 0}, "the count must be 1 or more"),
        ({"difficulty": 5}, "from 1 .easy. to 4"),
        ({"jobs": 0}, "1 job or more"),
    ],
)
def test_options_out_of_range(options, message):
    with pytest.raises(UsageError, match=message):
        make_items(["A mill."], **options)


def test_an_empty_passage():
    with pytest.raises(PassageError, match="empty"):
        make_items(["  "])


def test_an_empty_stream():
    assert make_items([]) == ([], MakeReport())


@pytest.mark.parametrize("counts", [(2, 2, 1, 1), (1, 1, 1, 1), (40, 7, 0, 9)])
def test_letters_are_spread_over_a_drill_and_over_each_skill(counts):
    found = _letters(counts, random.Random("5 of them"))
    assert [len(keys) for keys in found] == list(counts)
    for keys in (*found, [key for part in found for key in part]):
        seen = [keys.count(letter) for letter in "ABCD"]
        assert max(seen) - min(seen) <= 1
    assert found == _letters(counts, random.Random("5 of them"))


def test_the_first_letter_of_a_skill_varies_with_text_and_seed(made_once):
    items, _ = made_once
    kept = {item.skill: [item] for item in items}
    quota = dict.fromkeys(kept, 0)
    seen = {
        tuple(i.answer for i in _settled(dict(kept), quota, None, seed, MakeReport()))
        for seed in range(8)
    }
    assert len(seen) > 4

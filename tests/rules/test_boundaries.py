"""Clause boundaries: places, models, rules, and floors on examples of public-domain handbooks."""

from __future__ import annotations

import json
import os
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rwtools.errors import ArtifactError
from rwtools.rules import check
from rwtools.rules.boundaries import boundaries
from rwtools.rules.doubts import sides
from rwtools.rules.friends import is_bare
from rwtools.rules.places import feature_names, features, outline, places
from rwtools.rules.trees import load_forests
from rwtools.rules.wholeness import sentence_features, sentence_names
from rwtools.text import parse, parse_many

OURS = {
    "comma-splice",
    "fused-sentence",
    "sentence-fragment",
    "semicolon-unequal-parts",
    "missing-comma-after-introduction",
    "comma-before-second-verb",
    "missing-comma-before-conjunction",
    "adverb-as-conjunction",
}
DATA = Path(os.environ.get("RWTOOLS_DATA", Path(__file__).parents[2].parent / "shared" / "data"))


def ours(passage: str, label: str = "fault"):
    return [c for c in check(parse(passage)) if c.rule in OURS and c.label == label]


def test_rows_have_the_named_columns():
    text = parse("When it rains, the river rises; the fields are wet, and nobody works.")
    shape = outline(text)
    found = places(text, shape)
    assert {p.kind for p in found} >= {"comma", "semicolon"}
    for place in found:
        assert features(text, shape, place).shape == (len(feature_names()),)
        left, right = sides(text, place)
        assert left[0].isupper()
        assert right.endswith(".")
    assert sentence_features(text, shape, 0).shape == (len(sentence_names()),)


def test_a_damaged_model_is_one_clear_error(tmp_path):
    broken = tmp_path / "boundary.npz"
    broken.write_bytes(b"not an archive")
    with pytest.raises(ArtifactError, match="cannot be read"):
        load_forests(broken)


def test_no_pickle_in_the_model():
    from rwtools.resources import artifact

    path = artifact("boundary", "boundary.npz")
    assert path.stat().st_size <= 3_000_000
    with np.load(path, allow_pickle=False) as data:
        assert all(data[name].dtype != object for name in data.files)


def test_work_is_done_once_for_all_rules():
    text = parse("The bridge was closed, we took the ferry.")
    assert boundaries(text) is boundaries(text)


@pytest.mark.parametrize(
    ("passage", "rule"),
    [
        # Strunk, The Elements of Style (1918), rules 5 and 6
        ("Stevenson's romances are entertaining, they are full of exciting adventures.",
         "comma-splice"),
        ("It is nearly half past five, we cannot reach town before dark.", "comma-splice"),
        # Greever & Jones, The Century Collegiate Handbook (1918), rules 1, 18, 90
        ("The winters were long and cold, nothing could live without shelter.", "comma-splice"),
        ("The hunter tried to move the stone. Which he found very heavy.", "sentence-fragment"),
        ("The hen clucks to her chickens. When she scratches up a worm.", "sentence-fragment"),
    ],
)  # fmt: skip
def test_faults_that_handbooks_name(passage, rule):
    assert rule in {c.rule for c in ours(passage)}


@pytest.mark.parametrize(
    "passage",
    [
        # Strunk (1918), rules 4 and 5: both sound
        "Man proposes, God disposes.",
        "It is nearly half past five; we cannot reach town before dark.",
        "The situation is perilous, but there is still one chance of escape.",
        # Wood, Practical Grammar and Composition (1910), sections 112 and 120
        "He can sing well, but he seldom will sing in public.",
        "He spends his money for theatres, and dinners, and wine; and for his family he has not a "
        "cent.",
        # Greever & Jones (1918), rule 91
        "She came and she was gone in a moment.",
        "The day will come when you will admit your mistake.",
    ],
)
def test_sound_sentences_of_handbooks_stay_silent(passage):
    assert ours(passage) == []


@pytest.mark.parametrize(
    "passage",
    [
        "I came, I saw, I conquered.",  # a series of short clauses
        "You have met my sister, haven't you?",  # a tag question
        "\"We leave at dawn,\" said the pilot, \"whatever the weather is.\"",
        "The sooner the ice melts, the sooner the ships can sail.",
        "The answer, I believe, lies in the archive.",
        "Anton, come here.",
        "The work done, the crew went home.",
        "The Long Road Home\n\nThe crew went home at noon and slept.",
        "He asked for one thing. \"A little more time.\"",
        "The bridge was closed, ____ we took the ferry.",
    ],
)  # fmt: skip
def test_false_friends_stay_silent(passage):
    assert ours(passage) == []


@pytest.mark.parametrize(
    ("passage", "halves"),
    [
        (
            "The bridge was old and narrow, the mayor wished to close it, the fishermen said no to "
            "that.",
            [("The bridge was old and narrow", "the mayor wished to close it"),
             ("the mayor wished to close it", "the fishermen said no to that")],
        ),
        (
            "The rain has stopped, there may be a rainbow, the children want to see it.",
            [("The rain has stopped", "there may be a rainbow"),
             ("there may be a rainbow", "the children want to see it")],
        ),
        # a phrase alone is no second sentence
        (
            "The town was old, its walls were built of stone, with the help of the king, nobody "
            "knew who had built them.",
            [("The town was old", "its walls were built of stone"),
             ("its walls were built of stone",
              "with the help of the king, nobody knew who had built them")],
        ),
        # a list of clauses with "and" before the last is sound; the splice stands beside it
        (
            "He wrote letters, kept bees, and sold honey, his wife ran the shop.",
            [("He wrote letters, kept bees, and sold honey", "his wife ran the shop")],
        ),
    ],
)  # fmt: skip
def test_each_splice_of_a_chain_is_told_with_its_own_two_sentences(passage, halves):
    clues = [c for c in ours(passage) if c.rule == "comma-splice"]
    assert [tuple(e.quote for e in c.evidence if e.role == "clause") for c in clues] == halves


@pytest.mark.parametrize(
    "passage",
    [
        # Strunk (1918), rule 5: very short clauses, alike in form
        "The gate swung apart, the bridge fell, the portcullis was drawn up.",
        "The rain stopped, the birds sang, the children came out, the teacher smiled.",
        "He was late, he missed the bus, and his friends left without him.",
    ],
)
def test_short_clauses_of_one_build_may_have_commas(passage):
    assert ours(passage) == []


def test_verse_keeps_its_own_marks():
    verse = "Upon the hill a lantern burned,\nThe wind went by, the leaves were turned,\n" \
        "And over all the water clear\nThe moon came up, the night was near."  # fmt: skip
    assert ours(verse) == []


@pytest.mark.parametrize(
    ("passage", "rule", "quote"),
    [
        ("The tide was low; the boats lay on the sand.", "semicolon-unequal-parts", ";"),
        ("The tide was low, and the boats lay on the sand.", "missing-comma-before-conjunction",
         ","),
        ("When the tide was low, the boats lay on the sand.", "missing-comma-after-introduction",
         ","),
        ("The tide was low; however, the boats were afloat.", "adverb-as-conjunction", ";"),
    ],
)  # fmt: skip
def test_sound_boundaries_are_named_with_both_sides(passage, rule, quote):
    clues = [c for c in ours(passage, "sound") if c.rule == rule]
    assert [c.quote for c in clues] == [quote]
    assert "The tide was low" in clues[0].explanation or "the tide was low" in passage
    assert any(e.role == "clause" for e in clues[0].evidence)


@pytest.mark.parametrize(
    ("passage", "bare"),
    [
        ("He named two risks. The rust of the old hinges and the damp.", True),
        ("They sell plums. The best that grew along the river this year.", True),
        ("The pump is loud. The noise shakes the cups on the shelf.", False),
        ("Frost came early. The larvae then overwinter in the bark.", False),
    ],
)
def test_a_bare_sentence_has_no_word_that_could_be_its_verb(passage, bare):
    text = parse(passage)
    assert is_bare(text, text.sentences[1]) is bare


_WORDS = st.sampled_from(
    'the dog , ; . ran it was because and however , which cold I ____ " ( ) - is ?'.split()
)


@settings(max_examples=30, deadline=None)
@given(st.lists(_WORDS, max_size=25))
def test_any_order_of_words_gives_valid_clues(words):
    passage = " ".join(words)
    for clue in check(parse(passage)):
        assert passage[clue.start : clue.end] == clue.quote
        if clue.rule in OURS and clue.label == "fault":
            assert "____" not in passage[max(0, clue.start - 1) : clue.end + 1]


@pytest.mark.skipif(not (DATA / "handbook_dev.jsonl").exists(), reason="RWTOOLS_DATA is absent")
def test_floors_on_worked_examples_of_handbooks():
    rows = [json.loads(line) for line in (DATA / "handbook_dev.jsonl").open(encoding="utf-8")]
    found: dict[str, list[bool]] = {}
    alarms = []
    for text, row in zip(parse_many(r["text"] for r in rows), rows, strict=True):
        rules = {c.rule for c in check(text) if c.label == "fault" and c.rule in OURS}
        if row["verdict"] == "right":
            alarms.append(bool(rules))
        else:
            found.setdefault(row["fault"], []).append(bool(rules))
    share = {name: sum(hits) / len(hits) for name, hits in found.items()}
    assert share["comma_splice"] >= 0.8
    assert share["fused_sentence"] > 0  # weak: see the card
    assert share["fragment"] >= 0.7
    assert sum(alarms) / len(alarms) <= 0.02

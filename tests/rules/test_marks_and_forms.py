"""The rules on single marks and word forms: what they leave alone, show and say."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rwtools.rules import check, wording
from rwtools.text import parse

MINE = [
    "a-or-an",
    "apostrophe-contraction",
    "apostrophe-possessive",
    "colon-after-incomplete-clause",
    "comma-after-conjunction",
    "comma-before-restrictive-that",
    "comma-between-subject-and-verb",
    "dangling-modifier",
    "double-comparison",
    "double-conjunction",
    "double-negative",
    "its-and-it-is",
    "noun-number",
    "parallel-structure",
    "pronoun-agreement",
    "subject-verb-agreement",
    "tense-shift",
    "unpaired-interruption",
    "verb-form",
    "word-confusion",
]


def found(text: str, rule: str, label: str):
    return [c for c in check(parse(text)) if c.rule == rule and c.label == label]


@pytest.mark.parametrize("rule", MINE)
def test_a_fault_in_a_quotation_keeps_its_wording(rule):
    for example in wording(rule)["wrong"]:
        inner = example["text"].replace('"', "")
        assert not found(f'The sign said, "Well, {inner}" and we left.', rule, "fault")


@pytest.mark.parametrize("rule", MINE)
def test_clues_quote_the_passage_and_explain_with_its_words(rule):
    for example in wording(rule)["wrong"]:
        text = example["text"]
        for clue in found(text, rule, "fault"):
            assert text[clue.start : clue.end] == clue.quote
            assert all(text[e.start : e.end] == e.quote for e in clue.evidence)
            assert "{" not in clue.explanation
            assert 0.5 <= clue.confidence < 1
            quoted = clue.explanation.split('"')[1::2]
            assert any(q.split(" ... ")[0].strip() in text for q in quoted), clue.explanation


@pytest.mark.parametrize("rule", MINE)
def test_curly_marks_change_nothing(rule):
    for example in wording(rule)["wrong"]:
        text = example["text"].replace("'", "’")
        spots = [(c.start, c.end) for c in found(text, rule, "fault")]
        assert (example["start"], example["end"]) in spots, text


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        ("The price of the tickets ____ too high, and they is angry.", "subject-verb-agreement"),
        ("The box of nails ____, was on the shelf.", "comma-between-subject-and-verb"),
        ("The soup needs ____: salt, oil, and rice.", "colon-after-incomplete-clause"),
        ("The river—a slow ____, flows past the mill.", "unpaired-interruption"),
        ("The clerk gave the keys to ____ and I.", "pronoun-agreement"),
        ("The children left ____ boots outside, and its ____.", "its-and-it-is"),
    ],
)
def test_no_fault_touches_a_blank(text, rule):
    for clue in check(parse(text)):
        if clue.label == "fault":
            for start, end in [(clue.start, clue.end), *((e.start, e.end) for e in clue.evidence)]:
                assert "____" not in text[max(0, start - 1) : end + 1], clue


def test_verse_keeps_its_marks():
    verse = (
        "The lantern, on the sill, that burns\n"
        "Its slow way down to ash and smoke,\n"
        "Has seen the tide, that never turns,\n"
        "And each of all the words we spoke\n"
    )
    assert not [c for c in check(parse(verse)) if c.label == "fault"]


def test_headings_and_labels_are_not_sentences():
    text = (
        "The Keeper of the Lamps, and Other Tales\n\nChapter One: The Harbour\n\nIt rained all day."
    )
    assert not [c for c in check(parse(text)) if c.label == "fault"]


@pytest.mark.parametrize(
    ("text", "rule", "quote", "key"),
    [
        (
            "The list of names, which hangs by the doors, is old.",
            "subject-verb-agreement",
            "is",
            "list",
        ),
        (
            "The students, who had worked all night, were tired.",
            "unpaired-interruption",
            ", who had worked all night,",
            "The students",
        ),
        (
            "Walking to the harbour, we saw the lighthouse.",
            "dangling-modifier",
            "Walking to the harbour",
            "we",
        ),
        (
            "The soup needs three things: onions, a carrot, and salt.",
            "colon-after-incomplete-clause",
            ":",
            "The soup",
        ),
    ],
)
def test_sound_examples_teach(text, rule, quote, key):
    clues = found(text, rule, "sound")
    assert [c.quote for c in clues] == [quote]
    assert key in [e.quote for e in clues[0].evidence]
    assert not clues[0].fix


@pytest.mark.parametrize(
    ("text", "mended"),
    [
        ("The river, a slow stream—flows on.", "The river, a slow stream, flows on."),
        ("The plan however, was costly.", "The plan, however, was costly."),
        ("Having read the letter, the lamp went out.", None),
        ("On hearing the bell, the work was stopped.", None),
    ],
)
def test_mends_read_well(text, mended):
    clue = next(c for c in check(parse(text)) if c.label == "fault")
    new = text
    for fix in sorted(clue.fix, key=lambda f: -f.start):
        new = new[: fix.start] + fix.replacement + new[fix.end :]
    assert not found(new, clue.rule, "fault")
    if mended is not None:
        assert new == mended


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.sampled_from(
            [
                *"the its it's they're there who which that , : ; — ( ) and but of is are".split(),
                *"has each Having walking dog dogs dog's students' farmers he I to than".split(),
                *["____", "\n", ".", "?", "“", "”", "'"],
            ]
        ),
        max_size=25,
    )
)
def test_any_heap_of_words_gives_true_offsets(words):
    text = " ".join(words)
    for clue in check(parse(text)):
        assert text[clue.start : clue.end] == clue.quote
        assert all(0 <= f.start <= f.end <= len(text) for f in clue.fix)


@pytest.mark.parametrize(
    "passage",
    ["Yet each of the later surveys have confirmed it.", "But the price of the maps were low."],
)
def test_a_conjunction_that_opens_a_sentence_joins_no_subjects(passage):
    assert found(passage, "subject-verb-agreement", "fault")


@pytest.mark.parametrize(
    ("passage", "label"),
    [
        ("It's last page reads simply: closed.", "fault"),
        ("The tower stood, and it's first winter was hard.", "fault"),
        ("It's strange people leave so early.", ""),
        ("It's clear water flows here.", ""),
    ],
)
def test_a_bare_noun_with_its_own_verb_needs_an_owner(passage, label):
    labels = [c.label for c in check(parse(passage)) if c.rule == "its-and-it-is"]
    assert ("fault" in labels) is (label == "fault")


def test_the_members_of_a_list_are_told_in_full():
    passage = "The weavers need green stems, dry stems, and a sharp knife."
    [clue] = [c for c in check(parse(passage)) if c.rule == "series-comma"]
    assert clue.quote == "green stems, dry stems, and a sharp knife"
    assert '"green stems", "dry stems", "a sharp knife"' in clue.explanation


@pytest.mark.parametrize(
    "passage", ["The woman, who's car was stolen, was calm.", "The boy, who's dog had died, wept."]
)
def test_a_wrong_whose_is_the_only_fault(passage):
    assert [c.rule for c in check(parse(passage)) if c.label == "fault"] == ["its-and-it-is"]


def test_no_rule_praises_a_comma_that_another_faults():
    clues = check(parse("We visited Paris, Rome and, Berlin."))
    assert [(c.rule, c.label) for c in clues] == [("comma-after-conjunction", "fault")]


@pytest.mark.parametrize(
    ("passage", "mended"),
    [
        ("The king came. The kings advisers were pleased.", "king's"),
        ("The kings met. One king was late. The kings advisers were pleased.", "kings'"),
    ],
)
def test_one_owner_named_before_is_one_owner(passage, mended):
    [clue] = found(passage, "apostrophe-possessive", "fault")
    assert clue.fix[0].replacement == mended


@pytest.mark.parametrize(
    ("passage", "mark"),
    [
        # which subordinators take a comma after a main clause: common practice, no published source
        ("He stayed at home; because it rained all day.", ""),
        ("He stayed at home; although the sun shone.", ","),
        ("He owned two things; a boat and a map.", ":"),
    ],
)
def test_what_takes_the_place_of_a_wrong_semicolon(passage, mark):
    [clue] = found(passage, "semicolon-unequal-parts", "fault")
    assert [f.replacement for f in clue.fix] == [mark]


def test_a_bare_link_quotes_its_own_clause_only():
    [clue] = found(
        "However the bridge stood; the mill burned.", "missing-comma-after-introduction", "fault"
    )
    assert '"the bridge stood"' in clue.explanation
    assert clue.fix[0].replacement == ","

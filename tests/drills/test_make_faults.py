"""A sentence in which a rule finds a fault is shown in no item, and its passage is named."""

from __future__ import annotations

import random

import pytest

from rwtools.drills import make
from rwtools.drills.making.faults import faulty_sentences
from rwtools.drills.making.window import sound_sentences
from rwtools.text import parse

OPENING = "The village of Ardlow keeps a long record of its harvests. "
REST = (
    " They had worked all summer in the rain and had little to show for it. Their carts stood "
    "empty in the yard, and the barns held only a few sacks of oats. In the end, the council gave "
    "every family a loan, and by spring the fields were green again."
)
SOUND = "The king's advisers were pleased; however, the farmers were not."
FAULTY = "The kings advisers was pleased, however, the farmers were not."


@pytest.fixture
def unchecked(monkeypatch):
    """Making without the models: every draft with a frame becomes an item."""

    def give(text, draft, shown, scores, rng, source):
        return make.build(draft, make.pick(draft.options), text, shown, rng, source=source)

    monkeypatch.setattr(make, "weigh", lambda text, drafts, frames: [None] * len(drafts))
    monkeypatch.setattr(make, "shortlist", lambda text, draft, shown: draft)
    monkeypatch.setattr(make, "_item", give)
    monkeypatch.setattr(make, "_faults", lambda items: [""] * len(items))


def test_no_item_shows_a_faulty_sentence(unchecked):
    items, report = make.make_items([("ardlow", OPENING + FAULTY + REST)])
    assert items
    assert not [item for item in items if "advisers" in item.passage]
    (sentence,) = report.faulty
    assert (sentence.passage, sentence.sentence) == ("ardlow", FAULTY)
    assert sentence.rules[0] == "apostrophe-possessive"
    assert "subject-verb-agreement" in sentence.rules
    reasons = [why for _, why in report.dropped if why.startswith("the text has a fault there")]
    assert reasons
    assert report.to_dict()["faulty"] == [
        {"passage": "ardlow", "sentence": FAULTY, "rules": sentence.rules}
    ]


def test_what_was_tried_was_made_or_dropped(unchecked):
    _, report = make.make_items([("ardlow", OPENING + FAULTY + REST)])
    for skill in report.tried:
        lost = sum(n for (s, _), n in report.dropped.items() if s == skill)
        assert report.tried[skill] == report.made[skill] + lost


def test_the_same_passage_mended_is_used(unchecked):
    passage = OPENING + SOUND + REST
    assert not faulty_sentences(parse(passage), "ardlow")
    items, report = make.make_items([("ardlow", passage)], seed=1)
    assert not report.faulty
    assert [item for item in items if "advisers" in item.passage]


def test_of_good_texts_hardly_a_sentence_is_lost(passages):
    """The corpus is written without faults: what a rule finds there would be a false alarm."""
    texts = [parse(passage) for passage in passages.values()]
    lost = [s for text in texts if not text.verse for s in faulty_sentences(text, "x").values()]
    assert len(lost) <= 0.01 * sum(len(text.sentences) for text in texts)


def test_a_text_full_of_faults_gives_nothing_and_says_why(unchecked):
    passage = " ".join([FAULTY] * 6)
    items, report = make.make_items([("ardlow", passage)], skills=["punctuation", "transition"])
    assert items == []
    assert len(report.faulty) == 6


# The rationale of a connective in the middle of a sentence: common practice, no published source.


@pytest.mark.parametrize(
    ("sentence", "shown"),
    [
        ("The farmers, however, were not glad of it.", "The farmers were not glad of it."),
        (
            "When the rain came, however, the farmers were glad of it.",
            "When the rain came, the farmers were glad of it.",
        ),
        ("Of all the farmers, however, only two said no.", "Of all the farmers, only two said no."),
    ],
)
def test_a_connective_inside_a_sentence_is_left_out_cleanly(sentence, shown):
    text = parse(f"The plan pleased the millers. {sentence}")
    (draft,) = make.drafts(text, "transition", random.Random(1))
    assert f'Then it says: "{shown}"' in draft.rationale


@pytest.mark.parametrize(
    "sentence",
    [
        FAULTY,
        "The advisers were pleased, however, the farmers left the hall at once.",
    ],
)
def test_no_item_asks_for_a_connective_between_two_sentences_with_commas(sentence):
    text = parse(f"The plan was dear. {sentence}")
    assert not list(make.drafts(text, "transition", random.Random(1)))


def test_a_faulty_sentence_can_be_sound_to_look_at():
    """`window.is_sound` looks at how a sentence opens and ends only."""
    text = parse(OPENING + FAULTY)
    assert sound_sentences(text) == [True, True]
    assert set(faulty_sentences(text, "x")) == {1}

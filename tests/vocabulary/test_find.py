"""Targets, unfamiliar words, blanks, offsets and bad input."""

from __future__ import annotations

import subprocess
import sys
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rwtools.errors import InputError
from rwtools.text import parse
from rwtools.vocabulary import UNFAMILIAR_BELOW, find, signals, zipf

PASSAGE = (
    "A stoma, a tiny pore in the leaf, opens at dawn. Unlike her garrulous brother, Mina hardly "
    "spoke. The window, an opening in the wall, was shut. The valley was so arid that nothing grew."
)


def quotes(clues):
    return {c.quote for c in clues}


def gloss(clue):
    return next(e.quote for e in clue.evidence if e.role == "gloss")


def test_only_unfamiliar_words_are_shown_unless_all_are_wanted():
    text = parse(PASSAGE)
    assert quotes(find(text)) == {"stoma", "garrulous", "arid"}
    assert "window" in quotes(find(text, all_words=True))


def test_a_target_is_examined_whatever_its_frequency():
    text = parse(PASSAGE)
    clues = find(text, target="window")
    assert [(c.quote, gloss(c)) for c in clues] == [("window", "an opening in the wall")]
    start = PASSAGE.index("window")
    assert find(text, target=(start, start + 6)) == clues


def test_a_clue_stands_at_the_target_inside_a_longer_term():
    text = parse("They threw away the soft pith, a spongy core of the stem, at once.")
    (clue,) = find(text, target="pith")
    assert clue.quote == "pith"
    assert "pith" in clue.explanation


def test_other_mentions_of_a_target_count():
    text = parse("The stomata were closed. A stoma is a tiny pore that lets air into a leaf.")
    clues = find(text, target="stomata") + find(text, target="stoma")
    assert any("tiny pore" in gloss(c) for c in clues)


@pytest.mark.parametrize("target", ["lizard", " ", (5, 5), (-1, 3), (0, 10_000)])
def test_a_target_outside_the_passage_is_one_clear_line(target):
    with pytest.raises(InputError) as error:
        find(parse(PASSAGE), target=target)
    assert "\n" not in str(error.value)
    assert error.value.field == "target"


NOTHING_PLAIN = [
    ("Heat the pan. Then wait. The tepid milk is ready.", "tepid", "milk is ready"),
    ("She bought a trowel, a rake, and a spade.", "trowel", "a rake, and a spade"),
    ("The mayor of the town chose a new steward.", "steward", "The mayor of the town chose"),
    ("On the knoll, the wind had felled an elm.", "knoll", "the wind had felled an elm"),
]


@pytest.mark.parametrize(("passage", "target", "beside"), NOTHING_PLAIN)
def test_where_nothing_is_plain_the_nearest_words_come_first_and_it_is_said(
    passage, target, beside
):
    first = find(parse(passage), target=target)[0]
    assert gloss(first) == beside
    assert "does not explain" in first.explanation
    assert first.confidence < 0.3


def test_a_sure_meaning_makes_neighbours_and_turns_idle():
    text = parse(
        "The axolotl shows neoteny, the keeping of young features in an adult animal. However, "
        "most other salamanders lose their gills and leave the water."
    )
    assert [c.label for c in find(text, target="neoteny")] == ["definition"]


def test_a_description_makes_the_rest_of_the_sentence_idle():
    clues = find(parse("A tepid soup, neither hot nor cold, pleases nobody."), target="tepid")
    assert [gloss(c) for c in clues] == ["neither hot nor cold"]


def test_a_tie_with_a_relation_is_told_once():
    text = parse("Because the glue is so viscous, it takes an hour to flow out of the jar.")
    assert [c.label for c in find(text, target="viscous")] == ["cause"]


def test_a_plainly_told_word_is_shown_though_it_is_not_rare():
    text = parse("She paid a deposit, that is, a part of the price, in May.")
    assert zipf("deposit") > UNFAMILIAR_BELOW
    assert [(c.quote, gloss(c)) for c in find(text)] == [("deposit", "a part of the price")]
    text = parse("The treaty was void; in other words, it bound nobody.")
    assert find(text) == []
    assert "void" in quotes(find(text, all_words=True))


def test_the_meanings_of_one_word_stand_surest_first():
    text = parse("The dog was docile and obedient, and even small children could lead it.")
    shares = [c.confidence for c in find(text, target="docile")]
    assert len(shares) == 2
    assert shares == sorted(shares, reverse=True)


def test_names_are_left_out():
    assert find(parse("We met Orla Venn, a baker from the coast, at the inn.")) == []
    assert find(parse("They sailed to Ollabrook, a small town by the sea.")) == []


def test_familiarity_follows_the_scale():
    assert zipf("house") > 5 > UNFAMILIAR_BELOW > zipf("arid") > 3
    assert zipf("stoma") == 0


BLANKS = [
    ("Her work was ____: she checked every result twice.", "she checked every result twice"),
    ("Unlike her ____ brother, Mina hardly spoke.", "hardly spoke"),
    ("The valley was so ____ that nothing grew there.", "nothing grew there"),
    ("Although the first trials were ____, the later ones gave clear results.", "clear results"),
    ("A stoma, a tiny ____, lets air in.", "stoma"),
    ("The rules were ____; no two players read them in the same way.", "no two players"),
    ("Because the coast is ____, few ships can land there safely.", "few ships can land"),
    ("The plan was not ____ but carefully prepared over many years.", "carefully prepared"),
    ("Mara was known for her ____ manner\u2014she rarely spoke.", "she rarely spoke"),
    ("The plain, so ____ that no tree grew on it, lay before them.", "no tree grew on it"),
]


@pytest.mark.parametrize(("passage", "points"), BLANKS)
def test_signals_point_at_a_blank(passage, points):
    start = passage.index("____")
    clues = signals(parse(passage), start, start + 4)
    assert any(points in gloss(c) for c in clues), [(c.rule, gloss(c)) for c in clues]
    for clue in clues:
        assert (clue.start, clue.end) == (start, start + 4)


def test_without_the_deciding_words_there_is_no_signal():
    passage = "Her work was ____ in the spring of that year."
    assert signals(parse(passage), 13, 17) == []
    with pytest.raises(InputError):
        signals(parse(passage), 40, 90)


PIECES = [
    "a stoma", ", ", "(", ")", "\u2014", ": ", "or ", "that is, ", "called ", "which is ", "____",
    "\n\n", "\u2019", "\U0001f331", "e\u0301", "This arid plain ", "means ", "such as ", "not ",
    "but ", "so ", "that ", ". ", "owls and bats ", "is a tiny pore ", "Unlike ", "; ", " - ",
]  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(st.one_of(st.text(max_size=60), st.lists(st.sampled_from(PIECES), max_size=20).map("".join)))
def test_offsets_always_give_back_the_quote(passage):
    text = parse(passage)
    places = [(t.start, t.end) for t in text.tokens[:2]]
    clues = find(text, all_words=True)
    for start, end in places:
        clues += find(text, target=(start, end)) + signals(text, start, end)
    for clue in clues:
        assert passage[clue.start : clue.end] == clue.quote != ""
        for evidence in clue.evidence:
            assert passage[evidence.start : evidence.end] == evidence.quote != ""


def test_wordfreq_is_imported_only_when_needed():
    code = "import sys, rwtools.vocabulary; sys.exit('wordfreq' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_cost_beside_parsing_is_small():
    text = parse(PASSAGE * 3)  # about 120 words
    find(text)
    times = []
    for _ in range(20):
        started = time.perf_counter()
        find(text)
        times.append(time.perf_counter() - started)
    assert min(times) < 0.004  # 1.5 ms on an idle core; slack for a busy one


def test_white_space_that_heads_a_mark_does_no_harm():
    assert find(parse(" - "), all_words=True) == []

"""Connectives in use, near misses, what they join, and any text at all."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rwtools.clue import Clue
from rwtools.text import parse
from rwtools.transitions import RULES, find, relations

NAMES = {relation.name for relation in relations()}


def only(passage: str, word: str) -> Clue:
    clues = [c for c in find(parse(passage)) if c.quote.lower() == word]
    assert len(clues) == 1, (word, [c.quote for c in clues])
    return clues[0]


def part(clue: Clue, role: str) -> str:
    return next((e.quote for e in clue.evidence if e.role == role), "")


@pytest.mark.parametrize(
    ("passage", "word", "relation"),
    [
        ("Since the dam broke, the village has had no power.", "since", "cause"),
        ("The village has grown since the dam was built in 1950.", "since", "sequence"),
        ("The river was low; therefore, the boats stopped.", "therefore", "cause"),
        ("Glass is hard. However, it breaks easily.", "however", "concession"),
        ("The dam broke in spring. The road is therefore closed.", "therefore", "cause"),
        ("Few came. The shop was nevertheless painted.", "nevertheless", "concession"),
        ("Many seeds travel far. For example, burrs cling to fur.", "for example", "example"),
        ("If the valve sticks, the boiler stops.", "if", "condition"),
        ("She oiled the gate so that it would not creak.", "so that", "purpose"),
        ("The birds had left before the snow came.", "before", "sequence"),
        ("Although the road was long, they walked it twice.", "although", "concession"),
        ("Instead of resting, Oskar repaired the nets.", "instead of", "substitution"),
        ("He wrote letters while she painted the hall.", "while", "simultaneity"),
        ("Northern owls are pale, whereas southern owls are brown.", "whereas", "contrast"),
        ("Once the bell had rung, the pupils went home.", "once", "sequence"),
        ("You may take the path or you may wait for the boat.", "or", "alternative"),
        ("The ferryman rarely spoke. In short he disliked talk.", "in short", "detail"),
        ("She looked round. In short the place was dead; nobody came.", "in short", "detail"),
        ("He kept silent. By contrast his sisters sang all day.", "by contrast", "contrast"),
        ("The river froze. For all that, he rose at five.", "for all that", "concession"),
    ],
)
def test_a_connective_in_use(passage, word, relation):
    clue = only(passage, word)
    assert clue.label == relation
    assert clue.sense in next(r.senses for r in relations() if r.name == relation)
    assert clue.kind == "transition"
    assert clue.rule == "transition-connective"
    assert part(clue, "arg1")
    assert part(clue, "arg2")


def test_in_fact_may_correct_what_was_believed():
    """The treebank calls it a detail nearly always, so the words told must be true of both."""
    clue = only("The letters were thought lost. In fact, a clerk had kept them.", "in fact")
    assert "what is really so" in clue.explanation
    assert "tells more about" not in clue.explanation


def test_namely_names_and_does_not_add():
    """The treebank's only case of it is an addition, so the words told must be true of naming."""
    clue = only("He had one aim, namely, to see the sea.", "namely")
    assert "says exactly what is meant: “to see the sea”" in clue.explanation
    assert "adds" not in clue.explanation


@pytest.mark.parametrize(
    ("passage", "word"),
    [
        ("Since 1990 the lake has shrunk.", "since"),
        ("She has lived in Varnholt since June.", "since"),
        ("The bridge was built for the miners.", "for"),
        ("Mira worked as a guide.", "as"),
        ("They sell bread and salt.", "and"),
        ("The tower is so tall.", "so"),
        ("The water was still.", "still"),
        ("After lunch the market was empty.", "after"),
        ("He came in before noon.", "before"),
        ("Nobody knows if the letter is real.", "if"),
        ("They met twice, once in Varnholt and once in Tarn.", "once"),
        ("Tea or coffee was served.", "or"),
        ("The lamp stood by the door.", "by"),
        ("She looks like her aunt.", "like"),
    ],
)
def test_the_same_words_in_another_use_are_no_clue(passage, word):
    assert word not in [c.quote.lower() for c in find(parse(passage))]


@pytest.mark.parametrize(
    ("passage", "first", "second", "relation"),
    [
        ("If it rains, then the match will be played indoors.", "if", "then", "condition"),
        ("The plan was not only cheap but also quick.", "not only", "but also", "addition"),
        ("Either the pump has failed or the valve is shut.", "either", "or", "alternative"),
    ],
)
def test_a_pair_is_one_clue(passage, first, second, relation):
    clue = only(passage, first)
    assert clue.rule == "transition-pair"
    assert clue.label == relation
    assert part(clue, "cue").lower() == second
    assert clue.quote in clue.explanation


def test_the_direction_of_a_cause_is_in_the_roles():
    because = only("The show closed because the roof leaked.", "because")
    assert part(because, "reason") == part(because, "arg2") == "the roof leaked"
    assert part(because, "result") == part(because, "arg1") == "The show closed"
    hence = only("The roof leaked. Therefore, the show closed.", "therefore")
    assert part(hence, "reason") == part(hence, "arg1") == "The roof leaked"
    assert part(hence, "result") == part(hence, "arg2") == "the show closed"


def test_a_front_clause_is_joined_to_what_follows():
    clue = only("When the fog lifted, the ferry sailed.", "when")
    assert part(clue, "arg2") == "the fog lifted"
    assert part(clue, "arg1") == "the ferry sailed"


def test_explanations_quote_and_stay_short():
    long = (
        "Because the old stone bridge over the river Tarn had been closed for many long months " * 2
    )
    for passage in (long + "the farmers took the ferry.", "It rained. So we left. But he stayed."):
        for clue in find(parse(passage)):
            assert clue.quote in clue.explanation
            assert clue.explanation.count(". ") <= 1
            assert len(clue.explanation.split()) <= 60
            assert "{" not in clue.explanation


@pytest.mark.parametrize(
    "passage",
    [
        "____, the river rose.",
        "The river rose; ____, nobody left because ____.",
        "Because",
        "And",
        "If then either or not only but also",
        "so\nso\nso, and\r\n\r\nbut",
        "“If you go,” she said, “then I’ll stay.”",
        "The night is long\nAnd yet I sing\nBecause the stars\nAre listening.",
        "🌱 Because 🌱🌱 and so é\u0301 then",
    ],
)
def test_odd_passages(passage):
    check_clues(passage)


def check_clues(passage: str) -> None:
    clues = find(parse(passage))
    for clue in clues:
        assert passage[clue.start : clue.end] == clue.quote
        assert clue.label in NAMES
        assert clue.rule in RULES
        assert 0 <= clue.confidence <= 1
        for item in clue.evidence:
            assert passage[item.start : item.end] == item.quote
            assert item.quote.strip()
    taken = [
        spot
        for c in clues
        for a, b in [(c.start, c.end), *((e.start, e.end) for e in c.evidence if e.role == "cue")]
        for spot in range(a, b)
    ]
    assert len(taken) == len(set(taken))


WORDS = st.sampled_from(
    "and but if then so because the dam broke , . ; — ( ) “ ” ____ not only also either or 🌱 é "
    "since 1990 for example \n when as on one hand the other".split(" ")
)


@settings(max_examples=60, deadline=None)
@given(st.one_of(st.text(max_size=60), st.lists(WORDS, max_size=25).map(" ".join)))
def test_offsets_give_back_the_quotes_for_any_text(passage):
    check_clues(passage)


@pytest.mark.parametrize("word", ["Even so", "Then again", "Nevertheless"])
def test_an_adverb_of_concession_brings_in_the_unexpected_part(word: str) -> None:
    """What follows the adverb goes against what came before (common practice, no published
    source)."""
    clue = only(
        f"Her neighbors doubted her account. {word}, most of them copied her.", word.lower()
    )
    first, second = (clue.explanation.find(w) for w in ("doubted her account", "copied her"))
    assert "goes against" in clue.explanation
    assert 0 <= first < second


def test_the_link_of_a_series_of_names_joins_no_statements():
    assert not find(parse("Rye, flax, and hops grow in the valley."))
    assert [c.quote for c in find(parse("The rye grew, and the flax failed."))] == ["and"]


def test_not_only_at_the_start_and_but_are_one_pair():
    clue = only("Not only did the cats survive, but they also outlived him.", "not only")
    assert (clue.rule, clue.label) == ("transition-pair", "addition")


def test_as_with_a_verb_of_saying_gives_no_reason():
    assert not find(parse("It was not, as the papers claimed, a loss."))


def test_as_with_the_same_verb_likens():
    clues = find(parse("The sailor loathed the calm, as a prisoner loathes his cell."))
    assert [(c.quote, c.label) for c in clues] == [("as", "similarity")]
    clues = find(parse("The sailor loathed the calm, as it kept him from home."))
    assert [c.label for c in clues] == ["cause"]


@pytest.mark.parametrize(
    "passage",
    [
        "He was late. In contrast to his brother he never hurried.",
        "In short sentences he told us what he had seen.",
        "For all that he knew, the ferry had gone.",
    ],
)
def test_the_words_of_an_adverb_in_another_phrase_do_not_link(passage):
    assert not find(parse(passage))

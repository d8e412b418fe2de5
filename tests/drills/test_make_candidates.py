"""Items as they are proposed: whole, honest about their places, and right by construction."""

import json
import random
from collections import Counter

import pytest

from rwtools.drills.make import SKILLS_MADE, candidates, drafts
from rwtools.drills.making import lexical, vocabulary
from rwtools.drills.making.draft import WITHOUT_RULE
from rwtools.drills.making.punctuation import FAULTS
from rwtools.drills.making.transition import ADVERBS, NEAR, SUBORDINATORS, agrees
from rwtools.errors import UsageError
from rwtools.items.model import read_item
from rwtools.text import parse
from rwtools.text.load import parse_many


@pytest.fixture(scope="module")
def made(passages):
    texts = list(parse_many(passages.values()))
    return [
        (text, skill, item)
        for text in texts
        for skill in SKILLS_MADE
        for item in candidates(text, skill, random.Random(7), source="passage")
    ]


def test_every_item_is_valid_and_complete(made):
    assert {skill for _, skill, _ in made} == set(SKILLS_MADE)
    for _, skill, item in made:
        assert read_item(item.model_dump(exclude_none=True)) == item
        assert item.skill == skill
        assert len(item.choices) == 4
        assert 40 <= len(item.passage.split()) <= 130
        assert item.rationale
        assert 1 <= item.difficulty <= 4
        assert (item.blank is None) == (item.target is not None)


def test_quotes_are_those_of_the_item(made):
    for _, _, item in made:
        assert item.evidence
        for quote in item.evidence:
            assert item.passage[quote.start : quote.end] == quote.quote
            assert quote.quote.strip()


def test_the_key_gives_the_passage_back(made):
    for text, _, item in made:
        if item.blank is not None:
            start, end = item.blank
            whole = item.passage[:start] + item.choice(item.answer) + item.passage[end:]
            assert whole in text.passage


def test_no_other_choice_gives_the_passage_back(made):
    for text, _, item in made:
        if item.blank is not None:
            start, end = item.blank
            for letter in item.letters.replace(item.answer, ""):
                whole = item.passage[:start] + item.choice(letter) + item.passage[end:]
                assert whole not in text.passage


def test_keys_are_spread(made):
    keys = Counter(item.answer for _, _, item in made)
    assert set(keys) == set("ABCD")
    assert max(keys.values()) < 0.35 * sum(keys.values())


def test_punctuation_choices_keep_the_words(made):
    for _, skill, item in made:
        if skill == "punctuation":
            spelled = {"".join(c for c in choice.lower() if c.isalnum()) for choice in item.choices}
            assert len(spelled) == 1, item.choices


def test_each_fault_is_a_rule_of_the_index(passages, root):
    """Or one of the few that no rule looks for, and those stay few."""
    rules = {entry["id"] for entry in json.loads((root / "shared" / "rules.json").read_text())}
    assert not WITHOUT_RULE & rules
    assert {rule for rule, _ in FAULTS.values()} <= rules | WITHOUT_RULE
    seen = set()
    for passage in passages.values():
        text = parse(passage)
        for skill in ("punctuation", "grammar"):
            for draft in drafts(text, skill, random.Random(1)):
                seen |= {option.fault for option in draft.options}
                assert all(option.why for option in draft.options)
    assert seen <= rules | WITHOUT_RULE
    assert len(seen & rules) >= 10


def test_the_rationale_names_the_faults_of_the_choices_taken(made):
    """And of no others: which of a draft's options are taken is not known before."""
    whys = {why for _, why in FAULTS.values()}
    for text, skill, item in made:
        if skill != "punctuation":
            continue
        options = {
            option.text: option.why
            for draft in drafts(text, skill, random.Random(7))
            for option in draft.options
            if draft.key == item.choice(item.answer)
        }
        wrong = [c for c in item.choices if c != item.choice(item.answer)]
        named = {why for why in whys if why in item.rationale}
        if all(choice in options for choice in wrong):
            assert named == {options[choice] for choice in wrong}


def test_wrong_transitions_show_far_relations(passages):
    for passage in passages.values():
        for draft in drafts(parse(passage), "transition", random.Random(1)):
            for option in draft.options:
                assert option.fault != draft.point
                assert option.fault not in NEAR[draft.point]


def test_the_lexicon_agrees_with_the_makers_relations():
    for table in (ADVERBS, SUBORDINATORS):
        for relation, forms in table.items():
            assert all(agrees(form, relation) for form in forms), relation


def test_same_seed_same_items(passages):
    text = parse(passages["tide-mill"])
    one = [list(candidates(text, skill, random.Random(3))) for skill in SKILLS_MADE]
    two = [list(candidates(text, skill, random.Random(3))) for skill in SKILLS_MADE]
    assert one == two


def test_verse_is_left_alone(passages):
    text = parse(passages["lamplighter"])
    assert text.verse
    assert not [i for skill in SKILLS_MADE for i in candidates(text, skill, random.Random(1))]


def test_short_passages_give_nothing():
    text = parse("The mill stood idle. However, it was not forgotten.")
    assert not list(candidates(text, "transition", random.Random(1)))


def test_unknown_skill():
    with pytest.raises(UsageError, match="there is no skill 'spelling'"):
        list(candidates(parse("A mill."), "spelling", random.Random(1)))


def test_no_blank_inside_a_word():
    text = parse(
        "The harbor of Orrin was shallow, and it filled with fine gray silt each spring. Every "
        "merchant in the town spoke about well-being. For some merchants, well-being decided "
        "everything, and the price of a dredger was only a number in a dusty ledger that nobody "
        "opened."
    )
    made = list(drafts(text, "punctuation", random.Random(1)))
    assert made
    for draft in made:
        beside = text.passage[draft.place.start - 1] + text.passage[draft.place.end]
        assert "-" not in beside


@pytest.mark.parametrize(
    ("sentence", "skill"),
    [
        # Where the parser runs two clauses together, their "subject" explains nothing.
        ("A glacier that retreats leaves bare rock, and bare rock keeps no calendar.", "grammar"),
        ("Along with his teacher, Plato, the young Aristotle is considered a pillar.", "grammar"),
    ],
)
def test_no_subject_that_holds_another_clause(sentence, skill):
    text = parse(sentence)
    for draft in drafts(text, skill, random.Random(1)):
        for span, role in draft.evidence:
            if role == "subject":
                quote = text.quote(span.start, span.end)
                assert " and" not in quote
                assert "leaves" not in quote
                assert "Plato," not in quote


def test_names_are_no_vocabulary():
    text = parse(
        "Tobin is the painter displayed on the left wall of the long hall. Mirren is the singer "
        "shown on the right wall. Their quarrel, a dispute about money, filled the town with talk."
    )
    asked = [
        text.quote(d.place.start, d.place.end) for d in drafts(text, "vocabulary", random.Random(1))
    ]
    assert "Tobin" not in asked
    assert "Mirren" not in asked


def test_words_unfit_for_a_class_are_no_choices():
    for pos in ("NOUN", "ADJ", "VERB"):
        pool = lexical._pool(pos)[1]
        assert len(pool) > 300
        assert not {"constipation", "promiscuity", "sexual", "copulate"} & set(pool)


def test_no_blank_whose_word_stands_beside_it():
    text = parse(
        "Lichens, however, can supply one. A lichen is a partnership between a fungus and an alga; "
        "it colonizes fresh stone slowly and, in cold places, spreads at a fairly steady rate. If "
        "a researcher knows how fast a species grows, its largest patch gives the age of the rock."
    )
    for draft in drafts(text, "vocabulary", random.Random(1)):
        assert draft.target or draft.key != "lichen"


@pytest.mark.parametrize(
    "passage",
    [
        # The gloss points back, picks one out of many, is cut short, or is a clause of its own.
        "Bacteria enter the deep wound and multiply there. The resulting infection, called gas "
        "gangrene, is marked by a quick decay of muscle. The patient feels a sudden pain, and the "
        "skin over the wound turns dark within a few hours of the first signs of the disease.",
        "The virus cannot be grown in a dish, so tests of molecules are the primary method used to "
        "detect it. A first screening is recommended for the members of a family. If the tests are "
        "negative, then further screening takes place after several years in a clinic.",
        "The count is quick and exact; however, if the culture is too concentrated, more than one "
        "cell may pass through the gap at any given time and skew the results. The method does "
        "not tell the living cells from the dead cells either, which limits its use in a clinic.",
    ],
)
def test_words_that_define_nothing_are_no_vocabulary(passage):
    asked = [
        (draft.key, draft.place) for draft in drafts(parse(passage), "vocabulary", random.Random(1))
    ]
    assert asked == []


def test_two_names_are_no_plural_noun():
    text = parse(
        "Anaxagoras (500–428 BCE) and Empedocles (494–434 BCE) were thinkers who believed that the "
        "universe consisted of more than one kind of stuff. Anaxagoras held that mind controls the "
        "universe by mixing and unmixing things into a great variety of different combinations."
    )
    for draft in drafts(text, "grammar", random.Random(1)):
        assert draft.point != "agreement"


def test_choices_differ_by_more_than_an_article():
    assert len({vocabulary._bare(q) for q in ("a granum", "the granum", "the inner space")}) == 2

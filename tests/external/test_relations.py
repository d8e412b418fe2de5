"""The relation table against the published inventories that it names."""

from __future__ import annotations

from rwtools.transitions import connectives, relation_of, relations

# Webber, Prasad, Lee and Joshi (2019), The Penn Discourse Treebank 3.0 Annotation Manual, the sense
# hierarchy (level 1: four classes; level 2). The manual's level-2 senses that only mark speech acts
# or beliefs (Cause+Belief, Condition+SpeechAct ...) are folded into their plain sense, and
# Negative-cause and Purpose's parts likewise are not told apart here.
PDTB3_LEVEL_2 = {
    "temporal": {"synchronous", "asynchronous"},
    "contingency": {"cause", "condition", "negative-condition", "purpose"},
    "comparison": {"concession", "contrast", "similarity"},
    "expansion": {
        "conjunction",
        "disjunction",
        "equivalence",
        "exception",
        "instantiation",
        "level-of-detail",
        "manner",
        "substitution",
    },
}

# ISO 24617-8:2016 (DR-core), the core relations as listed by Bunt and Prasad (2016), ISO DR-Core:
# Core concepts for the annotation of discourse relations, table 1.
ISO_24617_8 = {
    "Cause", "Condition", "Negative Condition", "Purpose", "Manner", "Concession", "Contrast",
    "Exception", "Similarity", "Substitution", "Conjunction", "Disjunction", "Exemplification",
    "Elaboration", "Restatement", "Synchrony", "Asynchrony", "Expansion",
    "Functional dependence", "Feedback dependence",
}  # fmt: skip

# Pitler and Nenkova (2009), Using syntax to disambiguate explicit discourse connectives in text,
# section 1: "once" can be a temporal connective or a word meaning "formerly"; and Prasad et al.
# (2008), The Penn Discourse TreeBank 2.0, section 3: "since" is temporal or causal.
AMBIGUOUS = {"since": {"cause", "sequence"}, "while": {"simultaneity", "contrast"}}


def test_the_table_covers_the_level_2_senses_exactly_once():
    ours = [sense for relation in relations() for sense in relation.senses]
    theirs = {f"{top}.{sub}" for top, subs in PDTB3_LEVEL_2.items() for sub in subs}
    assert sorted(ours) == sorted(theirs)


def test_iso_names_are_iso_names():
    for relation in relations():
        assert relation.iso
        assert set(relation.iso) <= ISO_24617_8, relation.name
    names = [name for relation in relations() for name in relation.iso]
    assert len(names) == len(set(names))


def test_each_relation_has_one_plain_sentence():
    for relation in relations():
        assert relation.meaning.endswith(".")
        assert relation.meaning.count(".") == 1
        assert len(relation.meaning.split()) <= 25


def test_known_ambiguities_are_kept():
    for form, wanted in AMBIGUOUS.items():
        assert wanted <= {name for name, _, _ in relation_of(form)}


def test_every_sense_of_the_lexicon_is_in_the_inventory():
    senses = {sense for relation in relations() for sense in relation.senses}
    assert {use.sense for entry in connectives().values() for use in entry.uses} <= senses

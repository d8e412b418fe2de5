"""The connectives and the relations: forms, counts, and what is said of each."""

from __future__ import annotations

import pytest

from rwtools.transitions import connectives, relation_of, relations

PARTS_OF_SPEECH = {"coordinator", "subordinator", "adverb", "preposition", "pair"}
SENSES = {sense for relation in relations() for sense in relation.senses}


def test_there_are_enough_entries_of_every_kind():
    known = connectives()
    assert len(known) >= 150
    assert {entry.pos for entry in known.values()} == PARTS_OF_SPEECH
    assert sum(entry.pos == "pair" for entry in known.values()) >= 15


@pytest.mark.parametrize("form", sorted(connectives()))
def test_each_entry_is_complete(form):
    entry = connectives()[form]
    assert form == form.lower() == " ".join(form.split())
    assert len(entry.parts) == (2 if entry.pos == "pair" else 1)
    assert all(1 <= len(part) <= 6 for part in entry.parts)
    assert entry.uses
    assert 0 <= entry.used <= entry.seen
    assert sum(use.frequency for use in entry.uses) == pytest.approx(1, abs=0.01)
    assert [u.frequency for u in entry.uses] == sorted(
        (u.frequency for u in entry.uses), reverse=True
    )
    assert {use.sense for use in entry.uses} <= SENSES
    for use in entry.uses:
        if use.relation == "cause":
            assert use.direction in {"reason", "result"}, form
        if use.relation == "sequence":
            assert use.direction in {"earlier", "later"}, form
    learnt = sum(use.count for use in entry.uses)
    assert ("gdtb_train" in entry.provenance) == (learnt > 0)
    assert ("reference" in entry.provenance) == any(
        u.frequency > 0 and u.count < u.frequency * (learnt + 1) - 1e-6 for u in entry.uses
    ) or learnt > 0


@pytest.mark.parametrize(
    ("connective", "relation"),
    [
        ("because", "cause"),
        ("Therefore", "cause"),
        ("for  example", "example"),
        ("however", "concession"),
        ("whereas", "contrast"),
        ("in other words", "restatement"),
        ("either … or", "alternative"),
        ("If ... then", "condition"),
        ("what’s more", "addition"),
        ("instead of", "substitution"),
        ("before", "sequence"),
    ],
)
def test_the_commonest_relation_of_a_connective(connective, relation):
    rows = relation_of(connective)
    assert rows[0][0] == relation
    assert sum(share for _, _, share in rows) == pytest.approx(1, abs=0.01)
    assert len({sense for _, sense, _ in rows}) == len(rows)


def test_an_unknown_word_has_no_relation():
    assert relation_of("banana") == []
    assert relation_of("") == []

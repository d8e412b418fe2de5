"""The connectives and their relations: typed readers of two shared tables.

The counts in ``connectives.json`` were learnt from a treebank by ``models/connectives/lexicon.py``;
uses that it never showed come from general reference knowledge and say so.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from rwtools.resources import load_json, shared

__all__ = ["Connective", "Relation", "Use", "connectives", "relation_of", "relations"]


@dataclass(frozen=True, slots=True)
class Relation:
    """A learner's word (``name``), the PDTB-3 level-2 senses it gathers, the ISO 24617-8 names,
    and one sentence that says what it means."""

    name: str
    senses: tuple[str, ...]
    iso: tuple[str, ...]
    meaning: str


@dataclass(frozen=True, slots=True)
class Use:
    """One relation that a connective can show.

    ``count`` is how often training text has it (0: from reference knowledge only), ``frequency``
    its share of the connective's uses (0..1, smoothed towards reference knowledge). ``direction``
    says what the part that it introduces is: ``reason`` or ``result``, ``earlier`` or ``later``...
    """

    relation: str
    sense: str
    count: int
    frequency: float
    direction: str | None


@dataclass(frozen=True, slots=True)
class Connective:
    """A connective: its form in lower case, the words of its one or two ``parts``, its part of
    speech (``coordinator``, ``subordinator``, ``adverb``, ``preposition`` or ``pair``), how often
    training text shows the words (``seen``) and uses them as a connective (``used``), its relations
    (most frequent first), a note, and where the relations come from."""

    form: str
    parts: tuple[tuple[str, ...], ...]
    pos: str
    seen: int
    used: int
    uses: tuple[Use, ...]
    note: str
    provenance: str

    @property
    def usage(self) -> float:
        """How often the words are a connective, 0..1: training counts, smoothed towards 3 in 4."""
        return (self.used + 3) / (self.seen + 4)

    def shares(self) -> dict[str, float]:
        """The frequency of each level-2 sense, whatever its direction."""
        found: dict[str, float] = {}
        for use in self.uses:
            found[use.sense] = round(found.get(use.sense, 0.0) + use.frequency, 4)
        return found

    def direction(self, sense: str) -> str | None:
        """What the part that it introduces most often is in a relation of this sense."""
        return next((use.direction for use in self.uses if use.sense == sense), None)


@cache
def relations() -> tuple[Relation, ...]:
    """All relations, in the order of the table."""
    rows = load_json(shared("relations.json"))["relations"]
    return tuple(
        Relation(r["relation"], tuple(r["senses"]), tuple(r["iso"]), r["meaning"]) for r in rows
    )


@cache
def relation_names() -> dict[str, str]:
    """From PDTB-3 level-2 sense to the learner's word."""
    return {sense: relation.name for relation in relations() for sense in relation.senses}


@cache
def connectives() -> dict[str, Connective]:
    """All connectives by form (``because``, ``if ... then``)."""
    found: dict[str, Connective] = {}
    for row in load_json(shared("connectives.json"))["entries"]:
        uses = tuple(
            Use(u["relation"], u["sense"], u["count"], u["frequency"], u.get("direction"))
            for u in row["relations"]
        )
        form = row["form"]
        found[form] = Connective(
            form=form,
            parts=tuple(tuple(part.split()) for part in form.split(" ... ")),
            pos=row["pos"],
            seen=row["seen"],
            used=row["used"],
            uses=uses,
            note=row["note"],
            provenance=row["provenance"],
        )
    return found


def relation_of(connective: str) -> list[tuple[str, str, float]]:
    """The relations that a connective can show: (relation, level-2 sense, frequency 0..1).

    Most frequent first; an unknown connective gives an empty list. Capitals and extra spaces
    don't matter; curly apostrophes and ``…`` are read as plain ones.
    """
    form = " ".join(connective.lower().replace("’", "'").replace("…", " ... ").split()).strip(" ,")
    entry = connectives().get(form)
    if entry is None:
        return []
    shares = entry.shares()
    names = relation_names()
    return [(names[s], s, shares[s]) for s in sorted(shares, key=lambda s: -shares[s])]

"""A comma stands before *and*, *but*, *or* ... where the word joins two full clauses."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.clue import Fix
from rwtools.rules.boundaries import THRESHOLD, boundaries, two_sides
from rwtools.rules.model import Finding, Rule
from rwtools.rules.phrases import clear
from rwtools.rules.places import Place
from rwtools.text import Text

__all__ = ["RULE", "find"]

_JOINERS = frozenset("and but or nor so yet for".split())
_SHORT = 4


def find(text: Text) -> list[Finding]:
    """Fault span: zero width, before the conjunction. Fix: a comma. Sound: the comma there."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    found = boundaries(text)
    for suspect in found.of("compound"):
        place = suspect.place
        if suspect.probability < THRESHOLD or _short(text, place) or _has_comma(text, place):
            continue
        at = text.tokens[place.left].end
        both = two_sides(text, _after(place))
        yield Finding(
            at,
            at,
            "fault",
            suspect.probability,
            {**both.values, "joiner": text.tokens[place.right].lower},
            both.evidence,
            (Fix(at, at, ","),),
            "fault-verbs" if both.complete else "fault",
        )
    for place in found.commas:
        joiner = text.tokens[place.right]
        if joiner.lower not in _JOINERS or joiner.tag not in ("CC", "IN") or found.doubted(place):
            continue
        if not _joins_clauses(text, place):
            continue
        both = two_sides(text, _after(place))
        if both.complete:
            mark = text.tokens[place.mark]
            yield Finding(
                mark.start,
                mark.end,
                "sound",
                0.9,
                {**both.values, "joiner": joiner.lower},
                both.evidence,
                (),
                "sound",
            )


def _after(place: Place) -> Place:
    """The same place, its right side without the conjunction."""
    right = min(place.right + 1, place.last)
    return Place(place.kind, place.left, right, place.mark, place.first, place.last)


def _has_comma(text: Text, place: Place) -> bool:
    """Whether the comma stands on the wrong side of the conjunction (*but, | the boat had gone*):
    another rule's matter. With one more, the two set off an aside."""
    commas = [t.i for t in text.tokens[place.right : place.last + 1] if t.text == ","]
    return commas == [place.right + 1]


def _short(text: Text, place: Place) -> bool:
    """Two short clauses of one build (*She came and she was gone*) need no comma; but a contrast
    keeps it."""
    if text.tokens[place.right].lower not in ("and", "or"):
        return False
    return min(place.left - place.first + 1, place.last - place.right) <= _SHORT


def _joins_clauses(text: Text, place: Place) -> bool:
    """Whether the parse too has the conjunction join two clauses here."""
    joiner = text.tokens[place.right]
    if joiner.tag == "IN":
        return False
    for i in text.children[joiner.head]:
        clause = text.clause_of_head.get(i)
        if i > joiner.i and text.tokens[i].dep == "conj":
            return (
                clause is not None
                and clause.kind == "independent"
                and clause.reason == "coordinated"
                and clause.subject is not None
                and text.tokens[place.left].end <= clause.subject.start
            )
    return False


RULE = Rule("missing-comma-before-conjunction", find)

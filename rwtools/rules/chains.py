"""Chains: more than one comma splice in a sentence (*The rain stopped, it was late, we went home*).

What stands beside a comma holds the other splice too, so it is no plain sentence and the models
see only the likeliest place. Once that place is found, it bounds what stands on both sides of it,
and the other commas are asked again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from rwtools.rules.doubts import THRESHOLD, Case, Suspect, suspects
from rwtools.rules.friends import JOINING
from rwtools.rules.places import Place
from rwtools.text import Text

__all__ = ["chained"]

_ROUNDS = 4  # a sentence with more splices than this is told of these


def chained(cases: Sequence[Case]) -> list[tuple[Suspect, ...]]:
    """For each passage the places that look wrong, with all splices of a chain. The sides of each
    reach no farther than to the splices next to it."""
    cases = [(t, shape, [_to_next_clause(t, p) for p in places]) for t, shape, places in cases]
    found = [list(each) for each in suspects(cases)]
    fresh = [_splices(each) for each in found]
    for _ in range(_ROUNDS):
        asked = [n for n, new in enumerate(fresh) if new]
        narrower = {n: _narrowed(cases[n][0], cases[n][2], _splices(found[n])) for n in asked}
        again = [(cases[n][0], cases[n][1], narrower[n]) for n in asked if narrower[n]]
        if not again:
            break
        more = dict(zip((text for text, _, _ in again), suspects(again), strict=True))
        fresh = [_splices(more.get(text, ())) for text, _, _ in cases]
        for each, new in zip(found, fresh, strict=True):
            each += new
    return [tuple(_bounded(each)) for each in found]


def _to_next_clause(text: Text, place: Place) -> Place:
    """A place before a linking adverb (*it is deep, | however the ford is safe, and it is used*):
    its right side ends where a comma and a conjunction join a third clause."""
    if place.kind != "comma" or text.tokens[place.right].lower not in JOINING:
        return place
    for a, b in pairwise(text.tokens[place.right + 1 : place.last + 1]):
        if a.text == "," and b.tag == "CC":
            return replace(place, last=a.i - 1)
    return place


def _splices(suspects: Sequence[Suspect]) -> list[Suspect]:
    return [
        s
        for s in suspects
        if s.label == "strong" and s.place.kind == "comma" and s.probability >= THRESHOLD
    ]


def _narrowed(text: Text, places: Sequence[Place], splices: Sequence[Suspect]) -> list[Place]:
    """The other commas of the same stretches, their sides cut off at the splices found."""
    marks = {s.place.mark for s in splices}
    return [
        cut
        for place in places
        if place.kind == "comma" and place.mark not in marks and not _may_list(text, place)
        if (cut := _cut(place, splices)) != place
    ]


def _may_list(text: Text, place: Place) -> bool:
    """Whether a comma and *and* come later: the clauses may be members of one list."""
    later = text.tokens[place.right : place.last + 1]
    return any(a.text == "," and b.lower in ("and", "or") for a, b in pairwise(later))


def _cut(place: Place, splices: Sequence[Suspect]) -> Place:
    """A place whose sides end where a splice parts them from more."""
    first, last = place.first, place.last
    for other in (s.place for s in splices):
        if place.first <= other.mark < place.mark:
            first = max(first, other.right)
        elif place.mark < other.mark <= place.last:
            last = min(last, other.left)
    return replace(place, first=first, last=last)


def _bounded(suspects: Sequence[Suspect]) -> list[Suspect]:
    splices = _splices(suspects)
    if len(splices) < 2:
        return list(suspects)
    return [replace(s, place=_cut(s.place, splices)) if s in splices else s for s in suspects]

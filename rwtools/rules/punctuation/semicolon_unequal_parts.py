"""A semicolon joins two parts of equal rank: two sentences, or the items of a long list."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.clue import Fix
from rwtools.rules.boundaries import THRESHOLD, boundaries, independent_in, is_linked, two_sides
from rwtools.rules.model import Finding, Rule
from rwtools.rules.phrases import clear
from rwtools.text import Text

__all__ = ["RULE", "find"]


def find(text: Text) -> list[Finding]:
    """Fault span: the semicolon. Fix: a comma in its place. Sound: two independent clauses."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    found = boundaries(text)
    wrong = {s.place.mark: s for s in found.of("unequal") if s.probability >= THRESHOLD}
    for place in found.semicolons:
        mark = text.tokens[place.mark]
        both = two_sides(text, place)
        suspect = wrong.get(place.mark)
        if suspect is not None:
            left = independent_in(text, place.first, place.left)
            yield Finding(
                mark.start,
                mark.end,
                "fault",
                suspect.probability,
                both.values,
                both.evidence,
                (Fix(mark.start, mark.end, ","),),
                "fault-left" if left is None else "fault-right",
            )
        elif both.complete and not is_linked(text, place) and not found.doubted(place):
            yield Finding(
                mark.start, mark.end, "sound", 0.9, both.values, both.evidence, (), "sound"
            )


RULE = Rule("semicolon-unequal-parts", find)

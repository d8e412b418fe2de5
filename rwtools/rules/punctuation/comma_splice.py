"""A comma alone does not join two sentences."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.clue import Fix
from rwtools.rules.boundaries import THRESHOLD, boundaries, two_sides
from rwtools.rules.model import Finding, Rule
from rwtools.rules.phrases import clear
from rwtools.rules.places import Place
from rwtools.rules.verbs import describes_part
from rwtools.text import Text

__all__ = ["RULE", "find"]

_ASIDE = 6
"""Words of an aside such as *I must confess*, at most."""


def find(text: Text) -> list[Finding]:
    """Fault span: the comma. Fix: a semicolon in its place."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    for suspect in boundaries(text).of("strong", "comma"):
        if suspect.probability < THRESHOLD or suspect.linker:
            continue
        if _opens_aside(text, suspect.place) or describes_part(text, suspect.place.right):
            continue
        mark = text.tokens[suspect.place.mark]
        both = two_sides(text, suspect.place)
        yield Finding(
            mark.start,
            mark.end,
            "fault",
            suspect.probability,
            both.values,
            both.evidence,
            (Fix(mark.start, mark.end, ";"),),
            "fault-verbs" if both.complete else "fault",
        )


def _opens_aside(text: Text, place: Place) -> bool:
    """Whether the comma opens a short aside with another comma after it, and what stands before it
    waits for its end: *It was not, | I confess, a success*; not *than it was, | this is clear*."""
    left = place.left
    while left > place.first and text.tokens[left].pos in ("ADV", "PART"):
        left -= 1
    if text.tokens[left].pos != "AUX":
        return False
    end = next((i for i in range(place.right, place.last) if text.tokens[i].text == ","), None)
    if end is None or end - place.right > _ASIDE:
        return False
    aside = text.tokens[place.right : end]
    return aside[-1].pos == "VERB" or not any(t.pos in ("VERB", "AUX") for t in aside)


RULE = Rule("comma-splice", find)

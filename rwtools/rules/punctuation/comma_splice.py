"""A comma alone does not join two sentences."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.clue import Fix
from rwtools.rules.boundaries import THRESHOLD, boundaries, two_sides
from rwtools.rules.model import Finding, Rule
from rwtools.rules.phrases import clear
from rwtools.text import Text

__all__ = ["RULE", "find"]


def find(text: Text) -> list[Finding]:
    """Fault span: the comma. Fix: a semicolon in its place."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    for suspect in boundaries(text).of("strong", "comma"):
        if suspect.probability < THRESHOLD or suspect.linker:
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


RULE = Rule("comma-splice", find)

"""Two sentences do not run together without any mark."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.clue import Fix
from rwtools.rules.boundaries import THRESHOLD, boundaries, two_sides
from rwtools.rules.model import Finding, Rule
from rwtools.rules.phrases import clear
from rwtools.text import Text

__all__ = ["RULE", "find"]


def find(text: Text) -> list[Finding]:
    """Fault span: zero width, after the last word of the first sentence. Fix: a semicolon."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    for suspect in boundaries(text).of("strong", "none"):
        if suspect.probability < THRESHOLD:
            continue
        at = text.tokens[suspect.place.left].end
        both = two_sides(text, suspect.place)
        yield Finding(
            at,
            at,
            "fault",
            suspect.probability,
            both.values,
            both.evidence,
            (Fix(at, at, ";"),),
            "fault-verbs" if both.complete else "fault",
        )


RULE = Rule("fused-sentence", find)

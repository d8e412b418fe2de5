"""*However*, *therefore* and their kind are adverbs: they do not join two sentences."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.clue import Fix
from rwtools.rules.boundaries import THRESHOLD, boundaries, is_linked, two_sides
from rwtools.rules.model import Finding, Rule
from rwtools.rules.phrases import clear
from rwtools.text import Text

__all__ = ["RULE", "find"]


def find(text: Text) -> list[Finding]:
    """Fault span: the comma before the adverb. Fix: a semicolon. Sound: the semicolon there."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    found = boundaries(text)
    for suspect in found.of("strong", "comma"):
        if suspect.probability < THRESHOLD or not suspect.linker:
            continue
        place = suspect.place
        mark, word = text.tokens[place.mark], text.tokens[place.right]
        both = two_sides(text, place)
        yield Finding(
            mark.start,
            mark.end,
            "fault",
            suspect.probability,
            {**both.values, "word": word.lower},
            (*both.evidence, text.evidence(text.span(word.i, word.i), "cue")),
            (Fix(mark.start, mark.end, ";"),),
        )
    for place in found.semicolons:
        if not is_linked(text, place) or found.doubted(place):
            continue
        both = two_sides(text, place)
        if both.complete:
            mark, word = text.tokens[place.mark], text.tokens[place.right]
            yield Finding(
                mark.start,
                mark.end,
                "sound",
                0.9,
                {**both.values, "word": word.lower},
                (*both.evidence, text.evidence(text.span(word.i, word.i), "cue")),
                (),
                "sound",
            )


RULE = Rule("adverb-as-conjunction", find)

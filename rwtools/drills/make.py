"""Make practice items from passages: drafts, then (see `make_items`) only those that hold."""

from __future__ import annotations

import random
from collections.abc import Iterator

from rwtools.drills.making import grammar, punctuation, transition, vocabulary
from rwtools.drills.making.build import build, pick
from rwtools.drills.making.draft import Draft
from rwtools.drills.making.window import sound_sentences
from rwtools.errors import UsageError
from rwtools.items.model import Item, Skill
from rwtools.text import Text

__all__ = ["SKILLS_MADE", "candidates", "drafts"]

SKILLS_MADE: tuple[Skill, ...] = ("transition", "punctuation", "grammar", "vocabulary")
_MAKERS = {
    "transition": transition.drafts,
    "punctuation": punctuation.drafts,
    "grammar": grammar.drafts,
    "vocabulary": vocabulary.drafts,
}


def drafts(text: Text, skill: str, rng: random.Random) -> Iterator[Draft]:
    """What could be asked about a passage in one skill; nothing is checked yet."""
    if skill not in _MAKERS:
        raise UsageError(
            f"there is no skill {skill!r} to make; there are {', '.join(SKILLS_MADE)}",
            field="skill",
        )
    if not text.verse:
        yield from _MAKERS[skill](text, rng)


def candidates(
    text: Text, skill: str, rng: random.Random, *, source: str = "made"
) -> Iterator[Item]:
    """Items made from a parsed passage, unfiltered: neither judged, nor vetted, nor solved.

    The key is the passage's own wording; its letter is drawn by ``rng``. The wrong choices are
    drawn too, so the same seed gives the same items.
    """
    sound = sound_sentences(text)
    for draft in drafts(text, skill, rng):
        wrong = pick(draft.options)
        if len(wrong) == 3:
            item = build(draft, wrong, text, sound, rng, source=source)
            if item is not None:
                yield item

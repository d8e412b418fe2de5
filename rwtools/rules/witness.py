"""A second witness for the rules of sentence boundaries: the judge must not speak against them.

A rule sees the tree of a sentence, the judge how likely its words are; they err in different
places. An alarm is dropped where the judge finds the rule's own mend far less likely than the
passage as it stands. Measured by ``models/judge/witness.py``; the table is in its card. It loads
the judge, so it is asked for, never given by default.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rwtools.clue import Clue

__all__ = ["AGAINST", "WITNESSED", "confirmed", "gains"]

WITNESSED = frozenset(
    {
        "comma-splice", "fused-sentence", "sentence-fragment", "semicolon-unequal-parts",
        "missing-comma-after-introduction", "missing-comma-before-conjunction",
    }
)  # fmt: skip
"""Rules whose alarms are put before the judge."""

AGAINST = -7.0
"""An alarm is dropped where its mend gains less than this (nats): no alarm on the faults made in
training textbooks lies below."""


def gains(passage: str, clues: Iterable[Clue]) -> list[float]:
    """Per fault, by how much the judge finds its mend likelier than what stands (nats).

    A fault without a mend gets infinity: nothing speaks against it.
    """
    from rwtools import judge

    found = list(clues)
    places = [_place(passage, clue) for clue in found if clue.fix]
    values = iter(judge.compare_many(places))
    made = []
    for clue in found:
        if clue.fix:
            stands, mend = next(values)
            made.append(mend - stands)
        else:
            made.append(float("inf"))
    return made


def confirmed(passage: str, clues: Sequence[Clue]) -> list[Clue]:
    """The clues without those alarms on sentence boundaries that the judge speaks against."""
    asked = [c for c in clues if c.label == "fault" and c.rule in WITNESSED]
    dropped = {
        id(clue) for clue, gain in zip(asked, gains(passage, asked), strict=True) if gain < AGAINST
    }
    return [clue for clue in clues if id(clue) not in dropped]


def _place(passage: str, clue: Clue) -> tuple[str, list[str], str]:
    """The stretch that the mend touches, as it stands and mended, between what surrounds it."""
    start = min(fix.start for fix in clue.fix)
    end = max(fix.end for fix in clue.fix)
    mend = passage[start:end]
    for fix in sorted(clue.fix, key=lambda f: -f.start):
        mend = mend[: fix.start - start] + fix.replacement + mend[fix.end - start :]
    return passage[:start], [passage[start:end], mend], passage[end:]

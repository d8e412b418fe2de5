"""The way to the answer, in steps."""

from __future__ import annotations

from collections.abc import Sequence

from rwtools.items.case import Case
from rwtools.items.steps import Explained, Path, best_of, named, quote, said, speaking_words

__all__ = ["explain"]


def explain(case: Case, chances: Sequence[float]) -> Explained:
    best = best_of(chances)
    path = Path()
    words = speaking_words(case, best)
    if words is None:
        path.add("Read the words after the gap.", "No single word decides: no signal was found.")
        evidence = []
    else:
        evidence = quote(case, words, "cue")
        path.add("Read the words after the gap.", f"{said(case, words)} decides.", evidence)
    return Explained(
        path.steps,
        [
            (f"{named(c.words)} {'fits' if n == best else 'fits less well'}.", evidence)
            for n, c in enumerate(case.choices)
        ],
    )

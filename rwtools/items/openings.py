"""Whom the opening words of a sentence describe: *Worn smooth by footsteps, | the steps are slick*.

What stands right after the comma is what they describe (G. Greever and E. S. Jones, The Century
Handbook of Writing, 1918, article 23). So the opening is made a statement, *It was ____ that had
been worn smooth by footsteps*, and judge and reader are asked which choice's subject belongs there.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from rwtools.clue import Span
from rwtools.items.case import Case
from rwtools.items.forms import sentence_at
from rwtools.items.placing import Placed
from rwtools.items.wording import Place, read_places
from rwtools.reader import Blank, choose
from rwtools.text import Text

__all__ = ["Opening", "by_judge", "by_reader", "opening_of"]

_FEWEST = 3  # words of a choice that can hold a subject and its verb
_FINITE = frozenset({"VBD", "VBZ", "VBP", "MD"})
_LINKS = frozenset(
    "while when after before by on in since although though once if upon despite even".split()
)
_NO_END = frozenset({"ADJ", "ADP", "ADV", "AUX", "DET", "PUNCT", "VERB"})
_HORIZON = 24


@dataclass(frozen=True, slots=True)
class Opening:
    """``span``: the opening words in the item's passage. ``told``: what they say of whom they
    describe (*had been worn smooth by footsteps*). ``subjects``: of each choice, its first words
    up to the verb."""

    span: Span
    told: str
    subjects: tuple[str, ...]


def opening_of(case: Case) -> Opening | None:
    """The opening before the choices, if they are clauses and it has no clause of its own."""
    text, where = case.texts[0], case.choices[0]
    first, _ = sentence_at(text, where)
    start = text.tokens[first].start
    before = text.passage[start : where.start].rstrip()
    words = before.removesuffix(",").split()
    if not before.endswith(",") or len(words) < 2:
        return None
    if any(len(choice.words.split()) < _FEWEST for choice in case.choices):
        return None
    if any(
        clause.finite
        and clause.reason != "relative"
        and clause.start <= start <= clause.verb.start < where.start
        and clause.subject is not None
        and clause.subject.start < where.start
        for clause in text.clauses
    ):
        return None
    subjects = tuple(map(_subject, case.texts, case.choices))
    return Opening(Span(start, start + len(before) - 1), _told(words), subjects)


def _told(words: Sequence[str]) -> str:
    """The opening as what is said of somebody; *who* that is, one or many, is left open."""
    words = [words[0][0].lower() + words[0][1:], *words[1:]]
    while len(words) > 1 and words[0] in _LINKS:
        words = words[1:]
    rest = " ".join(words[1:])
    match words[0]:
        case "having":
            return f"had {rest}"
        case "being":
            return f"was {rest}"
        case "like" | "unlike":
            return f"can be compared with {rest}"
        case "as":
            return f"was once {rest}"
        case "to":
            return f"wanted to {rest}"
        case "without":
            return f"went on without {rest}"
        case first:
            return f"had been {first} {rest}"


def _subject(text: Text, placed: Placed) -> str:
    """The words of a choice before its first finite verb, up to their last noun."""
    inside = [t for t in text.tokens if placed.start <= t.start and t.end <= placed.end]
    verb = next((k for k, t in enumerate(inside) if k and t.tag in _FINITE), _FEWEST)
    words = inside[:verb]
    while len(words) > 1 and words[-1].pos in _NO_END:
        words.pop()
    return text.passage[words[0].start : words[-1].end] if words else placed.words


def by_reader(case: Case) -> list[float]:
    """How well each choice's subject goes with the opening, by the reader (natural
    log-probabilities); all alike where there is no such opening."""
    opening = opening_of(case)
    if opening is None:
        return [0.0] * len(case.choices)
    (weighed,) = choose([Blank(*_statement(case, opening))])
    return list(weighed.chances)


def by_judge(case: Case) -> list[float]:
    """The same by the judge: how well the opening follows each subject."""
    opening = opening_of(case)
    if opening is None:
        return [0.0] * len(case.choices)
    before, subjects, after = _statement(case, opening)
    ((reading,),) = read_places([[Place(before, subjects, after, _HORIZON)]])
    top = max(reading.after)
    total = top + math.log(sum(math.exp(value - top) for value in reading.after))
    return [value - total for value in reading.after]


def _statement(case: Case, opening: Opening) -> tuple[str, tuple[str, ...], str]:
    """What stands before the subjects in "It was ... that had been worn smooth", they, and what
    stands after them."""
    before = f"{case.item.passage[: opening.span.start]}It was "
    return before, opening.subjects, f" that {opening.told}."

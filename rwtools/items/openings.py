"""Whom the opening words of a sentence describe: *Worn smooth by footsteps, | the steps are slick*.

What stands right after the comma is what they describe (G. Greever and E. S. Jones, The Century
Handbook of Writing, 1918, article 23). So the opening is made a statement, *It was ____ that had
been worn smooth by footsteps*, and judge and reader are asked which choice's subject belongs there.

Of *the price of the mural* the head noun counts: a mural can be painted, its price cannot. The
reader sees that in the whole phrase; the judge is caught by the nearer noun, so it reads the head
alone too and keeps the less likely of the two.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from rwtools.clue import Span
from rwtools.items.case import Case
from rwtools.items.forms import sentence_at
from rwtools.items.placing import Placed
from rwtools.items.subjects import leading_noun
from rwtools.items.wording import Place, read_places
from rwtools.reader import Blank, choose
from rwtools.text import Text, Token

__all__ = [
    "Opening",
    "by_judge",
    "by_reader",
    "describes",
    "describes_nobody",
    "evened",
    "opening_of",
]

_FEWEST = 3  # words of a choice that can hold a subject and its verb
_FINITE = frozenset({"VBD", "VBZ", "VBP", "MD"})
_LINKS = frozenset(
    "while when after before by on in since although though once if upon despite even".split()
)
_ELLIPTIC = frozenset(
    "while when though although once if unless even like unlike as without with to".split()
)
"""Words after which a subject and *be* may be left out, and prepositions that liken or equip."""
_NO_END = frozenset({"ADJ", "ADP", "ADV", "AUX", "DET", "PUNCT", "VERB"})
_HORIZON = 24
_FARTHEST = 10.0
"""Natural-log units that whole choices may lie apart: their lengths say nothing of the opening."""
_PARTS = frozenset(
    "all any both each few half many most much none one several some two three part number group "
    "pair couple handful majority lot kind sort type piece bit member members copy copies rest "
    "series set dozen dozens hundreds thousands flock herd crowd bunch".split()
)
"""Words for a part or a number, after which the noun behind *of* is what is spoken of (partitives:
common rule of grammar handbooks)."""


_SET = re.compile(
    r"\W*(?:speaking of|talking of|(?:\w+ly|historically) speaking|judging (?:by|from|on)|"
    r"considering|regarding|concerning|according to|depending on|owing to|barring|excluding|"
    r"including|allowing for|assuming|granting|supposing|provided|given|granted|to be sure|"
    r"to tell the truth|to be (?:honest|fair|brief|precise)|to sum up|to begin with)\b",
    re.IGNORECASE,
)
"""Openings that hang on no subject: participles in set use (from memory: handbooks allow them, as
G. Greever and E. S. Jones, The Century Handbook of Writing, 1918, article 23, does; the list is
common practice, no published source)."""


@dataclass(frozen=True, slots=True)
class Opening:
    """``span``: the opening words in the item's passage. ``told``: what they say of whom they
    describe (*had been worn smooth by footsteps*). ``subjects``: of each choice, its first words
    up to the verb; ``heads``: these without what only says whose or of what."""

    span: Span
    told: str
    subjects: tuple[str, ...]
    heads: tuple[str, ...]


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
    if not describes(text, where):
        return None
    found = [_subject(*pair) for pair in zip(case.texts, case.choices, strict=True)]
    subjects, heads = (tuple(names) for names in zip(*found, strict=True))
    return Opening(Span(start, start + len(before) - 1), _told(words), subjects, heads)


def describes(text: Text, where: Placed) -> bool:
    """Whether the words of a sentence before a choice describe somebody: they are no clause of
    their own (*when it rained*), no set opening, and no phrase of place or time alone."""
    first, _ = sentence_at(text, where)
    start = text.tokens[first].start
    if describes_nobody(text.passage[start : where.start]) or any(
        clause.finite
        and clause.reason != "relative"
        and clause.start <= start <= clause.verb.start < where.start
        and clause.subject is not None
        and clause.subject.start < where.start
        for clause in text.clauses
    ):
        return False
    return _says_of([t for t in text.tokens[first:] if t.end <= where.start and not t.is_punct])


def _says_of(words: Sequence[Token]) -> bool:
    """*Walking home*, *after walking home*, *unlike her*, *a tired man*; not *after the war* or
    *last year*."""
    noun = leading_noun(list(words))
    if not words or (noun is not None and noun.dep == "npadvmod"):
        return False
    if words[0].lower in _ELLIPTIC:
        return True
    if words[0].pos == "ADV":
        return _says_of(words[1:])
    if words[0].tag != "IN":
        return True
    after = words[1] if len(words) > 1 else words[0]
    return after.tag in ("VBG", "VBN", "JJ") or after.lower in ("not", "order")  # in order to


def describes_nobody(before: str) -> bool:
    """Whether the words before a choice are a set opening that tells how or of what one speaks."""
    return _SET.match(before) is not None


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


def _subject(text: Text, placed: Placed) -> tuple[str, str]:
    """The words of a choice before its first finite verb, up to their last noun; and its head."""
    inside = [t for t in text.tokens if placed.start <= t.start and t.end <= placed.end]
    while len(inside) > 1 and (inside[0].tag == "CC" or inside[0].is_punct):
        inside = inside[1:]
    verb = next((k for k, t in enumerate(inside) if k and t.tag in _FINITE), _FEWEST)
    words = inside[:verb]
    while len(words) > 1 and words[-1].pos in _NO_END:
        words.pop()
    if not words:
        return placed.words, placed.words
    whole = text.passage[words[0].start : words[-1].end]
    return whole, _head(text, words) or whole


def _head(text: Text, words: Sequence[Token]) -> str | None:
    """*The price* of *the price of the mural* and of *the mural's price*; None for a word of a part
    (*most of the boats*) and for a pronoun."""
    noun = leading_noun(list(words))
    if noun is None or noun.tag == "PRP" or noun.lower in _PARTS:
        return None
    owned = next((t.i + 1 for t in words if t.tag == "POS" and t.i < noun.i), None)
    if owned is not None:
        return f"the {text.passage[text.tokens[owned].start : noun.end]}"
    return text.passage[words[0].start : noun.end]


def by_reader(case: Case) -> list[float]:
    """How well each choice's subject goes with the opening, by the reader (natural
    log-probabilities); all alike where there is no such opening."""
    opening = opening_of(case)
    if opening is None:
        return [0.0] * len(case.choices)
    (weighed,) = choose([Blank(*_statement(case, opening, opening.subjects))])
    return list(weighed.chances)


def by_judge(case: Case) -> list[float]:
    """The same by the judge: how well the opening follows each subject, or its head if that is
    less likely."""
    opening = opening_of(case)
    if opening is None:
        return [0.0] * len(case.choices)
    asked = [opening.subjects]
    if opening.heads != opening.subjects:
        asked.append(opening.heads)
    places = []
    for names in asked:
        before, subjects, after = _statement(case, opening, names)
        places.append(Place(before, subjects, after, _HORIZON))
    readings = [_shares(reading.after) for (reading,) in read_places([p] for p in places)]
    return _shares([min(values) for values in zip(*readings, strict=True)])


def evened(case: Case, values: Sequence[float]) -> list[float]:
    """What the judge says of whole choices, none farther from the likeliest than `_FARTHEST` where
    the choices come after an opening; elsewhere as it is."""
    if opening_of(case) is None:
        return list(values)
    return [max(value, max(values) - _FARTHEST) for value in values]


def _shares(values: Sequence[float]) -> list[float]:
    """Natural logarithms of the shares of chances."""
    top = max(values)
    total = top + math.log(sum(math.exp(value - top) for value in values))
    return [value - total for value in values]


def _statement(
    case: Case, opening: Opening, subjects: tuple[str, ...]
) -> tuple[str, tuple[str, ...], str]:
    """What stands before the subjects in "It was ... that had been worn smooth", they, and what
    stands after them."""
    before = f"{case.item.passage[: opening.span.start]}It was "
    return before, subjects, f" that {opening.told}."

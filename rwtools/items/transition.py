"""Transition items: which connecting word fits the relation between the parts on either side."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache

from rwtools.clue import Span
from rwtools.items.case import Case
from rwtools.items.cues import Cue, cues
from rwtools.items.weights import relation_weights, softmax
from rwtools.text import trim
from rwtools.transitions import connectives, relation_of, relations

__all__ = [
    "Joined",
    "direction_of",
    "features",
    "holds_link",
    "joined",
    "relation_shares",
    "same_work",
    "uses_of",
]

_MARKS = ' \t\r\n,;:—–-.?!…"“”()'
_BY_WORD = (
    (("example", "instance", "illustrat"), "example"),
    (("result", "consequence", "reason", "hence", "wonder"), "cause"),
    (("despite", "spite", "granted", "to be sure", "for all that", "admit"), "concession"),
    (("except", "apart from"), "exception"),
    (("importantly", "addition", "besides", "along with"), "addition"),
    (("contrast", "comparison", "other hand", "unlike"), "contrast"),
    (("same way", "fashion", "similar"), "similarity"),
    (("words", "put another way", "to put it"), "restatement"),
    (("instead", "rather", "in place of"), "substitution"),
    (("same time", "meantime", "meanwhile"), "simultaneity"),
    (("before", "after", "then", "later", "earlier", "next", "first"), "sequence"),
    (("in fact", "notably", "specific", "particular"), "detail"),
)


_PARTICIPLES = frozenset("assuming following given provided providing supposing".split())
_INVERTED = frozenset({"should", "had", "were"})
"""Verbs that stand before their subject for *if*: *Should a captain drop anchor, he is paid*."""


@dataclass(frozen=True, slots=True)
class Joined:
    """The two stretches of the item's passage that the blank joins; ``second`` is the one that the
    connecting word belongs to. ``apart``: they are two sentences."""

    first: Span
    second: Span
    apart: bool


def uses_of(choice: str) -> list[tuple[str, float]]:
    """Relations that a choice can show with their shares; by its words where it is not listed."""
    form = " ".join(choice.lower().replace("’", "'").strip(" ,;:.—").split())
    found = [(relation, share) for relation, _, share in relation_of(form)]
    if found:
        return found
    if form in _INVERTED:
        return [("condition", 1.0)]
    parts = [part.strip() for part in form.split(",")]
    if len(parts) > 1:
        return _of_parts(parts)
    for words, relation in _BY_WORD:
        if any(re.search(rf"\b{word}", form) for word in words):
            return [(relation, 1.0)]
    return []


def _of_parts(parts: list[str]) -> list[tuple[str, float]]:
    """The relations of a choice made of several words set off by commas: that of each link in it
    (*now and then, however*), where *then* put in between draws a conclusion (*small wonder, then,
    that*) and *that* alone shows nothing."""
    if "then" in parts[1:]:
        return [("cause", 1.0)]
    links = [
        uses
        for part in parts
        if part != "that" and _place_of(part) not in ("", "pair") and (uses := uses_of(part))
    ]
    if not links:
        return next((uses for part in parts if (uses := uses_of(part))), [])
    shares: dict[str, float] = {}
    for relation, share in (use for uses in links for use in uses):
        shares[relation] = shares.get(relation, 0.0) + share / len(links)
    return sorted(shares.items(), key=lambda pair: -pair[1])


def holds_link(choice: str) -> bool:
    """Whether a choice is a connecting word or holds one (*it was otherwise when*); a preposition
    or a participle within other words (*was given*) is none."""
    if uses_of(choice):
        return True
    words = choice.lower().replace("’", "'").strip(" ,;:.—").split()
    return any(
        _place_of(word) in ("subordinator", "adverb")
        or (n == 0 and _place_of(word) == "coordinator")
        or word == "that"
        for n, word in enumerate(words)
        if word not in _PARTICIPLES
    )


def direction_of(choice: str) -> str | None:
    """For a word of cause: whether it brings in the ``reason`` or the ``result``."""
    form = " ".join(choice.lower().replace("’", "'").strip(" ,;:.—").split())
    entry = connectives().get(form)
    if entry is None:
        return "reason" if form.startswith(("because", "since", "due")) else "result"
    return next((use.direction for use in entry.uses if use.direction), None)


@cache
def _place_of(choice: str) -> str:
    entry = connectives().get(" ".join(choice.lower().split()))
    return "" if entry is None else entry.pos


def joined(case: Case) -> Joined:
    """Find what the blank joins, from the sentences of the first filled passage."""
    passage, (start, end) = case.item.passage, case.gap
    text, where = case.texts[0], case.choices[0]
    spans = [Span(*where.back(s.start, s.end)) for s in text.sentences]
    at = max((n for n, s in enumerate(spans) if s.start <= start), default=0)
    own = Span(min(spans[at].start, start), max(spans[at].end, end))
    before = trim(passage, own.start, start, marks=_MARKS)
    after = trim(passage, end, own.end, marks=_MARKS)
    opens = not any(c.isalnum() for c in passage[own.start : start])
    linking = sum(_place_of(c) in ("subordinator", "preposition") for c in case.item.choices)
    if opens and (linking * 2 > len(case.item.choices) or at == 0):
        comma = passage.find(",", end, own.end)
        if comma > 0 and not passage[end:].lstrip().startswith(","):
            head = trim(passage, end, comma, marks=_MARKS)
            tail = trim(passage, comma, own.end, marks=_MARKS)
            return Joined(tail, head, apart=False)
    if opens and at > 0:
        return Joined(trim(passage, spans[at - 1].start, spans[at - 1].end), after, apart=True)
    inserted = passage[:start].rstrip()[-1:] == "," and passage[end:].lstrip()[:1] == ","
    if inserted and at > 0 and len(passage[own.start : start].split()) <= 8:
        return Joined(
            trim(passage, spans[at - 1].start, spans[at - 1].end),
            trim(passage, own.start, own.end, marks=""),
            apart=True,
        )
    strong = max(passage.rfind(mark, own.start, start) for mark in ";:")
    if strong > own.start and not any(c.isalnum() for c in passage[strong:start]):
        before = trim(passage, own.start, strong, marks=_MARKS)
    return Joined(before, after, apart=False)


def found_cues(case: Case) -> list[Cue]:
    """The cues on both sides of the blank."""
    both = joined(case)
    one, two = sorted((both.first, both.second))
    return [
        cue
        for cue in cues(case.item.passage, one, two)
        if all(s.end <= case.gap[0] or s.start >= case.gap[1] for s in cue.spans)
    ]


def relation_shares(found: list[Cue]) -> dict[str, float]:
    """Probability of each relation by the cues, where all relations were alike before."""
    model = relation_weights()
    scores = dict(zip(model["relations"], model["bias"], strict=True))
    for cue in found:
        for relation, weight in model["cues"].get(cue.name, {}).items():
            scores[relation] += weight
    return dict(zip(scores, softmax(list(scores.values())), strict=True))


def judged(case: Case) -> dict[str, list[float]]:
    """What the judge says of each choice."""
    return {"judge": list(case.readings["full"].total)}


def features(case: Case) -> dict[str, list[float]]:
    """The named numbers that the choices are weighed by, one per choice, but for the judge's."""
    shares = relation_shares(found_cues(case))
    even = 1 / len(shares)
    fits, twins = [], []
    uses = [uses_of(choice) for choice in case.item.choices]
    for n, mine in enumerate(uses):
        chance = sum(f * shares.get(relation, even) for relation, f in mine) if mine else even
        fits.append(math.log(chance / even))
        others = [u[0][0] for k, u in enumerate(uses) if k != n and u]
        twins.append(float(bool(mine) and mine[0][0] in others and mine[0][1] > 0.5))
    return {
        "reader": list(case.weighed.chances),
        "relation": fits,
        "same as another": twins,
    }


def same_work(one: str, two: str) -> str | None:
    """The relation, if two choices can hardly be told apart: both mostly show it."""
    mine, theirs = uses_of(one), uses_of(two)
    if not mine or not theirs or mine[0][0] != theirs[0][0]:
        return None
    relation = mine[0][0]
    if relation == "sequence":  # earlier and later are one relation and two different words
        return None
    if relation == "cause" and direction_of(one) != direction_of(two):
        return None
    return relation if min(mine[0][1], theirs[0][1]) >= 0.5 else None


def sense_of(relation: str) -> str | None:
    """The PDTB-3 level-2 sense of a relation; its first one where it has two."""
    return next((r.senses[0] for r in relations() if r.name == relation), None)


def meaning_of(relation: str) -> str:
    """What a relation means, in plain words."""
    return next((r.meaning for r in relations() if r.name == relation), "")

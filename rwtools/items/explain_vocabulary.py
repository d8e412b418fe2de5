"""The way to the answer of a vocabulary item, in steps."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from rwtools.clue import Clue, Span
from rwtools.items.case import Case, meaning_place
from rwtools.items.model import Quote
from rwtools.items.steps import (
    Explained,
    Path,
    best_of,
    named,
    quote,
    said,
    surprising_words,
)
from rwtools.items.vocabulary import gloss_likeness, meaning_clues
from rwtools.items.wording import Place, Reading, read_places
from rwtools.text import trim

__all__ = ["explain"]

_NEAREST = 5
_LEAST = 0.2
_SECOND = 0.5
_NEAR = 8
_FEWEST = 3
_WORTH = 0.02
_SURE = 0.5
_BEFORE = " \t\r\n,;:.—"


def explain(case: Case, chances: Sequence[float]) -> Explained:
    """Where to look, the words that show the meaning, and what they make of each choice."""
    best = best_of(chances)
    path = Path()
    own = _own_sentence(case)
    asked = case.item.blank is None
    path.add(
        f"The question asks what {named(case.item.target or '')} means here. A word can have "
        "several meanings, so look at the sentence and the ones beside it."
        if asked
        else "Cover the choices. Read the sentence with the blank, and think of a word for it.",
        f"The sentence is {said(case, own, 20)}.",
        quote(case, own, "clause"),
    )
    clues = meaning_clues(case)
    shown = _telling(case, clues, best)
    deciding = _deciding(case, best)
    findings, evidence = [], []
    if shown is not None:
        findings.append(_about_blank(shown.explanation))
        for e in shown.evidence:
            if e.role == "gloss":
                evidence += quote(case, Span(e.start, e.end), "gloss")
    fresh = [p for p in deciding if not any(p.overlaps(Span(q.start, q.end)) for q in evidence)]
    for n, part in enumerate(fresh):
        first = n == 0 and shown is None
        findings.append(
            f"{said(case, part, 16)} {'points' if first else 'also points'} to the meaning."
        )
        evidence += quote(case, part, "cue")
    if findings:
        path.add(
            "Look for words in the passage that show the meaning.", " ".join(findings), evidence
        )
    else:
        path.add(
            "Look for words in the passage that show the meaning.",
            "No other words of the passage point at one meaning; only the sentence itself helps.",
        )
        evidence = quote(case, own, "clause")
    path.add(
        "Choose the meaning that agrees with these words.",
        f"{named(case.item.choices[best])} agrees with {_list(case, evidence)}.",
        evidence,
    )
    reasons: list[tuple[str, list[Quote]]] = []
    for n, choice in enumerate(case.item.choices):
        if n == best:
            reasons.append((f"{named(choice)} agrees with {_list(case, evidence)}.", evidence))
            continue
        text, mine = _against(case, best, n, shown, evidence)
        reasons.append((text, mine))
        path.add(f"Test {named(choice)}.", text, mine)
    return Explained(path.steps, reasons, [shown] if shown is not None else [])


def _about_blank(explanation: str) -> str:
    return explanation.replace('"____"', "the blank").replace("____", "the blank")


def _list(case: Case, evidence: Sequence[Quote]) -> str:
    quotes = [said(case, Span(q.start, q.end)) for q in evidence[:2]]
    return " and ".join(quotes) if quotes else "the sentence"


def _own_sentence(case: Case) -> Span:
    text, (start, _) = case.open, case.gap
    token = text.token_at(start)
    if token is None:
        return Span(0, len(text.passage))
    sentence = text.sentences[token.sent]
    return Span(sentence.start, sentence.end)


def _telling(case: Case, clues: Sequence[Clue], best: int) -> Clue | None:
    """The clue that speaks most for the likeliest choice and against the others; where none
    does, a sure one."""
    if not clues:
        return None

    def worth(clue: Clue) -> float:
        near = [gloss_likeness(clue, choice) for choice in case.item.choices]
        others = [value for n, value in enumerate(near) if n != best]
        return clue.confidence * (near[best] - sum(others) / len(others))

    top = max(clues, key=worth)
    if worth(top) >= _WORTH:
        return top
    surest = max(clues, key=lambda clue: clue.confidence)
    return surest if surest.confidence >= _SURE else None


def _parts(case: Case) -> list[Span]:
    """The sentences and half-sentences around the gap, nearest first; the gap's own is out."""
    passage, (start, end) = case.item.passage, case.gap
    for breaks in (".;?!:—\n", ".;?!:—\n,"):
        edges = [0]
        for i, c in enumerate(passage):
            if c in breaks and (c in "—\n" or passage[i + 1 : i + 2] in ("", " ", "\n", "”", '"')):
                edges.append(i + 1)
        edges.append(len(passage))
        found = []
        for first, last in pairwise(edges):
            part = trim(passage, first, last, marks=_BEFORE)
            apart = part.end <= start or part.start >= end
            if apart and len(part.of(passage).split()) >= _FEWEST:
                found.append(part)
        if len(found) > 1:
            break
    return sorted(found, key=lambda p: max(p.start - end, start - p.end))[:_NEAREST]


def _deciding(case: Case, best: int) -> list[Span]:
    """The parts of the passage, at most two, that the likeliest choice owes most to, best first.

    The judge reads the passage again without each part; what counts is how far the choice's
    advantage over the others shrinks. What stands after a blank was weighed word by word already.
    """
    parts = _parts(case)
    gains = _gains_about_target(case, best, parts)
    if gains is None:
        gains = _gains_around_blank(case, best, parts)
    ranked = sorted(zip(gains, parts, strict=True), key=lambda pair: -pair[0])
    return [
        part
        for n, (gain, part) in enumerate(ranked[:2])
        if gain >= _LEAST and (n == 0 or gain >= _SECOND * ranked[0][0])
    ]


def _without(passage: str, part: Span) -> str:
    return passage[: part.start] + passage[part.end :].lstrip(" .,;:?!—")


def _gains_about_target(case: Case, best: int, parts: Sequence[Span]) -> list[float] | None:
    item = case.item
    if item.blank is not None or item.target is None:
        return None
    places = [meaning_place(_without(item.passage, part), item) for part in parts]
    whole = _ahead(case.readings["means"].total, best)
    return [whole - _ahead(reading.total, best) for reading in read_places(places)]


def _gains_around_blank(case: Case, best: int, parts: Sequence[Span]) -> list[float]:
    passage, (start, end) = case.item.passage, case.gap
    words = tuple(c.words for c in case.choices)
    before = [part for part in parts if part.end <= start]
    places = []
    for part in before:
        rest = _without(passage, part)
        places.append(Place(rest[: start - len(passage) + len(rest)], words, passage[end:], _NEAR))
    full = case.readings["full"]
    whole = _ahead(_near_totals(full), best)
    lost = {
        part: whole - _ahead(_near_totals(reading), best)
        for part, reading in zip(before, read_places(places), strict=True)
    }
    for part in parts:
        if part not in lost:
            inside = [
                sum(v for s, e, v in pieces if part.start <= end + e and end + s < part.end)
                for pieces in full.pieces
            ]
            lost[part] = _ahead(inside, best)
    return [lost[part] for part in parts]


def _near_totals(reading: Reading) -> list[float]:
    return [
        own + sum(value for *_, value in pieces[:_NEAR])
        for own, pieces in zip(reading.own, reading.pieces, strict=True)
    ]


def _ahead(totals: Sequence[float], best: int) -> float:
    """How far the likeliest choice is ahead of the mean of the others."""
    others = [t for n, t in enumerate(totals) if n != best]
    return totals[best] - sum(others) / len(others)


def _against(
    case: Case, best: int, n: int, shown: Clue | None, evidence: list[Quote]
) -> tuple[str, list[Quote]]:
    choice = named(case.item.choices[n])
    words = surprising_words(case, best, n)
    if words is not None and len(words) > 3:
        return (
            f"If the word were {choice}, the words {said(case, words)} would be a surprise.",
            quote(case, words, "cue"),
        )
    if shown is not None and shown.label == "contrast":
        return f"{choice} does not make the contrast that the passage makes.", evidence
    return f"{choice} does not go with {_list(case, evidence)}.", evidence

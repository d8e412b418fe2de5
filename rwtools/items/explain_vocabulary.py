"""The way to the answer of a vocabulary item, in steps."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from rwtools.clue import Clue, Span
from rwtools.items.case import Case
from rwtools.items.model import Quote
from rwtools.items.steps import (
    Explained,
    Path,
    best_of,
    named,
    quote,
    said,
    speaking_words,
    surprising_words,
)
from rwtools.items.vocabulary import content_stems, meaning_clues
from rwtools.items.wording import Place, Reading, read_places
from rwtools.text import trim

__all__ = ["explain"]

_NEAREST = 3
_LEAST = 0.4
_FAR = 96
_FAINT = 0.25
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
    speaking = speaking_words(case, best)
    backed = None
    if speaking is None:  # the words that decide stand before the gap, or far behind it
        backed, speaking = _backing(case, best)
    findings, evidence = [], []
    if shown is not None:
        findings.append(shown.explanation.replace("____", "the blank"))
        for e in shown.evidence:
            if e.role == "gloss":
                evidence += quote(case, Span(e.start, e.end), "gloss")
    if backed is not None:
        findings.append(f"{said(case, backed, 16)} points to the meaning.")
        evidence += quote(case, backed, "cue")
    if speaking is not None:
        findings.append(f"The words {said(case, speaking)} go with the meaning too.")
        evidence += quote(case, speaking, "cue")
    if findings:
        if shown is None and backed is None and speaking is not None:
            findings = [f"The words {said(case, speaking)} show what kind of meaning fits."]
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
    """The surest clue to the meaning, those that share words with the choice first."""
    if not clues:
        return None
    own = content_stems(case.item.choices[best])

    def worth(clue: Clue) -> tuple[int, float]:
        gloss = next((e.quote for e in clue.evidence if e.role == "gloss"), "")
        return len(own & content_stems(gloss)), clue.confidence

    top = max(clues, key=worth)
    return top if top.confidence >= 0.5 or worth(top)[0] else None


def _parts(case: Case) -> list[Span]:
    """The sentences and half-sentences before the gap, nearest first; the gap's own part is out."""
    passage, start = case.item.passage, case.gap[0]
    found = []
    edges = [0, *(i + 1 for i, c in enumerate(passage[:start]) if c in ".;?!:—\n"), start]
    for first, last in pairwise(edges):
        part = trim(passage, first, last, marks=_BEFORE)
        if last < start and len(part.of(passage).split()) >= 3:
            found.append(part)
    return found[::-1][:_NEAREST]


def _backing(case: Case, best: int) -> tuple[Span | None, Span | None]:
    """The part before the gap without which the likeliest choice would lose most; and the words
    that speak for it farther after the gap than the choices were weighed by.

    The judge reads the passage again without each part; what counts is how far the choice's
    advantage over the others shrinks.
    """
    passage, (start, end) = case.item.passage, case.gap
    parts = _parts(case)
    words = tuple(c.words for c in case.choices)
    horizon = 8
    places = [Place(passage[:start], words, passage[end:], _FAR)]
    for part in parts:
        rest = passage[: part.start] + passage[part.end :].lstrip(" .,;:?!—")
        cut = len(passage) - len(rest)
        places.append(Place(rest[: start - cut], words, passage[end:], horizon))
    readings = read_places(places)
    words_after = speaking_words(case, best, readings[0].pieces, _FAINT)
    if not parts:
        return None, words_after
    whole = _advantage(readings[0], best, horizon)
    gains = [whole - _advantage(reading, best, horizon) for reading in readings[1:]]
    top = max(range(len(parts)), key=lambda n: gains[n])
    return (parts[top] if gains[top] >= _LEAST else None), words_after


def _advantage(reading: Reading, best: int, horizon: int) -> float:
    totals = [
        own + sum(value for *_, value in pieces[:horizon])
        for own, pieces in zip(reading.own, reading.pieces, strict=True)
    ]
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

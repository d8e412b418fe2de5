"""The way to the answer of a vocabulary item, in steps."""

from __future__ import annotations

import math
from collections.abc import Sequence

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
    surprising_words,
)
from rwtools.items.vocabulary import gloss_likeness, meaning_clues

__all__ = ["explain"]

_LEAST = 0.1
_SECOND = 0.5
_WORTH = 0.02
_SURE = 0.5
_TURN = 0.1


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
    answer = case.item.choices[best]
    turned = _turned(case, best)
    if turned is not None and case.turning is not None:
        path.add("Mind the words that turn the meaning round.", *turned)
        answer = f"{case.turning.of(case.item.passage)} {answer.strip()}"
    agrees = f"{named(answer)} agrees with {_list(case, evidence)}."
    path.add("Choose the meaning that agrees with these words.", agrees, evidence)
    reasons: list[tuple[str, list[Quote]]] = []
    for n, choice in enumerate(case.item.choices):
        if n == best:
            reasons.append((agrees, evidence))
            continue
        text, mine = _against(case, best, n, shown, evidence)
        reasons.append((text, mine))
        path.add(f"Test {named(choice)}.", text, mine)
    return Explained(path.steps, reasons, [shown] if shown is not None else [])


def _turned(case: Case, best: int) -> tuple[str, list[Quote]] | None:
    """What *not*, *anything but* and the like before the blank do, where they move the chances."""
    if case.turning is None:
        return None
    with_, without = (
        [math.exp(c) for c in found.chances] for found in (case.weighed, case.unturned)
    )
    if with_[best] - without[best] < _TURN:
        return None
    words, other = said(case, case.turning), best_of(without)
    name = named(case.item.choices[other])
    return (
        f"{words} turns the meaning of the blank round: the word there must say the opposite of "
        f"what the rest shows. Without {words}, {name} would fit "
        f"{'less well' if other == best else 'best'}.",
        quote(case, case.turning, "cue"),
    )


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


def _deciding(case: Case, best: int) -> list[Span]:
    """The parts of the passage, at most two, that the likeliest choice owes most to, best first.

    The reader weighs the choices again without each part; what counts is how far the choice's
    advantage over the others shrinks.
    """
    found = case.weighed if case.item.blank is not None else case.in_place
    whole = _ahead(found.chances, best)
    gains = [whole - _ahead(chances, best) for chances in found.without]
    ranked = sorted(zip(gains, case.parts, strict=True), key=lambda pair: -pair[0])
    return [
        part
        for n, (gain, part) in enumerate(ranked[:2])
        if gain >= _LEAST and (n == 0 or gain >= _SECOND * ranked[0][0])
    ]


def _misfit(case: Case, best: int, other: int) -> Span | None:
    """The part of the passage without which the other choice comes nearest to the likeliest."""
    found = case.weighed if case.item.blank is not None else case.in_place
    whole = found.chances[best] - found.chances[other]
    gains = [whole - (chances[best] - chances[other]) for chances in found.without]
    if not gains or max(gains) < _LEAST:
        return None
    return case.parts[gains.index(max(gains))]


def _ahead(totals: Sequence[float], best: int) -> float:
    """How far the likeliest choice is ahead of the mean of the others."""
    others = [t for n, t in enumerate(totals) if n != best]
    return totals[best] - sum(others) / len(others)


def _against(
    case: Case, best: int, n: int, shown: Clue | None, evidence: list[Quote]
) -> tuple[str, list[Quote]]:
    choice = named(case.item.choices[n])
    blank = case.item.blank is not None
    supposed = f"If the word were {choice}" if blank else f"If it meant {choice}"
    if case.is_heard:
        words = surprising_words(case, best, n)
        if words is not None and len(words) > 3:
            return (
                f"{supposed}, the words {said(case, words)} would be a surprise.",
                quote(case, words, "cue"),
            )
    elif (part := _misfit(case, best, n)) is not None:
        told = f"{supposed}, {said(case, part, 16)} would not go with it."
        return told, quote(case, part, "cue")
    if shown is not None and shown.label == "contrast":
        return f"{choice} does not make the contrast that the passage makes.", evidence
    return f"{choice} does not go with {_list(case, evidence)}.", evidence

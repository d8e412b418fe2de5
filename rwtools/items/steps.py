"""Steps, quotes and the words that decide: what the four explanations have in common."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from rwtools.clue import Clue, Span
from rwtools.items.case import Case
from rwtools.items.model import Quote, Step
from rwtools.text import Text, trim

__all__ = [
    "Explained",
    "Path",
    "best_of",
    "quote",
    "said",
    "speaking_words",
    "surprising_words",
    "whole_phrase",
]

_EDGES = ' \t\r\n,;:.—–"“”()'
_BREAKS = ".;:?!—,\n"
_SMALL = frozenset(
    "a an the of to in on at for with and or but by as be is was were that it its their his her "
    "from than had has have not no each so".split()
)
_MOST_WORDS = 9
_LEAST = 0.7
"""Natural-log units that words must be worth before they are called deciding."""
_MOST_OF_PHRASE = 14
_HEADS = ("NOUN", "PROPN", "PRON", "VERB", "AUX", "ADP", "SCONJ", "ADJ", "ADV", "NUM")


@dataclass
class Path:
    """Steps in the making; their numbers follow by themselves."""

    steps: list[Step] = field(default_factory=list)

    def add(
        self, action: str, finding: str, evidence: Sequence[Quote] = (), rule: str | None = None
    ) -> None:
        """Add a step. One without evidence has to say that the passage has no such signal."""
        self.steps.append(
            Step(
                step=len(self.steps) + 1,
                action=action,
                finding=finding,
                rule=rule,
                evidence=_once(evidence),
            )
        )


@dataclass
class Explained:
    """The path, and for each choice its reason with the words it rests on; for a transition also
    the relation that the blank needs."""

    path: list[Step]
    reasons: list[tuple[str, list[Quote]]]
    clues: list[Clue] = field(default_factory=list)
    relation: str | None = None


def _once(quotes: Sequence[Quote]) -> list[Quote]:
    found: dict[tuple[int, int], Quote] = {}
    for one in quotes:
        if one.start < one.end:
            found.setdefault((one.start, one.end), one)
    return list(found.values())


def best_of(chances: Sequence[float]) -> int:
    """Index of the likeliest choice."""
    return max(range(len(chances)), key=lambda n: chances[n])


def quote(case: Case, span: Span, role: str) -> list[Quote]:
    """A span of the item's passage as evidence; the blank is cut out of it."""
    passage, (start, end) = case.item.passage, case.gap
    parts = [span]
    if case.item.blank is not None and span.start < end and start < span.end:
        parts = [
            Span(span.start, max(span.start, start)),
            Span(min(span.end, end), span.end),
        ]
    found = []
    for part in parts:
        part = trim(passage, part.start, part.end)
        if any(c.isalnum() for c in part.of(passage)):
            found.append(Quote(start=part.start, end=part.end, quote=part.of(passage), role=role))
    return found


def said(case: Case, span: Span, words: int = 12) -> str:
    """The words of a span in quotation marks, for a sentence; long ones lose their middle."""
    part = trim(case.item.passage, span.start, span.end, marks=_EDGES)
    text = part.of(case.item.passage)
    text = " ".join(text.replace("____", "…").split())
    cut = text.split(" ")
    if len(cut) > words:
        half = words // 2
        text = f"{' '.join(cut[: words - half])} … {' '.join(cut[-half:])}"
    return f"“{text.replace('“', '‘').replace('”', '’')}”"


def named(words: str) -> str:
    """A choice in quotation marks."""
    return f"“{words.strip()}”"


def speaking_words(
    case: Case,
    best: int,
    pieces: tuple[tuple[tuple[int, int, float], ...], ...] | None = None,
    least: float = _LEAST,
) -> Span | None:
    """The phrase after the gap that the likeliest choice makes likelier than the others do.

    ``pieces`` are those of a longer reading than the one that the choices were weighed by.
    """
    reading = case.readings["full"].pieces if pieces is None else pieces
    others = [n for n in range(len(reading)) if n != best]
    gains = []
    for k, (start, end, value) in enumerate(reading[best]):
        rest = [reading[n][k][2] for n in others if k < len(reading[n])]
        if rest:
            gains.append((start, end, value - sum(rest) / len(rest)))
    return whole_phrase(case, best, _strongest(case, gains, least))


def surprising_words(case: Case, best: int, other: int) -> Span | None:
    """The phrase after the gap that comes as a surprise with ``other`` in it, not with ``best``."""
    one, two = case.readings["full"].pieces[best], case.readings["full"].pieces[other]
    gains = [(s, e, a - b) for (s, e, a), (_, _, b) in zip(one, two, strict=False)]
    return whole_phrase(case, best, _strongest(case, gains))


def whole_phrase(case: Case, best: int, span: Span | None) -> Span | None:
    """The phrase or clause that holds most of a span's words and little else, the gap left out;
    None where the parse knows none. A cut (*because the insects*) shows a learner nothing."""
    if span is None:
        return None
    text, where = case.texts[best], case.choices[best]
    shift = where.end - case.gap[1]
    start, end = (o + shift if o >= case.gap[1] else o for o in (span.start, span.end))
    held = {t.i for t in text.tokens_in(start, end) if not t.is_punct}
    found: list[tuple[int, int, Span]] = []
    for token in {i for k in held for i in _above(text, k)}:
        members = [i for i in text.subtree(token) if not text.tokens[i].is_punct]
        if not 1 < len(members) <= _MOST_OF_PHRASE or text.tokens[token].pos not in _HEADS:
            continue
        phrase = text.span(members[0], members[-1])
        inside = text.tokens_in(phrase.start, phrase.end)
        if where.touches(phrase.start, phrase.end) or len(inside) > len(members) + 4:
            continue
        found.append((len(held & set(members)), -len(members), phrase))
    if not found:
        return None
    kept, _, phrase = max(found, key=lambda one: one[:2])
    return Span(*where.back(phrase.start, phrase.end)) if 2 * kept >= len(held) else None


def _above(text: Text, index: int) -> list[int]:
    """A token with its head, that one's head, and so on."""
    found = [index]
    while text.tokens[found[-1]].head not in found:
        found.append(text.tokens[found[-1]].head)
    return found


def _strongest(
    case: Case, gains: Sequence[tuple[int, int, float]], least: float = _LEAST
) -> Span | None:
    """The stretch of a few words, within one part of a sentence, that gains most."""
    passage, offset = case.item.passage, case.gap[1]
    words: list[list[float]] = []
    for start, end, gain in gains:
        piece = passage[offset + start : offset + end]
        if words and piece[:1].isalnum() and passage[offset + start - 1].isalnum():
            words[-1][1], words[-1][2] = end, words[-1][2] + gain
        else:
            words.append([start, end, gain])
    best: tuple[float, int, int] | None = None
    for first in range(len(words)):
        total = 0.0
        for last in range(first, min(first + _MOST_WORDS, len(words))):
            piece = passage[offset + int(words[last][0]) : offset + int(words[last][1])]
            total += words[last][2]
            if not any(c.isalnum() for c in piece):
                if piece.strip() in (".", ";", ":", "?", "!", ",", "—"):
                    break
                continue
            if best is None or total > best[0]:
                best = (total, int(words[first][0]), int(words[last][1]))
    if best is None or best[0] < least:
        return None
    span = trim(passage, offset + best[1], offset + best[2], marks=_EDGES)
    if not len(span):
        return None
    span = _readable(passage, _whole_words(passage, span), offset)
    return span if len(span.of(passage).split()) > 1 else None


def _readable(passage: str, span: Span, first: int) -> Span:
    """The whole part of the sentence that a span lies in, if that is short; else the span without
    small words at its end."""
    start, end = span.start, span.end
    while start > first and passage[start - 1] not in _BREAKS:
        start -= 1
    while end < len(passage) and passage[end] not in _BREAKS:
        end += 1
    part = trim(passage, start, end, marks=_EDGES)
    if len(part.of(passage).split()) <= _MOST_WORDS + 3:
        return part
    end = span.end
    while (at := passage.rfind(" ", span.start, end)) > 0 and passage[at + 1 : end] in _SMALL:
        end = at
    return Span(span.start, end)


def _whole_words(passage: str, span: Span) -> Span:
    start, end = span.start, span.end
    while start > 0 and passage[start - 1].isalnum() and passage[start].isalnum():
        start -= 1
    while end < len(passage) and passage[end - 1].isalnum() and passage[end].isalnum():
        end += 1
    return Span(start, end)

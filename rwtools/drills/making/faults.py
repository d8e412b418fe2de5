"""Sentences in which a rule finds a fault: no learner should take them for good writing."""

from __future__ import annotations

from dataclasses import dataclass

from rwtools import rules
from rwtools.clue import Span
from rwtools.drills.making.draft import Draft
from rwtools.drills.making.phrases import brief
from rwtools.drills.making.window import SHORTEST, window
from rwtools.text import Text

__all__ = ["FaultySentence", "faulty_sentences", "why_left_out"]


@dataclass(frozen=True, slots=True)
class FaultySentence:
    """A sentence that no item shows: the ``passage`` (its name), the ``sentence`` (shortened), and
    the ids of the ``rules`` that it breaks, in reading order."""

    passage: str
    sentence: str
    rules: tuple[str, ...]


def faulty_sentences(text: Text, source: str) -> dict[int, FaultySentence]:
    """The sentences of a passage, by number, that break a rule of punctuation or grammar."""
    broken: dict[int, list[str]] = {}
    for clue in rules.check(text):
        if clue.label != "fault":
            continue
        for sentence in text.sentences:
            if sentence.start < max(clue.end, clue.start + 1) and clue.start < sentence.end:
                broken.setdefault(sentence.index, []).append(clue.rule)
    return {
        number: FaultySentence(
            source,
            brief(text, Span(text.sentences[number].start, text.sentences[number].end)),
            tuple(dict.fromkeys(found)),
        )
        for number, found in sorted(broken.items())
    }


def why_left_out(
    text: Text, draft: Draft, sound: list[bool], faulty: dict[int, FaultySentence]
) -> str:
    """Why a draft cannot be shown, if a faulty sentence is the cause; else an empty string."""
    if not faulty:
        return ""
    spans = [draft.place, *(span for span, _ in draft.evidence)]
    start, end = min(s.start for s in spans), max(s.end for s in spans)
    if window(text, sound, start, end, SHORTEST) is None:
        return ""  # it could not be shown anyway
    near = min(faulty, key=lambda n: _distance(text, n, start, end))
    return f"the text has a fault there: {faulty[near].rules[0]}"


def _distance(text: Text, number: int, start: int, end: int) -> int:
    sentence = text.sentences[number]
    return max(0, sentence.start - end, start - sentence.end)

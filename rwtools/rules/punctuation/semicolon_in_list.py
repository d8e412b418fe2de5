"""Where members of a list have commas of their own, semicolons part the members, all of them."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from rwtools.clue import Fix
from rwtools.rules.model import Finding, Rule
from rwtools.rules.phrases import clear, prose, short
from rwtools.text import Sentence, Text

__all__ = ["RULE", "find"]

_FINITE = frozenset({"VBZ", "VBP", "VBD", "MD"})


def find(text: Text) -> list[Finding]:
    """Fault span: the comma that parts the last member. Fix: a semicolon. Sound: the semicolons,
    from the first to the last."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    for sentence in prose(text):
        marks = [i for i in range(sentence.first, sentence.last) if text.tokens[i].text == ";"]
        if marks:
            yield from _in_sentence(text, sentence, marks)


def _in_sentence(text: Text, sentence: Sentence, marks: list[int]) -> Iterator[Finding]:
    edges = [*marks, sentence.last]
    later = [range(a + 1, b) for a, b in pairwise(edges)]
    if any(text.tokens[i].tag in _FINITE for part in later for i in part):
        return  # clauses, not members of a list
    commas = [[i for i in part if text.tokens[i].text == ","] for part in later]
    opening = [i for i in range(sentence.first, marks[0]) if text.tokens[i].text == ","]
    if not opening:
        return
    last = later[-1]
    if not last:
        return
    linked = text.tokens[last.start].lower in ("and", "or")
    if len(marks) >= 2 and linked and any(commas):
        first, end = text.tokens[marks[0]], text.tokens[marks[-1]]
        yield Finding(
            first.start,
            end.end,
            "sound",
            0.9,
            {"count": str(len(marks) + 1), "member": _member(text, later[0])},
            tuple(text.evidence(text.span(p.start, p.stop - 1), "arg2") for p in later),
        )
    if linked or len(commas[-1]) != 3 or any(len(c) != 1 for c in commas[:-1]):
        return
    middle = commas[-1][1]
    if text.tokens[middle + 1].lower not in ("and", "or"):
        return
    mark = text.tokens[middle]
    yield Finding(
        mark.start,
        mark.end,
        "fault",
        0.9,
        {"member": _member(text, range(middle + 2, last.stop - 1))},
        (text.evidence(text.span(marks[0], marks[0]), "cue"),),
        (Fix(mark.start, mark.end, ";"),),
    )


def _member(text: Text, part: range) -> str:
    span = text.span(part.start, part.stop - 1)
    return short(text, span.start, span.end)


RULE = Rule("semicolon-in-list", find)

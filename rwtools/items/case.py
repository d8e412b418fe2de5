"""Everything that is looked up for one item before its choices are weighed."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from rwtools import rules
from rwtools.clue import Clue
from rwtools.items.model import BLANK, Item
from rwtools.items.placing import Placed, placed
from rwtools.items.seams import Facts, Seam, facts, seams_of
from rwtools.items.wording import Place, Reading, read_places
from rwtools.text import Text, parse_many

__all__ = ["CORE", "Case", "gather", "meaning_place"]

CORE = ("transition", "punctuation", "grammar", "vocabulary")
_HORIZON = {"transition": 24, "punctuation": 14, "grammar": 12, "vocabulary": 60}
_LAST_WORDS = re.compile(r"(?:[^\s.?!]+\s+){0,2}\S*$")
_STOP = re.compile(r"[.?!][\"'”’)\]]*(?:\s+(?=[^a-z])|$)|\n\s*\n")
_NEXT_WORD = re.compile(r"\S*\s*\S*")


@dataclass
class Case:
    """An item with its choices put in, parsed and read by the judge.

    ``open`` is the passage as given. ``readings``: ``full`` (each choice in the passage), ``bare``
    (each choice between the words next to it only: what it is worth anywhere), ``missing`` (in
    transition and grammar items: *The blank should read ...*, after the passage, so that the judge
    knows what follows the blank). For a target the judge also finishes sentences about its meaning:
    ``means`` (after the passage: *In this text, the target means ...*), ``means anywhere`` (the
    same without the passage), ``sentence means`` (after the target's own sentence), ``definition``
    (*target (definition): ...*) and ``another way`` (*... is another way to say target*).
    """

    item: Item
    choices: list[Placed]
    texts: list[Text]
    open: Text
    readings: dict[str, Reading]
    seams: list[list[Seam]] = field(default_factory=list)
    facts: list[list[Facts]] = field(default_factory=list)

    @property
    def gap(self) -> tuple[int, int]:
        """Where the choices go in the item's passage."""
        return self.choices[0].gap

    @cached_property
    def faults(self) -> list[list[Clue]]:
        """For each choice the faults that touch it (offsets of the filled passage)."""
        return [
            [
                clue
                for clue in rules.check(text)
                if clue.label == "fault"
                and (
                    where.touches(clue.start, clue.end, 1)
                    or any(where.touches(e.start, e.end) for e in clue.evidence)
                    or any(where.touches(f.start, f.end, 1) for f in clue.fix)
                )
            ]
            for text, where in zip(self.texts, self.choices, strict=True)
        ]


def gather(items: Sequence[Item]) -> list[Case]:
    """Look up a batch of items of the four core skills, each with a gap, in few passes."""
    choices = [placed(item) for item in items]
    places: list[Place] = []
    names: list[list[str]] = []
    for item, filled in zip(items, choices, strict=True):
        found = dict(_places(item, filled))
        places += found.values()
        names.append(list(found))
    readings = iter(read_places(places))
    parsed = parse_many(
        passage
        for item, filled in zip(items, choices, strict=True)
        for passage in (item.passage, *(c.passage for c in filled))
    )
    cases = [
        Case(
            item,
            filled,
            open=next(parsed),
            texts=[next(parsed) for _ in filled],
            readings={name: next(readings) for name in mine},
        )
        for item, filled, mine in zip(items, choices, names, strict=True)
    ]
    _look_at_seams(case for case in cases if case.item.skill == "punctuation")
    return cases


def _places(item: Item, filled: Sequence[Placed]) -> Iterator[tuple[str, Place]]:
    start, end = filled[0].gap
    before, after = item.passage[:start], item.passage[end:]
    words = tuple(c.words for c in filled)
    yield "full", Place(before, words, after, _HORIZON[item.skill])
    last = _LAST_WORDS.search(before[-60:])
    following = _NEXT_WORD.match(after)
    yield (
        "bare",
        Place(last[0] if last else "", words, following[0] if following else "", 4),
    )
    if item.skill == "vocabulary" and item.blank is None:
        yield from _about_target(item, filled[0].gap)
    elif item.skill in ("transition", "grammar"):
        ends = tuple(f" “{choice.strip()}”." for choice in item.choices)
        yield "missing", Place(f"{before}{BLANK}{after}\n\nThe blank should read", ends)


def _about_target(item: Item, gap: tuple[int, int]) -> Iterator[tuple[str, Place]]:
    own = tuple(choice.strip() for choice in item.choices)
    ends = tuple(f" {c}." for c in own)
    yield "means", meaning_place(item.passage, item)
    yield "means anywhere", Place(f"In this text, “{item.target}” means", ends)
    sentence = _sentence_around(item.passage, *gap)
    frame = f"In the sentence “{sentence}”, the word “{item.target}” means"
    yield "sentence means", Place(frame, ends)
    yield "definition", Place(f"{item.target} (definition):", ends)
    yield "another way", Place("", own, f" is another way to say {item.target}.")


def meaning_place(passage: str, item: Item) -> Place:
    """The judge's sentence about the target's meaning after a passage, for each choice."""
    before = f"{passage}\n\nIn this text, “{item.target}” means"
    return Place(before, tuple(f" {choice.strip()}." for choice in item.choices))


def _sentence_around(passage: str, start: int, end: int) -> str:
    """Roughly the sentence of a target: the judge is asked before the passage is parsed."""
    begins = max((m.end() for m in _STOP.finditer(passage, 0, start)), default=0)
    stop = _STOP.search(passage, end)
    return " ".join(passage[begins : stop.end() if stop else len(passage)].split())


def _look_at_seams(cases: Iterable[Case]) -> None:
    waiting: list[Case] = []
    places: list[tuple[str, int, int]] = []
    for case in cases:
        case.seams = seams_of(case.choices)
        waiting.append(case)
        places += [(s.placed.passage, s.left, s.right) for mine in case.seams for s in mine]
    found = iter(facts(places))
    for case in waiting:
        case.facts = [[next(found) for _ in mine] for mine in case.seams]

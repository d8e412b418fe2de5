"""Everything that is looked up for one item before its choices are weighed."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise

from rwtools import rules
from rwtools.clue import Clue, Span
from rwtools.items.model import Item
from rwtools.items.placing import Placed, placed
from rwtools.items.seams import Facts, Seam, facts, seams_of
from rwtools.items.turning import left_out, turning_words
from rwtools.items.wording import Place, Reading, read_places
from rwtools.reader import Blank, Weighed, choose
from rwtools.text import Text, parse_many, trim

__all__ = ["CORE", "Case", "gather"]

CORE = ("transition", "punctuation", "grammar", "vocabulary")
_HORIZON = {"transition": 12, "punctuation": 12, "grammar": 10, "vocabulary": 12}
_LAST_WORDS = re.compile(r"(?:[^\s.?!]+\s+){0,2}\S*$")
_STOP = re.compile(r"[.?!][\"'”’)\]]*(?:\s+(?=[^a-z])|$)|\n\s*\n")
_NEXT_WORD = re.compile(r"\S*\s*\S*")
_MARKS = " \t\r\n,;:.—"
_CONTEXT_WORDS = 12
_FEWEST = 3  # words of a part that can decide
_NEAREST = 5  # parts that are looked at


@dataclass
class Case:
    """An item with its choices put in, parsed and weighed by the reader.

    ``open`` is the passage as given.

    ``weighed`` is the reader's answer, for all skills but punctuation: which choice belongs in the
    blank, or for a target what it means; ``in_place``: which choice could take the target's place.
    In vocabulary items what belongs in the gap is also told without each of the ``parts`` of the
    passage, and where ``turning`` words stand before a blank, without these (``unturned``).
    """

    item: Item
    choices: list[Placed]
    texts: list[Text]
    open: Text
    weighed: Weighed = field(default_factory=lambda: Weighed(()))
    in_place: Weighed = field(default_factory=lambda: Weighed(()))
    parts: list[Span] = field(default_factory=list)
    turning: Span | None = None
    unturned: Weighed = field(default_factory=lambda: Weighed(()))
    seams: list[list[Seam]] = field(default_factory=list)
    facts: list[list[Facts]] = field(default_factory=list)

    @property
    def gap(self) -> tuple[int, int]:
        """Where the choices go in the item's passage."""
        return self.choices[0].gap

    @cached_property
    def readings(self) -> dict[str, Reading]:
        """The judge's, asked for at the first use, since that takes most of the time.

        ``full`` (each choice in the passage) and for vocabulary ``near`` (each choice between the
        words next to it only: what it is worth anywhere). For a target the judge also finishes
        ``means`` (after the passage: *In this text, the target means ...*) and ``definition``
        (without it: *target (definition): ...*).
        """
        places = dict(_places(self.item, self.choices))
        (read,) = read_places([list(places.values())])
        return dict(zip(places, read, strict=True))

    @property
    def is_heard(self) -> bool:
        """Whether the judge was asked."""
        return "readings" in self.__dict__

    @cached_property
    def near(self) -> Reading:
        """The judge's reading of each choice between the words next to it only."""
        found = self.readings.get("near")
        return read_places([[_near(self.item, self.choices)]])[0][0] if found is None else found

    @cached_property
    def weighed_bare(self) -> Weighed:
        """The reader's answer where it sees the words next to the gap only."""
        place = _near(self.item, self.choices)
        return choose([Blank(place.before, place.choices, place.after)])[0]

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
        )
        for item, filled in zip(items, choices, strict=True)
    ]
    _ask_reader([case for case in cases if case.item.skill != "punctuation"])
    _look_at_seams(case for case in cases if case.item.skill == "punctuation")
    return cases


def _ask_reader(cases: Sequence[Case]) -> None:
    blanks = []
    for case in cases:
        item, (start, end) = case.item, case.gap
        own = tuple(choice.strip() for choice in item.choices)
        before, after = item.passage[:start], item.passage[end:]
        parts: tuple[tuple[int, int], ...] = ()
        if item.skill == "vocabulary":
            case.parts = parts_around(item.passage, start, end)
            width = end - start  # a reader's parts count as if nothing stood in the blank
            parts = tuple(
                (p.start, p.end) if p.end <= start else (p.start - width, p.end - width)
                for p in case.parts
            )
        if item.skill == "vocabulary" and item.blank is None:
            frame = f"{item.passage}\n\nIn this text, “{item.target}” means"
            blanks.append(Blank(frame, tuple(f" {c}." for c in own)))
            blanks.append(Blank(before, own, after, parts))
        else:
            words = tuple(choice.words for choice in case.choices)
            blanks.append(Blank(before, words, after, parts))
            if item.skill == "vocabulary":
                case.turning = turning_words(item.passage, case.gap)
            if case.turning is not None:
                blanks.append(Blank(left_out(item.passage, case.turning, start), words, after))
    found = iter(choose(blanks))
    for case in cases:
        case.weighed = next(found)
        if case.item.skill == "vocabulary" and case.item.blank is None:
            case.in_place = next(found)
        if case.turning is not None:
            case.unturned = next(found)


def _places(item: Item, filled: Sequence[Placed]) -> Iterator[tuple[str, Place]]:
    start, end = filled[0].gap
    before, after = item.passage[:start], item.passage[end:]
    words = tuple(c.words for c in filled)
    # A mark or a form is settled near the gap: the sentences before cost time and change nothing.
    seen = _nearest(before) if item.skill in ("punctuation", "grammar") else before
    yield "full", Place(seen, words, after, _HORIZON[item.skill])
    if item.skill == "vocabulary":
        yield "near", _near(item, filled)
        if item.blank is None:
            ends = tuple(f" {choice.strip()}." for choice in item.choices)
            asked = f"{item.passage}\n\nIn this text, “{item.target}” means"
            yield "means", Place(asked, ends)
            yield "definition", Place(f"{item.target} (definition):", ends)


def _near(item: Item, filled: Sequence[Placed]) -> Place:
    start, end = filled[0].gap
    last = _LAST_WORDS.search(item.passage[max(start - 60, 0) : start])
    following = _NEXT_WORD.match(item.passage[end:])
    words = tuple(c.words for c in filled)
    return Place(last[0] if last else "", words, following[0] if following else "", 4)


def _nearest(before: str) -> str:
    """Of what stands before a gap, its own sentence, and others before it if that is short."""
    for stop in reversed(list(_STOP.finditer(before))):
        if len(before[stop.end() :].split()) >= _CONTEXT_WORDS:
            return before[stop.end() :]
    return before


def parts_around(passage: str, start: int, end: int) -> list[Span]:
    """The sentences and half-sentences around a gap, nearest first; the gap's own is out."""
    for breaks in (".;?!:—\n", ".;?!:—\n,"):
        edges = [0]
        for i, c in enumerate(passage):
            if c in breaks and (c in "—\n" or passage[i + 1 : i + 2] in ("", " ", "\n", "”", '"')):
                edges.append(i + 1)
        edges.append(len(passage))
        found = []
        for first, last in pairwise(edges):
            part = trim(passage, first, last, marks=_MARKS)
            apart = part.end <= start or part.start >= end
            if apart and len(part.of(passage).split()) >= _FEWEST:
                found.append(part)
        if len(found) > 1:
            break
    return sorted(found, key=lambda p: max(p.start - end, start - p.end))[:_NEAREST]


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

"""What a word that denies a blank makes of the words that decide, told to a learner."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from rwtools.clue import Span
from rwtools.items.case import Case
from rwtools.items.model import Quote
from rwtools.items.steps import best_of, named, quote, said
from rwtools.items.turning import denying_words, without_denial
from rwtools.reader import Blank, choose

__all__ = ["Denial", "find_denial", "is_set_against"]

_MOVED = 0.1
_BACK = frozenset("but yet however nevertheless instead conversely still".split())
"""Links that set their own part against the one before it."""
_ONWARD = frozenset("although though while whereas despite unlike".split())
"""Links that set the part they open against the main part."""
_LACKING = re.compile(r"(?i)(?:no|without|lack\w* of|absence of)")
_ASIDE = re.compile(r"(?i)(?:rather than|instead of)")


@dataclass(frozen=True, slots=True)
class Denial:
    """The ``words`` that deny a blank. ``kind``: ``turned`` (*not*, *did little to*), ``lacking``
    (*no*, *without*) or ``aside`` (*rather than*). ``tempting``: the choice that would fit best
    without them, if it is another one; ``worse``: the likeliest choice would fit less well."""

    words: Span
    kind: str
    tempting: int | None
    worse: bool

    def told(self, case: Case, best: int) -> tuple[str, list[Quote]]:
        """What the words do to the blank."""
        words = said(case, self.words)
        finding = {
            "turned": f"{words} turns the meaning of the blank round: what the passage shows is "
            "the opposite of the word in the blank.",
            "lacking": f"{words} says that what the blank names is missing: look for signs that "
            "it is not there.",
            "aside": f"{words} puts the word in the blank aside: what the passage shows is "
            "something else, often the opposite.",
        }[self.kind]
        if self.tempting is not None:
            finding += (
                f" Without {words}, {named(case.item.choices[self.tempting])} would fit best."
            )
        elif self.worse:
            finding += f" Without {words}, {named(case.item.choices[best])} would fit less well."
        return finding, self.quotes(case)

    def quotes(self, case: Case) -> list[Quote]:
        """The words as evidence."""
        return quote(case, self.words, "cue")

    def with_word(self, case: Case, n: int) -> str:
        """The denying words with a choice, in quotation marks."""
        between = case.item.passage[self.words.start : case.gap[0]]
        return f"“{' '.join(between.split())} {case.item.choices[n].strip()}”"

    def fits(self, case: Case, best: int, shown: str, count: int) -> str:
        """That the passage shows the opposite of the choice, its lack, or something else."""
        verb, name = ("show" if count > 1 else "shows"), named(case.item.choices[best])
        what = {
            "turned": f"the opposite of {name}",
            "lacking": "that there is none of it",
            "aside": f"something else than {name}",
        }[self.kind]
        return f"{self.with_word(case, best)} fits: {shown} {verb} {what}."

    def tempts(self, case: Case, n: int, shown: str) -> str:
        """Why the choice that would fit without the words is wrong with them."""
        words, name = said(case, self.words), named(case.item.choices[n])
        return (
            f"{name} would go with {shown} if {words} were not there. "
            f"{self.with_word(case, n)} says the opposite."
        )


def find_denial(case: Case) -> Denial | None:
    """The words that deny the blank of a vocabulary item, and whom they lead astray."""
    if case.item.blank is None:
        return None
    words = denying_words(case.item.passage, case.gap)
    if words is None:
        return None
    said_ = words.of(case.item.passage)
    kind = (
        "lacking" if _LACKING.fullmatch(said_) else "aside" if _ASIDE.fullmatch(said_) else "turned"
    )
    without = case.unturned if words == case.turning else None
    if without is None:
        before = without_denial(case.item.passage, words, case.gap[0])
        if before is None:
            return Denial(words, kind, None, worse=False)
        filled = tuple(choice.words for choice in case.choices)
        (without,) = choose([Blank(before, filled, case.item.passage[case.gap[1] :])])
    with_, bare = ([math.exp(c) for c in found.chances] for found in (case.weighed, without))
    best, other = best_of(with_), best_of(bare)
    moved = bare[other] - with_[other] >= _MOVED
    worse = other == best and with_[best] - bare[best] >= _MOVED
    return Denial(words, kind, other if other != best and moved else None, worse)


def is_set_against(case: Case, part: Span) -> bool:
    """Whether a link such as *but* or *although* sets a part of the passage against the part in
    which the blank stands."""
    passage, (start, end) = case.item.passage, case.gap
    lead = re.search(r"(?:^|[.?!;:,—])\s*(\w+)\s*,?\s*$", passage[: part.start])
    words = [w.lower() for w in re.findall(r"\w+", part.of(passage))[:1]]
    words += [lead[1].lower()] if lead else []
    if part.start >= end and set(words) & (_BACK | _ONWARD):
        return not re.search(r"[.?!]\s+\w", passage[end : part.start]) or bool(set(words) & _BACK)
    own = max(passage.rfind(mark, 0, start) for mark in ".?!;:—,")
    opening = re.match(r"\W*(\w+)", passage[own + 1 : start])
    link = opening[1].lower() if opening else ""
    if part.end <= start:
        near = not re.search(r"\w", passage[part.end : own + 1])
        onward = bool(set(words) & _ONWARD) and not re.search(r"[.?!]", passage[part.end : start])
        return (near and link in _BACK) or onward
    between = passage[end : part.start]
    return link in _ONWARD and not re.search(r"[.?!;]", between)

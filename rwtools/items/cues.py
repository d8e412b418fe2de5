"""Words on both sides of a blank that speak for one relation or another.

Each cue is something a reader can be shown: two opposites, a denial, a number, a name after a
general word, a word of time. The words are in ``shared/cue-words.json``; how much each cue counts
for each relation was learnt (``models/solver/train.py``).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any, cast

from rwtools.clue import Span
from rwtools.resources import load_json, shared

__all__ = ["Cue", "cues"]

_WORD = re.compile(r"[^\W_]+(?:['’][^\W_]+)?")
_A_TIME = re.compile(r"\s+(?:then\b|\d)")
_YEAR = re.compile(r"1[0-9]{3}|20[0-9]{2}")
_EMPTY = frozenset(
    "a an the of in on at by for to with from as and or but nor so is are was were be been being "
    "am do does did has have had it its this that these those he she they we you i his her their "
    "our your my him them us who which what when where than then there here not no very such can "
    "could may might will would shall should must one into out up over about if".split()
)


@dataclass(frozen=True, slots=True)
class Cue:
    """A cue by name, with the words that are it (one span or two, passage offsets)."""

    name: str
    spans: tuple[Span, ...]


@dataclass(frozen=True, slots=True)
class _Word:
    text: str
    lower: str
    start: int
    end: int

    @property
    def span(self) -> Span:
        return Span(self.start, self.end)


@cache
def _table() -> dict[str, Any]:
    return cast("dict[str, Any]", load_json(shared("cue-words.json")))


@cache
def _opposites() -> dict[str, frozenset[str]]:
    found: dict[str, set[str]] = {}
    for one, other in _table()["opposites"]:
        found.setdefault(one, set()).add(other)
        found.setdefault(other, set()).add(one)
    return {word: frozenset(others) for word, others in found.items()}


@cache
def _signals() -> dict[str, frozenset[str]]:
    table = _table()
    found = {name: frozenset(words) for name, words in table["signals"].items()}
    return found | {"praise": frozenset(table["praise"]), "blame": frozenset(table["blame"])}


def _words(passage: str, span: Span) -> list[_Word]:
    return [
        _Word(m[0], _looked_up(passage, m), m.start(), m.end())
        for m in _WORD.finditer(passage, span.start, span.end)
        if m.end() <= span.end
    ]


def _looked_up(passage: str, word: re.Match[str]) -> str:
    """A word as the lists have it; *since* before a time (*since then*, *since 1990*) is none."""
    lower = word[0].lower().replace("’", "'")
    timed = lower == "since" and _A_TIME.match(passage, word.end())
    return f"{lower} a time" if timed else lower


def stem(word: str) -> str:
    """A rough stem, enough to see that two words are one: *argued*, *argues*."""
    for ending in ("ies", "ied", "ing", "edly", "ed", "es", "ly", "s", "e"):
        if word.endswith(ending) and len(word) - len(ending) >= 4:
            return word[: -len(ending)]
    return word


def cues(passage: str, arg1: Span, arg2: Span) -> list[Cue]:
    """All cues that two stretches give, in no special order; `arg2` is the later argument."""
    return list(_found(_words(passage, arg1), _words(passage, arg2)))


def _found(one: list[_Word], two: list[_Word]) -> Iterator[Cue]:
    yield from _opposed(one, two)
    signals = _signals()
    seen = {
        name: ([w for w in one if w.lower in words], [w for w in two if w.lower in words])
        for name, words in signals.items()
    }
    for name, (before, after) in seen.items():
        if name in ("praise", "blame", "denied"):
            continue
        if before:
            yield Cue(f"{name} before", (before[-1].span,))
        if after:
            yield Cue(f"{name} after", (after[0].span,))
    yield from _tones(seen)
    denied_before, denied_after = seen["denied"]
    if denied_before and denied_after:
        yield Cue("denied twice", (denied_before[-1].span, denied_after[0].span))
    elif denied_before:
        yield Cue("denied before", (denied_before[-1].span,))
    elif denied_after:
        yield Cue("denied after", (denied_after[0].span,))
    yield from _repeated(one, two, bool(denied_before) != bool(denied_after))
    yield from _named(one, two, seen["general"][0])
    yield from _counted(one, two)
    if two and len(two) * 2 < len(one):
        yield Cue("second part much shorter", (Span(two[0].start, two[-1].end),))


def _opposed(one: list[_Word], two: list[_Word]) -> Iterator[Cue]:
    """The first pair of opposites, one on each side."""
    opposites = _opposites()
    later: dict[str, _Word] = {}
    for word in two:
        later.setdefault(word.lower, word)
    for word in one:
        for other in sorted(opposites.get(word.lower, frozenset()) & later.keys()):
            yield Cue("opposites", (word.span, later[other].span))
            return


def _tones(seen: dict[str, tuple[list[_Word], list[_Word]]]) -> Iterator[Cue]:
    """Praise and blame: changing over, or the same on both sides."""
    for first, second in (("praise", "blame"), ("blame", "praise")):
        a, b = seen[first][0], seen[second][1]
        if a and b and not seen[second][0]:
            yield Cue(f"{first} then {second}", (a[-1].span, b[0].span))
    for tone in ("praise", "blame"):
        a, b = seen[tone]
        if a and b:
            yield Cue(f"{tone} twice", (a[-1].span, b[0].span))


def _repeated(one: list[_Word], two: list[_Word], denied_once: bool) -> Iterator[Cue]:
    """Words of the first part that come back in the second."""
    stems = {stem(w.lower): w for w in one if w.lower not in _EMPTY and len(w.lower) > 3}
    again = [w for w in two if w.lower not in _EMPTY and stem(w.lower) in stems]
    if again:
        pair = (stems[stem(again[0].lower)].span, again[0].span)
        yield Cue("word again", pair)
        if len(again) > 2:
            yield Cue("many words again", pair)
        if denied_once:
            yield Cue("word again, denied once", pair)


def _named(one: list[_Word], two: list[_Word], general: list[_Word]) -> Iterator[Cue]:
    """A name that is new in the second part, and a word that points back to the first."""
    names = {w.lower for w in one[1:] if w.text[:1].isupper() and w.lower != "i"} | {"i"}
    new = [w for w in two[1:] if w.text[:1].isupper() and w.lower not in names]
    if new:
        yield Cue("new name", (new[0].span,))
        if general:
            yield Cue("general, then a name", (general[-1].span, new[0].span))
    if two and two[0].lower in ("he", "she", "it", "they", "this", "these", "that", "such"):
        yield Cue(f"opens {two[0].lower}", (two[0].span,))


def _counted(one: list[_Word], two: list[_Word]) -> Iterator[Cue]:
    """Years and other figures."""
    before, after = ([w for w in side if _YEAR.fullmatch(w.text)] for side in (one, two))
    if before and after:
        later = int(after[0].text) > int(before[-1].text)
        name = "later year" if later else "earlier year"
        yield Cue(name, (before[-1].span, after[0].span))
    elif after:
        yield Cue("year after", (after[0].span,))
    figures = [w for w in two if w.text.isdigit() and not _YEAR.fullmatch(w.text)]
    if figures:
        yield Cue("figure after", (figures[0].span,))

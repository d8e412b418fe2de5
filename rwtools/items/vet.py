"""Vet items: find what is wrong with a question before a learner meets it."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import islice
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from rwtools.errors import InputError
from rwtools.items import transition
from rwtools.items.duplicates import Duplicates
from rwtools.items.groups import is_covered
from rwtools.items.load import as_items
from rwtools.items.model import Item, Quote
from rwtools.items.placing import Placed, gap_of, place
from rwtools.items.punctuation import is_interchangeable
from rwtools.items.seams import bare, split_words
from rwtools.items.solving import BATCH, Worked, solution_of, work_out

__all__ = ["CODES", "Problem", "Vetted", "problems_of", "unreadable", "vet", "vet_batch"]

CODES: dict[str, str] = {
    "format": "the line is no item: a field is missing or wrong",
    "no-place": "the item has neither a blank nor a target",
    "key-disagrees": "the evidence speaks for another choice than the key",
    "second-choice": "a second choice can be defended",
    "nothing-decides": "nothing in the passage decides between the choices",
    "giveaway-length": "the key stands out by its length",
    "giveaway-words": "the key repeats a word of the passage, and no other choice does",
    "punctuation-words": "choices of a punctuation item differ in words",
    "does-not-fit": "a choice cannot stand in the blank: doubled words or marks, or the wrong kind",
    "duplicate": "the item repeats an earlier one",
    "near-duplicate": "the item is nearly the same as an earlier one",
}
Severity = Literal["error", "warning"]


class Problem(BaseModel):
    """One thing wrong with an item: its code (see `CODES`), what it is in plain words, the letters
    of the choices it concerns and the words of the passage it rests on."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    code: str
    severity: Severity
    message: str
    choices: list[str] = Field(default_factory=list)
    evidence: list[Quote] = Field(default_factory=list)


class Vetted(BaseModel):
    """An item's problems; ``line`` is its line in the file, or its number in a list."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    id: str | None
    line: int
    problems: list[Problem]


# ---------------------------------------------------------------- by the item alone


def _letters(item: Item, *numbers: int) -> list[str]:
    return [item.letters[n] for n in numbers]


def _no_place(item: Item) -> Iterator[Problem]:
    core = ("transition", "punctuation", "grammar", "vocabulary")
    if item.skill in core and gap_of(item) is None:
        yield Problem(
            code="no-place",
            severity="error",
            message="The passage has no blank, and no target is named: the choices have no place.",
        )


def _length(item: Item) -> Iterator[Problem]:
    key = item.key
    if key is None or len(item.choices) < 3:
        return
    sizes = [len(choice.strip()) for choice in item.choices]
    others = [size for n, size in enumerate(sizes) if n != key]
    longer = sizes[key] >= 1.7 * max(others) and sizes[key] - max(others) >= 9
    shorter = 1.9 * sizes[key] <= min(others) and min(others) - sizes[key] >= 9
    if longer or shorter:
        yield Problem(
            code="giveaway-length",
            severity="warning",
            message=f"The key {item.letters[key]} has {sizes[key]} characters, the other choices "
            f"{min(others)} to {max(others)}: its length gives it away.",
            choices=_letters(item, key),
        )


_COMMON = frozenset(
    "a an the of to in on at for with and or by as be is that it not no its their his her from "
    "into than more most very who which what was were are has have had".split()
)


def _words(words: str) -> set[str]:
    found = (w.casefold() for w in re.findall(r"[^\W\d_]+", words))
    return {w for w in found if w not in _COMMON and len(w) > 4}


def _repeats(item: Item) -> Iterator[Problem]:
    key, gap = item.key, gap_of(item)
    if key is None or gap is None or item.skill != "vocabulary":
        return
    rest = f"{item.passage[: gap[0]]} {item.passage[gap[1] :]} {item.target or ''}"
    there = _words(rest)
    shared = {n: _words(choice) & there for n, choice in enumerate(item.choices)}
    if shared[key] and not any(words for n, words in shared.items() if n != key):
        found = min(shared[key])
        at = re.search(rf"(?<!\w){re.escape(found)}(?!\w)", item.passage, re.IGNORECASE)
        evidence = [Quote(start=at.start(), end=at.end(), quote=at[0], role="cue")] if at else []
        yield Problem(
            code="giveaway-words",
            severity="warning",
            message=f"Only the key {item.letters[key]} repeats a word of the passage: “{found}”.",
            choices=_letters(item, key),
            evidence=evidence,
        )


def _words_differ(item: Item) -> Iterator[Problem]:
    if item.skill != "punctuation":
        return
    worded = [tuple(bare(w) for w in split_words(c).words) for c in item.choices]
    usual = max(set(worded), key=lambda w: (worded.count(w), -worded.index(w)))
    odd = [n for n, words in enumerate(worded) if words != usual]
    if odd:
        yield Problem(
            code="punctuation-words",
            severity="error",
            message="Choices of a punctuation item have the same words; here "
            + ", ".join(f"{item.letters[n]} (“{item.choices[n]}”)" for n in odd)
            + (" has" if len(odd) == 1 else " have")
            + " other words than the rest.",
            choices=_letters(item, *odd),
        )


_DOUBLE_MARK = re.compile(r"[,;:]\s*[,;:.?!]|[.?!]\s*[,;:]")
_LOOSE_MARK = re.compile(r"\s[,;:.?!](?=\s|$)")
_CLINGS = "-—–(/'’“\""  # marks that stand right before a word
_VOWEL = re.compile(r"(?i)(?!uni|use|usu|eu|one\b|once|ut[ei])[aeiou]|hour|hono|heir")


def _fit(item: Item) -> Iterator[Problem]:
    gap = gap_of(item)
    if gap is None or item.blank is None:
        return
    before, after = item.passage[: gap[0]], item.passage[gap[1] :]
    if any(_runs_together(place(item, gap, choice)) for choice in item.choices):
        yield Problem(
            code="does-not-fit",
            severity="error",
            message="A letter stands right beside the blank, without a space.",
        )
    last = re.search(r"([^\W_]+)\s*$", before)
    first = re.match(r"\s*([^\W_]+)", after)
    for n, choice in enumerate(item.choices):
        words = re.findall(r"[^\W_]+", choice.casefold())
        why = ""
        if words and last and words[0] == last[1].casefold() and words[0] not in ("that", "had"):
            why = f"“{last[1]}” would stand twice before the blank's other words"
        elif (
            words
            and first
            and words[-1] == first[1].casefold()
            and words[-1] not in ("that", "had")
        ):
            why = f"“{first[1]}” would stand twice"
        else:
            where = place(item, gap, choice)
            near = where.passage[max(where.start - 2, 0) : where.end + 2]
            if not re.search(r"\.\.\.|\w\.,", near):
                if _DOUBLE_MARK.search(near) and not _DOUBLE_MARK.search(choice):
                    why = f"two marks would meet in “{near.strip()}”"
                elif _LOOSE_MARK.search(near) and not _LOOSE_MARK.search(choice):
                    why = f"a space would stand before the mark in “{near.strip()}”"
        if why:
            yield Problem(
                code="does-not-fit",
                severity="error",
                message=f"Choice {item.letters[n]} (“{choice}”) does not fit the blank: {why}.",
                choices=_letters(item, n),
            )
    yield from _article(item, last[1] if last else "")


def _runs_together(where: Placed) -> bool:
    """Whether a choice would meet a word beside it without a space."""
    filled = where.passage
    left, right = filled[max(where.start - 1, 0) : where.start + 1], filled[where.end - 1 :][:2]
    if where.start and left.isalnum() and len(left) == 2:
        return True
    return (
        len(right) == 2
        and right[1].isalnum()
        and not right[0].isspace()
        and right[0] not in _CLINGS
    )


def _article(item: Item, word: str) -> Iterator[Problem]:
    if word.casefold() not in ("a", "an"):
        return
    wants = word.casefold() == "an"
    odd = [n for n, c in enumerate(item.choices) if bool(_VOWEL.match(c.strip())) != wants]
    if odd:
        yield Problem(
            code="does-not-fit",
            severity="warning",
            message=f"“{word}” stands before the blank and does not go with "
            + ", ".join(f"{item.letters[n]} (“{item.choices[n]}”)" for n in odd)
            + ": the article gives these choices away.",
            choices=_letters(item, *odd),
        )


_ALONE: tuple[Callable[[Item], Iterator[Problem]], ...] = (
    _no_place,
    _length,
    _repeats,
    _words_differ,
    _fit,
)


# ---------------------------------------------------------------- by the evidence

_SURE = 0.5
_PLAIN = 0.98  # so likely must another choice be before a passage that says little accuses the key
_LOST = 0.15
_RIVAL = 0.75
_FLAT = 0.5
_FEW_WORDS = 15
_LITTLE = 3.0
_MOVED = 0.2  # share of the reader's chances that the passage must move to another choice
_HABIT = 0.02
"""Of two words for one relation, the judge often finds one likelier by habit alone; below this
share of the key's probability, the passage itself speaks against the other."""


def _by_evidence(worked: Worked) -> Iterator[Problem]:
    item, chances = worked.case.item, worked.chances
    ranked = sorted(range(len(chances)), key=lambda n: -chances[n])
    top, second = ranked[0], ranked[1]
    third = chances[ranked[2]] if len(ranked) > 2 else 0.0
    key = item.key
    told = {v.letter: v for v in solution_of(worked).choices}
    twin = _twin(worked)
    if twin is not None:
        one, two, why = twin
        yield Problem(
            code="second-choice",
            severity="error",
            message=f"Both {item.letters[one]} (“{item.choices[one]}”) and {item.letters[two]} "
            f"(“{item.choices[two]}”) can be defended: {why}",
            choices=_letters(item, one, two),
            evidence=told[item.letters[one]].evidence,
        )
    little = _adds_nothing(worked)
    sure = _PLAIN if little else _SURE
    if key is not None and key != top and chances[top] >= sure and chances[key] <= _LOST:
        mine = told[item.letters[top]]
        yield Problem(
            code="key-disagrees",
            severity="error",
            message=f"The key is {item.letters[key]}, but the evidence speaks for "
            f"{item.letters[top]}. {mine.reason} Against {item.letters[key]}: "
            f"{told[item.letters[key]].reason}",
            choices=_letters(item, key, top),
            evidence=mine.evidence,
        )
    elif (chances[top] < _FLAT and third >= 0.35 * chances[top]) or little:
        yield Problem(
            code="nothing-decides",
            severity="warning",
            message=f"Nothing in the passage decides: the likeliest choice, {item.letters[top]}, "
            f"has {chances[top]:.0%}, {item.letters[second]} has {chances[second]:.0%}, and the "
            "words beyond those next to the blank hardly change that.",
            choices=_letters(item, top, second),
        )
    elif twin is None and chances[second] >= _RIVAL * chances[top]:
        yield Problem(
            code="second-choice",
            severity="warning",
            message=f"{item.letters[top]} and {item.letters[second]} are about as likely. For "
            f"{item.letters[top]}: {told[item.letters[top]].reason} About "
            f"{item.letters[second]}: {told[item.letters[second]].reason}",
            choices=_letters(item, top, second),
            evidence=told[item.letters[top]].evidence,
        )
    yield from _odd_kind(worked)


def _adds_nothing(worked: Worked) -> bool:
    """Whether the passage says hardly more than the words next to the blank: it is very short, or
    both networks weigh the choices alike with and without it."""
    case = worked.case
    if case.item.skill not in ("transition", "vocabulary") or case.item.blank is None:
        return False
    if len(re.findall(r"[^\W_]+", case.item.passage)) < _FEW_WORDS:
        return True
    full, bare_ = case.readings["full"].total, case.near.total
    added = sorted(f - b for f, b in zip(full, bare_, strict=True))
    if added[-1] - added[0] >= _LITTLE or added[-1] - added[-2] >= 1:
        return False
    pairs = zip(case.weighed.chances, case.weighed_bare.chances, strict=True)
    return sum(abs(math.exp(a) - math.exp(b)) for a, b in pairs) / 2 < _MOVED


def _twin(worked: Worked) -> tuple[int, int, str] | None:
    """Two choices that do the same work, one of them the key (or the likeliest)."""
    item = worked.case.item
    own = worked.best if item.key is None else item.key
    for n in range(len(item.choices)):
        if n == own:
            continue
        if item.skill == "transition":
            shared = transition.same_work(item.choices[own], item.choices[n])
            if shared is not None and worked.chances[n] >= _HABIT * worked.chances[own]:
                return own, n, f"both words show the same relation, {shared}."
        elif item.skill == "punctuation" and is_interchangeable(worked.case, own, n):
            return own, n, "both marks may stand between two complete sentences."
    return None


_ENDINGS = (
    ("adverb", ("ly",)),
    ("noun", ("ness", "tion", "sion", "ment", "ity", "ance", "ence", "ship", "ism")),
    ("adjective", ("ous", "ful", "less", "ive", "able", "ible", "ic", "ish")),
    ("verb", ("ize", "ise", "ify")),
)
_NOT_ADVERBS = frozenset(
    "friendly lonely lively costly deadly likely early daily elderly orderly ugly silly holy "
    "family supply reply apply rely ally".split()
)


def _kind(choice: str, tag: str) -> str:
    word = choice.strip().casefold()
    if " " in word:
        return ""
    for kind, endings in _ENDINGS:
        if word.endswith(endings) and len(word) > 5 and word not in _NOT_ADVERBS:
            return kind
    return {"NOUN": "noun", "ADJ": "adjective", "VERB": "verb", "ADV": "adverb"}.get(tag, "")


def _odd_kind(worked: Worked) -> Iterator[Problem]:
    """A choice of another part of speech than the others, and unlikely beside the blank."""
    item, case = worked.case.item, worked.case
    if item.skill != "vocabulary" or item.blank is None or len(item.choices) < 3:
        return
    kinds = []
    for choice, text, where in zip(item.choices, case.texts, case.choices, strict=True):
        token = next((t for t in text.tokens if t.end > where.start), None)
        kinds.append(_kind(choice, token.pos if token else ""))
    fits = case.near.total
    for n, kind in enumerate(kinds):
        rest = [k for m, k in enumerate(kinds) if m != n]
        others = [f for m, f in enumerate(fits) if m != n]
        if kind and len(set(rest)) == 1 and rest[0] and rest[0] != kind and fits[n] < min(others):
            yield Problem(
                code="does-not-fit",
                severity="warning",
                message=f"Choice {item.letters[n]} (“{item.choices[n]}”) is read as a word of "
                f"another kind ({kind}) than the others ({rest[0]}): it does not fit the blank.",
                choices=_letters(item, n),
            )


# ---------------------------------------------------------------- the whole


def vet_batch(items: Sequence[Item]) -> list[list[Problem]]:
    """The problems of each item of a batch, duplicates aside."""
    return [problems_of(item, worked) for item, worked in zip(items, work_out(items), strict=True)]


def problems_of(item: Item, worked: Worked | None) -> list[Problem]:
    """The problems of an item that is worked out already (None: its skill is not covered)."""
    found = [problem for check in _ALONE for problem in check(item)]
    if worked is not None and is_covered(item):
        found += _by_evidence(worked)
    return found


def repeated(seen: Duplicates, item: Item, line: int) -> list[Problem]:
    """Whether an item repeats an earlier one of the same file."""
    found = seen.add(item, line)
    if found is None:
        return []
    other, where, likeness = found
    exact = likeness == 1.0
    return [
        Problem(
            code="duplicate" if exact else "near-duplicate",
            severity="error" if exact else "warning",
            message=f"This item {'repeats' if exact else 'is nearly the same as'} {other!r} "
            f"(line {where})" + ("." if exact else f": {likeness:.0%} of their words are shared."),
        )
    ]


def unreadable(error: InputError, line: int) -> Vetted:
    """A line that is no item, as a report."""
    return Vetted(
        id=None,
        line=line,
        problems=[Problem(code="format", severity="error", message=str(error))],
    )


def vet(items: Iterable[Item | dict[str, Any]]) -> Iterator[Vetted]:
    """A report for each item of a stream, in order, with its problems (often none).

    Items may be `Item` objects or JSON-ready records (a record that is no item raises
    `ItemError`). ``line`` counts the items from 1.
    """
    seen = Duplicates()
    stream = as_items(items)
    line = 0
    while batch := list(islice(stream, BATCH)):
        for item, problems in zip(batch, vet_batch(batch), strict=True):
            line += 1
            yield Vetted(id=item.id, line=line, problems=problems + repeated(seen, item, line))

"""Faults planted in good items, to measure what `vet` finds.

Each function takes a good item and returns a faulty copy, or None where the fault cannot be planted
in it.
"""

from __future__ import annotations

import random
import re
from collections.abc import Callable

from rwtools.items.model import LETTERS, Item
from rwtools.items.placing import gap_of
from rwtools.items.transition import uses_of

_TWINS = {
    "contrast": ("By contrast", "In contrast"), "concession": ("Nevertheless", "Even so"),
    "cause": ("Therefore", "Consequently"), "addition": ("Moreover", "In addition"),
    "example": ("For example", "For instance"), "similarity": ("Similarly", "In the same way"),
    "restatement": ("In other words", "That is to say"), "substitution": ("Instead", "Rather"),
    "simultaneity": ("Meanwhile", "At the same time"), "detail": ("Specifically", "In particular"),
}  # fmt: skip
Plant = Callable[[Item, random.Random], Item | None]


def _copy(item: Item, **changes: object) -> Item:
    return Item.model_validate({**item.model_dump(exclude_none=True), **changes})


def _others(item: Item) -> list[int]:
    return [n for n in range(len(item.choices)) if n != item.key]


def wrong_key(item: Item, rng: random.Random) -> Item:
    return _copy(item, answer=LETTERS[rng.choice(_others(item))])


def second_choice(item: Item, rng: random.Random) -> Item | None:
    """A wrong choice becomes a twin of the key: a word of the same relation, or the other of a
    period and a semicolon."""
    assert item.key is not None
    key, twin = item.choices[item.key], None
    if item.skill == "transition":
        uses = uses_of(key)
        comma = "," if key.endswith(",") else ""  # without its comma it would not be a twin
        for word in _TWINS.get(uses[0][0], ()) if uses and len(key.split()) < 4 else ():
            fits = key[:1].isupper() and word.lower() != key.lower().rstrip(",")
            if fits and word + comma not in item.choices:
                twin = word + comma
    elif item.skill == "punctuation":
        found = re.search(r"(?<=\w)([.;]) (\w)", key)
        if found is not None:
            mark, letter = (";", found[2].lower()) if found[1] == "." else (".", found[2].upper())
            twin = key[: found.start()] + f"{mark} {letter}" + key[found.end() :]
    if twin is None:
        return None
    choices = list(item.choices)
    for n in _others(item):
        if choices[n] == twin:
            return None  # the writer offers it and rules it out
    choices[rng.choice(_others(item))] = twin
    return _copy(item, choices=choices)


def nothing_decides(item: Item, rng: random.Random) -> Item | None:
    """Only the few words beside the blank are left of the passage."""
    gap = gap_of(item)
    if item.skill not in ("transition", "vocabulary") or item.blank is None or gap is None:
        return None
    before, after = item.passage[: gap[0]], item.passage[gap[1] :]
    start = max(before.rfind(". "), before.rfind("? "), before.rfind("\n")) + 1
    words = after.split(" ")
    passage = before[start:].lstrip() + item.passage[gap[0] : gap[1]] + " ".join(words[:4])
    if item.skill == "vocabulary" and len(before[start:].split()) > 8:
        return None
    return _copy(item, passage=passage.rstrip(",; ") + " ...", evidence=[])


def long_key(item: Item, rng: random.Random) -> Item:
    assert item.key is not None
    choices = list(item.choices)
    choices[item.key] += ", as everything else in the text makes clear"
    return _copy(item, choices=choices)


def repeated_word(item: Item, rng: random.Random) -> Item | None:
    gap = gap_of(item)
    if item.skill != "vocabulary" or gap is None:
        return None
    assert item.key is not None
    words = re.findall(r"[a-z]{6,}", item.passage[gap[1] :])
    if not words:
        return None
    choices = list(item.choices)
    choices[item.key] = f"{choices[item.key]} {rng.choice(words)}"
    return _copy(item, choices=choices)


def other_words(item: Item, rng: random.Random) -> Item | None:
    if item.skill != "punctuation":
        return None
    choices = list(item.choices)
    n = rng.choice(_others(item))
    words = choices[n].split()
    words.insert(1, "very")
    choices[n] = " ".join(words)
    return _copy(item, choices=choices)


def doubled_word(item: Item, rng: random.Random) -> Item | None:
    gap = gap_of(item)
    if gap is None or item.blank is None:
        return None
    last = re.search(r"([^\W_]+) $", item.passage[: gap[0]])
    if last is None:
        return None
    choices = list(item.choices)
    n = rng.choice(_others(item))
    choices[n] = f"{last[1]} {choices[n]}"
    return _copy(item, choices=choices)


PLANTS: dict[str, Plant] = {
    "key-disagrees": wrong_key,
    "second-choice": second_choice,
    "nothing-decides": nothing_decides,
    "giveaway-length": long_key,
    "giveaway-words": repeated_word,
    "punctuation-words": other_words,
    "does-not-fit": doubled_word,
}


def changed_a_little(item: Item, rng: random.Random) -> Item:
    """Two words of the passage changed: a near-duplicate."""
    gap = gap_of(item) or (0, 0)
    places = [
        m
        for m in re.finditer(r"\b[a-z]{4,}\b", item.passage)
        if m.end() <= gap[0] or m.start() >= gap[1]
    ]
    passage = item.passage
    for match in sorted(rng.sample(places, min(2, len(places))), key=lambda m: -m.start()):
        passage = passage[: match.start()] + "other" + passage[match.end() :]
    if item.target is not None and item.target not in passage:
        passage = item.passage + " So it was."
    return _copy(item, passage=passage, evidence=[])

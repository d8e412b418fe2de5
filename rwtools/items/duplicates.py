"""Find items that say the same as an earlier one, in one pass and without comparing all pairs."""

from __future__ import annotations

import re
from array import array
from functools import lru_cache
from hashlib import blake2b

from rwtools.items.model import Item

__all__ = ["NEAR", "Duplicates"]

NEAR = 0.8
"""Shared words over all words of both (Jaccard), from which two items count as near-duplicates."""

_RAREST = 10
_MOST_PLACES = 200
_WORD = re.compile(r"[^\W_]+")


@lru_cache(1 << 17)
def _number(text: str) -> int:
    """The same number for the same text in every run (`hash` differs from run to run)."""
    return int.from_bytes(blake2b(text.encode("utf-8", "replace"), digest_size=7).digest())


class Duplicates:
    """Items seen so far. Each is looked up by its rarest words only: two items that share four
    fifths of their words share most of those, and common words would find half the file."""

    def __init__(self) -> None:
        self._names: list[tuple[str, int]] = []
        self._words: list[frozenset[int]] = []
        self._exact: dict[int, int] = {}
        self._places: dict[int, array[int]] = {}

    def add(self, item: Item, line: int) -> tuple[str, int, float] | None:
        """Remember an item; return id, line and likeness (0..1) of the earlier one it repeats."""
        text = [item.passage, item.passage_2 or "", *(item.notes or ())]
        if item.table is not None:
            text.append(str(item.table.rows))
        body = " ".join(_WORD.findall(" ".join(text).casefold()))
        words = frozenset(_number(word) for word in body.split())
        # The same passage may serve several skills; the same question on it twice is a repetition.
        whole = _number.__wrapped__(
            "\n".join(
                (item.skill, body, item.target or "", *sorted(c.strip() for c in item.choices))
            )
        )
        number = len(self._names)
        found: tuple[str, int, float] | None = None
        if whole in self._exact:
            found = (*self._names[self._exact[whole]], 1.0)
        self._exact.setdefault(whole, number)
        rare = sorted(words, key=lambda w: (len(self._places.get(w, ())), w))
        if found is None:
            found = self._nearest(words, rare, item)
        self._names.append((item.id, line))
        self._words.append(words | {_number(item.skill)})
        for word in rare[: 2 * _RAREST]:
            places = self._places.setdefault(word, array("l"))
            if len(places) < _MOST_PLACES:
                places.append(number)
        return found

    def _nearest(
        self, words: frozenset[int], rare: list[int], item: Item
    ) -> tuple[str, int, float] | None:
        seen: set[int] = set()
        best: tuple[float, int] | None = None
        for word in [w for w in rare if w in self._places][:_RAREST]:
            for other in self._places[word]:
                if other in seen:
                    continue
                seen.add(other)
                theirs = self._words[other]
                if _number(item.skill) not in theirs:
                    continue
                shared = len(words & theirs)
                likeness = shared / (len(words) + len(theirs) - 1 - shared or 1)
                if likeness >= NEAR and (best is None or likeness > best[0]):
                    best = (likeness, other)
        return None if best is None else (*self._names[best[1]], round(best[0], 3))

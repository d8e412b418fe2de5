"""What words mean apart from the passage: for each sense the words that go with it.

The numbers are in ``models/solver/lexicon.npz``, made from WordNet 3.0 by
``models/solver/lexicon.py``. A sense is a bag of word stems with weights: its synonyms, the words
that it is explained with and its nearest neighbours. No definition is kept.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from functools import cache, lru_cache
from typing import TYPE_CHECKING, NamedTuple

from rwtools.resources import artifact

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

__all__ = ["Bag", "content", "expanded", "likeness", "senses", "stem"]

Bag = Mapping[str, float]

UNIT = 50
"""Weights are kept as whole numbers of fiftieths."""

_LATER = 0.3
_RELATED = 0.4
_WORD = re.compile(r"[a-z]+(?:-[a-z]+)*")
_SMALL = frozenset(
    "a an the of to in on at for with and or by as be is are was were it that this these those "
    "which who whom whose not no its their his her from into than more most very what has have had "
    "having do does did being been so such some any all each other one ones someone something used "
    "especially usually often make made making cause causing state quality act relating etc "
    "you your they them he she we can could may might will would but if when where then there out "
    "up over about without".split()
)
_ENDINGS = tuple(
    "iness ically ation fully ness ment ably ibly ies ied ing edly ity ful ous ed es ly al s e "
    "y".split()
)
_INFLECTIONS = (
    ("ies", "y"), ("ied", "y"), ("ves", "f"), ("es", ""), ("es", "e"), ("s", ""), ("ed", ""),
    ("ed", "e"), ("ing", ""), ("ing", "e"), ("er", ""), ("er", "e"), ("est", ""), ("est", "e"),
    ("ly", ""),
)  # fmt: skip


def stem(word: str) -> str:
    """A rough stem that most members of a word family share: *honest*, *honesty*, *honestly*."""
    for ending in _ENDINGS:
        if word.endswith(ending) and len(word) - len(ending) >= 3:
            word = word[: -len(ending)]
            return word[:-1] if len(word) > 4 and word[-1] == word[-2] else word
    return word


def content(words: str) -> list[str]:
    """Stems of the words that carry meaning, in order."""
    found = _WORD.findall(words.lower().replace("_", " "))
    return [stem(word) for word in found if word not in _SMALL and len(word) > 2]


class _Table(NamedTuple):
    """``senses_of[word]``: first and last row of ``starts``; a row's stems and weights lie from
    its start to the next one's."""

    senses_of: dict[str, tuple[int, int]]
    irregular: dict[str, str]
    stems: list[str]
    rarity: dict[str, float]
    order: npt.NDArray[np.int32]
    starts: npt.NDArray[np.int32]
    ids: npt.NDArray[np.uint16]
    weights: npt.NDArray[np.uint8]


@cache
def _table() -> _Table:
    import numpy as np

    with np.load(artifact("solver", "lexicon.npz"), allow_pickle=False) as kept:
        words = bytes(kept["words"]).decode().split("\n")
        stems = bytes(kept["stems"]).decode().split("\n")
        ends = np.cumsum(kept["senses"], dtype=np.int64).tolist()
        return _Table(
            senses_of=dict(zip(words, zip([0, *ends], ends, strict=False), strict=True)),
            irregular=dict(re.findall(r"(\S+) (\S+)", bytes(kept["irregular"]).decode())),
            stems=stems,
            rarity=dict(zip(stems, kept["rarity"].astype(float).tolist(), strict=True)),
            order=kept["order"].astype(np.int32),
            starts=np.concatenate([[0], np.cumsum(kept["sizes"], dtype=np.int64)]).astype(np.int32),
            ids=kept["ids"],
            weights=kept["weights"],
        )


def _bases(word: str) -> list[str]:
    """The dictionary forms that a word may belong to, itself first."""
    known = _table().senses_of
    found = [word] if word in known else []
    irregular = _table().irregular.get(word)
    if irregular in known:
        found.append(irregular)
    for ending, instead in _INFLECTIONS:
        if not word.endswith(ending) or len(word) - len(ending) < 3:
            continue
        base = word[: -len(ending)] + instead
        if base in known:
            found.append(base)
        elif ending in ("ed", "ing") and len(base) > 3 and base[-1] == base[-2]:
            found += [base[:-1]] if base[:-1] in known else []
    return list(dict.fromkeys(found))


@lru_cache(512)
def senses(words: str) -> tuple[tuple[int, Bag], ...]:
    """The senses of a word or fixed phrase: place in the order of use (0 is commonest) and bag.

    A phrase that is not listed has the senses of its content words; an unknown word has none.
    """
    table = _table()
    words = words.lower().strip()
    bases = _bases(words)
    if not bases and " " in words:
        bases = [b for w in words.split() if w not in _SMALL for b in _bases(w)]
    found = []
    for base in bases:
        first, last = table.senses_of[base]
        for place, row in enumerate(table.order[first:last].tolist()):
            part = slice(int(table.starts[row]), int(table.starts[row + 1]))
            pairs = zip(table.ids[part].tolist(), table.weights[part].tolist(), strict=True)
            found.append((place, {table.stems[i]: w / UNIT for i, w in pairs}))
    return tuple(found)


@lru_cache(512)
def expanded(words: str) -> Bag:
    """A bag for a few words: their own stems, and less weight on what their senses hold."""
    bag: dict[str, float] = {}
    for word in _WORD.findall(words.lower()):
        if word in _SMALL or len(word) < 3:
            continue
        bag[stem(word)] = bag.get(stem(word), 0) + 1
        related: dict[str, float] = {}
        for place, sense in senses(word):
            for one, weight in sense.items():
                related[one] = max(related.get(one, 0), weight / (1 + _LATER * place))
        for one, weight in related.items():
            bag[one] = bag.get(one, 0) + _RELATED * weight
    return bag


def likeness(one: Bag, two: Bag) -> float:
    """Cosine of two bags, 0..1; rare stems count more."""
    if len(one) > len(two):
        one, two = two, one
    rarity = _table().rarity
    shared = sum(w * two[s] * rarity.get(s, 0) ** 2 for s, w in one.items() if s in two)
    return shared / (_length(one) * _length(two)) if shared else 0.0


def _length(bag: Bag) -> float:
    rarity = _table().rarity
    return math.sqrt(sum((w * rarity.get(s, 0)) ** 2 for s, w in bag.items())) or 1.0

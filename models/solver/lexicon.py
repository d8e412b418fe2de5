"""Make ``lexicon.npz``: for each sense of a word the stems that go with it.

    python models/solver/lexicon.py WORDNET

WORDNET is the folder with WordNet 3.0's `index.*`, `data.*` and `*.exc` (Debian's package
`wordnet-base` puts them in /usr/share/wordnet). What is kept are facts: which words share a sense,
which words a sense is explained with, and its nearest neighbours, as stems with weights. The
definitions and examples themselves are not kept.
"""

from __future__ import annotations

import math
import re
import sys
from collections import Counter
from pathlib import Path
from typing import NamedTuple

import numpy as np
import wordfreq
from data import HERE

from rwtools.items.lexicon import UNIT, content

_POS = {"noun": "n", "verb": "v", "adj": "a", "adv": "r"}
_MOST = 28
_RAREST = 1.2  # Zipf value: rarer words are names of species and the like
_NEAR = {"&": 0.5, "@": 0.5, "=": 0.5, "\\": 0.5, "*": 0.5, "$": 0.5, ">": 0.5, "^": 0.5}
Key = tuple[str, str]


class Synset(NamedTuple):
    words: list[str]
    pointers: list[tuple[str, Key]]
    definition: str


def synsets(folder: Path) -> dict[Key, Synset]:
    """All senses by part of speech and place in the data file."""
    found = {}
    for name, pos in _POS.items():
        for line in (folder / f"data.{name}").read_text(encoding="latin-1").splitlines():
            if line.startswith("  "):
                continue
            head, _, gloss = line.partition(" | ")
            parts = head.split()
            count = int(parts[3], 16)
            words = [re.sub(r"\(.*?\)", "", parts[4 + 2 * n]).lower() for n in range(count)]
            at = 4 + 2 * count
            pointers = []
            for n in range(int(parts[at])):
                kind, place, part = parts[at + 1 + 4 * n : at + 4 + 4 * n]
                pointers.append((kind, ("a" if part == "s" else part, place)))
            definition = re.split(r'; (?=")', gloss.strip(), maxsplit=1)[0]
            found[pos, parts[0]] = Synset(words, pointers, definition)
    return found


def bag(key: Key, known: dict[Key, Synset]) -> Counter[str]:
    """The stems of a sense."""
    own = known[key]
    weights: Counter[str] = Counter()

    def add(words: str, weight: float) -> None:
        for one in content(words):
            weights[one] += weight

    for word in own.words:
        add(word, 1.0)
    add(own.definition, 0.7)
    for kind, other in own.pointers:
        there = known[other]
        if kind in _NEAR:
            for word in there.words:
                add(word, _NEAR[kind])
        elif kind == "~":
            for word in there.words[:3]:
                add(word, 0.15)
        elif kind == "+":
            add(there.definition, 0.2)
            for word in there.words:
                add(word, 0.3)
    return weights


def main() -> None:
    folder = Path(sys.argv[1])
    known = synsets(folder)
    bags = {key: bag(key, known) for key in known}
    seen: Counter[str] = Counter()
    for one in bags.values():
        seen.update(one.keys())
    of: dict[str, list[Key]] = {}
    for name, pos in _POS.items():
        for line in (folder / f"index.{name}").read_text(encoding="latin-1").splitlines():
            parts = line.split()
            if line.startswith("  ") or not re.fullmatch(r"[a-z]+(?:[-_ ][a-z]+){0,3}", parts[0]):
                continue
            word = parts[0].replace("_", " ")
            if min(wordfreq.zipf_frequency(w, "en") for w in re.split("[- ]", word)) < _RAREST:
                continue
            places = [(pos, place) for place in parts[-int(parts[2]) :]]
            kept = [p for p in places if not any(k == "@i" for k, _ in known[p].pointers)]
            if kept:
                of.setdefault(word, []).extend(kept)
    words = sorted(of)
    rows = sorted({key for keys in of.values() for key in keys})
    row = {key: n for n, key in enumerate(rows)}
    used: Counter[str] = Counter()
    for key in rows:
        used.update(bags[key].keys())
    stems = sorted(s for s, count in used.items() if count > 1)
    number = {s: n for n, s in enumerate(stems)}
    rarity = {s: math.log(len(known) / (1 + seen[s])) for s in stems}
    assert len(stems) < 2**16
    ids, weights, sizes = [], [], []
    for key in rows:
        kept = [s for s in bags[key] if s in number]
        kept.sort(key=lambda s: (-bags[key][s] * rarity[s], s))
        sizes.append(len(kept[:_MOST]))
        ids += [number[s] for s in kept[:_MOST]]
        weights += [min(round(bags[key][s] * UNIT), 255) for s in kept[:_MOST]]
    irregular = set()
    for name in _POS:
        for line in (folder / f"{name}.exc").read_text().splitlines():
            form, *bases = line.split()
            irregular |= {(form, b) for b in bases if b in of and "_" not in form and form != b}
    single = dict(sorted(irregular))

    def text(lines: list[str]) -> np.ndarray:
        return np.frombuffer("\n".join(lines).encode(), np.uint8)

    np.savez_compressed(
        HERE / "lexicon.npz",
        words=text(words),
        senses=np.array([len(of[w]) for w in words], np.uint8),
        order=np.array([row[k] for w in words for k in of[w]], np.uint32),
        stems=text(stems),
        rarity=np.array([rarity[s] for s in stems], np.float16),
        sizes=np.array(sizes, np.uint8),
        ids=np.array(ids, np.uint16),
        weights=np.array(weights, np.uint8),
        irregular=text([f"{form} {base}" for form, base in single.items()]),
    )
    print(f"{len(words):,} words, {len(rows):,} senses, {len(stems):,} stems, {len(ids):,} weights")


if __name__ == "__main__":
    main()

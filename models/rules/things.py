"""List the nouns that name no living thing and nothing that acts as one: ``things.json``.

    python models/rules/things.py WORDNET

WORDNET is the folder with WordNet 3.0's `data.noun` and `index.noun` (Debian's package
`wordnet-base` puts them in /usr/share/wordnet). A noun is kept if no sense of it is a person, an
animal, a plant, a group or a place, and none lies below a word of ``ACTORS``: a machine reads and
waits, a school hopes, a ship is exhausted. Only the words are kept; see
models/solver/LICENSE-wordnet.txt.
"""

from __future__ import annotations

import json
import sys
from collections import defaultdict
from pathlib import Path

import wordfreq

# Numbers of WordNet's files of nouns (lexnames): artifact, attribute, body, cognition,
# communication, event, feeling, food, object, phenomenon, possession, process, quantity, shape,
# state, substance, time; and act, of which a thing may be one too.
KEPT = frozenset("04 06 07 08 09 10 11 12 13 17 19 21 22 23 25 26 27 28".split())
FEELING = "12"
# Of these, what is there without anybody who thinks or feels it: by its commonest sense.
OUTSIDE = frozenset("04 06 11 13 17 19 22 27".split())
ACTORS = frozenset(
    "machine computer instrument vehicle facility institution establishment organization "
    "building_complex robot weapon plaything software".split()
)
COMMON = 3.2  # Zipf value: rarer words are not worth their place
SOURCE = "Nouns of WordNet 3.0 with no sense that lives or acts; written by things.py."


def main(folder: Path) -> None:
    above: dict[str, list[str]] = {}
    words: dict[str, list[str]] = {}
    kind: dict[str, str] = {}
    senses: dict[str, list[str]] = defaultdict(list)
    for line in (folder / "data.noun").read_text(encoding="latin-1").splitlines():
        if line.startswith("  "):
            continue
        parts = line.partition(" | ")[0].split()
        key, kind[parts[0]] = parts[0], parts[1]
        count = int(parts[3], 16)
        words[key] = [parts[4 + 2 * n] for n in range(count)]
        at = 4 + 2 * count
        links = [parts[at + 1 + 4 * n : at + 4 + 4 * n] for n in range(int(parts[at]))]
        above[key] = [place for mark, place, part in links if mark in ("@", "@i") and part == "n"]
        for word in words[key]:
            senses[word].append(key)

    def acts(key: str) -> bool:
        return bool(ACTORS & set(words[key])) or any(acts(k) for k in above[key])

    kept = sorted(
        word
        for word, keys in senses.items()
        if word.isalpha()
        and word.islower()
        and len(word) > 2
        and wordfreq.zipf_frequency(word, "en") >= COMMON
        and all(kind[key] in KEPT and not acts(key) for key in keys)
    )
    first: dict[str, str] = {}
    for line in (folder / "index.noun").read_text(encoding="latin-1").splitlines():
        if not line.startswith("  "):
            parts = line.split()
            first[parts[0]] = parts[-int(parts[2])]
    outside = [
        w
        for w in kept
        if w in first
        and kind[first[w]] in OUTSIDE
        and not any(kind[key] == FEELING for key in senses[w])
    ]
    place = Path(__file__).resolve().parent / "things.json"
    place.write_text(
        json.dumps({"source": SOURCE, "words": kept, "outside": outside}, indent=0) + "\n"
    )
    print(len(kept), "nouns,", len(outside), "of them outside")


if __name__ == "__main__":
    main(Path(sys.argv[1]))

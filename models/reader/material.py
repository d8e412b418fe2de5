"""Make what the large language model reads and is asked: seeds for new items, and blanks of prose.

    python models/reader/material.py DATA_FOLDER --wordnet WORDNET     # the project's environment

``seeds.json`` (`author.py`): the written items, words and connectives to ask for, and the runs of
six words that the items that measure hold. ``cloze.jsonl.gz``: words of the written passages and of
the training prose left out, one row a blank: ``prefix``, ``choices`` (the word that stood there),
``suffix`` and ``form`` (its tag). ``pools.json`` (`others.py`): for each tag the words that may be
offered beside such a word. Nothing kept back is read (`prepare.is_kept_back`).
"""

from __future__ import annotations

import argparse
import json
import random
import re
from collections import Counter, defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from questions import HERE, judge, prepare
from wordfreq import top_n_list, zipf_frequency

from rwtools.text.load import pipeline

TAGS = {"JJ", "NN", "NNS", "VB", "VBD", "VBG", "VBN", "VBP", "VBZ", "RB"}
WORD = re.compile(r"[a-z]{4,}(?:-[a-z]+)?$")
ENDS = re.compile(r"[.?!][”\"')]*\s+(?=[A-Z“\"])")
Pools = dict[str, list[str]]


def passages(apart: set[tuple[str, ...]]) -> Iterator[tuple[str, dict[str, Any]]]:
    """Kind and row of each written item that may be learnt from."""
    for folder in (HERE.parent / "judge" / "written", HERE / "written"):
        for path in sorted(folder.glob("*.jsonl")):
            kind = path.stem.partition("_")[0]
            for line in path.read_text(encoding="utf-8").splitlines():
                row = json.loads(line)
                kept_back = prepare.is_kept_back(row["p"])
                if (
                    kind != "punctuation"
                    and not kept_back
                    and not judge.stretches(row["p"]) & apart
                ):
                    yield kind, row


def seeds(apart: set[tuple[str, ...]], wordnet: Path) -> dict[str, Any]:
    """The contents of ``seeds.json``."""
    items = []
    words, links = Counter[str](), Counter[str]()
    for kind, row in passages(apart):
        if kind in ("blank", "transition") and row["p"].count("____") == 1:
            before, after = " ".join(row["p"].split()).split("____")
            items.append([kind, before, after, row["c"]])
            (links if kind == "transition" else words).update(row["c"])
    lemmas = {
        line.split()[0]
        for name in ("adj", "verb", "adv")
        for line in (wordnet / f"index.{name}").read_text(encoding="latin-1").splitlines()
        if not line.startswith(" ")
    }
    more = [
        word
        for word in top_n_list("en", 60_000)
        if re.fullmatch(r"[a-z]{4,14}", word)
        and 2.5 <= zipf_frequency(word, "en") <= 4.5
        and word in lemmas
    ]
    return {
        "items": items,
        "words": list(words),
        "more": more,
        "links": dict(links),
        "apart": sorted(" ".join(run) for run in apart),
    }


def able(doc: Any) -> list[Any]:
    """The tokens of a parsed text that can be left out: content words, not the commonest."""
    return [
        t
        for t in doc
        if t.tag_ in TAGS and WORD.match(t.text) and zipf_frequency(t.text, "en") < 5.3
    ]


def blank(kind: str, text: str, token: Any, start: int, end: int) -> dict[str, Any]:
    """The row for a token of a text, of which ``start`` to ``end`` is shown."""
    return {
        "kind": f"cloze {kind}",
        "prefix": text[start : token.idx],
        "choices": [token.text],
        "suffix": text[token.idx + len(token.text) : end],
        "form": token.tag_,
    }


def of_written(
    apart: set[tuple[str, ...]], rng: random.Random
) -> tuple[list[dict[str, Any]], Pools]:
    """Blanks of the written passages, up to three each beside their own; and the choices of the
    written blanks by the tag of the right one."""
    rows: list[tuple[str, int, str, list[str]]] = []  # kind, text, place of the item's own blank
    for kind, row in passages(apart):
        place = -1 if "t" in row else row["p"].index("____")
        text = row["p"] if "t" in row else row["p"].replace("____", row["c"][0], 1)
        rows.append((kind, place, text, row["c"]))
    made: list[dict[str, Any]] = []
    pools: Pools = defaultdict(list)
    docs = pipeline().pipe(
        (row[2] for row in rows), disable=["parser", "lemmatizer"], batch_size=256
    )
    for (kind, place, text, choices), doc in zip(rows, docs, strict=True):
        end = place + len(choices[0]) if place >= 0 else -1
        if kind == "blank":
            own = next((t for t in doc if t.idx == place), None)
            if own is not None and own.tag_ in TAGS and own.text == choices[0]:
                pools[own.tag_] += [choice for choice in choices if WORD.match(choice)]
        free = [t for t in able(doc) if not place <= t.idx < end]
        made += [
            blank("written", text, t, 0, len(text)) for t in rng.sample(free, min(3, len(free)))
        ]
    return made, pools


def around(text: str, place: int, rng: random.Random) -> tuple[int, int]:
    """Start and end of the sentences around a place, together at least 25 words where the text has
    so many."""
    ends = [match.end() for match in ENDS.finditer(text)]
    starts = [0, *ends]
    ends.append(len(text))
    first = last = next(n for n, end in enumerate(ends) if place < end)
    while len(text[starts[first] : ends[last]].split()) < 25:
        can_grow = last + 1 < len(ends)
        if first > 0 and (rng.random() < 0.6 or not can_grow):
            first -= 1
        elif can_grow:
            last += 1
        else:
            break
    return starts[first], ends[last]


def of_prose(rng: random.Random) -> tuple[list[dict[str, Any]], dict[str, Counter[str]]]:
    """Blanks of the training prose, up to six a paragraph; and its words by tag."""
    texts = prepare.training_texts()
    rng.shuffle(texts)
    made: list[dict[str, Any]] = []
    words: dict[str, Counter[str]] = defaultdict(Counter)
    docs = pipeline().pipe(texts, disable=["parser", "lemmatizer"], batch_size=256)
    for text, doc in zip(texts, docs, strict=True):
        free = able(doc)
        for t in free:
            words[t.tag_][t.text] += 1
        for t in rng.sample(free, min(6, len(free) // 6 + 1, len(free))):
            start, end = around(text, t.idx, rng)
            if 14 <= len(text[start:end].split()) <= 90:
                row = blank("prose", text, t, start, end)
                made.append({**row, "suffix": row["suffix"].rstrip()})
    return made, words


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("--wordnet", type=Path, default=Path("/usr/share/wordnet"))
    args = parser.parse_args()
    apart = judge.measuring()
    found = json.dumps(seeds(apart, args.wordnet), ensure_ascii=False)
    (args.folder / "seeds.json").write_text(found, encoding="utf-8")
    rng = random.Random(21)
    written, pools = of_written(apart, rng)
    prose, words = of_prose(rng)
    for tag, counts in words.items():  # the choices of items are the likelier ones
        some = [word for word, count in counts.items() if count >= 2]
        own = pools.get(tag, [])
        weights = [counts[word] ** 0.5 for word in some]
        pools[tag] = 2 * own + rng.choices(some, weights, k=len(own) + 2_000)
    (args.folder / "pools.json").write_text(json.dumps(pools), encoding="utf-8")
    made = [*written, *prose]
    rng.shuffle(made)
    judge.write(made, args.folder / "cloze.jsonl.gz")


if __name__ == "__main__":
    main()

"""Find other choices that could stand in each lesson's blank, for the teacher to judge.

    python models/reader/others.py FOLDER READER.npz OUT.jsonl.gz
    python models/reader/others.py FOLDER READER.npz OUT.jsonl.gz --rows MADE.jsonl.gz --more 3

They have the form of the lesson's own choices; half of them are those that the reader likes best,
the others come by lot. FOLDER is that of `train.py`; ``--rows`` takes the lessons of another file
in place of the written ones. OUT has whole lessons, the others under ``more``, and for a written
lesson its line under ``n``. A lesson with a ``form`` gets words of this form from ``pools.json``
(`material.py`).

Needs torch and tokenizers.
"""

from __future__ import annotations

import argparse
import gzip
import json
import random
from collections import defaultdict
from collections.abc import Sequence
from itertools import islice
from pathlib import Path

import torch
from reader import Reader, restored
from train import DEVICE, Lesson, Tokens, scores, there

ENDINGS = ("ing", "ed", "ly", "ity", "ness", "tion", "ous", "ive", "al", "able", "s")
Pools = dict[tuple[str, str], list[str]]


def shape(choice: str) -> str:
    """A rough class of form, so that what is drawn fits the grammar."""
    word = choice.lower().strip(",:")
    if " " in word:
        return "phrase"
    return next((end for end in ENDINGS if word.endswith(end)), "plain")


def bare(choice: str) -> str:
    """A choice without the space before and the full stop after it, which a question's frame asks
    for."""
    return choice.strip().removesuffix(".")


def drawn(one: Lesson, pools: Pools, most: int, rng: random.Random) -> list[str]:
    """Up to ``most`` choices that the lesson does not have."""
    right = one["choices"][0]
    front, back = right.split(bare(right), 1)
    capital = bare(right)[:1].isupper()
    taken = {choice.lower() for choice in one["choices"]}
    found: list[str] = []
    for _ in range(4 * most):
        if "form" in one:
            where = "form", one["form"]
        else:
            kind = one["kind"].replace("made", "written")
            where = kind, shape(bare(rng.choice(one["choices"])))
        if not pools[where]:
            continue
        core = rng.choice(pools[where])
        if capital:
            core = core[:1].upper() + core[1:]
        elif core[:1].isupper() and core[1:2].islower():
            continue  # a name or a sentence's first word
        choice = front + core + back
        if choice.lower() not in taken:
            taken.add(choice.lower())
            found.append(choice)
        if len(found) == most:
            break
    return found


@torch.no_grad()
def choose(
    net: Reader, tokens: Tokens, rows: Sequence[Lesson], more: int, rng: random.Random
) -> None:
    """Leave ``more`` of what was drawn: a half by the reader's liking, a half by lot."""
    codes = tokens.codes([{**one, "choices": one["choices"][:1]} for one in rows])
    order = sorted(range(len(rows)), key=lambda n: codes[n].size)
    for at in range(0, len(order), 96):
        some = order[at : at + 96]
        part = [codes[n] for n in some]
        found, _ = scores(net, tokens.rows(part), there(part))
        for n, row in zip(some, found[:, 1:].tolist(), strict=True):
            many = rows[n]["more"]
            kept = sorted(range(len(many)), key=lambda k: -row[k])[: more // 2]
            rest = [k for k in range(len(many)) if k not in kept]
            kept += rng.sample(rest, min(len(rest), more - len(kept)))
            rows[n]["more"] = [many[k] for k in kept]


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("reader", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--rows", type=Path)
    parser.add_argument("--pools", type=Path)
    parser.add_argument("--most", type=int, help="take the first so many rows")
    parser.add_argument("--drawn", type=int, default=40, help="others that the reader weighs")
    parser.add_argument("--more", type=int, default=16, help="others that are left")
    args = parser.parse_args()
    rng = random.Random(2)
    rows: list[Lesson] = []
    with gzip.open(args.folder / "lessons.jsonl.gz", "rt", encoding="utf-8") as lines:
        for n, line in enumerate(lines):
            one = json.loads(line)
            if one["kind"].startswith("written "):
                rows.append({**one, "n": n})
    pools: Pools = defaultdict(list)
    for one in rows:
        for choice in one["choices"]:
            pools[one["kind"], shape(bare(choice))].append(bare(choice))
    if args.pools:
        for form, words in json.loads(args.pools.read_text(encoding="utf-8")).items():
            pools["form", form] = words
    if args.rows:
        with gzip.open(args.rows, "rt", encoding="utf-8") as lines:
            rows = [json.loads(line) for line in islice(lines, args.most)]
    for one in rows:  # another item's wording would not be grammar's
        grammar = one["kind"] == "written grammar"
        one["more"] = [] if grammar else drawn(one, pools, args.drawn, rng)
    net = restored(args.reader).to(DEVICE).eval()
    choose(net, Tokens(args.folder / "mpnet-tokenizer.json"), rows, args.more, rng)
    with gzip.open(args.out, "wt", encoding="utf-8") as out:
        for one in rows:
            out.write(json.dumps(one, ensure_ascii=False) + "\n")


if __name__ == "__main__":
    main()

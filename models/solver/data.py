"""Read the training data: where it lies, and the project's own items in their two halves."""

from __future__ import annotations

import gzip
import json
import random
import sys
from collections import defaultdict
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path
from typing import Any

from rwtools import resources
from rwtools.items.model import LETTERS, Item, read_item

sys.path.append(str(Path(__file__).resolve().parents[1] / "judge"))

import prepare
from prepare import DATA

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
CORE = ("transition", "punctuation", "grammar", "vocabulary")


def rows(name: str) -> Iterator[dict[str, Any]]:
    """The records of a data file."""
    opener = gzip.open if name.endswith(".gz") else open
    with opener(DATA / name, "rt", encoding="utf-8") as lines:
        yield from map(json.loads, lines)


def is_dev(item_id: str) -> bool:
    """The split that corpus/items/README.md defines."""
    return int(sha256(item_id.encode()).hexdigest()[:8], 16) % 2 == 1


def more_items() -> list[Item]:
    """Items written for training only (`items.jsonl` in this folder)."""
    lines = (HERE / "items.jsonl").read_text(encoding="utf-8").splitlines()
    return [read_item(json.loads(line)) for line in lines]


def kept_back_items() -> list[Item]:
    """Written items that neither network was trained on: a tenth of `models/judge/written` and
    `models/reader/written`."""
    found = []
    folders = [ROOT / "models" / name / "written" for name in ("judge", "reader")]
    for path in [path for folder in folders for path in sorted(folder.glob("*.jsonl"))]:
        kind = path.stem.split("_")[0]
        skill = "vocabulary" if kind in ("blank", "target") else kind
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
            row = json.loads(line)
            if not prepare.is_kept_back(row["p"]):
                continue
            name = f"{path.stem}-{number}"
            choices = random.Random(name).sample(row["c"], len(row["c"]))
            record = {
                "id": name,
                "skill": skill,
                "passage": row["p"],
                "question": "Which choice fits?",
                "choices": choices,
                "answer": LETTERS[choices.index(row["c"][0])],
                "source": "written for this project",
            }
            found.append(read_item(record | ({"target": row["t"]} if "t" in row else {})))
    return found


def corpus_items(dev: bool) -> list[Item]:
    """The train half or the dev half of the project's own items."""
    found = []
    for skill in CORE:
        path = resources.corpus("items", f"{skill}.jsonl")
        for line in path.read_text(encoding="utf-8").splitlines():
            item = read_item(json.loads(line))
            if is_dev(item.id) == dev:
                found.append(item)
    return found


def measure_items() -> list[Item]:
    """Items by another writer that nothing was trained or tuned on (`corpus/measure`)."""
    return [item for skill in CORE for item in _measuring(skill)]


def items_by_writer() -> dict[str, list[Item]]:
    """Items by eight further writers, by writer; nothing was trained, fitted or tuned on them
    (`corpus/measure/writers.jsonl`)."""
    found: dict[str, list[Item]] = defaultdict(list)
    for item in _measuring("writers"):
        found[item.id.removeprefix("measure-").rpartition("-")[0]].append(item)
    return found


def set_items() -> list[Item]:
    """Items of whole practice sets by ten more writers, as likely to be easy as hard; nothing was
    trained, fitted or tuned on them (`corpus/measure/sets.jsonl`)."""
    return _measuring("sets")


def practice_items() -> list[Item]:
    """Items of all four skills by three tutors, as for an ordinary practice book; nothing was
    trained, fitted or tuned on them (`corpus/measure/practice.jsonl`)."""
    return _measuring("practice")


def _measuring(name: str) -> list[Item]:
    path = ROOT / "corpus" / "measure" / f"{name}.jsonl"
    return [read_item(json.loads(row)) for row in path.read_text(encoding="utf-8").splitlines()]

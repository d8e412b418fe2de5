"""Train the boundary models on edited prose with spoilt boundaries.

Usage: ``python models/boundary/train.py`` from the project's root.
Data: ``textbook_train.jsonl.gz`` in ``RWTOOLS_DATA`` (default ``../shared/data``); CC BY 4.0.
Writes ``models/boundary/boundary.npz`` (plain arrays); then run calibrate.py and evaluate.py.
"""

from __future__ import annotations

import argparse
import gzip
import json
import os
import random
import sys
import time
from collections import Counter
from dataclasses import dataclass, field
from itertools import chain, zip_longest
from pathlib import Path
from typing import Any

import numpy as np

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parents[1])]

from corrupt import Spoilt, shortened, spoil, window  # noqa: E402
from sklearn.ensemble import HistGradientBoostingClassifier  # noqa: E402
from sklearn.model_selection import GroupKFold  # noqa: E402

from rwtools.rules.boundaries import side_features, side_names, sides  # noqa: E402
from rwtools.rules.friends import is_whole  # noqa: E402
from rwtools.rules.places import feature_names, features, outline, places  # noqa: E402
from rwtools.rules.wholeness import sentence_features, sentence_names  # noqa: E402
from rwtools.text import parse_many  # noqa: E402

CLASSES = {
    "comma": ("ok", "strong", "second"),
    "none": ("ok", "strong", "intro", "compound"),
    "semicolon": ("ok", "unequal"),
    "stop": ("ok", "right", "left"),
}
TRAINING = ("train", 0, 5200)  # which paragraphs, after shuffling
HELD_BACK = ("train", 5200, 8400)  # kept for calibrate.py
UNSEEN = ("dev", 0, 3000)  # two other books, for evaluate.py
DOUBT = 0.02  # places less suspect than this are never looked at a second time


def data(name: str) -> Path:
    return Path(os.environ.get("RWTOOLS_DATA", HERE.parents[2] / "shared" / "data")) / name


def paragraphs(part: str, first: int, end: int) -> list[str]:
    """Paragraphs ``first..end`` of a part of the textbooks, shuffled in one fixed order."""
    with gzip.open(data(f"textbook_{part}.jsonl.gz"), "rt", encoding="utf-8") as lines:
        rows = [json.loads(line)["text"] for line in lines]
    random.Random(1).shuffle(rows)
    return rows[first:end]


def spoilt_passages(rows: list[str], seed: int) -> list[Spoilt]:
    """Spoilt versions of passages; every second passage is cut down to short sentences first."""
    rng = random.Random(seed)
    cut = parse_many(shortened(text, rng) for text in parse_many(rows[::2]))
    whole = parse_many(rows[1::2])
    made: list[Spoilt] = []
    for text in chain.from_iterable(zip_longest(cut, whole)):
        if text is None:
            continue
        made.extend(window(text.passage, s, text) for s in spoil(text, rng))
        joined = [m for m in made[-2:] if m.operation == "splice"]
        made.extend(_with_semicolon(m) for m in joined if rng.random() < 0.4)
    return made


def _with_semicolon(spoilt: Spoilt) -> Spoilt:
    """The same two sentences soundly joined."""
    at = spoilt.offset
    text = f"{spoilt.text[:at]};{spoilt.text[at + 1 :]}"
    return Spoilt(text, "semicolon", at, "ok", "sound")


@dataclass
class Table:
    """Rows of one model: features, labels (class indices), groups (passages), how each was made."""

    rows: list[np.ndarray] = field(default_factory=list)
    labels: list[int] = field(default_factory=list)
    groups: list[int] = field(default_factory=list)
    operations: list[str] = field(default_factory=list)
    halves: list[tuple[str, str]] = field(default_factory=list)

    def add(self, row: np.ndarray, label: int, group: int, operation: str) -> None:
        self.rows.append(row.astype(np.float16))
        self.labels.append(label)
        self.groups.append(group)
        self.operations.append(operation)

    @property
    def x(self) -> np.ndarray:
        return np.array(self.rows, dtype=np.float32)

    @property
    def y(self) -> np.ndarray:
        return np.array(self.labels)


def tables(made: list[Spoilt]) -> tuple[dict[str, Table], Counter[str]]:
    """Feature tables of the spoilt passages, and how often no place was proposed at the fault."""
    found = {name: Table() for name in CLASSES}
    missed: Counter[str] = Counter()
    for group, (text, spoilt) in enumerate(
        zip(parse_many(s.text for s in made), made, strict=True)
    ):
        shape = outline(text)
        seen = spoilt.kind == "stop"
        for place in places(text, shape):
            at = text.tokens[place.mark if place.mark >= 0 else place.right].start
            here = place.kind == spoilt.kind and (
                at == spoilt.offset or (place.kind == "none" and abs(at - spoilt.offset) <= 1)
            )
            seen = seen or here
            label = CLASSES[place.kind].index(spoilt.label) if here else 0
            table = found[place.kind]
            table.add(features(text, shape, place), label, group, spoilt.operation if here else "")
            table.halves.append(sides(text, place))
        for sentence in text.sentences:
            label = 0
            if spoilt.kind == "stop":
                if spoilt.label == "left" and sentence.start <= spoilt.offset < sentence.end:
                    label = 2
                elif spoilt.label == "right" and 0 < sentence.start - spoilt.offset <= 2:
                    label = 1
            row = sentence_features(text, shape, sentence.index)
            found["stop"].add(row, label, group, spoilt.operation if label else "")
        missed[spoilt.operation] += not seen
    return found, missed


def fit(x: np.ndarray, y: np.ndarray, rounds: int, leaves: int = 15) -> Any:
    model = HistGradientBoostingClassifier(
        max_iter=rounds, max_leaf_nodes=leaves, learning_rate=0.1, min_samples_leaf=12,
        l2_regularization=1.0, random_state=0, early_stopping=False, max_bins=64,
        max_features=0.4,
    )  # fmt: skip
    return model.fit(x, y)


def out_of_fold(x: np.ndarray, y: np.ndarray, groups: list[int], rounds: int) -> np.ndarray:
    """Probabilities for every row from a model that did not see its passage."""
    held = np.zeros((len(y), len(set(y.tolist()))))
    for train, test in GroupKFold(2).split(x, y, groups):
        held[test] = fit(x[train], y[train], rounds // 2).predict_proba(x[test])
    return held


def flatten(model: Any, classes: tuple[str, ...], names: tuple[str, ...]) -> dict[str, np.ndarray]:
    """The trees of a scikit-learn model as the arrays of `rwtools.rules.trees.Forest`."""
    feature: list[int] = []
    threshold: list[float] = []
    left: list[int] = []
    right: list[int] = []
    value: list[float] = []
    roots: list[list[int]] = []
    depth = 0
    for round_ in model._predictors:
        line: list[int] = []
        for tree in round_:
            start = len(feature)
            line.append(start)
            for k, node in enumerate(tree.nodes):
                depth = max(depth, int(node["depth"]))
                leaf = bool(node["is_leaf"])
                feature.append(0 if leaf else int(node["feature_idx"]))
                threshold.append(0.0 if leaf else float(node["num_threshold"]))
                left.append(start + (k if leaf else int(node["left"])))
                right.append(start + (k if leaf else int(node["right"])))
                value.append(float(node["value"]) if leaf else 0.0)
        roots.append(line)
    return {
        "classes": np.array(classes), "names": np.array(names),
        "roots": np.array(roots, dtype=np.int32), "feature": np.array(feature, dtype=np.int16),
        "threshold": np.array(threshold, dtype=np.float32),
        "left": np.array(left, dtype=np.int32), "right": np.array(right, dtype=np.int32),
        "value": np.array(value, dtype=np.float32),
        "base": np.asarray(model._baseline_prediction, dtype=np.float32).reshape(-1),
        "depth": np.array(depth),
    }  # fmt: skip


def second_look(
    name: str, table: Table, doubtful: list[int]
) -> tuple[np.ndarray, np.ndarray, Counter[str]]:
    """For the doubtful places that also pass the test of their sides: what both sides look like
    when each is parsed alone. Places that compete with the fault of their sentence are left out."""

    def stretch(i: int) -> tuple[int, str, str]:
        return table.groups[i], table.halves[i][0][:12], table.halves[i][1][-12:]

    at_fault = {stretch(i) for i, label in enumerate(table.labels) if label == 1}
    kept = [i for i in doubtful if table.labels[i] == 1 or stretch(i) not in at_fault]
    parsed = parse_many(half for i in kept for half in table.halves[i])
    rows: list[np.ndarray] = []
    labels: list[int] = []
    seen: Counter[str] = Counter()
    for i in kept:
        left, right = next(parsed), next(parsed)
        label = int(table.labels[i] == 1)
        passes = (is_whole(left) and is_whole(right)) != (name == "semicolon")
        seen[f"{label} {'passes' if passes else 'is dropped'}"] += 1
        if passes:
            rows.append(np.concatenate([table.rows[i], side_features(left, right)]))
            labels.append(label)
    return np.array(rows, dtype=np.float32), np.array(labels), seen


ROUNDS = {"comma": 120, "none": 120, "semicolon": 60, "stop": 100, "sides": 100}


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--spoilt", type=Path, help="reuse or keep the spoilt passages here")
    options.add_argument("--output", type=Path, default=HERE / "boundary.npz")
    given = options.parse_args()
    begun = time.time()
    found, missed = tables(load_or_spoil(given.spoilt, TRAINING, 10))
    print("places missed:", dict(missed), f"{time.time() - begun:.0f} s")
    arrays: dict[str, np.ndarray] = {}
    for name, table in found.items():
        x, y = table.x, table.y
        names = sentence_names() if name == "stop" else feature_names()
        add(arrays, name, fit(x, y, ROUNDS[name]), CLASSES[name], names)
        print(name, Counter(y.tolist()), f"{time.time() - begun:.0f} s", flush=True)
        if name == "stop":
            continue
        doubtful = list(range(len(y)))
        if name != "semicolon":
            held = out_of_fold(x, y, table.groups, ROUNDS[name])
            doubtful = [i for i in doubtful if held[i, 1] > DOUBT]
        rows, labels, seen = second_look(name, table, doubtful)
        sides_model = fit(rows, labels, ROUNDS["sides"])
        add(arrays, f"{name}-sides", sides_model, ("ok", CLASSES[name][1]), names + side_names())
        print(name, "sides", dict(seen), f"{time.time() - begun:.0f} s", flush=True)
    models = sorted({key.split(".")[0] for key in arrays})
    np.savez_compressed(given.output, models=np.array(models), **arrays)
    print(f"{given.output}: {given.output.stat().st_size / 1e6:.2f} MB")


def add(
    arrays: dict[str, np.ndarray], name: str, model: Any, classes: tuple[str, ...],
    names: tuple[str, ...],
) -> None:  # fmt: skip
    arrays |= {f"{name}.{k}": v for k, v in flatten(model, classes, names).items()}


def load_or_spoil(path: Path | None, which: tuple[str, int, int], seed: int) -> list[Spoilt]:
    if path is not None and path.exists():
        return [Spoilt(*row) for row in json.loads(path.read_text())]
    made = spoilt_passages(paragraphs(*which), seed)
    if path is not None:
        path.write_text(
            json.dumps([[s.text, s.kind, s.offset, s.label, s.operation] for s in made])
        )
    return made


if __name__ == "__main__":
    main()

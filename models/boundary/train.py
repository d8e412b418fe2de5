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
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import chain, zip_longest
from pathlib import Path
from typing import Any

import numpy as np

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parents[1])]

from corrupt import Spoilt, join_sentences, shortened, spoil, window  # noqa: E402
from sklearn.ensemble import HistGradientBoostingClassifier  # noqa: E402

from rwtools.rules.doubts import Doubt, look_again, side_names  # noqa: E402
from rwtools.rules.friends import possible  # noqa: E402
from rwtools.rules.places import Place, feature_names, features, outline, places  # noqa: E402
from rwtools.rules.trees import Forest  # noqa: E402
from rwtools.rules.wholeness import sentence_features, sentence_names  # noqa: E402
from rwtools.text import Text, parse_many  # noqa: E402

CLASSES = {
    "comma": ("ok", "strong", "second"),
    "none": ("ok", "strong", "intro", "compound"),
    "semicolon": ("ok", "unequal"),
    "stop": ("ok", "right", "left"),
}
TRAINING = ("train", 0, 5200)  # which paragraphs, after shuffling
HELD_BACK = ("train", 5200, 8400)  # kept for calibrate.py
UNSEEN = ("dev", 0, 3000)  # two other books, for evaluate.py
DOUBT = 0.03  # places less suspect than this get no second look


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
        chosen = spoil(text, rng)
        more = list(join_sentences(text, rng))  # the hardest kinds: one more of them
        chosen.extend(rng.sample(more, min(1, len(more))))
        cut_out = [window(text.passage, s, text) for s in chosen]
        made.extend(cut_out)
        joined = [m for m in cut_out if m.operation == "splice"]
        made.extend(_with_semicolon(m) for m in joined if rng.random() < 0.3)
    return made


def _with_semicolon(spoilt: Spoilt) -> Spoilt:
    """The same two sentences soundly joined."""
    at = spoilt.offset
    text = f"{spoilt.text[:at]};{spoilt.text[at + 1 :]}"
    return Spoilt(text, "semicolon", at, "ok", "sound")


@dataclass
class Table:
    """Rows of one model: features, labels (class indices) and weights."""

    rows: list[np.ndarray] = field(default_factory=list)
    labels: list[int] = field(default_factory=list)
    weights: list[float] = field(default_factory=list)

    def add(self, row: np.ndarray, label: int, weight: float = 1.0) -> None:
        self.rows.append(row.astype(np.float16))
        self.labels.append(label)
        self.weights.append(weight)

    @property
    def x(self) -> np.ndarray:
        return np.array(self.rows, dtype=np.float32)

    @property
    def y(self) -> np.ndarray:
        return np.array(self.labels)


def is_at(text: Text, place: Place, spoilt: Spoilt) -> bool:
    """Whether a place is the spoilt one."""
    at = text.tokens[place.mark if place.mark >= 0 else place.right].start
    return place.kind == spoilt.kind and abs(at - spoilt.offset) <= (place.mark < 0)


def first_tables(texts: list[Text], made: list[Spoilt]) -> dict[str, Table]:
    """What the first look sees: every place and every sentence of the spoilt passages."""
    found = {name: Table() for name in CLASSES}
    missed: Counter[str] = Counter()
    for text, spoilt in zip(texts, made, strict=True):
        shape = outline(text)
        seen = spoilt.kind == "stop"
        for place in places(text, shape):
            here = is_at(text, place, spoilt)
            seen = seen or here
            label = CLASSES[place.kind].index(spoilt.label) if here else 0
            found[place.kind].add(features(text, shape, place), label)
        for sentence in text.sentences:
            label = 0
            if spoilt.kind == "stop":
                if spoilt.label == "left" and sentence.start <= spoilt.offset < sentence.end:
                    label = 2
                elif spoilt.label == "right" and 0 < sentence.start - spoilt.offset <= 2:
                    label = 1
            found["stop"].add(sentence_features(text, shape, sentence.index), label)
        missed[spoilt.operation] += not seen
    print("places missed:", {k: v for k, v in missed.items() if v})
    return found


def second_rows(
    text: Text, models: dict[str, Forest], spoilt: Spoilt | None = None
) -> Iterator[tuple[Place, np.ndarray]]:
    """What the second look sees of a passage: the places that the first look doubts, that no known
    pattern rules out, and whose two sides stand alone. Of a spoilt passage only the spoilt place:
    its other places compete with the fault."""
    shape = outline(text)
    doubtful = []
    for place in places(text, shape):
        if spoilt is not None and not is_at(text, place, spoilt):
            continue
        # few semicolons pass every test; the second look learns from all that fail the last one
        if place.kind != "semicolon" and "strong" not in possible(text, place):
            continue
        row = features(text, shape, place)
        chance = models[place.kind].probabilities(row[None, :])[0, 1]
        if place.kind == "semicolon" or chance > DOUBT:
            doubtful.append(Doubt(text, place, row))
    if doubtful:
        yield from ((found.place, found.row) for found in look_again(doubtful))


def second_tables(
    texts: list[Text], made: list[Spoilt], models: dict[str, Forest]
) -> dict[str, Table]:
    """Rows for the second look: faults from spoilt passages; sound places from the paragraphs as
    they are and, with less weight, from paragraphs cut short."""
    found = {name: Table() for name in ("comma", "none", "semicolon")}
    for text, spoilt in zip(texts, made, strict=True):
        if spoilt.label in ("strong", "unequal", "ok"):
            for place, row in second_rows(text, models, spoilt):
                found[place.kind].add(row, int(spoilt.label != "ok"))
    clean = paragraphs(*TRAINING)
    rng = random.Random(0)
    cut = (shortened(text, rng) for text in parse_many(clean[: len(clean) // 3]))
    for passages, weight in ((iter(clean), 1.0), (cut, 0.4)):
        for text in parse_many(passages):
            for place, row in second_rows(text, models):
                found[place.kind].add(row, 0, weight)
    return found


def fit(table: Table, rounds: int, leaves: int = 15) -> Any:
    model = HistGradientBoostingClassifier(
        max_iter=rounds, max_leaf_nodes=leaves, learning_rate=0.1 if leaves > 8 else 0.06,
        min_samples_leaf=12,
        l2_regularization=1.0, random_state=0, early_stopping=False, max_bins=64,
        max_features=0.4,
    )  # fmt: skip
    return model.fit(table.x, table.y, sample_weight=np.array(table.weights))


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


ROUNDS = {"comma": 90, "none": 90, "semicolon": 50, "stop": 90}
SIDE_ROUNDS = {"comma": 200, "none": 200, "semicolon": 80}


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--spoilt", type=Path, help="reuse or keep the spoilt passages here")
    options.add_argument("--output", type=Path, default=HERE / "boundary.npz")
    given = options.parse_args()
    begun = time.time()
    made = load_or_spoil(given.spoilt, TRAINING, 10)
    texts = list(parse_many(s.text for s in made))
    arrays: dict[str, np.ndarray] = {}
    models: dict[str, Forest] = {}
    for name, table in first_tables(texts, made).items():
        names = sentence_names() if name == "stop" else feature_names()
        part = flatten(fit(table, ROUNDS[name]), CLASSES[name], names)
        models[name] = forest(part)
        arrays |= {f"{name}.{k}": v for k, v in part.items()}
        print(name, Counter(table.labels), f"{time.time() - begun:.0f} s", flush=True)
    for name, table in second_tables(texts, made, models).items():
        labels = ("ok", CLASSES[name][1])
        part = flatten(fit(table, SIDE_ROUNDS[name], 8), labels, feature_names() + side_names())
        arrays |= {f"{name}-sides.{k}": v for k, v in part.items()}
        print(name, "sides", Counter(table.labels), f"{time.time() - begun:.0f} s", flush=True)
    kept = sorted({key.split(".")[0] for key in arrays})
    np.savez_compressed(given.output, models=np.array(kept), **arrays)
    print(f"{given.output}: {given.output.stat().st_size / 1e6:.2f} MB")


def forest(part: dict[str, np.ndarray]) -> Forest:
    """Freshly trained trees, asked in the same way as at run time."""
    rest: dict[str, Any] = {k: v for k, v in part.items() if k not in ("classes", "names", "depth")}
    return Forest(
        classes=tuple(part["classes"].tolist()), names=tuple(part["names"].tolist()),
        depth=int(part["depth"]), **rest,
    )  # fmt: skip


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

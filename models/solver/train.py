"""Fit the solvers and write ``weights.json``.

    python models/solver/train.py [--parts] [--generated N] [--features FILE.json]

``--parts`` also learns the relation model and the mark model anew (some minutes); without it they
are taken from the file that is there. ``--features`` keeps the features of the items, which cost a
reading by the judge each, from one run to the next (the same judge must have made them).
"""

from __future__ import annotations

import argparse
import json
import random
from pathlib import Path

import data
import generated
import logit
import marks
import numpy as np
import relations
from tqdm import tqdm

from rwtools.items import weights as served
from rwtools.items.case import gather
from rwtools.items.groups import GROUPS, features_of, group_of, judged_of
from rwtools.items.model import Item
from rwtools.items.solving import SURE

PATH = data.HERE / "weights.json"
TRUST = 0.92
"""Share of the answered items of the dev half that must be right."""

GENERATED = 0.3
"""Weight of the generated items of a group beside the written ones (vocabulary: none are used)."""

STAGED = ("grammar", "vocabulary", "vocabulary-target")
"""Groups where the judge is asked only in doubt. Links need it for their explanations, marks for
their answers."""

Features = dict[str, list[float]]


def write(found: dict) -> None:
    """Write the weights, a line for each fact and cue, so that changes can be read."""
    text = json.dumps(found, ensure_ascii=False)
    for mark in ('"relations": {"relations"', '"marks": {"marks"', '"skills"', '"cues"', '"facts"'):
        text = text.replace(mark, "\n" + mark)
    PATH.write_text(text.replace("}, ", "},\n") + "\n", encoding="utf-8")
    served._all.cache_clear()


def parts() -> dict:
    """The relation model and the mark model."""
    return {
        "relations": relations.fit(),
        "marks": marks.fit(
            marks.examples("textbook_train.jsonl.gz", 2_600),
            marks.examples("textbook_dev.jsonl.gz", 300),
        ),
    }


def features(items: list[Item], cache: Path | None) -> dict[str, Features]:
    """The features of items by id; those in the cache file are not made again."""
    known: dict[str, Features] = {}
    if cache is not None and cache.exists():
        known = json.loads(cache.read_text(encoding="utf-8"))
    waiting = [item for item in items if item.id not in known]
    for at in tqdm(range(0, len(waiting), 16), disable=not waiting):
        for case in gather(waiting[at : at + 16]):
            known[case.item.id] = {
                name: [float(v) for v in values]
                for name, values in (judged_of(case) | features_of(case)).items()
            }
        if cache is not None:
            cache.write_text(json.dumps(known), encoding="utf-8")
    return {item.id: known[item.id] for item in items}


def examples(
    items: list[Item], found: dict[str, Features], names: list[str]
) -> list[logit.Example]:
    """Items as rows. The generated items of a group together weigh `GENERATED` times what the
    written ones do, because their wrong choices are unlike those that people think of: words of
    the same frequency taken at random teach nothing about a written vocabulary item."""
    written = sum(item.source == "written for this project" for item in items)
    share = GENERATED * written / max(len(items) - written, 1)
    made = []
    for item in items:
        own = item.source == "written for this project"
        rows = np.array([found[item.id][name] for name in names]).T
        assert item.key is not None
        made.append(logit.Example(item.id, rows, item.key, 1.0 if own else min(share, 1.0), own))
    return made


LEAST = 0.334
"""A choice less likely than one in three is never given as the answer."""


def margin(chances: list[tuple[float, bool]]) -> float:
    """The lowest probability of the best choice at which an item is answered, such that `TRUST` of
    the answered items are right; ``chances`` has for each item that probability and whether the
    best choice is right. One margin for all groups: a probability means the same in each."""
    lowest, right = 1.0, 0
    for count, (chance, good) in enumerate(sorted(chances, reverse=True), 1):
        right += good
        if right >= TRUST * count:
            lowest = chance if count < len(chances) else 0.0
    return round(max(lowest - 1e-3, LEAST), 3)


def _part(items: list[Item], found: dict[str, Features], names: list[str]) -> dict[str, float]:
    """Weights of some of the features alone."""
    return named(names, logit.fit(examples(items, found, names), names))


def fitted(rows: list[logit.Example], names: list[str]) -> tuple[list[np.ndarray], np.ndarray]:
    """The chances of each item's choices out of fold, and the weights."""
    return logit.folds(rows, names), logit.fit(rows, names)


def weighed(rows: list[logit.Example], weights: np.ndarray) -> list[np.ndarray]:
    """The chances of each item's choices by these weights."""
    return [logit.scores_to_probabilities(row.rows @ weights) for row in rows]


def sure_or(first: list[np.ndarray], then: list[np.ndarray]) -> list[np.ndarray]:
    """The first chances where they are sure, else the others (`Worked`)."""
    return [one if one.max() >= SURE else two for one, two in zip(first, then, strict=True)]


def named(names: list[str], weights: np.ndarray) -> dict[str, float]:
    """Weights by the names of their features."""
    return {n: round(float(w), 4) for n, w in zip(names, weights, strict=True)}


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--parts", action="store_true")
    parser.add_argument("--generated", type=int, default=150)
    parser.add_argument("--features", type=Path)
    options = parser.parse_args()
    found = parts() if options.parts else json.loads(PATH.read_text(encoding="utf-8"))
    found.setdefault("skills", {})
    write(found)
    items = data.corpus_items(dev=False) + data.more_items() + data.kept_back_items()
    items += [
        item
        for item in generated.items("textbook_train.jsonl.gz", options.generated)
        if item.skill != "vocabulary"
    ]
    random.Random(1).shuffle(items)
    held = data.corpus_items(dev=True)
    looked_up = features(items + held, options.features)
    answered: list[tuple[float, bool]] = []
    for group in GROUPS:
        mine = [item for item in items if group_of(item) == group]
        if group == "vocabulary":
            mine = [item for item in mine if item.source == "written for this project"]
        dev = [item for item in held if group_of(item) == group]
        names = list(looked_up[mine[0].id])
        rows = examples(mine, looked_up, names)
        chances, weights = fitted(rows, names)
        on_dev = weighed(examples(dev, looked_up, names), weights)
        found["skills"][group] = {"features": named(names, weights)}
        if group in STAGED:
            few = [name for name in names if not name.startswith("judge")]
            first, weights = fitted(examples(mine, looked_up, few), few)
            found["skills"][group]["first"] = named(few, weights)
            chances = sure_or(first, chances)
            on_dev = sure_or(weighed(examples(dev, looked_up, few), weights), on_dev)
        answered += [
            (float(p.max()), bool(p.argmax() == item.key))
            for p, item in zip(on_dev, dev, strict=True)
        ]
        judge = [n for n in names if n.startswith("judge")]
        reader = [n for n in names if n.startswith("reader")]
        clues = [n for n in names if n not in judge and n not in reader]
        own = [bool(p.argmax() == e.key) for p, e in zip(chances, rows, strict=True) if e.own]
        made = [bool(p.argmax() == e.key) for p, e in zip(chances, rows, strict=True) if not e.own]
        found["skills"][group] |= {
            "ablation": {
                "judge alone": _part(mine, looked_up, judge),
                "judge and reader": _part(mine, looked_up, judge + reader),
                "clues alone": _part(mine, looked_up, clues),
            },
            "examples": {"written": len(own), "generated": len(made)},
            "out_of_fold": {
                "written": round(float(np.mean(own)), 3),
                "generated": round(float(np.mean(made)), 3) if made else None,
            },
        }
        print(group, json.dumps(found["skills"][group]))
    common = margin(answered)
    for group in GROUPS:
        found["skills"][group]["margin"] = common
    print("margin", common)
    write(found)


if __name__ == "__main__":
    main()

"""Fit how sure a score makes us: ``calibration.json``, from paragraphs that training did not see.

Right suspicions come from their spoilt versions, wrong ones from the paragraphs as they are, so
weighted as if one sentence in ten had a fault. (The spoilt versions' other sentences do not count:
half of them were cut short by machine and are not prose that anyone would write.)
Usage: ``python models/boundary/calibrate.py``.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections import Counter, defaultdict
from pathlib import Path

import numpy as np

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parents[1])]

from corrupt import Spoilt  # noqa: E402
from sklearn.linear_model import LogisticRegression  # noqa: E402
from train import HELD_BACK, load_or_spoil, paragraphs  # noqa: E402

from rwtools.rules.boundaries import boundaries  # noqa: E402
from rwtools.rules.doubts import bareness, plainness  # noqa: E402
from rwtools.rules.friends import opens_dependent  # noqa: E402
from rwtools.text import Text, parse_many  # noqa: E402

FAULTS_A_SENTENCE = 0.1
CLEAN = 2000  # paragraphs


Row = tuple[str, float, bool, bool, bool]


def scored(text: Text, spoilt: Spoilt) -> list[Row]:
    """(what kind of suspect, score, two plain signs, whether the fault is really there)."""
    found = boundaries(text)
    rows: list[Row] = []
    for suspect in found.suspects:
        place = suspect.place
        at = text.tokens[place.mark if place.mark >= 0 else place.right].start
        right = (
            suspect.label == spoilt.label
            and place.kind == spoilt.kind
            and abs(at - spoilt.offset) <= (1 if place.mark < 0 else 0)
        )
        name = f"strong-{place.kind}" if suspect.label == "strong" else suspect.label
        rows.append(
            (name, suspect.score, *plainness(text, found.shape, place, suspect.label), right)
        )
    for fragment in found.fragments:
        s = fragment.sentence
        right = spoilt.kind == "stop" and (
            s.start <= spoilt.offset < s.end
            if spoilt.label == "left"
            else 0 < s.start - spoilt.offset <= 2
        )
        kind = "fragment" if opens_dependent(text, s) else "fragment-phrase"
        rows.append((kind, fragment.score, *bareness(text, s), right))
    return rows


def kind_of(spoilt: Spoilt) -> str:
    """The name under which suspicions of a spoilt passage's fault are counted."""
    if spoilt.kind == "stop":
        return "fragment"
    return f"strong-{spoilt.kind}" if spoilt.label == "strong" else spoilt.label


def fitted(rows: list[Row], signs: bool, weight: float) -> list[float]:
    """Slope, shift and the weight of each plain sign. Too few rows for a curve: only the shift
    that the different share of faults asks for."""
    y = np.array([row[4] for row in rows])
    if len(rows) < 40 or y.sum() in (0, len(y)):
        return [1.0, round(-float(np.log(weight)), 4), 0.0, 0.0]
    s = np.clip([row[1] for row in rows], 1e-6, 1 - 1e-6)
    x = np.column_stack([np.log(s / (1 - s)), [r[2] for r in rows], [r[3] for r in rows]])
    if not signs:
        x[:, 1:] = 0
    model = LogisticRegression(C=5.0)
    model.fit(x, y, sample_weight=np.where(y, 1.0, weight))
    slope, alone, opens = model.coef_[0]
    return [round(float(v), 4) for v in (slope, model.intercept_[0], alone, opens)]


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--spoilt", type=Path, help="reuse or keep the spoilt passages here")
    given = options.parse_args()
    made = load_or_spoil(given.spoilt, HELD_BACK, 33)
    scores: dict[str, list[Row]] = defaultdict(list)
    (HERE / "calibration.json").write_text("{}\n")
    for text, spoilt in zip(parse_many(s.text for s in made), made, strict=True):
        for row in scored(text, spoilt):
            if row[4]:
                scores[row[0]].append(row)
    sentences = 0
    nowhere = Spoilt("", "", -1, "", "")
    for text in parse_many(paragraphs(*HELD_BACK)[:CLEAN]):
        sentences += len(text.sentences)
        for row in scored(text, nowhere):
            scores[row[0]].append(row)
    made_of = Counter(kind_of(s) for s in made if s.label != "ok")
    faults = sum(made_of.values())
    # a kind that is rarer here than an even share counts as an even share
    weights = {
        kind: min(faults, number * len(made_of)) / FAULTS_A_SENTENCE / sentences
        for kind, number in made_of.items()
    }
    print(f"{faults} faults, {sentences} clean sentences; each counted", weights)
    curves = {
        name: fitted(
            rows,
            name.startswith(("strong", "second", "fragment")),
            weights[name.split("-phrase")[0]],
        )
        for name, rows in scores.items()
    }
    for name, rows in sorted(scores.items()):
        print(name, len(rows), sum(row[4] for row in rows), curves[name])
    (HERE / "calibration.json").write_text(json.dumps(curves, indent=2, sort_keys=True) + "\n")


if __name__ == "__main__":
    main()

"""Measure the reader as it is served; write ``metrics.json``.

    python models/reader/evaluate.py [--jobs N]

On the kept-back tenth of the written items, by the folder and kind that they come from, and on
places of texts that no network was trained on (`prepare.development`): the two textbooks of the
development part and other genres. The judge is measured on the same items beside it.
"""

from __future__ import annotations

import argparse
import json
import random
from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path

import questions
from questions import prepare
from tqdm import tqdm

from rwtools import judge, reader
from rwtools.drills.spread import with_groups, workers
from rwtools.reader import Blank

HERE = Path(__file__).parent
BATCH = 16
PLACES = 100
"""Development places of each kind and source."""


def blanks() -> dict[str, list[Blank]]:
    """What is measured by name; the right choice is the first."""
    found: dict[str, list[Blank]] = defaultdict(list)
    for one in questions.written(random.Random(1)):
        if one["kind"].startswith("test "):
            name = one["kind"].replace("test ", "written ")
            found[name].append(Blank(one["prefix"], tuple(one["choices"]), one["suffix"]))
    for source, kinds in zip(
        ("textbooks", "other genres"), prepare.development(PLACES), strict=True
    ):
        for kind, cases in kinds.items():
            for case in cases[:PLACES] if kind != "punctuation" else ():
                wrong = [c for n, c in enumerate(case.choices) if n != case.answer]
                choices = (case.choices[case.answer], *wrong)
                found[f"{source} {kind}"].append(Blank(case.prefix, choices, case.suffix))
    return dict(found)


def right(many: Sequence[Blank]) -> list[tuple[bool, bool]]:
    """For each blank whether the reader and whether the judge finds the first choice likeliest."""
    ours = [w.chances[0] == max(w.chances) for w in reader.choose(many)]
    places = [(b.before, b.choices, b.after) for b in many]
    theirs = [values[0] == max(values) for values in judge.compare_many(places)]
    return list(zip(ours, theirs, strict=True))


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--jobs", type=int, default=1)
    made = {}
    with workers(parser.parse_args().jobs, None) as spread:
        for name, many in tqdm(sorted(blanks().items())):
            groups = [many[at : at + BATCH] for at in range(0, len(many), BATCH)]
            found = [one for _, part in with_groups(spread, right, groups) for one in part]
            ours, theirs = zip(*found, strict=True)
            made[name] = {
                "items": len(many),
                "reader": round(sum(ours) / len(many), 3),
                "judge": round(sum(theirs) / len(many), 3),
                "either": round(sum(map(max, ours, theirs)) / len(many), 3),
            }
            print(name, made[name], flush=True)
    (HERE / "metrics.json").write_text(json.dumps(made, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()

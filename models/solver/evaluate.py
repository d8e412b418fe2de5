"""Measure the solvers and `vet`, and write ``metrics.json``.

    python models/solver/evaluate.py [--generated N] [--jobs N]
    python models/solver/evaluate.py --only vet --only sets     # measure these parts again

Measured on the dev half of the project's own items (nothing was fitted on it), on the items of
`corpus/measure` (other writers', looked at only when all was fitted) and on items made from the
development textbooks, which training lacks.
"""

from __future__ import annotations

import argparse
import json
import random
import time
from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path
from typing import Any, NamedTuple

import data
import generated
import numpy as np
import plant

from rwtools.drills.spread import with_groups, workers
from rwtools.items.duplicates import Duplicates
from rwtools.items.groups import group_of, judged_of
from rwtools.items.model import Item, Solution
from rwtools.items.solving import BATCH, solution_of, solve_batch, work_out
from rwtools.items.vet import repeated, vet_batch
from rwtools.items.weights import skill_weights, softmax


class Weighed(NamedTuple):
    """What a solver made of an item's choices."""

    features: dict[str, list[float]]
    chances: Sequence[float]
    best: int


Solved = tuple[Item, Weighed, Solution]


def solved_batch(batch: Sequence[Item]) -> list[Solved]:
    """Items with what was made of their choices and their solutions."""
    found: list[Solved] = []
    for item, worked in zip(batch, work_out(batch), strict=True):
        assert worked is not None
        solution = solution_of(worked)  # before the judge is heard on all items
        features = worked.features | judged_of(worked.case)
        found.append((item, Weighed(features, worked.chances, worked.best), solution))
    return found


def solved(items: Sequence[Item], jobs: int) -> list[Solved]:
    """Items with their solutions."""
    with workers(jobs, None) as spread:
        done = with_groups(spread, solved_batch, _batches(items))
        return [one for _, part in done for one in part]


def seconds_an_item(items: Sequence[Item], jobs: int) -> float:
    """How long an item takes, the start of the jobs included."""
    began = time.perf_counter()
    with workers(jobs, None) as spread:
        for _ in with_groups(spread, solve_batch, _batches(items)):
            pass
    return (time.perf_counter() - began) / max(len(items), 1)


def _batches(items: Sequence[Item]) -> list[Sequence[Item]]:
    return [items[at : at + BATCH] for at in range(0, len(items), BATCH)]


def calibration_error(sure: Sequence[float], right: Sequence[bool], bins: int = 10) -> float:
    """Expected calibration error over equal bins (Guo, Pleiss, Sun and Weinberger 2017)."""
    sure_, right_ = np.array(sure), np.array(right, dtype=float)
    place = np.minimum((sure_ * bins).astype(int), bins - 1)
    total = 0.0
    for b in range(bins):
        inside = place == b
        if inside.any():
            total += inside.mean() * abs(sure_[inside].mean() - right_[inside].mean())
    return float(total)


def figures(found: Sequence[Solved]) -> dict[str, object]:
    """Accuracy over all items and over those answered, coverage, calibration and evidence."""
    if not found:
        return {"items": 0}
    right = [s.answer == i.answer for i, _, s in found]
    answered = [s.answer is not None for _, _, s in found]
    best = [i.letters[w.best] == i.answer for i, w, _ in found]
    hits = [_hits(i, s) for i, _, s in found if i.evidence and s.answer is not None]
    return {
        "items": len(found),
        "right_of_all": round(float(np.mean(right)), 3),
        "likeliest_right": round(float(np.mean(best)), 3),
        "coverage": round(float(np.mean(answered)), 3),
        "right_of_answered": round(sum(right) / max(sum(answered), 1), 3),
        "calibration_error": round(
            calibration_error([max(w.chances) for _, w, _ in found], best), 3
        ),
        "evidence_hit_rate": round(float(np.mean(hits)), 3) if hits else None,
    }


def _hits(item: Item, solution: Solution) -> bool:
    """Whether some step's span overlaps the item's own evidence."""
    return any(
        q.start < e.end and e.start < q.end
        for step in solution.path
        for q in step.evidence
        for e in item.evidence or []
    )


def ablation(found: Sequence[Solved]) -> dict[str, float]:
    """Share of items whose likeliest choice is right by some of the features, and by all."""
    scores: dict[str, list[bool]] = defaultdict(list)
    for item, worked, _ in found:
        parts = skill_weights(group_of(item))["ablation"]
        for name, weights in parts.items():
            values = [
                sum(w * worked.features[f][n] for f, w in weights.items())
                for n in range(len(item.choices))
            ]
            chances = softmax(values)
            tied = chances.count(max(chances))  # a tie is worth its share
            top = max(chances) == chances[item.key or 0]
            scores[name].append(top / tied)
        scores["all"].append(item.letters[worked.best] == item.answer)
    return {name: round(float(np.mean(values)), 3) for name, values in scores.items()}


def by_skill(found: Sequence[Solved]) -> dict[str, object]:
    groups: dict[str, list[Solved]] = defaultdict(list)
    for one in found:
        groups[one[0].skill].append(one)
        if one[0].skill == "vocabulary":
            groups["vocabulary, " + ("blank" if one[0].target is None else "target")].append(one)
    return {
        skill: {
            **figures(mine),
            "ablation": ablation(mine),
            "by_difficulty": {
                str(level): figures([s for s in mine if s[0].difficulty == level])
                for level in (1, 2, 3, 4)
                if any(s[0].difficulty == level for s in mine)
            },
        }
        for skill, mine in groups.items()
    }


def vetted(items: Sequence[Item], count: int = 30, seed: int = 1) -> dict[str, object]:
    """Faults planted in good items: how many are found; and what is reported on good ones."""
    rng = random.Random(seed)
    order = rng.sample(list(items), len(items))
    alarms: dict[str, int] = defaultdict(int)
    seen = Duplicates()
    clean = 0
    for at in range(0, len(order), BATCH):
        batch = order[at : at + BATCH]
        for n, (item, problems) in enumerate(zip(batch, vet_batch(batch), strict=True)):
            problems = problems + repeated(seen, item, at + n + 1)
            clean += not problems
            for problem in problems:
                alarms[problem.code] += 1
    result: dict[str, object] = {
        "good_items": len(order),
        "good_items_without_report": clean,
        "false_alarms": dict(sorted(alarms.items())),
    }
    planted: dict[str, dict[str, int]] = {}
    for code, change in plant.PLANTS.items():
        faulty = [f for f in (change(item, rng) for item in order) if f is not None][:count]
        found = 0
        for at in range(0, len(faulty), BATCH):
            for problems in vet_batch(faulty[at : at + BATCH]):
                found += any(problem.code == code for problem in problems)
        planted[code] = {"planted": len(faulty), "found": found}
    for code, change in (("duplicate", None), ("near-duplicate", plant.changed_a_little)):
        seen = Duplicates()
        for n, item in enumerate(order):
            seen.add(item, n + 1)
        copies = order[:count] if change is None else [change(i, rng) for i in order[:count]]
        hits = [repeated(seen, item, 1_000 + n) for n, item in enumerate(copies)]
        found = sum(any(p.code == code for p in problems) for problems in hits)
        planted[code] = {"planted": len(copies), "found": found}
    result["planted"] = planted
    return result


def sets(jobs: int) -> dict[str, Any]:
    """Figures of the practice sets and of the practice book, as others write them."""
    found = solved(data.set_items(), jobs)
    book = solved(data.practice_items(), jobs)
    return {
        "sets": {"all": figures(found), "by_skill": by_skill(found)},
        "practice": {"all": figures(book), "by_skill": by_skill(book)},
    }


def written(jobs: int) -> dict[str, Any]:
    """Figures of the dev half, of the four files of `corpus/measure` and of the eight writers."""
    found = solved(data.corpus_items(dev=True), jobs)
    other = solved(data.measure_items(), jobs)
    writers = data.items_by_writer()
    found_writers = solved([item for many in writers.values() for item in many], jobs)
    named = {item.id: writer for writer, many in writers.items() for item in many}
    return {
        "written_dev_half": {"all": figures(found), "by_skill": by_skill(found)},
        "written_to_measure": {"all": figures(other), "by_skill": by_skill(other)},
        "written_by_eight": {
            "all": figures(found_writers),
            "by_skill": by_skill(found_writers),
            "by_writer": {
                writer: figures([one for one in found_writers if named[one[0].id] == writer])
                for writer in writers
            },
        },
        "seconds_an_item": round(seconds_an_item(data.corpus_items(dev=True), jobs), 3),
        "jobs": jobs,
    }


def made(count: int, jobs: int) -> dict[str, Any]:
    """Figures of items made from the development books, up to so many of each skill."""
    found = solved(generated.items("textbook_dev.jsonl.gz", count), jobs)
    return {
        "generated_from_development_books": {"all": figures(found), "by_skill": by_skill(found)}
    }


PARTS = ("written", "sets", "made", "vet")


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--generated", type=int, default=60)
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--only", choices=PARTS, action="append", help="keep all other figures")
    options = parser.parse_args()
    path, wanted = data.HERE / "metrics.json", options.only or PARTS
    known = json.loads(path.read_text(encoding="utf-8")) if options.only else {}
    if "written" in wanted:
        known |= written(options.jobs)
    if "sets" in wanted:
        known |= sets(options.jobs)
    if "made" in wanted:
        known |= made(options.generated, options.jobs)
    if "vet" in wanted:
        known["vet"] = vetted(data.corpus_items(dev=True))
    write(path, known)


def write(path: Path, measured: dict[str, Any]) -> None:
    """Write all figures to the file, and print them."""
    path.write_text(json.dumps(measured, indent=1) + "\n", encoding="utf-8")
    print(json.dumps(measured, indent=1))


if __name__ == "__main__":
    main()

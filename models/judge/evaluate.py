"""Teacher and student on the same cases in one run; writes `metrics.json`.

Cases come from the two textbooks that training lacks and from the other genres of the discourse
treebank's development part, as `prepare.py` makes and writes them. The student is the artifact,
scored through `rwtools.judge.compare_many` as the program does it, in as many processes of one
thread as asked for; the teacher is PyTorch in 32-bit floats on whole texts (on a GPU where there is
one). A choice counts as right where the author's own wording is the likeliest.

    python models/judge/evaluate.py DATA_FOLDER --teacher TEACHER_FOLDER [--cases 1000]
"""

from __future__ import annotations

import argparse
import json
import math
import multiprocessing
import os
import random
import statistics
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

from cases import KINDS, Case

from rwtools import judge
from rwtools.judge import engine, scoring

HERE = Path(__file__).parent
BATCH = 8
ROWS = 32  # texts that the teacher reads side by side
NO_HORIZON = 100_000

Cases = dict[str, dict[str, list[Case]]]
Picks = dict[str, list[int]]


def read_cases(folder: Path, most: int, only: str) -> Cases:
    """Cases by source and kind, at most so many of each."""
    made: Cases = {}
    for source in ("textbook", "genres"):
        by_kind: dict[str, list[Case]] = {kind: [] for kind in KINDS if only in f"{source} {kind}"}
        for line in (folder / f"cases-{source}.jsonl").open(encoding="utf-8"):
            case = json.loads(line)
            if case["kind"] in by_kind:
                by_kind[case["kind"]].append(Case(**{**case, "choices": tuple(case["choices"])}))
        made[source] = {
            kind: random.Random(5).sample(cases, min(most, len(cases)))
            for kind, cases in by_kind.items()
        }
    return made


def batched(many: Sequence[Any], size: int) -> Iterator[Sequence[Any]]:
    return (many[at : at + size] for at in range(0, len(many), size))


def start_worker(cores: Any) -> None:
    """One core a process: the runtime's threads follow the cores that the process may use."""
    if cores is not None:
        os.sched_setaffinity(0, {cores.get()})
    engine.engine()


def student_part(task: tuple[int, Sequence[Case]]) -> list[int]:
    horizon, cases = task
    scoring.HORIZON = horizon
    many = judge.compare_many([(c.prefix, c.choices, c.suffix) for c in cases])
    return [values.index(max(values)) for values in many]


class Students:
    """The student in several processes."""

    def __init__(self, workers: int) -> None:
        context = multiprocessing.get_context("spawn")
        self.manager = context.Manager()
        cores = self.manager.Queue() if workers > 1 else None
        if cores is not None:
            ready = sorted(os.sched_getaffinity(0))
            for n in range(workers):
                cores.put(ready[n % len(ready)])
        self.pool = ProcessPoolExecutor(workers, context, start_worker, (cores,))

    def picks(self, cases: list[Case], horizon: int) -> Any:
        """A function that waits for the picks; the work begins at once."""
        futures = [
            self.pool.submit(student_part, (horizon, part)) for part in batched(cases, BATCH)
        ]
        return lambda: [pick for future in futures for pick in future.result()]


class Teacher:
    """The teacher in PyTorch; whole texts, no horizon."""

    def __init__(self, folder: Path, threads: int) -> None:
        import torch
        from train import load_teacher

        torch.set_num_threads(threads)
        where = "cuda:0" if torch.cuda.is_available() else "cpu"
        self.network = load_teacher(folder).requires_grad_(False).to(where)

    def picks(self, cases: list[Case]) -> list[int]:
        encode = engine.engine().encode_many
        rows = encode([c.prefix + choice + c.suffix for c in cases for choice in c.choices])
        sums = [0.0] * len(rows)
        order = sorted(range(len(rows)), key=lambda n: len(rows[n]))
        for part in batched(order, ROWS):
            many = self.network.logprobs([rows[n] for n in part])
            for n, values in zip(part, many, strict=True):
                sums[n] = float(values.double().sum())
        picks, at = [], 0
        for case in cases:
            mine = sums[at : at + len(case.choices)]
            at += len(mine)
            picks.append(mine.index(max(mine)))
        return picks


def share(picks: list[int], cases: list[Case]) -> float:
    return round(100 * statistics.mean(p == c.answer for p, c in zip(picks, cases, strict=True)), 2)


def beside(mine: list[int], theirs: list[int], cases: list[Case]) -> dict[str, float]:
    """The teacher's share, the difference in points, and its standard error (paired)."""
    gaps = [(a == c.answer) - (b == c.answer) for a, b, c in zip(mine, theirs, cases, strict=True)]
    return {
        "teacher": share(theirs, cases),
        "difference": round(100 * statistics.mean(gaps), 2),
        "standard_error": round(100 * statistics.pstdev(gaps) / math.sqrt(len(gaps)), 2),
        "same_pick": round(
            100 * statistics.mean(a == b for a, b in zip(mine, theirs, strict=True)), 2
        ),
    }


def table(
    made: Cases, students: Students, teacher: Teacher | None, horizons: list[int], few: int
) -> dict[str, Any]:
    """One row per source and kind; the other horizons on the first `few` cases of each."""
    waiting = {
        (source, kind): [
            students.picks(cases, scoring.HORIZON),
            *(students.picks(cases[:few], horizon) for horizon in horizons),
        ]
        for source, by_kind in made.items()
        for kind, cases in by_kind.items()
    }
    result: dict[str, Any] = {}
    for (source, kind), jobs in waiting.items():
        cases = made[source][kind]
        theirs = teacher.picks(cases) if teacher else None
        mine, *others = [job() for job in jobs]
        row: dict[str, Any] = {"cases": len(cases), "student": share(mine, cases)}
        if theirs:
            row |= beside(mine, theirs, cases)
        if others:
            row["first_cases"] = len(cases[:few])
            row["by_horizon"] = {
                "whole" if horizon == NO_HORIZON else str(horizon): share(picks, cases[:few])
                for horizon, picks in zip(
                    [scoring.HORIZON, *horizons], [mine[:few], *others], strict=True
                )
            }
        genres = sorted({c.genre for c in cases})
        if theirs and len(genres) > 1:
            row["by_genre"] = {}  # number of cases, student's share, teacher's share
            for genre in genres:
                at = [n for n, c in enumerate(cases) if c.genre == genre]
                some = [cases[n] for n in at]
                pair = (share([picks[n] for n in at], some) for picks in (mine, theirs))
                row["by_genre"][genre] = [len(at), *pair]
        result[f"{source} {kind}"] = row
        print(source, kind, row, flush=True)
    return result


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--teacher", type=Path, help="folder of the GGUF file")
    parser.add_argument("--cases", type=int, default=1_000, help="per kind and source, at most")
    parser.add_argument("--only", default="", help="only kinds whose name has this in it")
    parser.add_argument("--threads", type=int, default=2, help="of the teacher")
    parser.add_argument("--workers", type=int, default=1, help="processes of the student")
    parser.add_argument(
        "--horizons", type=int, nargs="*", default=[], help="score these as well (0: whole text)"
    )
    parser.add_argument("--few", type=int, default=300, help="cases of each kind for --horizons")
    parser.add_argument("--out", type=Path, default=HERE / "metrics.json")
    parser.add_argument("made", type=Path, help="folder with the cases that prepare.py wrote")
    args = parser.parse_args()
    began = time.perf_counter()
    made = read_cases(args.made, args.cases, args.only)
    students = Students(args.workers)
    teacher = Teacher(args.teacher, args.threads) if args.teacher else None
    description = json.loads((engine.engine().place / "judge.json").read_text(encoding="utf-8"))
    horizons = [horizon or NO_HORIZON for horizon in args.horizons]
    metrics = {
        "artifact": {name: facts["sha256"] for name, facts in description["files"].items()},
        "artifact_bytes": sum(facts["bytes"] for facts in description["files"].values()),
        "horizon": scoring.HORIZON,
        "cases": table(made, students, teacher, horizons, args.few),
    }
    print(f"{time.perf_counter() - began:.0f} s")
    old = json.loads(args.out.read_text(encoding="utf-8")) if args.out.exists() else {}
    for name, row in metrics["cases"].items():
        before = old.get("cases", {}).get(name, {})
        if "teacher" not in row and "teacher" in before and before["cases"] == row["cases"]:
            row["teacher"] = before["teacher"]  # it has not changed, and takes hours without a GPU
            row["difference"] = round(row["student"] - row["teacher"], 2)
    metrics["cases"] = {**old.get("cases", {}), **metrics["cases"]}
    args.out.write_text(json.dumps({**old, **metrics}, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()

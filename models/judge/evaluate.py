"""Teacher and student on the same cases in one run; writes `metrics.json`.

Cases come from the two textbooks that training lacks and from the other genres of the discourse
treebank's development part, as `prepare.py` makes and writes them. The student is the artifact,
scored through `rwtools.judge.compare_many` as the program does it; the teacher is PyTorch in
32-bit floats on whole texts. A choice counts as right where
the author's own wording is the likeliest.

    python models/judge/evaluate.py DATA_FOLDER --teacher TEACHER_FOLDER [--cases 1000]
"""

from __future__ import annotations

import argparse
import json
import random
import statistics
import time
from pathlib import Path
from typing import Any

from cases import KINDS, Case

from rwtools import judge
from rwtools.judge import engine

HERE = Path(__file__).parent
BATCH = 8


def read_cases(folder: Path) -> dict[str, dict[str, list[Case]]]:
    made: dict[str, dict[str, list[Case]]] = {}
    for source in ("textbook", "genres"):
        by_kind = made[source] = {kind: [] for kind in KINDS}
        for line in (folder / f"cases-{source}.jsonl").open(encoding="utf-8"):
            case = json.loads(line)
            by_kind[case["kind"]].append(Case(**{**case, "choices": tuple(case["choices"])}))
    return made


def student_picks(cases: list[Case]) -> list[int]:
    picks = []
    for at in range(0, len(cases), BATCH):
        part = cases[at : at + BATCH]
        many = judge.compare_many([(c.prefix, c.choices, c.suffix) for c in part])
        picks += [values.index(max(values)) for values in many]
    return picks


class Teacher:
    """The teacher in PyTorch; whole texts, no horizon."""

    def __init__(self, folder: Path, threads: int) -> None:
        import torch
        from train import load_teacher

        torch.set_num_threads(threads)
        self.network = load_teacher(folder).requires_grad_(False)

    def picks(self, cases: list[Case]) -> list[int]:
        encode = engine.engine().encode_many
        picks = []
        for case in cases:
            rows = encode([case.prefix + choice + case.suffix for choice in case.choices])
            sums = [float(values.sum()) for values in self.network.logprobs(rows)]
            picks.append(sums.index(max(sums)))
        return picks


def share(picks: list[int], cases: list[Case]) -> float:
    return round(
        100 * statistics.mean(p == c.answer for p, c in zip(picks, cases, strict=False)), 2
    )


def table(
    made: dict[str, dict[str, list[Case]]], teacher: Teacher | None, only: str
) -> dict[str, Any]:
    result: dict[str, Any] = {}
    for source, by_kind in made.items():
        for kind in KINDS:
            if only not in f"{source} {kind}":
                continue
            cases = by_kind[kind]
            began = time.perf_counter()
            mine = student_picks(cases)
            seconds = time.perf_counter() - began
            row: dict[str, Any] = {
                "cases": len(cases),
                "student": share(mine, cases),
                "student_cases_per_second": round(len(cases) / seconds, 2),
            }
            if teacher:
                theirs = teacher.picks(cases)
                row["teacher"] = share(theirs, cases)
                row["difference"] = round(row["student"] - row["teacher"], 2)
                row["same_pick"] = round(
                    100 * statistics.mean(a == b for a, b in zip(mine, theirs, strict=False)), 2
                )
            genres = sorted({c.genre for c in cases})
            if len(genres) > 1:
                row["student_by_genre"] = {
                    g: [sum(c.genre == g for c in cases), share(
                        [p for p, c in zip(mine, cases, strict=False) if c.genre == g],
                        [c for c in cases if c.genre == g],
                    )]
                    for g in genres
                }  # fmt: skip
            result[f"{source} {kind}"] = row
            print(source, kind, row, flush=True)
    return result


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--teacher", type=Path, help="folder of the GGUF file")
    parser.add_argument("--cases", type=int, default=1_000, help="per kind and source, at most")
    parser.add_argument("--only", default="", help="only kinds whose name has this in it")
    parser.add_argument("--threads", type=int, default=2)
    parser.add_argument("--out", type=Path, default=HERE / "metrics.json")
    parser.add_argument("made", type=Path, help="folder with the cases that prepare.py wrote")
    args = parser.parse_args()
    made = read_cases(args.made)
    for by_kind in made.values():
        for kind, cases in by_kind.items():
            by_kind[kind] = random.Random(5).sample(cases, min(args.cases, len(cases)))
    teacher = Teacher(args.teacher, args.threads) if args.teacher else None
    description = json.loads((engine.engine().place / "judge.json").read_text(encoding="utf-8"))
    metrics = {
        "artifact": {name: facts["sha256"] for name, facts in description["files"].items()},
        "artifact_bytes": sum(facts["bytes"] for facts in description["files"].values()),
        "cases": table(made, teacher, args.only),
    }
    old = json.loads(args.out.read_text(encoding="utf-8")) if args.out.exists() else {}
    metrics["cases"] = {**old.get("cases", {}), **metrics["cases"]}
    args.out.write_text(json.dumps({**old, **metrics}, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()

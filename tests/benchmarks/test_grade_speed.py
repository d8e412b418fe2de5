"""How long a very large class takes. Run with `make bench`; under plain pytest this is skipped."""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys

import numpy as np
import pytest

pytestmark = pytest.mark.benchmark

LEARNERS, ITEMS = 2_000, 500


@pytest.fixture(autouse=True)
def _only_as_benchmark(request):
    if not request.config.getoption("--benchmark-enable"):
        pytest.skip("a benchmark: run `make bench`")


@pytest.fixture(scope="module")
def million(tmp_path_factory, root):
    """A million answers: 2,000 learners, 500 items made from the corpus; times and positions."""
    import polars as pl

    folder = tmp_path_factory.mktemp("million")
    source = [
        json.loads(line)
        for path in sorted((root / "corpus" / "items").glob("*.jsonl"))
        for line in path.read_text(encoding="utf-8").splitlines()
    ]
    items = [{**source[n % len(source)], "id": f"item-{n:03d}"} for n in range(ITEMS)]
    (folder / "items.jsonl").write_text("\n".join(map(json.dumps, items)))
    generator = np.random.default_rng(3)
    ability, difficulty = generator.normal(0.5, 1, LEARNERS), generator.normal(0, 1, ITEMS)
    chance = 1 / (1 + np.exp(difficulty - ability[:, None]))
    key = np.array(["ABCDEF".index(item["answer"]) for item in items])
    wrong = (key + generator.integers(1, 4, chance.shape)) % 4
    taken = np.where(generator.random(chance.shape) < chance, key, wrong)
    pl.DataFrame(
        {
            "learner": np.repeat([f"Learner {n}" for n in range(LEARNERS)], ITEMS),
            "item": np.tile([item["id"] for item in items], LEARNERS),
            "answer": np.array(list("ABCDEF"))[taken.ravel()],
            "seconds": generator.lognormal(4, 0.4, LEARNERS * ITEMS).round(1),
            "position": np.tile(np.arange(1, ITEMS + 1), LEARNERS),
        }
    ).write_csv(folder / "answers.csv")
    return folder


def test_a_million_answers(benchmark, million):
    """At most 10 s of two cores and 1.5 GB for the whole command, pages and tables included."""
    command = [sys.executable, "-m", "rwtools", "grade"]
    command += [str(million / "items.jsonl"), str(million / "answers.csv")]
    out = million / "report"
    used: list[float] = []

    def grade() -> None:
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run(
            [*command, "--out", str(out)],
            check=True,
            capture_output=True,
            env={**os.environ, "POLARS_MAX_THREADS": "2", "OMP_NUM_THREADS": "2"},
        )
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        used.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)

    benchmark.pedantic(grade, rounds=3)
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    benchmark.extra_info["processor_seconds"] = min(used)
    benchmark.extra_info["peak_megabytes"] = peak
    benchmark.extra_info["report_megabytes"] = (out / "report.html").stat().st_size / 1e6
    # Processor time, not the clock: what else the machine does must not decide.
    assert min(used) <= 10
    assert peak <= 1_500
    assert (out / "report.html").stat().st_size < 5_000_000
    assert (out / "items.html").stat().st_size < 5_000_000
    assert len(list((out / "learners").iterdir())) == LEARNERS
    assert max(p.stat().st_size for p in (out / "learners").iterdir()) < 200_000

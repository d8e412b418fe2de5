"""Items solved in a second, and memory over a long file. Run with `make bench`.

``pytest tests/benchmarks/test_solve_speed.py --benchmark-enable --benchmark-only``: the figure
``items per second`` is in the extra info.
"""

from __future__ import annotations

import resource
from itertools import cycle, islice

import pytest

from rwtools import judge
from rwtools.drills.spread import processes, with_groups
from rwtools.errors import ArtifactError
from rwtools.items.load import load_items
from rwtools.items.model import Item
from rwtools.items.solving import BATCH, solve_batch

pytestmark = pytest.mark.benchmark


@pytest.fixture(autouse=True)
def _only_as_benchmark(request):
    if not request.config.getoption("--benchmark-enable"):
        pytest.skip("a benchmark: run `make bench`")
    try:
        judge.verify()
    except ArtifactError as error:
        pytest.skip(f"the judge is not here: {error}")


@pytest.fixture(scope="module")
def items(root) -> list[Item]:
    found = []
    for skill in ("transition", "punctuation", "grammar", "vocabulary"):
        lines = load_items(root / "corpus" / "items" / f"{skill}.jsonl")
        found += [item for _, item in lines if isinstance(item, Item)][:24]
    return found


@pytest.mark.parametrize("jobs", [1, 2])
def test_items_a_second(benchmark, items, jobs):
    groups = [items[n : n + BATCH] for n in range(0, len(items), BATCH)]
    with processes(jobs) as spread:
        list(with_groups(spread, solve_batch, groups[:jobs]))  # load the models

        def run() -> int:
            return sum(len(found) for _, found in with_groups(spread, solve_batch, groups))

        done = benchmark.pedantic(run, rounds=1, iterations=1)
    assert done == len(items)
    if benchmark.stats is not None:
        seconds = benchmark.stats.stats.mean
        benchmark.extra_info["items per second"] = round(len(items) / seconds, 2)


def test_memory_does_not_grow_with_the_file(benchmark, items):
    def peak_after(count: int) -> int:
        stream = cycle(items)
        for _ in range(0, count, BATCH):
            solve_batch(list(islice(stream, BATCH)))
        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss

    first = peak_after(len(items))
    later = benchmark.pedantic(peak_after, args=(3 * len(items),), rounds=1, iterations=1)
    benchmark.extra_info["peak after one round, MB"] = first // 1024
    benchmark.extra_info["peak after four rounds, MB"] = later // 1024
    assert later < 1.1 * first

"""Throughput of the language part on one and on two worker processes of a local Dask cluster.

``pytest tests/benchmarks/test_cluster_speed.py --benchmark-enable --benchmark-only``: the figure
``passages per second`` is in the extra info. With fewer than two free cores two workers gain
nothing; that is the machine's limit, not the program's.
"""

import pytest

from rwtools.drills.cluster import connected
from rwtools.hints import hint

pytestmark = pytest.mark.benchmark
ROUNDS = 10  # times the 30 passages


@pytest.fixture(autouse=True)
def _only_as_benchmark(request):
    if not request.config.getoption("--benchmark-enable"):
        pytest.skip("a benchmark: run `make bench`")


@pytest.mark.parametrize("workers", [1, 2])
def test_hints_on_a_cluster(benchmark, passages, workers):
    distributed = pytest.importorskip("distributed")
    calls = [(text,) for text in passages.values()] * ROUNDS
    with (
        distributed.LocalCluster(
            n_workers=workers, threads_per_worker=1, processes=True, dashboard_address=None
        ) as cluster,
        connected(cluster.scheduler_address) as spread,
    ):
        list(spread(hint, calls[: 2 * workers]))  # load the models
        found = benchmark.pedantic(lambda: list(spread(hint, calls)), rounds=1, iterations=1)
    assert len(found) == len(calls)
    if benchmark.stats is not None:
        seconds = benchmark.stats.stats.mean
        benchmark.extra_info["passages per second"] = round(len(calls) / seconds, 1)

"""Work spread over a Dask cluster of two worker processes: same output, even when one dies."""

import builtins
import json
import os
import signal
import subprocess
import sys

import pytest

from rwtools.drills.cluster import connected
from rwtools.drills.make import make_items
from rwtools.drills.spread import here, processes
from rwtools.errors import UsageError
from rwtools.hints import hint
from rwtools.items.model import read_item
from rwtools.items.solving import solve_batch


def two_workers():
    distributed = pytest.importorskip("distributed")
    return distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
    )


def one_of_its_workers(cluster):
    """The process id of a worker, once both are there."""
    from distributed import Client

    with Client(cluster.scheduler_address, set_as_default=False) as client:
        client.wait_for_workers(2)
        return sorted(client.run(os.getpid).values())[0]


@pytest.fixture(scope="module")
def cluster():
    with two_workers() as made:
        yield made


@pytest.fixture(scope="module")
def calls(passages):
    """One passage a call, 24 calls."""
    return [(text,) for text in list(passages.values())[:24]]


@pytest.fixture(scope="module")
def expected(calls):
    return list(here(hint, calls))


def test_the_order_and_the_results_are_those_of_one_process(cluster, calls, expected):
    with connected(cluster.scheduler_address) as spread:
        assert list(spread(hint, calls)) == expected


def test_a_worker_is_killed_in_mid_run(cluster, calls, expected):
    victim = one_of_its_workers(cluster)
    with connected(cluster.scheduler_address) as spread:
        results = spread(hint, calls)
        found = [next(results), next(results)]
        os.kill(victim, signal.SIGKILL)
        found += results
    assert found == expected
    with pytest.raises(ProcessLookupError):
        os.kill(victim, 0)


def test_items_are_solved_although_a_worker_is_killed(cluster, root):
    lines = (root / "corpus" / "drills" / "items.jsonl").read_text(encoding="utf-8").splitlines()
    items = [read_item(json.loads(line)) for line in lines[:16]]
    groups = [([item],) for item in items]
    alone = list(here(solve_batch, groups))
    victim = one_of_its_workers(cluster)
    with connected(cluster.scheduler_address) as spread:
        results = spread(solve_batch, groups)
        found = [next(results)]
        os.kill(victim, signal.SIGKILL)
        found += results
    with pytest.raises(ProcessLookupError):
        os.kill(victim, 0)
    assert [s.answer for [s] in found] == [s.answer for [s] in alone]
    assert [s.model_dump_json() for [s] in found] == [s.model_dump_json() for [s] in alone]


def unlettered(item):
    """An item without the order of its choices."""
    key = item.choices[item.letters.index(item.answer)]
    return {**item.model_dump(), "choices": sorted(item.choices), "answer": key}


@pytest.mark.slow
def test_items_are_made_although_a_worker_is_killed(made_once, pairs, passages):
    """What comes of the first passages is what one process made of them; only the letters of the
    keys, which are spread over the whole drill, may be others."""
    items, _ = made_once
    pairs = [*pairs, ("cut-line", passages["cut-line"])]
    alone = [item for item in items if item.skill == "punctuation"]
    with two_workers() as cluster:
        victim = one_of_its_workers(cluster)
        done = []

        def kill_once(_):
            if not done:
                os.kill(victim, signal.SIGKILL)
            done.append(1)

        with connected(cluster.scheduler_address) as spread:
            again, report = make_items(
                pairs, skills=["punctuation"], seed=4, spread=spread, advance=kill_once
            )
    assert [unlettered(i) for i in again[: len(alone)]] == [unlettered(i) for i in alone]
    assert {item.source for item in again[len(alone) :]} == {"cut-line"}
    assert report.passages == len(pairs)


def test_the_calls_are_taken_as_needed(cluster):
    taken = []

    def numbers():
        for n in range(500):
            taken.append(n)
            yield (n,)

    with connected(cluster.scheduler_address) as spread:
        results = spread(str, numbers())
        assert next(results) == "0"
        assert len(taken) < 20


def test_the_command_gives_the_same_batch(cluster, passages, tmp_path):
    source = tmp_path / "passages.jsonl"
    rows = [json.dumps({"id": k, "passage": p}) for k, p in list(passages.items())[:3]]
    source.write_text("\n".join(rows) + "\n{broken\n")

    def run(*more):
        return subprocess.run(
            [sys.executable, "-m", "rwtools", "hint", "--batch", str(source), *more],
            capture_output=True,
            text=True,
            check=False,
        )

    alone, spread = run(), run("--cluster", cluster.scheduler_address)
    assert spread.returncode == alone.returncode == 2
    assert spread.stdout == alone.stdout
    assert len(alone.stdout.splitlines()) == 3
    assert "line 4" in spread.stderr


def test_no_cluster_answers():
    pytest.importorskip("distributed")
    with (
        pytest.raises(UsageError, match=r"no Dask cluster answers at tcp://127.0.0.1:9"),
        connected("tcp://127.0.0.1:9", patience=1),
    ):
        pass


@pytest.mark.parametrize(
    ("address", "message"),
    [("x:y", "no Dask cluster answers"), ("nowhere", "looks like tcp://"), ("", "looks like")],
)
def test_a_word_that_is_no_address(address, message):
    pytest.importorskip("distributed")
    with pytest.raises(UsageError, match=message), connected(address, patience=1):
        pass


def test_dask_is_not_there(monkeypatch):
    real = builtins.__import__

    def without(name, *rest, **named):
        if name.split(".")[0] == "distributed":
            raise ImportError(name)
        return real(name, *rest, **named)

    monkeypatch.setattr(builtins, "__import__", without)
    with (
        pytest.raises(UsageError, match=r"this needs Dask: pip install \"rwtools\[cluster\]\""),
        connected("tcp://127.0.0.1:8786"),
    ):
        pass


def test_processes_of_this_machine_keep_the_order():
    with processes(2) as spread:
        assert list(spread(divmod, ((n, 7) for n in range(50)))) == [
            divmod(n, 7) for n in range(50)
        ]

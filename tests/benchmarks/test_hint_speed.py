"""How long hints take. Run with `make bench`; ratios come from one run, so that a slow machine
does not change them. Under plain pytest these are skipped."""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time

import pytest

from rwtools.hints import hint, hint_many
from rwtools.text.load import pipeline
from rwtools.text.spans import for_parser

pytestmark = pytest.mark.benchmark


@pytest.fixture(autouse=True)
def _only_as_benchmark(request):
    if not request.config.getoption("--benchmark-enable"):
        pytest.skip("a benchmark: run `make bench`")


@pytest.fixture(scope="module")
def thousand(passages):
    prose = [p for p in passages.values() if "\n" not in p]
    return [prose[n % len(prose)] for n in range(1000)]


def test_thousand_passages_against_the_parser_alone(benchmark, thousand):
    """At most 1.6 times what spaCy's own pipeline costs on the same text (taken in turns)."""
    nlp = pipeline()
    plain = [for_parser(p) for p in thousand]
    list(hint_many(thousand[:64]))

    def parser_alone() -> float:
        start = time.perf_counter()
        for _ in nlp.pipe(plain, batch_size=64):
            pass
        return time.perf_counter() - start

    def everything() -> float:
        start = time.perf_counter()
        for _ in hint_many(thousand):
            pass
        return time.perf_counter() - start

    pairs = [(everything(), parser_alone()) for _ in range(3)]
    ratio = statistics.median(a / b for a, b in pairs)
    benchmark.extra_info["ratio_to_parser"] = round(ratio, 3)
    benchmark.pedantic(lambda: list(hint_many(thousand)), rounds=1)
    print(f"\nhint / parser alone: {ratio:.2f}")
    assert ratio <= 1.6


def test_warm_hint_of_one_passage(benchmark, passages):
    """Median under 60 ms on one core for a passage of about 120 words."""
    passage = passages["tide-mill"]
    hint(passage)
    benchmark.pedantic(hint, args=(passage,), rounds=40, warmup_rounds=3)
    assert benchmark.stats.stats.median < 0.060


def test_help_starts_quickly(benchmark):
    """`rwtools --help` in a new process, under 0.35 s."""
    command = [sys.executable, "-m", "rwtools", "--help"]
    benchmark.pedantic(
        lambda: subprocess.run(command, check=True, capture_output=True), rounds=7, warmup_rounds=1
    )
    assert benchmark.stats.stats.median < 0.35


def test_memory_of_a_batch_stays_under_500_mb(benchmark, thousand, tmp_path):
    """Peak resident memory of a process that hints 1,000 passages."""
    import json

    path = tmp_path / "batch.jsonl"
    lines = (json.dumps({"id": n, "passage": p}) for n, p in enumerate(thousand))
    path.write_text("\n".join(lines), encoding="utf-8")
    command = [sys.executable, "-m", "rwtools", "hint", "--batch", str(path)]
    peaks = []

    def hinted() -> None:
        process = subprocess.Popen(command, stdout=subprocess.DEVNULL)
        _, status, used = os.wait4(process.pid, 0)  # this process only, whatever ran before
        process.returncode = os.waitstatus_to_exitcode(status)
        assert process.returncode == 0
        peaks.append(used.ru_maxrss)

    benchmark.pedantic(hinted, rounds=1)
    peak = max(peaks)
    benchmark.extra_info["peak_mb"] = peak // 1024
    print(f"\npeak memory: {peak // 1024} MB")
    assert peak < 500 * 1024

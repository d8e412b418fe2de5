"""Speed, memory and size of the judge. Run with ``pytest tests/benchmarks --benchmark-enable``.

The targets hold on two quiet cores: 250 ms for four choices in a passage of 120 words, one second
for loading. The teacher runs beside it where PyTorch is installed and ``RWTOOLS_TEACHER`` names the
folder of its GGUF file.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from rwtools import artifact, judge
from rwtools.judge import engine

PREFIX = (
    "The first ships came from the north in spring. The captain had hoped that the ice would be "
    "gone by then. Most of the men had never been so far from home, and few of them could read the "
    "charts that hung in the cabin."
)
CHOICES = (" However,", " Therefore,", " For example,", " Similarly,")
SUFFIX = (
    " the crew had to wait in the harbour for three weeks, and most of the food that they had "
    "brought along was eaten before the journey had even begun. When the ice broke at last, the "
    "captain bought what he could in the small market, paid with his own silver watch, and set "
    "sail on the same evening. Nobody in the town had expected him to leave so soon."
)


def test_four_choices_in_a_passage(benchmark):
    engine.engine()
    values = benchmark(judge.compare, PREFIX, CHOICES, SUFFIX)
    assert len(values) == len(CHOICES)


def test_the_teacher_in_the_same_passage(benchmark, monkeypatch):
    """The teacher on whole texts in 32-bit floats, two threads: what the judge stands for."""
    torch = pytest.importorskip("torch", reason="the teacher needs PyTorch")
    folder = os.environ.get("RWTOOLS_TEACHER")
    if not folder:
        pytest.skip("RWTOOLS_TEACHER does not name the folder of the teacher's GGUF file")
    monkeypatch.syspath_prepend(Path(__file__).parents[2] / "models" / "judge")
    from train import load_teacher

    torch.set_num_threads(2)
    network = load_teacher(Path(folder)).requires_grad_(False)
    rows = engine.engine().encode_many([PREFIX + choice + SUFFIX for choice in CHOICES])
    values = [float(v.sum()) for v in benchmark(network.logprobs, rows)]
    mine = judge.compare(PREFIX, CHOICES, SUFFIX)
    assert values.index(max(values)) == mine.index(max(mine))


SHORT = [(f"On day {n} the dogs", [" were", " was"], " asleep.") for n in range(16)]


def test_a_batch_of_short_places(benchmark):
    values = benchmark(judge.compare_many, SHORT)
    assert all(were > was for were, was in values)


def test_the_same_places_one_by_one(benchmark):
    values = benchmark(lambda: [judge.compare(*place) for place in SHORT])
    assert all(were > was for were, was in values)


def test_loading(benchmark):
    loaded = benchmark.pedantic(engine.Engine, (artifact.folder("judge"),), rounds=2)
    assert loaded.window >= 512


MEMORY = """
import sys
sys.path.insert(0, {here!r})
def kilobytes(what):
    return next(int(x.split()[1]) for x in open("/proc/self/status") if x.startswith(what))
from rwtools import judge
before = kilobytes("VmRSS")
from test_judge_speed import PREFIX, CHOICES, SUFFIX
for _ in range(3):
    judge.compare(PREFIX, CHOICES, SUFFIX)
print((kilobytes("VmHWM") - before) * 1024)
"""


def test_peak_memory():
    """Highest resident size in a fresh process less that before the judge is loaded: 400 MB."""
    if not Path("/proc/self/status").exists():
        pytest.skip("the high-water mark is read from /proc")
    code = MEMORY.format(here=str(Path(__file__).parent))
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert int(run.stdout) <= 400_000_000


def test_the_shared_beginning_is_run_once():
    """The work of a comparison, in tokens, is far below that of whole texts."""
    model = engine.engine()
    tokens = model.encode_many([PREFIX + choice + SUFFIX for choice in CHOICES])
    from rwtools.judge.scoring import _job

    assert _job(model.start, tokens).size < 0.45 * sum(map(len, tokens))


def test_files_are_small_enough():
    sizes = [path.stat().st_size for path in artifact.folder("judge").iterdir() if path.is_file()]
    if artifact.folder("judge") != artifact.resources.artifact("judge"):
        pytest.skip("RWTOOLS_JUDGE names another artifact")
    assert sum(sizes) <= 60_000_000
    assert max(sizes) <= 45_000_000

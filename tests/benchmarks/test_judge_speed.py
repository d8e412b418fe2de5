"""Speed and size of the judge. Run with ``pytest tests/benchmarks --benchmark-enable``.

The targets hold on two quiet cores: 250 ms for four choices in a passage of 120 words.
"""

from __future__ import annotations

import pytest

from rwtools import judge
from rwtools.judge import artifact, engine

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


def test_a_batch_of_short_places(benchmark):
    places = [(f"On day {n} the dogs", [" were", " was"], " asleep.") for n in range(16)]
    values = benchmark(judge.compare_many, places)
    assert all(were > was for were, was in values)


def test_loading(benchmark):
    loaded = benchmark.pedantic(engine.Engine, (artifact.folder(),), rounds=2)
    assert loaded.window >= 512


def test_the_shared_beginning_is_run_once():
    """The work of a comparison, in tokens, is far below that of whole texts."""
    model = engine.engine()
    tokens = model.encode_many([PREFIX + choice + SUFFIX for choice in CHOICES])
    from rwtools.judge.scoring import _job

    assert _job(model.start, tokens).size < 0.45 * sum(map(len, tokens))


def test_files_are_small_enough():
    sizes = [path.stat().st_size for path in artifact.folder().iterdir() if path.is_file()]
    if artifact.folder() != artifact.resources.artifact("judge"):
        pytest.skip("RWTOOLS_JUDGE names another artifact")
    assert sum(sizes) <= 60_000_000
    assert max(sizes) <= 45_000_000

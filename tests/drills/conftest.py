"""One run of making, shared by the tests: the language models are slow to load and to ask."""

from __future__ import annotations

import pytest

from rwtools import judge
from rwtools.drills.make import make_items
from rwtools.errors import ArtifactError

NAMES = ("tide-mill", "salt-road")
SEED = 4


@pytest.fixture(scope="session")
def pairs(passages):
    """Names and texts of the passages that items are made from."""
    return [(name, passages[name]) for name in NAMES]


@pytest.fixture(scope="session")
def made_once(pairs):
    """Items and report of one run with seed 4; skips where the judge's files are not there."""
    try:
        judge.compare("A ", ["mill", "hill"])
    except ArtifactError as error:
        pytest.skip(f"the judge is not there: {error}")
    return make_items(pairs, seed=SEED)

"""Items of the corpus, and the judge, without which nothing can be solved."""

from __future__ import annotations

import json
from hashlib import sha256

import pytest

from rwtools import judge
from rwtools.errors import ArtifactError
from rwtools.items.model import Item, read_item

CORE = ("transition", "punctuation", "grammar", "vocabulary")


def is_dev(item_id: str) -> bool:
    """The split that corpus/items/README.md defines."""
    return int(sha256(item_id.encode()).hexdigest()[:8], 16) % 2 == 1


@pytest.fixture(scope="session")
def corpus_items(root) -> list[Item]:
    return [
        read_item(json.loads(line))
        for skill in CORE
        for line in (root / "corpus" / "items" / f"{skill}.jsonl")
        .read_text(encoding="utf-8")
        .splitlines()
    ]


@pytest.fixture(scope="session")
def train_items(corpus_items) -> list[Item]:
    return [item for item in corpus_items if not is_dev(item.id)]


@pytest.fixture(scope="session")
def with_judge() -> None:
    try:
        judge.verify()
    except ArtifactError as error:
        pytest.skip(f"the judge is not here: {error}")

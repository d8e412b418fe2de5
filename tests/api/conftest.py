"""One application for the API tests: the models load once."""

from __future__ import annotations

import json

import pytest
from fastapi.testclient import TestClient

from rwtools.api.app import create_app
from rwtools.api.settings import Settings

HOST = "http://127.0.0.1:8765"


@pytest.fixture(scope="session")
def client():
    with TestClient(create_app(Settings(max_body=100_000)), base_url=HOST) as made:
        yield made


@pytest.fixture(scope="session")
def some_items(root):
    """Written items: more than one batch, each core skill among them."""
    found = []
    for skill in ("transition", "vocabulary", "punctuation", "grammar"):
        lines = (root / "corpus" / "items" / f"{skill}.jsonl").read_text("utf-8").splitlines()
        found += [json.loads(line) for line in lines[: 2 if skill == "transition" else 1]]
    return found

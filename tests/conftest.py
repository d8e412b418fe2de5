"""What several tests need: the folder with the open data, the project's root, its passages."""

from __future__ import annotations

import gzip
import json
import os
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent


@pytest.fixture(scope="session")
def root() -> Path:
    return ROOT


@pytest.fixture(scope="session")
def passages() -> dict[str, str]:
    files = sorted((ROOT / "corpus" / "passages").glob("*.txt"))
    return {p.stem: p.read_text(encoding="utf-8").strip() for p in files}


@pytest.fixture(scope="session")
def open_data():
    """Read a file of the data folder (RWTOOLS_DATA, default ../shared/data); skip without it."""
    folder = Path(os.environ.get("RWTOOLS_DATA", ROOT.parent / "shared" / "data"))

    def read(name: str) -> list[dict]:
        path = folder / name
        if not path.exists():
            pytest.skip(f"{name} is not in {folder}: set RWTOOLS_DATA to the data folder")
        opener = gzip.open if path.suffix == ".gz" else open
        with opener(path, "rt", encoding="utf-8") as lines:
            return [json.loads(line) for line in lines]

    return read

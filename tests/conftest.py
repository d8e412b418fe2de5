"""What several tests need: the folder with the open data, the project's root, its passages."""

from __future__ import annotations

import contextlib
import gzip
import json
import os
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import httpx
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


@contextlib.contextmanager
def _serving(*options: str):
    """A server process on a free port, in a process group of its own; gives address and process."""
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        port = found.getsockname()[1]
    command = [sys.executable, "-m", "rwtools", "serve", "--port", str(port), *options]
    server = subprocess.Popen(command, stderr=subprocess.PIPE, text=True, start_new_session=True)
    address = f"http://127.0.0.1:{port}"
    try:
        for _ in range(600):
            assert server.poll() is None, server.stderr.read()
            try:
                httpx.get(f"{address}/v1/health", timeout=30)
                break
            except httpx.TransportError:
                time.sleep(0.2)
        else:
            pytest.fail("the server did not start")
        yield address, server
    finally:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(server.pid, signal.SIGKILL)
        server.communicate()


@pytest.fixture(scope="session")
def serving():
    """Start `rwtools serve`: ``with serving("--workers", "2") as (address, process)``."""
    return _serving

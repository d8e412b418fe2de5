"""`rwtools serve` as a process: who may reach it, several workers, and a sudden end."""

from __future__ import annotations

import contextlib
import json
import os
import signal
import subprocess
import time

import pytest
from typer.testing import CliRunner

import rwtools
from rwtools.api.client import ServerError
from rwtools.cli.app import app

PITH = "The pith, or soft core, is light; however, it is strong."


def test_other_addresses_need_a_token():
    done = CliRunner().invoke(app, ["serve", "--host", "0.0.0.0"])
    assert isinstance(done.exception, rwtools.RwtoolsError)
    assert "--token" in str(done.exception)


def test_a_token_opens_the_server_to_others_with_a_warning(monkeypatch):
    import uvicorn

    asked = {}
    monkeypatch.setattr(uvicorn, "run", lambda *_, **options: asked.update(options))
    monkeypatch.delenv("RWTOOLS_API_SETTINGS", raising=False)
    done = CliRunner().invoke(app, ["serve", "--host", "192.0.2.7", "--token", "secret"])
    monkeypatch.delenv("RWTOOLS_API_SETTINGS")
    assert done.exit_code == 0
    assert "warning" in done.stderr
    assert asked["host"] == "192.0.2.7"
    done = CliRunner().invoke(app, ["serve"])
    monkeypatch.delenv("RWTOOLS_API_SETTINGS")
    assert "warning" not in done.stderr
    assert asked["host"] == "127.0.0.1"


def test_a_sudden_end_loses_nothing_that_was_acknowledged(serving):
    """SIGKILL in mid-batch: the lines that came are whole, and the rest can be asked for again."""
    passages = [f"{PITH} It has {n} rings, so it bends." for n in range(400)]
    got = []

    def read_and_kill(ask, server):
        for clues in ask.hint_many(passages):
            got.append(clues)
            if len(got) == 20:
                os.killpg(server.pid, signal.SIGKILL)

    with (
        serving() as (address, server),
        rwtools.Client(address) as ask,
        pytest.raises(ServerError, match="no answer from the server"),
    ):
        read_and_kill(ask, server)
    assert 20 <= len(got) < len(passages)

    def plain(clues):
        return [clue.to_dict() for clue in clues]

    # Nothing but the answers is kept anywhere, so the same request gives the same lines.
    assert [*map(plain, got)] == [*map(plain, rwtools.hint_many(passages[: len(got)]))]


@pytest.mark.slow
def test_workers_serve_together_and_one_that_dies_is_replaced(serving):
    with serving("--workers", "2", "--token", "secret") as (address, server):
        with rwtools.Client(address, token="secret") as ask:
            assert ask.hint(PITH)
            children = _children(server.pid)
            assert len(children) >= 2
            os.kill(children[-1], signal.SIGKILL)
            end = time.monotonic() + 120
            while time.monotonic() < end:
                with contextlib.suppress(ServerError):
                    if children[-1] not in _children(server.pid) and ask.hint(PITH):
                        break
                time.sleep(0.5)
            else:
                pytest.fail("no answer after a worker died")
        with rwtools.Client(address) as ask, pytest.raises(ServerError, match="401"):
            ask.health()


def _children(pid: int) -> list[int]:
    command = ["ps", "-o", "pid=", "--ppid", str(pid)]
    found = subprocess.run(command, capture_output=True, text=True, check=False)
    return [int(line) for line in found.stdout.split()]


def test_the_described_api_is_the_served_one(client, root):
    text = (root / "shared" / "openapi.json").read_text("utf-8")
    assert client.get("/openapi.json").json() == json.loads(text)

"""`rwtools serve` as a process: who may reach it, several workers, and a sudden end."""

from __future__ import annotations

import contextlib
import json
import os
import signal
import socket
import subprocess
import time
from pathlib import Path

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
    asked = []
    monkeypatch.setattr("rwtools.api.server.serve", lambda settings, _: asked.append(settings))
    done = CliRunner().invoke(app, ["serve", "--host", "192.0.2.7", "--token", "secret"])
    assert done.exit_code == 0
    assert "warning" in done.stderr
    assert asked[0].host == "192.0.2.7"
    assert "192.0.2.7" in asked[0].hosts
    done = CliRunner().invoke(app, ["serve"])
    assert "warning" not in done.stderr
    assert asked[1].host == "127.0.0.1"


def test_a_taken_port_and_a_strange_address_take_one_line():
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        done = CliRunner().invoke(app, ["serve", "--port", str(port)])
    assert isinstance(done.exception, rwtools.RwtoolsError)
    assert str(port) in str(done.exception)
    # 192.0.2.0/24 is for documentation (RFC 5737): no computer has it.
    done = CliRunner().invoke(app, ["serve", "--host", "192.0.2.7", "--token", "secret"])
    assert isinstance(done.exception, rwtools.RwtoolsError)
    assert "192.0.2.7" in str(done.exception)


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


@pytest.fixture(scope="module")
def pair(serving):
    """A server with two workers and a token."""
    with serving("--workers", "2", "--token", "secret") as (address, server):
        yield address, server


@pytest.mark.slow
def test_workers_share_one_copy_of_the_models(pair):
    """Proportional sizes (proc_pid_smaps(5)) count a page that three processes share as thirds."""
    _, server = pair
    sizes = [_memory(pid) for pid in (server.pid, *_children(server.pid))]
    assert len(sizes) == 3
    resident, proportional = (sum(column) for column in zip(*sizes, strict=True))
    # The parent alone has some 600 MB; without sharing, the sum would be three times that.
    assert proportional < 0.5 * resident


@pytest.mark.slow
def test_workers_serve_together_and_one_that_dies_is_replaced(pair):
    address, server = pair
    with rwtools.Client(address, token="secret") as ask:
        assert ask.hint(PITH)
        children = _children(server.pid)
        assert len(children) == 2
        os.kill(children[-1], signal.SIGKILL)
        end = time.monotonic() + 60
        while len(now := _children(server.pid)) < 2 or children[-1] in now:
            assert time.monotonic() < end
            time.sleep(0.1)
        while time.monotonic() < end:
            with contextlib.suppress(ServerError):
                if ask.hint(PITH):
                    break
        else:
            pytest.fail("no answer after a worker died")
    with rwtools.Client(address) as ask, pytest.raises(ServerError, match="401"):
        ask.health()


@pytest.mark.slow
def test_workers_end_with_their_parent(pair):
    """Last of the module: it ends the shared server."""
    _, server = pair
    children = _children(server.pid)
    server.kill()
    server.wait(10)
    end = time.monotonic() + 30
    while any(Path(f"/proc/{pid}").exists() for pid in children):
        assert time.monotonic() < end
        time.sleep(0.1)


@pytest.mark.slow
def test_a_request_to_stop_stops_all(serving):
    with serving("--workers", "2") as (_, server):
        children = _children(server.pid)
        server.terminate()
        assert server.wait(30) == 0
        assert not any(Path(f"/proc/{pid}").exists() for pid in children)


def _memory(pid: int) -> tuple[int, int]:
    """Resident and proportional size in kB."""
    lines = Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines()[1:]
    found = {name: int(size) for name, size, *_ in map(str.split, lines)}
    return found["Rss:"], found["Pss:"]


def _children(pid: int) -> list[int]:
    command = ["ps", "-o", "pid=", "--ppid", str(pid)]
    found = subprocess.run(command, capture_output=True, text=True, check=False)
    return [int(line) for line in found.stdout.split()]


def test_the_described_api_is_the_served_one(client, root):
    text = (root / "shared" / "openapi.json").read_text("utf-8")
    assert client.get("/openapi.json").json() == json.loads(text)

"""The server's processes: one, or several that share one copy of the models in memory.

The parent binds the port, loads the models and forks; the children only read what it loaded, so
the kernel keeps one copy (copy-on-write). Threads start after the fork, in each child. Each child
has a listening socket of its own, among which the kernel shares out the connections: with one for
all, the child that is awake takes most of them. A child that starts anew takes over the socket, and
the connections that wait there, of the one that ended.
"""

from __future__ import annotations

import gc
import os
import signal
import socket
import sys
import threading
import time
from collections.abc import Callable
from types import FrameType

import uvicorn

from rwtools.api.app import create_app
from rwtools.api.models import load_to_share
from rwtools.api.settings import Settings
from rwtools.errors import UsageError

__all__ = ["serve"]

_BREATH = 1.0
"""Seconds that a worker must have lived to be replaced at once."""

_GRACE = 5
"""Seconds that open requests are given at the end."""


def serve(settings: Settings, started: Callable[[], None] = lambda: None) -> None:
    """Serve until SIGINT or SIGTERM. ``started`` is called once the port is ours.

    Raises `UsageError` where the port is taken or the address is not this computer's.
    """
    listener = _bind(settings.host, settings.port)
    if settings.workers == 1:
        started()
        _Server(settings).run(sockets=[listener])
        return
    listener.close()  # it has shown that the port is free; those that follow may share it
    listeners = [_bind(settings.host, settings.port, shared=True) for _ in range(settings.workers)]
    started()
    load_to_share()
    gc.collect()
    # Out of the collector's sight, which would write to every object and so copy its page.
    gc.freeze()
    _Parent(settings, listeners).run()


def _bind(host: str, port: int, *, shared: bool = False) -> socket.socket:
    try:
        family, kind, protocol, _, address = socket.getaddrinfo(
            host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE
        )[0]
        listener = socket.socket(family, kind, protocol)
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        if shared:
            listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEPORT, 1)
        listener.bind(address)
    except OSError as error:
        why = (error.strerror or str(error)).lower()
        raise UsageError(f"cannot listen on {host}, port {port} ({why})") from error
    return listener


class _Server(uvicorn.Server):
    """uvicorn's server, which ends when its parent process is gone."""

    def __init__(self, settings: Settings, parent: int | None = None) -> None:
        super().__init__(
            uvicorn.Config(
                create_app(settings),
                log_level="warning",
                server_header=False,
                timeout_graceful_shutdown=_GRACE,
            )
        )
        self._parent = parent

    async def on_tick(self, counter: int) -> bool:
        """Called ten times a second: whether to end."""
        orphan = self._parent is not None and os.getppid() != self._parent
        return await super().on_tick(counter) or orphan


class _Parent:
    """Keeps a worker alive for each socket, until a signal ends them all."""

    def __init__(self, settings: Settings, listeners: list[socket.socket]) -> None:
        self._settings = settings
        self._free = listeners
        self._workers: dict[int, tuple[socket.socket, float]] = {}
        self._ending = False

    def run(self) -> None:
        for number in (signal.SIGINT, signal.SIGTERM):
            signal.signal(number, self._end)
        while True:
            while self._free and not self._ending:
                self._fork(self._free.pop())
            if not self._workers:
                return
            pid, status = os.wait()
            if pid not in self._workers:
                continue
            listener, born = self._workers.pop(pid)
            self._free.append(listener)
            if not self._ending:
                why = os.waitstatus_to_exitcode(status)
                print(f"rwtools: a worker ended ({why}); a new one starts", file=sys.stderr)
                time.sleep(max(0.0, born + _BREATH - time.monotonic()))

    def _end(self, number: int, frame: FrameType | None) -> None:
        self._ending = True
        for pid in self._workers:
            os.kill(pid, signal.SIGTERM)

    def _fork(self, listener: socket.socket) -> None:
        assert threading.active_count() == 1, "a fork would lose threads"
        parent = os.getpid()
        # A signal must not fall between the fork and the note of it.
        signal.pthread_sigmask(signal.SIG_BLOCK, (signal.SIGINT, signal.SIGTERM))
        pid = os.fork()
        if pid == 0:
            self._work(listener, parent)
        self._workers[pid] = listener, time.monotonic()
        signal.pthread_sigmask(signal.SIG_UNBLOCK, (signal.SIGINT, signal.SIGTERM))

    def _work(self, listener: socket.socket, parent: int) -> None:
        """A worker's life; it never comes back to the parent's code."""
        status = 1
        try:
            signal.signal(signal.SIGINT, signal.SIG_DFL)
            signal.signal(signal.SIGTERM, signal.SIG_DFL)
            signal.pthread_sigmask(signal.SIG_UNBLOCK, (signal.SIGINT, signal.SIGTERM))
            _Server(self._settings, parent).run(sockets=[listener])
            status = 0
        finally:
            sys.stderr.flush()
            os._exit(status)

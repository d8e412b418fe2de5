"""Lanes for language work: one thread each, so many pieces waiting, no more.

Single passages have a lane of their own, so that they do not wait behind long batches, and large
passages another, so that small ones do not wait behind them. A lane has
one thread because Python runs one at a time anyway: two that take turns make both callers wait for
both. More processes (``--workers``) use more cores.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import ParamSpec, TypeVar

from rwtools.api.problems import BusyError, TooSlowError

__all__ = ["Lane", "Lanes"]

QUICK = 4_000
"""Characters that a passage of the quick lane has at most; most prose takes a fifth of a second."""

P = ParamSpec("P")
T = TypeVar("T")


class Lane:
    """One piece of work after another; ``queue_limit`` in all, ``time_limit`` seconds for each."""

    def __init__(self, name: str, queue_limit: int, time_limit: float) -> None:
        self._threads = ThreadPoolExecutor(1, thread_name_prefix=name)
        self._limit = queue_limit
        self._time = time_limit
        self.pending = 0

    async def run(self, job: Callable[P, T], *args: P.args, **kwargs: P.kwargs) -> T:
        """The job's result. Raises `BusyError` (queue full) or `TooSlowError` (time limit).

        A job that is too slow cannot be stopped in its thread; it keeps its place in the queue
        until it ends, so that slow jobs cannot pile up.
        """
        if self.pending >= self._limit:
            raise BusyError
        self.pending += 1
        future = self._threads.submit(job, *args, **kwargs)
        loop = asyncio.get_running_loop()
        future.add_done_callback(lambda _: _safely(loop, self._done))
        try:
            return await asyncio.wait_for(asyncio.wrap_future(future), self._time)
        except TimeoutError as error:
            raise TooSlowError(self._time) from error

    def _done(self) -> None:
        self.pending -= 1

    def close(self) -> None:
        """Take no more work."""
        self._threads.shutdown(wait=False, cancel_futures=True)


class Lanes:
    """``quick`` for single passages, ``large`` for those above `QUICK` characters, ``long`` for
    everything else."""

    def __init__(self, queue_limit: int, time_limit: float) -> None:
        self.quick = Lane("quick", queue_limit, time_limit)
        self.large = Lane("large", queue_limit, time_limit)
        self.long = Lane("long", queue_limit, time_limit)

    @property
    def pending(self) -> int:
        """Pieces of work that wait or are in hand."""
        return self.quick.pending + self.large.pending + self.long.pending

    def for_passage(self, passage: str) -> Lane:
        """The lane for a single passage."""
        return self.quick if len(passage) <= QUICK else self.large

    def close(self) -> None:
        """Take no more work."""
        self.quick.close()
        self.large.close()
        self.long.close()


def _safely(loop: asyncio.AbstractEventLoop, call: Callable[[], None]) -> None:
    if not loop.is_closed():
        loop.call_soon_threadsafe(call)

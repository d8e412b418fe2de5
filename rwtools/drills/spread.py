"""Spread work over processes of this machine: the same results in the same order."""

from __future__ import annotations

import os
import signal
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, TypeVar

from rwtools.errors import WorkerError

if TYPE_CHECKING:
    from multiprocessing.queues import Queue

__all__ = ["Spread", "here", "processes", "with_groups", "workers"]

Group = TypeVar("Group")
Result = TypeVar("Result")
Spread = Callable[[Callable[..., Any], Iterable[tuple[Any, ...]]], Iterator[Any]]
"""Calls a function with each tuple of arguments and gives the results in the order of the calls.
The calls are taken from the stream as they are needed, a few ahead."""


_PATIENCE = 5.0
"""Seconds to wait for the end of a process that was told to end."""


_NAP = 0.5
"""Seconds after which it is looked whether an interrupt has come."""


def here(function: Callable[..., Result], calls: Iterable[tuple[Any, ...]]) -> Iterator[Result]:
    """The `Spread` of one process: one call after the other."""
    for arguments in calls:
        yield function(*arguments)


@contextmanager
def processes(jobs: int) -> Iterator[Spread]:
    """A `Spread` over so many processes of this machine; `here` for one.

    Each process keeps to its share of the cores, so that they don't wait for each other. Where the
    work is given up (an error, Ctrl+C), they are ended at once. Raises `WorkerError` if one dies.
    """
    if jobs == 1:
        yield here
        return
    from concurrent.futures import Future, ProcessPoolExecutor, wait
    from concurrent.futures.process import BrokenProcessPool
    from multiprocessing import active_children, get_context

    others = set(active_children())

    context = get_context("spawn")
    numbers = context.Queue()
    for number in range(jobs):
        numbers.put(number)
    pool = ProcessPoolExecutor(
        jobs, mp_context=context, initializer=_take_share, initargs=(numbers, jobs)
    )

    def spread(
        function: Callable[..., Result], calls: Iterable[tuple[Any, ...]]
    ) -> Iterator[Result]:
        waiting: deque[Future[Result]] = deque()

        def first() -> Result:
            # Another thread may take an interrupt; this one, asleep, would not hear of it.
            while not waiting[0].done():
                wait([waiting[0]], timeout=_NAP)
            return waiting.popleft().result()

        for arguments in calls:
            with _deaf_to_interrupts():
                waiting.append(pool.submit(function, *arguments))
            if len(waiting) > 2 * jobs:
                yield first()
        while waiting:
            yield first()

    try:
        yield spread
    except BaseException as error:
        pool.shutdown(wait=False, cancel_futures=True)
        own = set(active_children()) - others
        for child in own:
            child.terminate()
        for child in own:
            child.join(_PATIENCE)
        if isinstance(error, BrokenProcessPool):
            why = "a process that shared the work has died; more memory or fewer --jobs may help"
            raise WorkerError(why) from error
        raise
    pool.shutdown(cancel_futures=True)


@contextmanager
def _deaf_to_interrupts() -> Iterator[None]:
    """Start processes to which Ctrl+C, which reaches all, means nothing: the first one decides."""
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


@contextmanager
def workers(jobs: int, cluster: str | None) -> Iterator[Spread]:
    """The `Spread` that a command's options ask for: a Dask cluster's address, or so many jobs."""
    if cluster is None:
        with processes(jobs) as spread:
            yield spread
        return
    from rwtools.drills.cluster import connected

    with connected(cluster) as spread:
        yield spread


def with_groups(
    spread: Spread, function: Callable[[Group], Result], groups: Iterable[Group]
) -> Iterator[tuple[Group, Result]]:
    """Each group with what the function makes of it, in order; few groups are held at a time."""
    sent: deque[Group] = deque()

    def calls() -> Iterator[tuple[Group]]:
        for group in groups:
            sent.append(group)
            yield (group,)

    for result in spread(function, calls()):
        yield sent.popleft(), result


def _take_share(numbers: Queue[int], jobs: int) -> None:
    own = sorted(os.sched_getaffinity(0))
    share = max(1, len(own) // jobs)
    first = numbers.get() * share
    os.environ["OMP_NUM_THREADS"] = str(share)
    os.sched_setaffinity(0, {own[(first + k) % len(own)] for k in range(share)})

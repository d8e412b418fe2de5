"""Spread the language part (solve, make, hint batches) over a Dask cluster.

The workers call the same functions on the same arguments, results come back in order, and work that
a lost worker had is done again by another; so the output is that of one process. Dask is an extra:
``pip install "rwtools[cluster]"``.
"""

from __future__ import annotations

import logging
import socket
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from importlib import import_module
from typing import Any, TypeVar
from urllib.parse import urlsplit

from rwtools.drills.spread import Spread
from rwtools.errors import UsageError

__all__ = ["connected"]

_AHEAD = 3
"""Calls sent ahead for each worker thread, so that none waits and memory stays bounded."""

_PATIENCE = 10.0
"""Seconds to wait for the cluster and for its first worker."""

Result = TypeVar("Result")


@contextmanager
def connected(address: str, *, patience: float = _PATIENCE) -> Iterator[Spread]:
    """A `Spread` over the cluster at an address such as ``tcp://10.0.0.5:8786``.

    Raises `UsageError` where Dask is not installed, where no cluster answers within ``patience``
    seconds, where it has no worker, or where a worker has another version of rwtools.
    """
    try:
        from distributed import Client
    except ImportError as error:
        why = 'this needs Dask: pip install "rwtools[cluster]"'
        raise UsageError(why, field="cluster") from error
    for name in ("distributed", "distributed.client", "distributed.core"):
        logging.getLogger(name).setLevel(logging.CRITICAL)
    _check_address(address, patience)
    try:
        client = Client(address, timeout=patience, set_as_default=False)
    except (OSError, TimeoutError, ValueError) as error:
        why = f"no Dask cluster answers at {address}"
        raise UsageError(why, field="cluster") from error
    try:
        _check_workers(client, address, patience)
        yield lambda function, calls: _spread(client, function, calls)
    finally:
        client.close()


def _check_address(address: str, patience: float) -> None:
    """Knock first: Dask's client takes long to give up, and leaves noise behind."""
    try:
        place = urlsplit(address if "://" in address else f"tcp://{address}")
        if not place.hostname or place.port is None:
            raise UsageError(
                f"{address!r} is no cluster's address; one looks like tcp://10.0.0.5:8786",
                field="cluster",
            )
        socket.create_connection((place.hostname, place.port), timeout=patience).close()
    except (OSError, ValueError) as error:
        why = f"no Dask cluster answers at {address}"
        raise UsageError(why, field="cluster") from error


def _check_workers(client: Any, address: str, patience: float) -> None:
    own = _version()
    try:
        client.wait_for_workers(1, timeout=patience)
    except TimeoutError as error:
        raise UsageError(f"the cluster at {address} has no worker", field="cluster") from error
    for worker, version in client.run(_version, on_error="return").items():
        if version != own:
            found = version if isinstance(version, str) else "no rwtools"
            why = f"worker {worker} has {found}; this is rwtools {own}"
            raise UsageError(why, field="cluster")


def _version() -> str:
    # By name: the package's own module reaches up to rooms that this one must not know.
    return str(import_module("rwtools").__version__)


def _spread(
    client: Any, function: Callable[..., Result], calls: Iterable[tuple[Any, ...]]
) -> Iterator[Result]:
    from distributed import KilledWorker

    waiting: deque[Any] = deque()
    threads = max(1, sum(client.nthreads().values()))
    try:
        for arguments in calls:
            waiting.append(client.submit(function, *arguments, pure=False, retries=1))
            if len(waiting) > _AHEAD * threads:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()
    except KilledWorker as error:
        why = "workers died again and again on the same piece of work"
        raise UsageError(why, field="cluster") from error
    finally:
        if client.status == "running":
            client.cancel(list(waiting))

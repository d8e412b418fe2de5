"""Batches as one JSON object, or as NDJSON: a line as soon as it is ready."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Callable, Sequence
from typing import Any, TypeVar

from fastapi import Request
from fastapi.responses import Response, StreamingResponse

from rwtools.api.encoding import Json, encoded
from rwtools.api.problems import ProblemError, TooSlowError

__all__ = ["NDJSON", "answer"]

NDJSON = "application/x-ndjson"
T = TypeVar("T")


async def answer(
    request: Request,
    name: str,
    records: Sequence[T],
    work: Callable[[Sequence[T]], list[dict[str, Any]]],
    *,
    batch: int = 8,
) -> Response:
    """What ``work`` makes of the records, in order, a batch at a time.

    A client that accepts NDJSON gets a line for each record as soon as its batch is done; another
    gets ``{name: [...]}``. An error in mid-stream becomes a last line ``{"problem": ...}``, so that
    what came before it still counts.
    """
    lane = request.app.state.lanes.long
    groups = [records[i : i + batch] for i in range(0, len(records), batch)]
    if NDJSON not in request.headers.get("accept", ""):
        found: list[dict[str, Any]] = []
        limit: float = request.app.state.settings.time_limit
        try:
            async with asyncio.timeout(limit):
                for group in groups:
                    found += await lane.run(work, group)
        except TimeoutError as error:
            raise TooSlowError(limit) from error
        return Json({name: found})
    first = await lane.run(work, groups[0]) if groups else []

    async def lines() -> AsyncIterator[bytes]:
        for record in first:
            yield _line(record)
        for group in groups[1:]:
            try:
                made = await lane.run(work, group)
            except ProblemError as error:
                yield _line({"problem": {"status": error.status, "detail": error.detail}})
                return
            for record in made:
                yield _line(record)

    return StreamingResponse(lines(), media_type=NDJSON)


def _line(record: dict[str, Any]) -> bytes:
    return encoded(record) + b"\n"

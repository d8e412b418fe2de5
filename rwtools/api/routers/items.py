"""Items worked out, and items looked over for faults."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import Response
from pydantic import BaseModel, ConfigDict, Field

from rwtools.api.offsets import with_utf16
from rwtools.api.streaming import answer
from rwtools.errors import InputError, ItemError
from rwtools.items.model import Item, Solution, read_item
from rwtools.items.vet import Vetted

__all__ = ["MOST_ITEMS", "ItemsRequest", "checked", "router"]

router = APIRouter(prefix="/v1", tags=["items"])
MOST_ITEMS = 2_000
BATCH = 4
"""Items done together: few, so that the first lines of a stream come soon."""


class ItemsRequest(BaseModel):
    """Items as the contract has them, one JSON object each."""

    model_config = ConfigDict(extra="forbid", strict=True)

    # Read one by one, so that an error can name the item in plain words.
    items: list[dict[str, Any]] = Field(min_length=1, max_length=MOST_ITEMS)


class Solutions(BaseModel):
    """The solution of each item, in order."""

    solutions: list[Solution]


class Reports(BaseModel):
    """What vetting found for each item, in order; ``line`` is the item's number from 1."""

    reports: list[Vetted]


def checked(records: Sequence[dict[str, Any]]) -> list[Item]:
    """The items of a request. Raises `ItemError` that names the item's place and field."""
    found = []
    for number, record in enumerate(records):
        try:
            found.append(read_item(record))
        except InputError as error:
            place = f"items.{number}" + (f".{error.field}" if error.field else "")
            raise ItemError(error.why, field=place) from error
    return found


@router.post("/solve", responses={200: {"model": Solutions}})
async def solve(body: ItemsRequest, request: Request) -> Response:
    """Work items out: ``{solutions: [...]}``, or a solution a line (NDJSON)."""
    return await answer(request, "solutions", checked(body.items), _solve, batch=BATCH)


def _solve(items: Sequence[Item]) -> list[dict[str, Any]]:
    from rwtools.items.solving import solve_batch

    return [
        with_utf16(solution.model_dump(mode="json"), item.passage)
        for item, solution in zip(items, solve_batch(items), strict=True)
    ]


@router.post("/vet", responses={200: {"model": Reports}})
async def vet(body: ItemsRequest, request: Request) -> Response:
    """Look items over: ``{reports: [...]}``, or a report a line (NDJSON).

    A record that is no item gets a report with the problem ``format``; the others are still done.
    """
    from rwtools.items.duplicates import Duplicates
    from rwtools.items.vet import repeated, unreadable, vet_batch

    read: list[tuple[int, Item | InputError]] = []
    for line, record in enumerate(body.items, 1):
        try:
            read.append((line, read_item(record)))
        except InputError as error:
            read.append((line, error))
    seen = Duplicates()

    def work(group: Sequence[tuple[int, Item | InputError]]) -> list[dict[str, Any]]:
        found = iter(vet_batch([item for _, item in group if isinstance(item, Item)]))
        made = []
        for line, item in group:
            if isinstance(item, InputError):
                made.append(unreadable(item, line).model_dump(mode="json"))
                continue
            problems = [*next(found), *repeated(seen, item, line)]
            report = Vetted(id=item.id, line=line, problems=problems)
            made.append(with_utf16(report.model_dump(mode="json"), item.passage))
        return made

    return await answer(request, "reports", read, work, batch=BATCH)

"""Items worked out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import Response
from pydantic import BaseModel, ConfigDict, Field

from rwtools.api.offsets import with_utf16
from rwtools.api.streaming import answer
from rwtools.errors import InputError, ItemError
from rwtools.items.model import Item, read_item

__all__ = ["ItemsRequest", "checked", "router"]

router = APIRouter(prefix="/v1", tags=["items"])
MOST_ITEMS = 2_000


class ItemsRequest(BaseModel):
    """Items as the contract has them, one JSON object each."""

    model_config = ConfigDict(extra="forbid")

    items: list[dict[str, Any]] = Field(min_length=1, max_length=MOST_ITEMS)


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


@router.post("/solve")
async def solve(body: ItemsRequest, request: Request) -> Response:
    """Work items out: ``{solutions: [...]}``, or a solution a line (NDJSON)."""
    return await answer(request, "solutions", checked(body.items), _solve)


def _solve(items: Sequence[Item]) -> list[dict[str, Any]]:
    from rwtools.items.solving import solve_batch

    return [
        with_utf16(solution.model_dump(mode="json"), item.passage)
        for item, solution in zip(items, solve_batch(items), strict=True)
    ]

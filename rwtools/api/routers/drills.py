"""Practice made from passages, and answers graded."""

from __future__ import annotations

import json
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, Request, UploadFile
from fastapi.responses import HTMLResponse, JSONResponse, Response
from pydantic import BaseModel, ConfigDict, Field, ValidationError

from rwtools.api.offsets import with_utf16
from rwtools.api.problems import ProblemError
from rwtools.api.routers.items import checked
from rwtools.errors import InputError
from rwtools.items.model import Item
from rwtools.text import check_passage

__all__ = ["router"]

router = APIRouter(prefix="/v1", tags=["drills"])
MOST_PASSAGES = 200
MOST_ANSWERS = 200_000


class MakeRequest(BaseModel):
    """Passages, and what to make of them."""

    model_config = ConfigDict(extra="forbid")

    passages: list[str] = Field(min_length=1, max_length=MOST_PASSAGES)
    skills: list[str] | None = None
    count: int | None = Field(default=None, ge=1, le=500)
    difficulty: int | None = Field(default=None, ge=1, le=4)
    seed: int = 0


@router.post("/make")
async def make(body: MakeRequest, request: Request) -> dict[str, Any]:
    """Practice items made from passages, and a report of the drafts that were dropped."""
    for number, passage in enumerate(body.passages):
        try:
            check_passage(passage)
        except InputError as error:
            raise error.at(field=f"passages.{number}") from error
    return await request.app.state.pool.run(_make, body)  # type: ignore[no-any-return]


def _make(body: MakeRequest) -> dict[str, Any]:
    from rwtools.drills.make import make_items

    items, report = make_items(
        [(f"text-{number}", passage) for number, passage in enumerate(body.passages, 1)],
        skills=body.skills,
        count=body.count,
        difficulty=body.difficulty,
        seed=body.seed,
    )
    made = [with_utf16(i.model_dump(mode="json", exclude_none=True), i.passage) for i in items]
    return {"items": made, "report": report.to_dict()}


class GradeRequest(BaseModel):
    """Items, and answers as ``{learner, item, answer, seconds?, position?}``."""

    model_config = ConfigDict(extra="forbid")

    items: list[dict[str, Any]] = Field(min_length=1)
    answers: list[dict[str, Any]] = Field(min_length=1, max_length=MOST_ANSWERS)


_FORM = {
    "requestBody": {
        "required": True,
        "content": {
            "application/json": {"schema": GradeRequest.model_json_schema()},
            "multipart/form-data": {
                "schema": {
                    "type": "object",
                    "required": ["items", "answers"],
                    "properties": {
                        "items": {"type": "string", "format": "binary"},
                        "answers": {"type": "string", "format": "binary"},
                    },
                }
            },
        },
    }
}


@router.post("/grade", openapi_extra=_FORM)
async def grade(
    request: Request, format: Annotated[Literal["json", "html"], Query()] = "json"
) -> Response:
    """Grade answers. JSON, or two files: items (JSON Lines) and answers (CSV or JSON Lines)."""
    kind = request.headers.get("content-type", "")
    if kind.startswith("multipart/form-data"):
        items, answers = await _from_files(request)
    else:
        items, answers = await _from_json(request)
    return await request.app.state.pool.run(_grade, items, answers, format)  # type: ignore[no-any-return]


async def _from_json(request: Request) -> tuple[list[Item], Any]:
    try:
        body = GradeRequest.model_validate_json(await request.body())
    except ValidationError as error:
        first = error.errors()[0]
        field = ".".join(str(part) for part in first["loc"]) or None
        raise ProblemError(422, str(first["msg"]), field=field) from error
    return checked(body.items), body.answers


async def _from_files(request: Request) -> tuple[list[Item], Any]:
    from rwtools.drills.answers import read_answers

    async with request.form(max_files=2, max_fields=0) as form:
        found: dict[str, tuple[str, bytes]] = {}
        for name in ("items", "answers"):
            part = form.get(name)
            if not isinstance(part, UploadFile) and not hasattr(part, "read"):
                raise ProblemError(422, f"the file {name} is missing", field=name)
            found[name] = (getattr(part, "filename", None) or name, await part.read())  # type: ignore[union-attr]
    return _items(*found["items"]), read_answers(found["answers"][1], found["answers"][0])


def _items(name: str, data: bytes) -> list[Item]:
    """The items of an uploaded JSON Lines file; the first bad line is named."""
    from rwtools.items.model import read_item

    found = []
    for number, line in enumerate(data.removeprefix(b"\xef\xbb\xbf").splitlines(), 1):
        if not line.strip():
            continue
        try:
            record = json.loads(line)
        except ValueError as error:
            why = "this line is not JSON"
            raise InputError(why, file=name, line=number, field="items") from error
        found.append(read_item(record, file=name, line=number))
    return found


def _grade(items: list[Item], answers: Any, format: str) -> Response:
    from rwtools.drills.grade import grade
    from rwtools.drills.report import pages

    report = grade(items, answers)
    if format == "html":
        return HTMLResponse(dict(pages(report, items))["report.html"])
    return JSONResponse(report.model_dump(mode="json"))

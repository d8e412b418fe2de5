"""Practice made from passages, and answers graded."""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import HTMLResponse, Response
from pydantic import BaseModel, ConfigDict, Field, ValidationError

from rwtools.api.encoding import Json
from rwtools.api.offsets import with_utf16
from rwtools.api.problems import ProblemError
from rwtools.api.routers.items import MOST_ITEMS, checked
from rwtools.drills.model import Report
from rwtools.errors import InputError
from rwtools.items.model import Item
from rwtools.text import check_passage

__all__ = ["router"]

router = APIRouter(prefix="/v1", tags=["drills"])
MOST_PASSAGES = 200
MOST_ANSWERS = 200_000
MOST_LINES = 20_000
Reader = Callable[[], tuple[list[Item], Any]]
MadeSkill = Literal["transition", "punctuation", "grammar", "vocabulary"]


class MakeRequest(BaseModel):
    """Passages, and what to make of them."""

    model_config = ConfigDict(extra="forbid", strict=True)

    passages: list[str] = Field(min_length=1, max_length=MOST_PASSAGES)
    skills: list[MadeSkill] | None = Field(default=None, min_length=1)
    count: int | None = Field(default=None, ge=1, le=500, description="How many items in all.")
    difficulty: int | None = Field(default=None, ge=1, le=4, description="1 is easy, 4 is hard.")
    seed: int = Field(default=0, description="The same seed gives the same items.")


class Practice(BaseModel):
    """Practice items, and what became of the drafts."""

    items: list[Item]
    report: dict[str, Any]


@router.post("/make", responses={200: {"model": Practice}}, response_model=None)
async def make(body: MakeRequest, request: Request) -> Response:
    """Practice items made from passages, and a report of the drafts that were dropped."""
    for number, passage in enumerate(body.passages):
        try:
            check_passage(passage)
        except InputError as error:
            raise type(error)(error.why, field=f"passages.{number}") from error
    return Json(await request.app.state.lanes.long.run(_make, body))


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


class AnswerGiven(BaseModel):
    """One learner's answer to one item; an empty answer is a blank."""

    learner: str
    item: str
    answer: str
    seconds: float | None = None
    position: int | None = None


class GradeRequest(BaseModel):
    """Items, and the answers that were given to them."""

    model_config = ConfigDict(extra="forbid", strict=True)

    # Both are read one by one: a bad answer is reported in the report, and the rest is graded.
    items: list[dict[str, Any]] = Field(min_length=1, max_length=MOST_ITEMS)
    answers: list[dict[str, Any]] = Field(min_length=1, max_length=MOST_ANSWERS)


class GradeFiles(BaseModel):
    """Two files: items (JSON Lines) and answers (CSV or JSON Lines)."""

    items: bytes
    answers: bytes


@router.post("/grade", responses={200: {"model": Report}})
async def grade(
    request: Request, format: Annotated[Literal["json", "html"], Query()] = "json"
) -> Response:
    """Grade answers. JSON, or two files: items (JSON Lines) and answers (CSV or JSON Lines)."""
    if request.headers.get("content-type", "").startswith("multipart/form-data"):
        read = await _from_files(request)
    else:
        read = await _from_json(request)
    return await request.app.state.lanes.long.run(_grade, read, format)  # type: ignore[no-any-return]


async def _from_json(request: Request) -> Reader:
    try:
        body = GradeRequest.model_validate_json(await request.body())
    except ValidationError as error:
        raise RequestValidationError(error.errors()) from error
    return lambda: (checked(body.items), body.answers)


async def _from_files(request: Request) -> Reader:
    async with request.form(max_files=2, max_fields=0) as form:
        found: list[tuple[str, bytes]] = []
        for name in ("items", "answers"):
            part = form.get(name)
            if part is None or isinstance(part, str):
                raise ProblemError(422, f"the file {name} is missing", field=name)
            found.append((part.filename or name, await part.read()))
    (items, item_bytes), (answers, answer_bytes) = found

    def read() -> tuple[list[Item], Any]:
        from rwtools.drills.answers import read_answers

        return _items(items, item_bytes), read_answers(answer_bytes, answers)

    return read


def _items(name: str, data: bytes) -> list[Item]:
    """The items of an uploaded JSON Lines file; the first bad line is named."""
    from rwtools.items.load import read_lines

    found = []
    for line, item in read_lines(io.BytesIO(data), name):
        if isinstance(item, InputError):
            raise item.at(field="items")
        found.append(item)
        if line > MOST_LINES:
            raise InputError(f"more than {MOST_LINES:,} lines", file=name, field="items")
    if not found:
        raise InputError("this file holds no item", file=name, field="items")
    return found


def _grade(read: Reader, format: str) -> Response:
    from rwtools.drills.grade import grade
    from rwtools.drills.report import pages

    items, answers = read()
    report = grade(items, answers)
    if format == "html":
        return HTMLResponse(dict(pages(report, items))["report.html"])
    data = report.model_dump(mode="json")
    for item in items:
        if item.id in data["explanations"]:
            told = data["explanations"][item.id]
            data["explanations"][item.id] = with_utf16(told, item.passage)
    return Json(data)

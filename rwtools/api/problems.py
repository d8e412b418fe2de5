"""Errors as problem details (RFC 9457): what is wrong, and in which field."""

from __future__ import annotations

from collections.abc import Sequence
from http import HTTPStatus
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException

from rwtools.api.encoding import Json
from rwtools.errors import InputError, RwtoolsError
from rwtools.items.model import plain

__all__ = ["BusyError", "ProblemError", "TooSlowError", "install", "problem"]

MEDIA_TYPE = "application/problem+json"


class ProblemError(Exception):
    """Stop a request with this status and reason."""

    def __init__(
        self, status: int, detail: str, *, field: str | None = None, retry_after: int | None = None
    ) -> None:
        super().__init__(detail)
        self.status = status
        self.detail = detail
        self.field = field
        self.retry_after = retry_after


class BusyError(ProblemError):
    """More work is waiting than the queue takes."""

    def __init__(self) -> None:
        super().__init__(503, "The server has too much to do. Try again soon.", retry_after=1)


class TooSlowError(ProblemError):
    """A request took longer than its time limit."""

    def __init__(self, seconds: float) -> None:
        why = f"This took longer than {seconds:g} s. Send less at once, or ask for a stream."
        super().__init__(503, why, retry_after=5)


def problem(
    status: int,
    detail: str,
    *,
    field: str | None = None,
    retry_after: int | None = None,
    **more: Any,
) -> Json:
    """A problem details response."""
    body: dict[str, Any] = {
        "type": "about:blank",
        "title": HTTPStatus(status).phrase,
        "status": status,
        "detail": detail,
        **({} if field is None else {"field": field}),
        **more,
    }
    headers = {} if retry_after is None else {"Retry-After": str(retry_after)}
    return Json(body, status, headers, media_type=MEDIA_TYPE)


def _field(place: Sequence[str | int]) -> str:
    """A field's path, without the part of the request that FastAPI puts first."""
    return ".".join(str(part) for part in place[bool(place) and place[0] in ("body", "query") :])


def _told(error: Any) -> dict[str, str]:
    """A validation error in plain words, with its field."""
    kind, field = error["type"], _field(error["loc"])
    if kind == "json_invalid":
        why = error.get("ctx", {}).get("error", "it cannot be read")
        return {"field": "", "detail": f"The body of the request is not JSON: {why}."}
    if not field and kind in ("dict_type", "model_type", "model_attributes_type"):
        return {
            "field": "",
            "detail": "The body of the request must be a JSON object, sent as application/json.",
        }
    return {"field": field, "detail": plain(error)}


def install(app: FastAPI) -> None:
    """Answer every kind of error with problem details."""

    @app.exception_handler(ProblemError)
    async def _problem(_: Request, error: ProblemError) -> Json:
        return problem(error.status, error.detail, field=error.field, retry_after=error.retry_after)

    @app.exception_handler(InputError)
    async def _input(_: Request, error: InputError) -> Json:
        more = {} if error.line is None else {"line": error.line}
        return problem(422, error.why, field=error.field, **more)

    @app.exception_handler(RwtoolsError)
    async def _own(_: Request, error: RwtoolsError) -> Json:
        return problem(500, str(error))

    @app.exception_handler(RequestValidationError)
    async def _validation(_: Request, error: RequestValidationError) -> Json:
        found = [_told(e) for e in error.errors()]
        first = found[0]
        return problem(422, first["detail"], field=first["field"] or None, errors=found[:20])

    @app.exception_handler(HTTPException)
    async def _http(_: Request, error: HTTPException) -> Json:
        detail = str(error.detail)
        if (error.status_code, detail) == (404, "Not Found"):
            detail = "There is nothing at this path."
        response = problem(error.status_code, detail)
        response.headers.update(error.headers or {})
        return response

    @app.exception_handler(Exception)
    async def _fault(_: Request, error: Exception) -> Json:
        return problem(500, "Something went wrong inside rwtools. The log says what.")

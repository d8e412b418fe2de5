"""The OpenAPI document: what FastAPI reads from the routers, and what it cannot see there."""

from __future__ import annotations

from typing import Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi
from pydantic import BaseModel, Field
from pydantic.json_schema import models_json_schema

from rwtools.api.problems import MEDIA_TYPE
from rwtools.api.routers.drills import AnswerGiven, GradeFiles, GradeRequest
from rwtools.api.streaming import NDJSON
from rwtools.items.model import Item

__all__ = ["document", "install"]

_REF = "#/components/schemas/{model}"
_ROWS = {
    "/v1/hints": "NamedHints",
    "/v1/solve": "Solution",
    "/v1/vet": "Vetted",
}


class ProblemDetails(BaseModel):
    """What went wrong (RFC 9457), and in which field of the request."""

    type: str = Field(description="Always about:blank: the title is that of the status.")
    title: str
    status: int
    detail: str = Field(description="One plain sentence.")
    field: str | None = Field(default=None, description="Such as items.2.choices.")
    line: int | None = Field(default=None, description="The line of an uploaded file.")
    errors: list[dict[str, str]] | None = Field(default=None, description="All bad fields.")


def install(app: FastAPI) -> None:
    """Serve the completed document at ``/openapi.json``."""

    def made() -> dict[str, Any]:
        if app.openapi_schema is None:
            app.openapi_schema = document(app)
        return app.openapi_schema

    app.openapi = made  # type: ignore[method-assign]


def document(app: FastAPI) -> dict[str, Any]:
    """FastAPI's document, with items, answers, streams, problems and browser offsets told."""
    data = get_openapi(
        title=app.title,
        version=app.version,
        summary=app.summary,
        description=app.description,
        routes=app.routes,
    )
    schemas: dict[str, Any] = data["components"]["schemas"]
    for name in ("HTTPValidationError", "ValidationError"):
        schemas.pop(name, None)
    _, more = models_json_schema(
        [
            (model, "validation")
            for model in (Item, AnswerGiven, GradeRequest, GradeFiles, ProblemDetails)
        ],
        ref_template=_REF,
    )
    for name, schema in more["$defs"].items():
        schemas.setdefault(name, schema)
    for name in ("ItemsRequest", "GradeRequest"):
        schemas[name]["properties"]["items"]["items"] = _ref("Item")
    schemas["GradeRequest"]["properties"]["answers"]["items"] = _ref("AnswerGiven")
    for schema in schemas.values():
        _twins(schema)
    # With `reveal` below `all`, a hint shows less than a whole clue.
    where = ["kind", "start", "end", "quote"]
    schemas["ShownClue"] = {**schemas["Clue"], "title": "ShownClue", "required": where}
    for name in ("Hints", "NamedHints"):
        schemas[name]["properties"]["clues"]["items"] = _ref("ShownClue")
    for path, operations in data["paths"].items():
        for operation in operations.values():
            _answers(path, operation)
    data["paths"]["/v1/grade"]["post"]["requestBody"] = {
        "required": True,
        "content": {
            "application/json": {"schema": _ref("GradeRequest")},
            "multipart/form-data": {"schema": _ref("GradeFiles")},
        },
    }
    report = data["paths"]["/v1/grade"]["post"]["responses"]["200"]["content"]
    report["text/html"] = {"schema": {"type": "string"}}
    data["components"]["securitySchemes"] = {"token": {"type": "http", "scheme": "bearer"}}
    # Either no token (on this computer) or the token that the server was started with.
    data["security"] = [{}, {"token": []}]
    return data


def _ref(name: str) -> dict[str, str]:
    return {"$ref": _REF.format(model=name)}


def _twins(schema: dict[str, Any]) -> None:
    """Each offset into a passage has a twin in UTF-16 units in what the server answers."""
    fields = schema.get("properties", {})
    if {"start", "end"} <= fields.keys() and {"quote", "replacement"} & fields.keys():
        for name in ("start", "end"):
            fields[f"{name}_utf16"] = {
                "type": "integer",
                "minimum": 0,
                "description": f"`{name}` in UTF-16 units; only in answers.",
            }


def _answers(path: str, operation: dict[str, Any]) -> None:
    responses = operation["responses"]
    if path in _ROWS:
        text = f"A stream: one {_ROWS[path]} object a line, as soon as it is ready."
        responses["200"]["content"][NDJSON] = {"schema": {"type": "string", "description": text}}
    codes = {"401": "A token is needed.", "403": "Refused.", "421": "Unknown host name."}
    if "requestBody" in operation or path == "/v1/grade":
        codes |= {
            "400": "The request cannot be read.",
            "413": "The request is too large.",
            "422": "A field is wrong.",
            "503": "Too much to do, or too slow; see Retry-After.",
        }
    else:
        responses.pop("422", None)
    problem = {MEDIA_TYPE: {"schema": _ref("ProblemDetails")}}
    told = {code: {"description": what, "content": problem} for code, what in codes.items()}
    operation["responses"] = dict(sorted({**responses, **told}.items()))

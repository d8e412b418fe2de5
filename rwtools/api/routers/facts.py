"""Facts that do not depend on a passage: rules, relations, and whether the server is well."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request

from rwtools import __version__
from rwtools.resources import corpus, load_json, shared

__all__ = ["router"]

_FIRST = "tide-mill"

router = APIRouter(prefix="/v1", tags=["facts"])


@router.get("/rules")
async def rules() -> list[dict[str, Any]]:
    """Every rule that a clue can name, with its words and examples."""
    index = load_json(shared("rules.json"))
    return [load_json(shared("rules", f"{entry['id']}.json")) for entry in index]


@router.get("/relations")
async def relations() -> Any:
    """The relations that join ideas: the learner's word and the senses behind it."""
    return load_json(shared("relations.json"))


@router.get("/examples")
async def examples() -> list[dict[str, str]]:
    """The passages that come with rwtools, for a page that is not empty at first sight."""
    files = sorted(corpus("passages").glob("*.txt"), key=lambda p: (p.stem != _FIRST, p.stem))
    return [{"id": p.stem, "passage": p.read_text(encoding="utf-8").strip()} for p in files]


@router.get("/health")
async def health(request: Request) -> dict[str, Any]:
    """Whether the server is up, and how much it has to do."""
    return {"status": "ok", "version": __version__, "pending": request.app.state.lanes.pending}

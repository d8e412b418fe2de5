"""The signals of a passage."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from pydantic import BaseModel, ConfigDict, Field

from rwtools.api.offsets import with_utf16
from rwtools.clue import Clue, Kind
from rwtools.hints import Form, Reveal, hint, revealed

__all__ = ["router"]

router = APIRouter(prefix="/v1", tags=["hints"])


class HintRequest(BaseModel):
    """A passage, and what to look for in it."""

    model_config = ConfigDict(extra="forbid")

    passage: str = Field(description="Plain text. Offsets count code points of it as given.")
    target: str | None = Field(default=None, description="Explain this word, however common.")
    kinds: list[Kind] | None = Field(default=None, description="Only these kinds of clue.")
    reveal: Reveal = Field(default="all", description="Where to look, why, or everything.")
    form: Form = Field(default="auto", description="How line breaks are read.")
    all_words: bool = Field(default=False, description="Explain common words too.")


class Hints(BaseModel):
    """The clues of a passage; each offset also in UTF-16 units (``start_utf16``)."""

    clues: list[dict[str, Any]]


@router.post("/hint", response_model=Hints)
async def hint_passage(body: HintRequest, request: Request) -> dict[str, Any]:
    """Find the signals of a passage."""
    clues: list[Clue] = await request.app.state.pool.run(
        hint,
        body.passage,
        target=body.target,
        kinds=body.kinds,
        form=body.form,
        all_words=body.all_words,
    )
    data = [revealed(clue, body.reveal) for clue in clues]
    return {"clues": with_utf16(data, body.passage)}

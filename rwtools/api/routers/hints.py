"""The signals of passages."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import Response
from pydantic import BaseModel, ConfigDict, Field

from rwtools.api.encoding import Json
from rwtools.api.offsets import with_utf16
from rwtools.api.streaming import answer
from rwtools.clue import Clue, Kind
from rwtools.errors import InputError
from rwtools.hints import Form, Reveal, hint, hint_many, revealed
from rwtools.text import check_passage

__all__ = ["router"]

router = APIRouter(prefix="/v1", tags=["hints"])
MOST_PASSAGES = 2_000


class HintRequest(BaseModel):
    """A passage, and what to look for in it."""

    model_config = ConfigDict(extra="forbid", strict=True)

    passage: str = Field(description="Plain text. Offsets count code points of it as given.")
    target: str | None = Field(default=None, description="Explain this word, however common.")
    kinds: list[Kind] | None = Field(default=None, description="Only these kinds of clue.")
    reveal: Reveal = Field(default="all", description="Where to look, why, or everything.")
    form: Form = Field(default="auto", description="How line breaks are read.")
    all_words: bool = Field(default=False, description="Explain common words too.")


class Hints(BaseModel):
    """The clues of a passage. With ``reveal`` below ``all``, fields are held back."""

    clues: list[Clue]


class NamedPassage(BaseModel):
    """A passage and the name that its line of the answer will bear."""

    model_config = ConfigDict(extra="forbid", strict=True)

    id: str | int
    passage: str


class BatchRequest(BaseModel):
    """Passages, and what to look for in them."""

    model_config = ConfigDict(extra="forbid", strict=True)

    passages: list[NamedPassage] = Field(min_length=1, max_length=MOST_PASSAGES)
    kinds: list[Kind] | None = Field(default=None, description="Only these kinds of clue.")
    reveal: Reveal = Field(default="all", description="Where to look, why, or everything.")
    all_words: bool = Field(default=False, description="Explain common words too.")


class NamedHints(BaseModel):
    """The clues of one passage of a batch."""

    id: str | int
    clues: list[Clue]


class HintsOfBatch(BaseModel):
    """The clues of each passage, in order."""

    hints: list[NamedHints]


@router.post("/hint", responses={200: {"model": Hints}}, response_model=None)
async def hint_passage(body: HintRequest, request: Request) -> Response:
    """Find the signals of a passage."""
    clues: list[Clue] = await request.app.state.lanes.for_passage(body.passage).run(
        hint,
        body.passage,
        target=body.target,
        kinds=body.kinds,
        form=body.form,
        all_words=body.all_words,
    )
    data = [revealed(clue, body.reveal) for clue in clues]
    # A response, not data: FastAPI would walk the data once more, which takes milliseconds.
    return Json({"clues": with_utf16(data, body.passage)})


@router.post("/hints", responses={200: {"model": HintsOfBatch}})
async def hint_passages(body: BatchRequest, request: Request) -> Response:
    """Find the signals of many passages: ``{hints: [...]}``, or an object a line (NDJSON)."""
    for number, entry in enumerate(body.passages):
        try:
            check_passage(entry.passage)
        except InputError as error:
            raise type(error)(error.why, field=f"passages.{number}.passage") from error

    def work(group: Sequence[NamedPassage]) -> list[dict[str, Any]]:
        found = hint_many(
            [entry.passage for entry in group], kinds=body.kinds, all_words=body.all_words
        )
        return [
            {
                "id": entry.id,
                "clues": with_utf16([revealed(c, body.reveal) for c in clues], entry.passage),
            }
            for entry, clues in zip(group, found, strict=True)
        ]

    return await answer(request, "hints", body.passages, work)

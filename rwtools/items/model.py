"""Items and their solutions, as pydantic models that carry the contract's field names."""

from __future__ import annotations

import re
from typing import Annotated, Any, Literal, get_args

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from rwtools.clue import Clue
from rwtools.errors import ItemError
from rwtools.text import MAX_CHARACTERS, check_passage

__all__ = [
    "BLANK",
    "LETTERS",
    "SKILLS",
    "ChoiceVerdict",
    "Item",
    "Quote",
    "Skill",
    "Solution",
    "Step",
    "Table",
    "plain",
    "read_item",
]

Skill = Literal[
    "vocabulary",
    "transition",
    "punctuation",
    "grammar",
    "main_idea",
    "evidence",
    "data",
    "paired_texts",
    "inference",
    "purpose",
    "notes",
]
SKILLS: tuple[Skill, ...] = get_args(Skill)
LETTERS = "ABCDEF"
BLANK = "____"
_BLANKS = re.compile("_{4,}")

Letter = Annotated[str, Field(pattern="^[A-F]$")]
Filled = Annotated[str, Field(min_length=1)]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, str_strip_whitespace=False)


class Quote(_Strict):
    """Words of the passage: ``passage[start:end] == quote``; ``role`` says what part they play."""

    model_config = ConfigDict(extra="ignore", frozen=True)

    start: int = Field(ge=0)
    end: int = Field(ge=0)
    quote: str
    role: str | None = None


class Table(_Strict):
    """The table of a `data` item; ``chart`` says how it would be drawn."""

    title: str = ""
    columns: list[str] = Field(min_length=1)
    rows: list[list[str | int | float | None]] = Field(min_length=1)
    unit: str | None = None
    chart: Literal["bar", "line", "pie"] | None = None

    @model_validator(mode="after")
    def _rectangular(self) -> Table:
        for number, row in enumerate(self.rows, 1):
            if len(row) != len(self.columns):
                raise ValueError(
                    f"row {number} has {len(row)} cells for {len(self.columns)} columns"
                )
        return self


class Item(_Strict):
    """One multiple-choice question. The first choice is A.

    Fields that rwtools does not know are passed over: item banks carry notes of their own.
    """

    model_config = ConfigDict(extra="ignore", frozen=True)

    id: Filled
    skill: Skill
    passage: Filled
    form: Literal["prose", "verse"] = "prose"
    passage_2: str | None = None
    table: Table | None = None
    notes: list[str] | None = None
    target: str | None = None
    question: Filled
    choices: list[Filled] = Field(min_length=2, max_length=6)
    answer: Letter | None = None
    rationale: str | None = None
    evidence: list[Quote] | None = None
    difficulty: int | None = Field(default=None, ge=1, le=4)
    source: str | None = None

    @model_validator(mode="before")
    @classmethod
    def _quotes_without_offsets(cls, record: Any) -> Any:
        """Take evidence that is given as bare quotes, by looking them up in the passage."""
        if not isinstance(record, dict) or not isinstance(record.get("evidence"), list):
            return record
        passage = str(record.get("passage", ""))
        found = []
        for entry in record["evidence"]:
            if not isinstance(entry, str):
                found.append(entry)
            elif entry and (start := passage.find(entry)) >= 0:
                found.append({"start": start, "end": start + len(entry), "quote": entry})
        return {**record, "evidence": found}

    @property
    def letters(self) -> str:
        """The letters of this item's choices, such as ``ABCD``."""
        return LETTERS[: len(self.choices)]

    @property
    def blank(self) -> tuple[int, int] | None:
        """Where the blank is in the passage (code points), or None."""
        start = self.passage.find(BLANK)
        if start < 0:
            return None
        end = start
        while end < len(self.passage) and self.passage[end] == "_":
            end += 1
        return start, end

    @property
    def key(self) -> int | None:
        """The index of the keyed choice."""
        return None if self.answer is None else LETTERS.index(self.answer)

    def choice(self, letter: str) -> str:
        """The text of a choice."""
        return self.choices[self.letters.index(letter)]


class ChoiceVerdict(_Strict):
    """What the evidence says about one choice."""

    letter: Letter
    text: str
    probability: float = Field(ge=0, le=1)
    verdict: Literal["fits", "ruled_out", "open"]
    reason: str
    evidence: list[Quote] = Field(default_factory=list)


class Step(_Strict):
    """One step on the way to the answer: what to do, and what was found where."""

    step: int = Field(ge=1)
    action: str
    finding: str
    rule: str | None = None
    evidence: list[Quote] = Field(default_factory=list)


class Solution(_Strict):
    """An item worked out. ``answer`` is None where the evidence does not decide."""

    model_config = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True)

    id: str
    skill: Skill
    answer: Letter | None
    confidence: float = Field(ge=0, le=1)
    choices: list[ChoiceVerdict]
    path: list[Step]
    clues: list[Clue] = Field(default_factory=list)


def read_item(
    record: Any, *, file: str | None = None, line: int | None = None, limit: int = MAX_CHARACTERS
) -> Item:
    """An `Item` from JSON-ready data; `ItemError` names file, line and the first bad field."""
    if not isinstance(record, dict):
        raise ItemError("an item is a JSON object", file=file, line=line)
    try:
        item = Item.model_validate(record)
    except ValidationError as error:
        first = error.errors()[0]
        field = ".".join(str(part) for part in first["loc"]) or None
        raise ItemError(plain(first), file=file, line=line, field=field) from error
    fault = _fault(item, limit)
    if fault is not None:
        field, why = fault
        raise ItemError(why, file=file, line=line, field=field)
    return item


def plain(error: Any) -> str:
    """A validation message in plain words."""
    kind, message = error["type"], str(error["msg"])
    if kind == "missing":
        return "this field is missing"
    if kind == "extra_forbidden":
        return "there is no such field in an item"
    if kind in ("too_short", "too_long"):
        limits = error["ctx"]
        bound = "at least" if kind == "too_short" else "at most"
        number = limits["min_length" if kind == "too_short" else "max_length"]
        return f"there must be {bound} {number} here, not {limits['actual_length']}"
    return message[:1].lower() + message[1:]


def _fault(item: Item, limit: int) -> tuple[str, str] | None:
    """The first thing wrong with an item whose fields have the right types."""
    for field in ("passage", "passage_2"):
        passage = getattr(item, field)
        if passage is not None:
            try:
                check_passage(passage, limit=limit)
            except Exception as error:
                return field, getattr(error, "why", str(error))
    if len(_BLANKS.findall(item.passage)) > 1:
        return "passage", "there is more than one blank"
    if len({choice.strip() for choice in item.choices}) < len(item.choices):
        return "choices", "two choices are the same"
    if item.answer is not None and item.answer not in item.letters:
        return "answer", f"{item.answer} is not one of {item.letters}"
    if item.target is not None and item.target not in item.passage:
        return "target", f"{item.target!r} does not occur in the passage"
    needs = {"paired_texts": "passage_2", "data": "table", "notes": "notes"}
    field = needs.get(item.skill, "passage")
    if not getattr(item, field):
        return field, f"a {item.skill} item needs this field"
    return None

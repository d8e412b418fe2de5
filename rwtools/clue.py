"""A clue is a span of the passage plus a reason. Everything else in rwtools rearranges clues.

Offsets are 0-based, half-open code points of the passage exactly as given, so that
``passage[start:end] == quote`` always. Standard library only.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, fields
from typing import Any, Literal

__all__ = ["Clue", "Evidence", "Fix", "Kind", "Span", "in_order"]

_DOUBTFUL = 0.5

Kind = Literal["transition", "meaning", "punctuation", "grammar", "stance", "structure"]


@dataclass(frozen=True, slots=True, order=True)
class Span:
    """A half-open range of code points. Zero width: something is missing here."""

    start: int
    end: int

    def __post_init__(self) -> None:
        if not 0 <= self.start <= self.end:
            raise ValueError(f"not a span: {self.start}..{self.end}")

    def __len__(self) -> int:
        return self.end - self.start

    def of(self, passage: str) -> str:
        """The quoted words."""
        return passage[self.start : self.end]

    def overlaps(self, other: Span) -> bool:
        """Whether the two share a character (a zero-width span: whether it lies inside)."""
        if self.start == self.end or other.start == other.end:
            return other.start <= self.start <= other.end or self.start <= other.start <= self.end
        return self.start < other.end and other.start < self.end


@dataclass(frozen=True, slots=True)
class Evidence:
    """Words that speak for a clue, and the part they play in it (``role``)."""

    start: int
    end: int
    quote: str
    role: str

    @classmethod
    def at(cls, passage: str, start: int, end: int, role: str) -> Evidence:
        """Evidence quoted from the passage itself, so that the quote cannot be wrong."""
        return cls(start, end, passage[start:end], role)


@dataclass(frozen=True, slots=True)
class Fix:
    """Replace ``passage[start:end]`` by ``replacement``."""

    start: int
    end: int
    replacement: str


@dataclass(frozen=True, slots=True)
class Clue:
    """One thing that the passage shows.

    ``label`` is the learner's word for it: a relation, a way of giving a meaning, or ``sound`` or
    ``fault``. ``sense`` (transitions) is the PDTB-3 level-2 sense. ``confidence`` is 0..1: of the
    clues given 0.8, about 80% are right. ``fix`` is empty unless the clue is a fault.
    """

    kind: Kind
    start: int
    end: int
    quote: str
    label: str
    rule: str
    explanation: str
    confidence: float
    sense: str | None = None
    evidence: tuple[Evidence, ...] = ()
    fix: tuple[Fix, ...] = ()

    @property
    def span(self) -> Span:
        """Where the clue is."""
        return Span(self.start, self.end)

    def to_dict(self) -> dict[str, Any]:
        """The clue as JSON-ready data, with the contract's field names."""
        data = asdict(self)
        data["confidence"] = round(self.confidence, 3)
        data["evidence"] = list(data["evidence"])
        data["fix"] = list(data["fix"])
        return data

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> Clue:
        """A clue from what `to_dict` or the API gave; fields it does not know are passed over."""
        known = {f.name: data[f.name] for f in fields(cls) if f.name in data}
        known["evidence"] = tuple(
            Evidence(e["start"], e["end"], e["quote"], e["role"]) for e in data.get("evidence", ())
        )
        known["fix"] = tuple(
            Fix(f["start"], f["end"], f["replacement"]) for f in data.get("fix", ())
        )
        return cls(**known)


def in_order(clues: Iterable[Clue]) -> list[Clue]:
    """All clues sorted by start, then longest first, then rule; overlapping ones all stay.

    The meanings of one word stand together, the surest first, and doubtful ones by how near to the
    word the words stand that point at it.
    """
    return sorted(clues, key=_place)


def _place(clue: Clue) -> tuple[int, int, str, float, str, str]:
    group, rank = clue.rule, 0.0
    if clue.kind == "meaning":
        group, rank = "meaning", -clue.confidence
        if clue.confidence < _DOUBTFUL:
            pointing = (e for e in clue.evidence if e.role == "gloss")
            rank = min(
                (max(e.start - clue.end, clue.start - e.end, 0) for e in pointing), default=0
            )
    return clue.start, clue.start - clue.end, group, rank, clue.rule, clue.label

"""What the judge says about each choice: how likely it is there, and what it makes of the rest.

The judge reads the passage once up to the choices and then each choice with what follows. From
one reading come three numbers (the choice given what stands before; what follows given the choice;
both) and, word by word, how far each choice makes the following words likelier: these are the words
that speak for or against it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from rwtools.judge.engine import Engine, Job, engine

__all__ = ["Place", "Reading", "read_places"]

CONTEXT = 256
"""Tokens before the choices that count, at most."""

HORIZON = 32
"""Tokens after the choices that count, unless a place says otherwise."""


@dataclass(frozen=True, slots=True)
class Place:
    """Choices between a beginning and a continuation; spaces belong where they stand in text."""

    before: str
    choices: tuple[str, ...]
    after: str = ""
    horizon: int = HORIZON


@dataclass(frozen=True, slots=True)
class Reading:
    """Natural-log probabilities, one per choice: ``own`` of the choice itself, ``after`` of what
    follows it. ``pieces``: per choice, the spans of ``after`` (offsets into it) and their
    log-probabilities."""

    own: tuple[float, ...]
    after: tuple[float, ...]
    pieces: tuple[tuple[tuple[int, int, float], ...], ...]

    @property
    def total(self) -> tuple[float, ...]:
        """Log-probability of the choice with what follows."""
        return tuple(a + b for a, b in zip(self.own, self.after, strict=True))


def read_places(groups: Iterable[Sequence[Place]]) -> list[list[Reading]]:
    """Read groups of places. Those of a group share a pass of the judge, which is faster; no two
    groups do, so a group gets the same numbers in any batch."""
    read = []
    for group in groups:
        model = engine()
        prepared = [_prepare(model, place) for place in group]
        found = model.run([job for job, _ in prepared])
        read.append(
            [
                _reading(parts, branches)
                for (_, parts), branches in zip(prepared, found, strict=True)
            ]
        )
    return read


def _reading(parts: Sequence[Sequence[tuple[int, int] | None]], branches: Sequence[Any]) -> Reading:
    own, after, pieces = [], [], []
    for spans, values in zip(parts, branches, strict=True):
        own.append(sum(float(v) for s, v in zip(spans, values, strict=True) if s is None))
        mine = [(s[0], s[1], float(v)) for s, v in zip(spans, values, strict=True) if s is not None]
        after.append(sum(v for _, _, v in mine))
        pieces.append(tuple(mine))
    return Reading(tuple(own), tuple(after), tuple(pieces))


def _prepare(model: Engine, place: Place) -> tuple[Job, list[list[tuple[int, int] | None]]]:
    """A job for the judge, and per branch which tokens lie in ``after`` and where (else None)."""
    encoded = [model.encode(place.before + choice + place.after) for choice in place.choices]
    shortest = min(len(tokens) for tokens, _ in encoded)
    first = encoded[0][0]
    alike = 0
    while alike < shortest - 1 and all(tokens[alike] == first[alike] for tokens, _ in encoded):
        alike += 1
    shared = [model.start, *first[max(alike - CONTEXT, 0) : alike]]
    branches, spans = [], []
    for choice, (tokens, offsets) in zip(place.choices, encoded, strict=True):
        begin = len(place.before) + len(choice)
        branch: list[int] = []
        where: list[tuple[int, int] | None] = []
        following = 0
        for token, (start, end) in zip(tokens[alike:], offsets[alike:], strict=True):
            if start >= begin:
                following += 1
                if following > place.horizon:
                    break
                where.append((start - begin, end - begin))
            else:
                where.append(None)
            branch.append(token)
        branches.append(branch)
        spans.append(where)
    return Job(shared, branches), spans

"""Browsers count UTF-16 units: add those offsets beside the code-point ones."""

from __future__ import annotations

from typing import Any

from rwtools.text import utf16_offsets

__all__ = ["with_utf16"]


def with_utf16(data: Any, passage: str) -> Any:
    """A copy of JSON-ready data in which each ``start``/``end`` has its UTF-16 twin."""
    return _walk(data, utf16_offsets(passage))


def _walk(data: Any, offsets: list[int]) -> Any:
    if isinstance(data, list | tuple):
        return [_walk(entry, offsets) for entry in data]
    if not isinstance(data, dict):
        return data
    made: dict[str, Any] = {}
    for name, value in data.items():
        made[name] = _walk(value, offsets)
        if name in ("start", "end") and isinstance(value, int) and value < len(offsets):
            made[f"{name}_utf16"] = offsets[value]
    return made

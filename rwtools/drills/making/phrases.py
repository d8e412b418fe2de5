"""Quotes for rationales: short, and altered only by what is left out."""

from __future__ import annotations

from rwtools.clue import Span
from rwtools.text import Text

__all__ = ["brief", "capital", "small"]

_LIMIT = 14


def brief(text: Text, span: Span, *, skip: Span | None = None) -> str:
    """The words of a span; a long one keeps its first and last words. ``skip`` is left out."""
    passage = text.passage
    if skip is not None and span.start <= skip.start and skip.end <= span.end:
        joined = passage[span.start : skip.start].rstrip(" ,") + " " + passage[skip.end : span.end]
    else:
        joined = passage[span.start : span.end]
    parts = joined.replace('"', "'").replace("“", "'").replace("”", "'").split()
    if len(parts) > _LIMIT + 3:
        parts = [*parts[: _LIMIT - 5], "...", *parts[-5:]]
    quote = " ".join(parts).strip()
    return quote if quote.endswith((".", "?", "!", "...")) else quote.rstrip(",;:—– ") + "."


def capital(quote: str) -> str:
    """With a capital first letter."""
    return quote[:1].upper() + quote[1:]


def small(quote: str) -> str:
    """With a small first letter."""
    return quote[:1].lower() + quote[1:]

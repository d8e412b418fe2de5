"""Quotes for rationales: short, and altered only by what is left out."""

from __future__ import annotations

from itertools import pairwise

from rwtools.clue import Span
from rwtools.text import Clause, Text

__all__ = ["brief", "capital", "clear_subject", "small"]

_LIMIT = 14


def brief(text: Text, span: Span, *, skip: Span | None = None, joint: str = " ") -> str:
    """The words of a span; a long one keeps its first and last words. ``skip`` is left out, with
    the commas round it; ``joint`` stands there instead."""
    passage = text.passage
    if skip is not None and span.start <= skip.start and skip.end <= span.end:
        joined = passage[span.start : skip.start].rstrip(" ,") + joint
        joined += passage[skip.end : span.end].lstrip(" ,")
    else:
        joined = passage[span.start : span.end]
    parts = joined.replace('"', "'").replace("“", "'").replace("”", "'").split()
    if len(parts) > _LIMIT + 3:
        parts = [*parts[: _LIMIT - 5], "...", *parts[-5:]]
    quote = " ".join(parts).strip()
    ended = quote.rstrip("'’”)").endswith((".", "?", "!"))
    return quote if ended else quote.rstrip(",;:—– ") + "."


def capital(quote: str) -> str:
    """With a capital first letter."""
    return quote[:1].upper() + quote[1:]


def small(quote: str) -> str:
    """With a small first letter."""
    return quote[:1].lower() + quote[1:]


_INNER = ("relcl", "acl", "ccomp", "advcl", "csubj")
_FINITE = ("VBD", "VBZ", "VBP", "MD")


def clear_subject(text: Text, clause: Clause) -> bool:
    """Whether the words that the parser takes for a clause's subject can be one.

    Where it runs two clauses together, the "subject" holds a finite verb of its own, or ends in a
    joining word; nothing may be explained by such a subject.
    """
    if clause.subject is None:
        return False
    inside = text.tokens_in(clause.subject.start, clause.subject.end)
    if not inside or inside[-1].tag == "CC" or inside[0].tag in ("CC", "IN", "WRB"):
        return False
    for before, token in pairwise(inside):
        if before.text in (",", ";", ":") and token.tag == "CC" and token.lower != "or":
            return False
    last = inside[-1].i
    ahead = text.tokens[last + 1].text if last + 1 < len(text.tokens) else ""
    commas = sum(t.text == "," for t in inside)
    listed = any(t.tag == "CC" for t in inside)
    if commas % 2 and ahead not in (",", "—", "–") and not listed:
        return False
    inner = {
        i for t in inside if t.dep in _INNER for i in text.subtree(t.i) if t.head != clause.head
    }
    return all(t.i in inner or t.tag not in _FINITE for t in inside)

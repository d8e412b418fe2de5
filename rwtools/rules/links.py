"""Words and phrases that link a sentence to what was said before: *however*, *for instance*."""

from __future__ import annotations

from collections.abc import Sequence

from rwtools.text import Token

__all__ = ["link_length"]

# Those that good editors often leave without a comma (thus, in fact, of course) are not here.
_LINKS = (
    ("however",),
    ("moreover",),
    ("furthermore",),
    ("nevertheless",),
    ("nonetheless",),
    ("for", "example"),
    ("for", "instance"),
    ("in", "addition"),
    ("in", "contrast"),
    ("by", "contrast"),
    ("in", "conclusion"),
    ("in", "other", "words"),
    ("as", "a", "result"),
    ("as", "a", "consequence"),
    ("on", "the", "other", "hand"),
    ("on", "the", "contrary"),
)


def link_length(tokens: Sequence[Token]) -> int:
    """How many of the first tokens are a linking word or phrase; 0 where they open with none."""
    words = tuple(t.lower for t in tokens[:4])
    return next((len(link) for link in _LINKS if words[: len(link)] == link), 0)

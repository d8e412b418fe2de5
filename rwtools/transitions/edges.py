"""Where a part that is quoted to a learner begins and ends."""

from __future__ import annotations

from rwtools.clue import Span
from rwtools.text import Text

__all__ = ["trimmed"]

_NOT = frozenset({"n't", "n’t", "not"})
_CLOSER = {"“": "”", "(": ")", "[": "]", "‘": "’", '"': '"'}


def trimmed(text: Text, first: int, last: int) -> Span | None:
    """Characters of tokens ``first..last`` (half-open) less the marks at both ends, a *that* which
    only hangs the part on a verb (*argues | that it hears*), and a link that closes it. Brackets
    and quotation marks stay in pairs, and *cannot* stays whole."""
    tokens = text.tokens
    start, end = first, last
    while start < end and (
        tokens[start].is_punct or (tokens[start].lower == "that" and tokens[start].dep == "mark")
    ):
        start += 1
    while end > start and (tokens[end - 1].is_punct or tokens[end - 1].tag == "CC"):
        end -= 1
    if start >= end:
        return None
    if _parts_verb(text, end):
        end += 1
    start, end = _paired(text, (start, end), (first, last))
    return text.span(start, end - 1)


def _parts_verb(text: Text, end: int) -> bool:
    """Whether an end falls inside *cannot* or *don't*, or before the *not* of an auxiliary."""
    tokens = text.tokens
    if end >= len(tokens) or tokens[end].lower not in _NOT:
        return False
    joined = tokens[end].start == tokens[end - 1].end
    return joined or (tokens[end].dep == "neg" and tokens[end - 1].pos == "AUX")


def _paired(text: Text, inner: tuple[int, int], outer: tuple[int, int]) -> tuple[int, int]:
    """A stretch, with the opening or closing mark beside it whose other half stands inside."""
    tokens = text.tokens
    start, end = inner
    for opening, closing in _CLOSER.items():
        inside = [t.text for t in tokens[start:end]]
        more = inside.count(opening) - inside.count(closing)
        same = opening == closing
        if same:
            more = 0 if inside.count(opening) % 2 == 0 else -1
        if more < 0 and start > outer[0] and tokens[start - 1].text == opening:
            start -= 1
        elif more > 0 or (same and more):
            at = next((i for i in range(end, outer[1]) if tokens[i].text == closing), None)
            end = end if at is None else at + 1
    return start, end

"""Put a choice into its passage, and find the way back to the passage's own offsets."""

from __future__ import annotations

import re
from dataclasses import dataclass

from rwtools.items.model import Item

__all__ = ["Placed", "gap_of", "place", "placed"]

_OPENS = re.compile(r"(?:^|[.?!…][\"'”’)\]]*|\n)\s*[\"'“‘(\[]*$")
_CLOSING = re.compile(r"[,;:.?!](?![\w.])")  # a mark that closes up to the word before it
_AS_IS = re.compile(r"(?i)no change|as (?:it )?is")


@dataclass(frozen=True, slots=True)
class Placed:
    """A passage with one choice put in.

    ``passage[start:end]`` is the choice as it stands there; ``gap`` is the stretch of the item's
    own passage that it took the place of.
    """

    passage: str
    start: int
    end: int
    gap: tuple[int, int]

    @property
    def words(self) -> str:
        """The choice as it stands in the passage."""
        return self.passage[self.start : self.end]

    def back(self, start: int, end: int) -> tuple[int, int]:
        """A span of the filled passage in the item's own passage; inside the choice: the gap."""
        return self._back(start, self.gap[0]), self._back(end, self.gap[1])

    def _back(self, offset: int, inside: int) -> int:
        if offset <= self.start:
            return offset
        return offset - self.end + self.gap[1] if offset >= self.end else inside

    def touches(self, start: int, end: int, reach: int = 0) -> bool:
        """Whether a span of the filled passage meets the choice (or comes as near as ``reach``)."""
        return start <= self.end + reach and self.start - reach <= end


def gap_of(item: Item) -> tuple[int, int] | None:
    """Where the choices go: the blank, else the target (its first place as a whole word).

    Where choices begin with a mark, as ``, who`` does, the space before the blank belongs to the
    gap: *The baker ____ had* with this choice means *The baker, who had*.
    """
    if item.blank is not None:
        start, end = item.blank
        marks = any(_CLOSING.match(choice.strip()) for choice in item.choices)
        spaced = start > 1 and item.passage[start - 1] == " " and item.passage[start - 2] != " "
        return (start - 1, end) if marks and spaced else (start, end)
    if not item.target:
        return None
    whole = re.search(rf"(?<!\w){re.escape(item.target)}(?!\w)", item.passage)
    start = whole.start() if whole else item.passage.find(item.target)
    return (start, start + len(item.target)) if start >= 0 else None


def place(item: Item, gap: tuple[int, int], choice: str) -> Placed:
    """The passage with ``choice`` in the gap.

    A word that comes to open a sentence gets its capital, one inside a sentence loses it if all
    choices are capitalised alike; what a punctuation item offers stands exactly as given. A choice
    that begins with a mark follows the word before it at once; others keep the space before the
    blank, and their own where words would run together without it.
    """
    start, end = gap
    before = item.passage[:start]
    words = choice.strip()
    if item.blank is None and _AS_IS.fullmatch(words):
        words = item.passage[start:end]
    elif item.skill != "punctuation":
        words = _cased(item, before, words)
    words = _spaced(item, gap, choice, words)
    return Placed(before + words + item.passage[end:], start, start + len(words), gap)


def _spaced(item: Item, gap: tuple[int, int], choice: str, words: str) -> str:
    if item.blank is None:
        return words
    start, end = gap
    took_space = start < item.blank[0] and not _CLOSING.match(words)
    meets = item.passage[:start][-1:].isalnum() and words[:1].isalnum()
    if took_space or (meets and choice[:1].isspace()):
        words = " " + words
    if item.passage[end : end + 1].isalnum() and choice[-1:].isspace():
        words += " "
    return words


def placed(item: Item) -> list[Placed]:
    """The passage with each choice in turn; empty where there is nothing to fill."""
    gap = gap_of(item)
    return [] if gap is None else [place(item, gap, choice) for choice in item.choices]


def _cased(item: Item, before: str, words: str) -> str:
    if not words[:1].isalpha():
        return words
    if _OPENS.search(before):
        return words[0].upper() + words[1:]
    all_capital = all(c.strip()[:1].isupper() for c in item.choices)
    if all_capital and item.skill in ("transition", "vocabulary") and words[1:2].islower():
        return words[0].lower() + words[1:]
    return words

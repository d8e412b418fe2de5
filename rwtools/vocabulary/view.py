"""What a way of giving a meaning sees: the parsed passage, and which words are asked about."""

from __future__ import annotations

from functools import cached_property

from rwtools.clue import Span
from rwtools.text import Text
from rwtools.vocabulary.familiarity import CONTENT, UNFAMILIAR_BELOW, is_name, rarity, zipf

__all__ = ["View"]


_CUES = frozenset({"i.e.", "e.g.", "etc.", "i.e", "viz.", "cf."})


class View:
    """A passage with a question: any unfamiliar word, every word, or these places."""

    def __init__(
        self, text: Text, *, targets: tuple[Span, ...] | None = None, all_words: bool = False
    ) -> None:
        self.text = text
        self.targets = targets
        self.all_words = all_words

    @property
    def asked(self) -> bool:
        """Whether somebody asks about certain words, so that loose ties help."""
        return self.targets is not None

    @cached_property
    def places(self) -> dict[str, list[int]]:
        """For each lower-case token its indices."""
        found: dict[str, list[int]] = {}
        for token in self.text.tokens:
            found.setdefault(token.lower, []).append(token.i)
        return found

    def at(self, *words: str) -> list[int]:
        """Indices of these tokens, in reading order."""
        return sorted(i for word in words for i in self.places.get(word, ()))

    def wants(self, first: int, last: int, *, below: float = UNFAMILIAR_BELOW) -> bool:
        """Whether tokens ``first..last`` hold a word that is asked about, or, where nobody asks,
        a word rarer than ``below`` (Zipf)."""
        tokens = self.text.tokens[first : last + 1]
        if not tokens:
            return False
        if self.targets is not None:
            span = self.text.span(first, last)
            return any(span.overlaps(target) for target in self.targets)
        words = [t for t in tokens if t.pos in CONTENT and not t.is_punct]
        if not words or words[-1].is_blank or is_name(self.text, words[0]):
            return False
        if is_name(self.text, words[-1]) or words[-1].lower in _CUES:
            return False
        if words[-1].text.endswith("-"):  # a word broken off in speech
            return False
        if any(c.isdigit() or c in ".@/" for t in words for c in t.text):
            return False
        return self.all_words or rarity(self.text, first, last) < below

    def wants_short_form(self, at: int) -> bool:
        """Whether a short form such as *CNS* is asked about: its capitals make it no name."""
        if self.targets is not None:
            return self.wants(at, at)
        return self.all_words or zipf(self.text.tokens[at].lower) < UNFAMILIAR_BELOW

"""Plain data that stands for a parsed passage. No parser object is kept."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from rwtools.clue import Evidence, Span

__all__ = ["Clause", "Sentence", "Text", "Token"]


class Token(NamedTuple):
    """A word or mark. ``pos`` is the universal part of speech, ``tag`` the Penn tag, ``dep`` the
    dependency on token ``head`` (its own index for a root), ``sent`` the sentence's index;
    ``is_punct``: whether it is a mark, not a word; ``is_blank``: whether it is the blank that an
    item leaves open."""

    i: int
    start: int
    end: int
    text: str
    lower: str
    lemma: str
    pos: str
    tag: str
    dep: str
    head: int
    sent: int
    is_punct: bool
    is_blank: bool


@dataclass(frozen=True, slots=True)
class Sentence:
    """A sentence: characters ``start..end`` and tokens ``first..last`` (half-open)."""

    index: int
    start: int
    end: int
    first: int
    last: int


@dataclass(frozen=True, slots=True)
class Clause:
    """A verb with what depends on it.

    ``start..end`` is the stretch from its first to its last word (clauses inside it included);
    ``head`` is the index of its main verb. ``kind`` is ``independent`` or ``dependent``; ``reason``
    says why: ``main``, ``coordinated``, ``second_verb`` (shares the first verb's subject),
    ``paratactic`` (set beside another without a link), ``subordinator``, ``relative``,
    ``complement``, ``participle``, ``infinitive`` or ``reduced``. ``marker`` is the word that makes
    it dependent (*because*, *which*, *to* ...). ``parent`` is the head of the clause it hangs on.
    """

    start: int
    end: int
    head: int
    finite: bool
    kind: str
    reason: str
    subject: Span | None
    verb: Span
    marker: int | None
    parent: int | None


class Text:
    """A parsed passage: its tokens, sentences and clauses, with the passage's own offsets."""

    def __init__(
        self,
        passage: str,
        tokens: tuple[Token, ...],
        sentences: tuple[Sentence, ...],
        verse: bool = False,
    ) -> None:
        self.passage = passage
        self.verse = verse
        self.tokens = tokens
        self.sentences = sentences

    def __repr__(self) -> str:
        return f"Text({self.passage[:40]!r}, {len(self.tokens)} tokens)"

    @cached_property
    def children(self) -> tuple[tuple[int, ...], ...]:
        """For each token the indices of the tokens that depend on it, in reading order."""
        found: list[list[int]] = [[] for _ in self.tokens]
        for token in self.tokens:
            if token.head != token.i:
                found[token.head].append(token.i)
        return tuple(tuple(c) for c in found)

    @cached_property
    def clauses(self) -> tuple[Clause, ...]:
        """All clauses in reading order of their first word."""
        from rwtools.text.clauses import find_clauses  # `clauses` needs this module

        return find_clauses(self)

    @cached_property
    def clause_of_head(self) -> dict[int, Clause]:
        """The clause of each verb that heads one."""
        return {clause.head: clause for clause in self.clauses}

    @cached_property
    def _starts(self) -> list[int]:
        return [token.start for token in self.tokens]

    def token_at(self, offset: int) -> Token | None:
        """The token that covers a character offset, or the last one before it (None: no such)."""
        index = bisect_right(self._starts, offset) - 1
        return self.tokens[index] if index >= 0 else None

    def tokens_in(self, start: int, end: int) -> tuple[Token, ...]:
        """The tokens that lie wholly inside the characters ``start..end``."""
        first = bisect_right(self._starts, start - 1)
        last = first
        while last < len(self.tokens) and self.tokens[last].end <= end:
            last += 1
        return self.tokens[first:last]

    def sentence_tokens(self, sentence: Sentence) -> tuple[Token, ...]:
        """The tokens of a sentence."""
        return self.tokens[sentence.first : sentence.last]

    def subtree(self, index: int) -> list[int]:
        """The token and all that depends on it, sorted."""
        found, queue = [], [index]
        while queue:
            at = queue.pop()
            found.append(at)
            queue.extend(self.children[at])
        return sorted(found)

    def span(self, first: int, last: int) -> Span:
        """Characters from token ``first`` to token ``last``, both included."""
        return Span(self.tokens[first].start, self.tokens[last].end)

    def phrase(self, index: int) -> Span:
        """Characters of the whole phrase that a token heads."""
        members = self.subtree(index)
        return self.span(members[0], members[-1])

    def child(self, index: int, *deps: str) -> Token | None:
        """The first dependent of a token with one of these relations."""
        for i in self.children[index]:
            if self.tokens[i].dep in deps:
                return self.tokens[i]
        return None

    def ancestors(self, index: int) -> Iterator[Token]:
        """Head, head's head, up to the root."""
        token = self.tokens[index]
        while token.head != token.i:
            token = self.tokens[token.head]
            yield token

    def quote(self, start: int, end: int) -> str:
        """The passage's own characters."""
        return self.passage[start:end]

    def evidence(self, span: Span, role: str) -> Evidence:
        """Evidence quoted from this passage."""
        return Evidence.at(self.passage, span.start, span.end, role)

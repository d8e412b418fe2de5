"""Sentence boundaries, decided by punctuation wherever punctuation decides.

The parser's own boundaries follow its parse, which is unsure exactly where learners err (a
fragment is glued to its neighbour, a fused sentence is cut). So marks decide: a boundary after a
full stop, question or exclamation mark before a capital; none where no such mark stands. Only
doubtful places (an abbreviation before a capital) are left to the parser.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from spacy.tokens import Doc

__all__ = ["CLOSERS", "TERMINATORS", "mark_boundaries"]

TERMINATORS = frozenset({".", "?", "!", "...", "…", "?!", "!?", "!!", "...."})
CLOSERS = frozenset({'"', "'", "''", ")", "]", "}", "»"})
_ALWAYS_OPEN = frozenset({"``", "(", "[", "{", "«"})
_BEFORE_OPENER = _ALWAYS_OPEN | {"\u2014", "--"}
_SPEECH = frozenset(
    "said says asked asks cried cries called calls replied replies answered answers shouted "
    "whispered exclaimed wondered murmured added told yelled muttered demanded remarked".split()
)
_TITLES = frozenset(
    "mr. mrs. ms. dr. prof. st. mt. rev. gen. col. lt. capt. sen. rep. gov. hon. no. vs. e.g. i.e. "
    "cf. fig. vol. p. pp. ca. c. approx. jan. feb. mar. apr. jun. jul. aug. sept. oct. nov. "
    "dec.".split()
)


def mark_boundaries(doc: Doc) -> Doc:
    """Set ``is_sent_start`` before parsing: yes, no, or (None) for the parser to decide."""
    marks = _Marks(doc)
    depth = 0
    for i, (token, word, space) in enumerate(zip(doc, marks.words, marks.spaces, strict=True)):
        if i:
            token.is_sent_start = None if space else marks.boundary(i, depth)
        if space and "\n" in word:
            depth = 0
        elif word in "([":
            depth += 1
        elif word in ")]":
            depth = max(0, depth - 1)
    return doc


class _Marks:
    """The words and marks of a document as plain lists: each token is looked at many times."""

    def __init__(self, doc: Doc) -> None:
        self.doc = doc
        self.words = [token.text for token in doc]
        self.spaces = [word.isspace() for word in self.words]
        self.gaps = [bool(token.whitespace_) for token in doc]

    def opens(self, i: int) -> bool:
        """Whether the mark at ``i`` opens a quotation or bracket: plain quotes look the same both
        ways, so white space decides."""
        word = self.words[i]
        if word in _ALWAYS_OPEN:
            return True
        if word not in CLOSERS or word in ")]}":
            return False
        spaced_before = i == 0 or self.gaps[i - 1] or self.spaces[i - 1]
        if i and not spaced_before and self.words[i - 1] in _BEFORE_OPENER:
            spaced_before = True
        return spaced_before and not self.gaps[i]

    def boundary(self, i: int, depth: int) -> bool | None:
        """Whether a sentence begins at token ``i``."""
        words, before = self.words, i - 1
        while before >= 0 and self.spaces[before]:
            if "\n" in words[before]:
                return True
            before -= 1
        if before < 0 or self.opens(before):
            return False
        closed = False
        while before > 0 and words[before] in CLOSERS and not self.opens(before):
            closed = True
            before -= 1
        word, last = words[i], words[before]
        if last not in TERMINATORS and not (len(last) > 1 and last.endswith(".")):
            return False
        opening = self.opens(i)
        if word in CLOSERS and not opening:
            return False  # a closing mark belongs to the sentence that it closes
        first = words[i + 1] if opening and i + 1 < len(words) else word
        capital = first[:1].isupper() or first[:1].isdigit()
        if last in TERMINATORS:
            if depth:
                return None
            if self.doc[i].is_punct and not opening:
                return False
            if first[:1].islower() and set(first) != {"x"}:  # x's stand for a blank
                return False
            # `"Stop!" Mira said`
            return not (closed and last != "." and capital and self.speech_verb_follows(i))
        if not capital or last.lower() in _TITLES:
            return False
        return None

    def speech_verb_follows(self, i: int) -> bool:
        """Whether a verb of saying comes within the next few words, before any mark."""
        for token in self.doc[i : i + 5]:
            if token.is_punct:
                return False
            if token.lower_ in _SPEECH:
                return True
        return False

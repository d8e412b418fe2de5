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

__all__ = ["CLOSERS", "LONG", "LONGEST", "TERMINATORS", "mark_boundaries"]

LONGEST = 300
"""Tokens that a sentence has at most. Prose stays below; a text without full stops (a row of marks,
a transcript) is cut, so that work which grows with the square of a sentence stays small."""

LONG = 200
"""Tokens that a part cut off has at least, white space left out."""

_GOOD_CUT = 60  # tokens before the limit in which a mark or *and* is looked for

TERMINATORS = frozenset({".", "?", "!", "...", "…", "?!", "!?", "!!", "...."})
CLOSERS = frozenset({'"', "'", "''", ")", "]", "}", "»"})
_ALWAYS_OPEN = frozenset({"``", "(", "[", "{", "«"})
_BEFORE_OPENER = _ALWAYS_OPEN | {"\u2014", "--"}
_SPEECH = frozenset(
    "said says asked asks cried cries called calls replied replies answered answers shouted "
    "whispered exclaimed wondered murmured added told yelled muttered demanded remarked".split()
)
_PARTS = frozenset({";", ":", ",", "\u2014", "--"})
_TITLES = frozenset(
    "mr. mrs. ms. dr. prof. st. mt. rev. gen. col. lt. capt. sen. rep. gov. hon. no. vs. e.g. i.e. "
    "cf. fig. vol. p. pp. ca. c. approx. jan. feb. mar. apr. jun. jul. aug. sept. oct. nov. "
    "dec.".split()
)


def mark_boundaries(doc: Doc) -> Doc:
    """Set ``is_sent_start`` before parsing: yes, no, or (None) for the parser to decide."""
    import numpy as np
    from spacy.attrs import SENT_START

    marks = _Marks(doc)
    depth = 0
    starts: list[bool | None] = []
    for i, (word, space) in enumerate(zip(marks.words, marks.spaces, strict=True)):
        starts.append(None if space or not i else marks.boundary(i, depth))
        if space and "\n" in word:
            depth = 0
        elif word in "([":
            depth += 1
        elif word in ")]":
            depth = max(0, depth - 1)
    _cut_long(starts, marks)
    # All at once: to set one token's flag, spaCy looks through the whole document.
    codes = np.array([0 if s is None else 1 if s else -1 for s in starts], dtype=np.int64)
    if starts:
        doc.from_array([SENT_START], codes.view(np.uint64))
    return doc


def _cut_long(starts: list[bool | None], marks: _Marks) -> None:
    """Put a boundary where no sentence ends for too long: behind a mark or before *and*."""
    first = 0
    for i, begins in enumerate(starts):
        if begins:
            first = i
        elif i - first >= LONGEST and not marks.spaces[i]:
            near = range(i, max(first, i - _GOOD_CUT), -1)
            first = next((n for n in near if not marks.spaces[n] and marks.parts_at(n)), i)
            starts[first] = True


class _Marks:
    """The words and marks of a document as plain lists: each token is looked at many times."""

    def __init__(self, doc: Doc) -> None:
        self.doc = doc
        self.words = [token.text for token in doc]
        self.spaces = [word.isspace() for word in self.words]
        self.gaps = [bool(token.whitespace_) for token in doc]
        # For each token the nearest one, itself or before it, that is no closing mark: looked up,
        # because a text may be one long row of marks.
        self.grounds: list[int] = []
        for i, word in enumerate(self.words):
            closes = i > 0 and word in CLOSERS and not self.opens(i)
            self.grounds.append(self.grounds[-1] if closes else i)

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
        ground = self.grounds[before]
        closed = ground < before
        word, last = words[i], words[ground]
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

    def parts_at(self, i: int) -> bool:
        """Whether a clause may begin at token ``i``: a mark stands before it, or it is *and*."""
        return self.words[i - 1] in _PARTS or self.words[i].lower() in ("and", "but", "so")

    def speech_verb_follows(self, i: int) -> bool:
        """Whether a verb of saying comes within the next few words, before any mark."""
        for token in self.doc[i : i + 5]:
            if token.is_punct:
                return False
            if token.lower_ in _SPEECH:
                return True
        return False

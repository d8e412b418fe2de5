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
    depth = 0
    for i, token in enumerate(doc):
        if i:
            token.is_sent_start = None if token.is_space else _boundary(doc, i, depth)
        if token.is_space and "\n" in token.text:
            depth = 0
        elif token.text in "([":
            depth += 1
        elif token.text in ")]":
            depth = max(0, depth - 1)
    return doc


def _opens(doc: Doc, i: int) -> bool:
    """Whether the mark at ``i`` opens a quotation or bracket: plain quotes look the same both ways,
    so white space decides."""
    if doc[i].text in _ALWAYS_OPEN:
        return True
    if doc[i].text not in CLOSERS or doc[i].text in ")]}":
        return False
    spaced_before = i == 0 or bool(doc[i - 1].whitespace_) or doc[i - 1].is_space
    if i and not spaced_before and doc[i - 1].text in _ALWAYS_OPEN | {"\u2014", "--"}:
        spaced_before = True
    return spaced_before and not doc[i].whitespace_


def _boundary(doc: Doc, i: int, depth: int) -> bool | None:
    """Whether a sentence begins at token ``i``."""
    before = i - 1
    while before >= 0 and doc[before].is_space:
        if "\n" in doc[before].text:
            return True
        before -= 1
    if before < 0 or _opens(doc, before):
        return False
    closed = False
    while before > 0 and doc[before].text in CLOSERS and not _opens(doc, before):
        closed = True
        before -= 1
    token, last = doc[i], doc[before]
    opening = _opens(doc, i)
    if token.text in CLOSERS and not opening:
        return False  # a closing mark belongs to the sentence that it closes
    first = doc[i + 1] if opening and i + 1 < len(doc) else token
    capital = first.text[:1].isupper() or first.text[:1].isdigit()
    if last.text in TERMINATORS:
        if depth:
            return None
        if token.is_punct and not opening:
            return False
        if first.text[:1].islower() and set(first.text) != {"x"}:  # x's stand for a blank
            return False
        if closed and last.text != "." and capital and _speech_verb_follows(doc, i):
            return False  # `"Stop!" Mira said`
        return True
    if last.text.endswith(".") and len(last.text) > 1 and capital:
        return False if last.lower_ in _TITLES else None
    return False


def _speech_verb_follows(doc: Doc, i: int) -> bool:
    """Whether a verb of saying comes within the next few words, before any mark."""
    for token in doc[i : i + 5]:
        if token.is_punct:
            return False
        if token.lower_ in _SPEECH:
            return True
    return False

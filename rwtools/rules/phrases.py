"""What several rules need to know about a sentence: quotations, pairs of marks, verb groups."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache

from rwtools.clue import Fix, Span
from rwtools.rules.model import Finding
from rwtools.text import Sentence, Text, Token, is_verse

__all__ = [
    "BE",
    "CLAUSE_TAKERS",
    "DASHES",
    "clear",
    "commas_between",
    "cut_mark",
    "is_plural",
    "neighbours",
    "prose",
    "quotations",
    "short",
    "verb_group",
]

BE = frozenset("am is are was were 's 're 'm be been being".split())
DASHES = frozenset({"—", "–", "--", "―"})
# Verbs that take a whole clause as object: "say (that) it is late".
CLAUSE_TAKERS = frozenset(
    "say think know believe hope feel guess mean see find show suggest tell claim admit argue "
    "suppose expect understand realize realise remember forget hear wish bet assume notice agree "
    "decide prove explain conclude imagine swear be seem let doubt fear note add worry "
    "tell inform assure remind convince warn teach consider insist learn discover recognize "
    "recognise be".split()
)
_QUOTED = re.compile(r"[\"“„«][^\"“”„«»\n]*[\"”»]|(?<!\w)‘[^‘’\n]*(?:’\w[^‘’\n]*)*’(?!\w)")
_LONGEST = 60


@lru_cache(maxsize=8)  # all rules look at one text after another
def quotations(text: Text) -> tuple[Span, ...]:
    """The stretches between quotation marks, marks included; apostrophes are not such marks."""
    return tuple(Span(*found.span()) for found in _QUOTED.finditer(text.passage))


@lru_cache(maxsize=8)
def prose(text: Text) -> tuple[Sentence, ...]:
    """The sentences that are prose: a heading, a label or a lone name has no end mark."""
    return tuple(s for s in text.sentences if _ends(text, s))


def _ends(text: Text, sentence: Sentence) -> bool:
    if sentence.last - sentence.first < 4:
        return False
    at = sentence.last - 1
    while at > sentence.first and text.tokens[at].text in "\"'”’)]»":
        at -= 1
    return text.tokens[at].text[-1] in ".?!…:;,—"


@lru_cache(maxsize=8)
def _keeps_its_marks(text: Text) -> bool:
    return is_verse(text.passage)


@lru_cache(maxsize=8)
def _blanks(text: Text) -> tuple[Token, ...]:
    return tuple(token for token in text.tokens if token.is_blank)


def clear(text: Text, findings: Iterable[Finding]) -> list[Finding]:
    """The findings that may be shown.

    A quotation keeps its own wording and a blank decides nothing, so no fault lies inside the one
    or touches the other (nor do the words that speak for it). Verse keeps its own marks.
    """
    kept = list(findings)
    if not any(found.label == "fault" for found in kept):
        return kept
    if _keeps_its_marks(text):
        return [found for found in kept if found.label != "fault"]
    return [found for found in kept if found.label != "fault" or _stands(text, found)]


def _stands(text: Text, found: Finding) -> bool:
    if any(q.start < found.start and found.end < q.end for q in quotations(text)):
        return False
    reach = [(found.start, found.end), *((e.start, e.end) for e in found.evidence)]
    return not any(
        start <= blank.end + 1 and blank.start - 1 <= end
        for blank in _blanks(text)
        for start, end in reach
    )


def neighbours(text: Text, index: int) -> tuple[Token | None, Token | None]:
    """The tokens before and after, within the sentence."""
    sentence = text.sentences[text.tokens[index].sent]
    before = text.tokens[index - 1] if index > sentence.first else None
    after = text.tokens[index + 1] if index + 1 < sentence.last else None
    return before, after


def commas_between(text: Text, first: int, last: int) -> list[int]:
    """Indices of the commas in the tokens ``first..last`` (half-open)."""
    return [i for i in range(first, last) if text.tokens[i].text == ","]


def verb_group(text: Text, head: int) -> tuple[int, int]:
    """First and last token of a verb with its auxiliaries (``has not been seen``)."""
    first = last = head
    for i in text.children[head]:
        token = text.tokens[i]
        if token.dep in ("aux", "auxpass", "neg") and i < head:
            first = min(first, i)
        elif token.dep in ("prt", "neg") and i == last + 1:
            last = i
    return first, last


def is_plural(token: Token) -> bool:
    """Whether a noun is tagged as plural."""
    return token.tag in ("NNS", "NNPS")


def cut_mark(text: Text, index: int) -> Fix:
    """The fix that takes a mark away (and the white space that would be doubled)."""
    mark = text.tokens[index]
    passage = text.passage
    start, end = mark.start, mark.end
    if start and end < len(passage) and not passage[start - 1].isspace():
        return Fix(start, end, "" if passage[end].isspace() else " ")
    return Fix(start, end, "")


def short(text: Text, start: int, end: int) -> str:
    """A quote for an explanation: long ones keep their first and last words."""
    quote = " ".join(text.passage[start:end].split())
    if len(quote) <= _LONGEST:
        return quote
    words = quote.split(" ")
    head, tail = words[:5], words[-3:]
    return f"{' '.join(head)} ... {' '.join(tail)}" if len(words) > 9 else quote

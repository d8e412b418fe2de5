"""A second wording after *or*, fenced off by marks: "the pith, or soft core, ..."."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from rwtools.text import Text
from rwtools.vocabulary.familiarity import rarity
from rwtools.vocabulary.model import Gloss
from rwtools.vocabulary.phrases import (
    QUOTES,
    closing,
    fits_class,
    has_content,
    head_of,
    phrase_before,
    span,
    term_of,
    whole_phrase,
)
from rwtools.vocabulary.view import View

_FENCES = frozenset({",", ";", ")", "\u2014", "--", "\u2013"})
_NOT_AFTER = frozenset(
    "otherwise even at perhaps maybe more less better worse whether if when that to not so in on "
    "for by with from else both neither other sometimes often usually either no any "
    "whatever".split()
)


def find(view: View) -> Iterator[Gloss]:
    """*or* after a comma, one phrase, and a mark again: the second names the first anew."""
    text, tokens = view.text, view.text.tokens
    for at in view.at("or"):
        if at < 2 or at + 1 >= len(tokens) or tokens[at - 1].text != ",":
            continue
        end = closing(text, at + 1, _FENCES)
        # At a sentence's end a verb after "or" mostly tells of another thing that one may do.
        open_end = view.asked or not tokens[at + 1].tag.startswith("VB")
        if not _fenced(text, at, end, open_end=open_end):
            continue
        after = tokens[end + 1] if end + 1 < len(tokens) else None
        if after is not None and after.lower in ("or", "and") and not _new_part(text, end + 2):
            continue
        term = phrase_before(text, at - 1)
        if term is None or end <= at + 1 or end - at > 10:
            continue
        first, last = at + 1, end - 1
        while first < last and tokens[first].lower in ("rather", "simply", "just"):
            first += 1
        if not _one_wording(text, term, first, last):
            continue
        cue = text.span(at, at)
        other = term_of(text, first, last)
        left, right = rarity(text, *term), rarity(text, *other)
        if view.wants(*term) and (left <= right or view.asked):
            gloss = span(text, first, last)
            yield Gloss(span(text, *term), gloss, "restatement", "after", cue=cue)
        elif view.wants(*other) and (right < left or view.asked):
            whole = whole_phrase(text, term)
            if tokens[term[1]].tag == "NNS" and tokens[other[1]].tag == "NN":
                term = whole  # "the revocation of voting rights, or disenfranchisement"
            short = other[1] - other[0] <= 2 and tokens[first].lower not in ("a", "an")
            if not short and not view.asked:
                continue
            gloss = span(text, *term)
            yield Gloss(span(text, *other), gloss, "restatement", "before", cue=cue)


def _new_part(text: Text, at: int) -> bool:
    """Whether a part of its own begins after *and*, so that no list is under way."""
    token = text.tokens[at] if at < len(text.tokens) else None
    return token is not None and token.pos in ("ADP", "VERB", "AUX", "PRON")


def _fenced(text: Text, at: int, end: int, *, open_end: bool) -> bool:
    """Whether a mark closes the second wording, and no list is under way."""
    tokens = text.tokens
    closed = end < len(tokens) and tokens[end].text in _FENCES - {";"}
    if not closed and not (open_end and end < len(tokens) and tokens[end].text == "."):
        return False
    sentence = text.sentences[tokens[at].sent]
    before = tokens[sentence.first : at - 1]
    commas = [t.i for t in before if t.text == ","]
    between = tokens[commas[-1] : at - 1] if commas else ()
    verb = any(t.tag in ("VBZ", "VBP", "VBD", "MD") for t in between)
    if 0 < len(between) <= 6 and not verb and commas[-1] > sentence.first + 1:
        return False  # "shells, bones, or stones,": a list
    if any(t.lower in ("or", "versus", "vs.") for t in before[-8:]):
        return False  # choices are being listed
    if any((a.lower, b.lower) == ("such", "as") for a, b in pairwise(before)):
        return False
    return not any(t.lower in ("whether", "either") for t in before)


def _one_wording(text: Text, term: tuple[int, int], first: int, last: int) -> bool:
    """Whether what follows *or* is one phrase of the same class as what stands before."""
    tokens = text.tokens
    if tokens[first].lower in _NOT_AFTER or not has_content(text, first, last):
        return False
    if any(t.tag in ("VBZ", "VBP", "VBD", "MD") for t in tokens[first + 1 : last + 1]) or any(
        t.dep == "cc" and t.lower == "or" for t in tokens[first : last + 1]
    ):
        return False
    head = head_of(text, first, last)
    named = tokens[term[1]].lemma
    if head is None or any(t.lemma == named for t in tokens[first : last + 1]):
        return False
    if first < last and tokens[first].lemma == tokens[term[0]].lemma:
        return False  # "real beauty, or real deformity": two things, not one
    if any(t.lower == "similar" for t in tokens[first : last + 1]):
        return False
    quoted = tokens[first].text in QUOTES
    fits = fits_class(tokens[term[1]], head) or fits_class(tokens[term[1]], tokens[last])
    return quoted or fits

"""A contrast: "unlike her garrulous brother, Mina hardly spoke"."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from rwtools.text import Text, Token
from rwtools.vocabulary.by_words import turn
from rwtools.vocabulary.familiarity import CONTENT, is_name
from rwtools.vocabulary.model import Gloss
from rwtools.vocabulary.phrases import (
    SUBJECTS,
    closing,
    fits_class,
    has_content,
    is_clause,
    is_quality,
    noun_phrase,
    span,
)
from rwtools.vocabulary.view import View

_STOPS = frozenset({";", ":", "\u2014", "--", "\u2013"})
_LINKS = frozenset({"whereas", "while", "although", "though"})


# Adjectives with these endings mostly sort things into classes ("geometric isomers") and have no
# opposite; they are left to readers who ask.
_CLASSIFYING = ("al", "ic", "ar", "ary", "ine")


def find(view: View) -> Iterator[Gloss]:
    """The word stands on one side of a contrast; what stands on the other is its opposite."""
    yield from _unlike(view)
    yield from _not_but(view)
    yield from _rather_than(view)
    yield from _far_from(view)
    yield from _two_clauses(view)
    yield from _once_now(view)
    yield from _despite(view)
    yield from _next_sentence(view)


def _emit(
    view: View,
    side: tuple[int, int],
    other: tuple[int, int],
    cue: tuple[int, int],
    variant: str,
    *,
    loose: bool,
) -> Iterator[Gloss]:
    """A clue for each word asked about on one side of the contrast."""
    text = view.text
    if side[1] < side[0] or other[1] < other[0] or not has_content(text, *other):
        return
    lemmas = {t.lemma for t in text.tokens[other[0] : other[1] + 1]}
    for token in text.tokens[side[0] : side[1] + 1]:
        if token.pos not in CONTENT and not token.is_blank:
            continue
        if not view.wants(token.i, token.i) or is_name(text, token) or token.lemma in lemmas:
            continue
        describes = is_quality(text, token) and not (
            variant == "unlike" and token.lower.endswith(_CLASSIFYING)
        )
        yield Gloss(
            text.span(token.i, token.i),
            span(text, *other),
            "contrast",
            variant,
            cue=text.span(*cue),
            loose=loose or not describes,
        )


def _unlike(view: View) -> Iterator[Gloss]:
    text, tokens = view.text, view.text.tokens
    for at in view.at("unlike"):
        noun = text.child(at, "pobj")
        if noun is None:
            continue
        first, last = noun_phrase(text, noun.i)
        sentence = text.sentences[tokens[at].sent]
        if at <= sentence.first + 1:  # "Unlike X, Y does Z"
            comma = last + 1
            if comma >= sentence.last or tokens[comma].text != ",":
                continue
            main = (comma + 1, closing(text, comma + 1, _STOPS) - 1)
            said = _predicate(text, *main) or main
        else:
            said = (sentence.first, at - 1)
            said = _predicate(text, *said) or said
        described = text.child(noun.i, "poss", "det") is not None and at == sentence.first
        plain = described and said[1] - said[0] < 10
        yield from _emit(view, (first, last), said, (at, at), "unlike", loose=not plain)
        yield from _emit(view, said, (first, last), (at, at), "unlike", loose=True)


def _predicate(text: Text, first: int, last: int) -> tuple[int, int] | None:
    """From the verb of the first clause in a stretch to the stretch's end, subject left out."""
    for token in text.tokens[first : last + 1]:
        if token.dep in SUBJECTS and first <= token.head <= last and token.i < token.head:
            members = [i for i in text.subtree(token.i) if i < token.head]
            start = max(token.i, *members) + 1
            return (start, last) if start <= last else None
    return None


def _not_but(view: View) -> Iterator[Gloss]:
    """ "not loquacious but quiet"."""
    text, tokens = view.text, view.text.tokens
    for at in view.at("but"):
        if view.asked:
            yield from _not_but_by_words(view, at)
        if tokens[at].dep != "cc":
            continue
        left = tokens[tokens[at].head]
        right = next(
            (tokens[i] for i in text.children[left.i] if tokens[i].dep == "conj" and i > at), None
        )
        if (
            right is None
            or not fits_class(left, right)
            or text.child(right.i, *SUBJECTS) is not None
        ):
            continue
        start = next(
            (
                i
                for i in range(left.i, max(left.i - 7, -1), -1)
                if tokens[i].lower in ("not", "n't", "never")
            ),
            None,
        )
        if start is not None and any(
            t.pos in ("VERB", "AUX", "NOUN", "ADP") for t in tokens[start + 1 : left.i]
        ):
            start = None
        if (
            start is None
            or tokens[start].sent != tokens[at].sent
            or tokens[start + 1].lower in ("only", "just", "merely", "simply")
        ):
            continue
        end = closing(text, at + 1, _STOPS | {","})
        first = at + 1
        while first < end and tokens[first].lower in ("rather", "instead", ","):
            first += 1
        a, b = (start + 1, at - 1), (first, end - 1)
        strong = is_quality(text, left) and right.pos == "ADJ" and end - start <= 10
        yield from _emit(view, a, b, (at, at), "not-but", loose=not strong)
        yield from _emit(view, b, a, (at, at), "not-but", loose=not strong)


def _not_but_by_words(view: View, at: int) -> Iterator[Gloss]:
    """The same by its words alone, where the parser cannot read the phrase (a blank in it)."""
    text, tokens = view.text, view.text.tokens
    back = range(at - 1, max(at - 8, text.sentences[tokens[at].sent].first - 1), -1)
    start = next((i for i in back if tokens[i].lower in ("not", "n't") or tokens[i].is_punct), None)
    if start is None or tokens[start].is_punct or not view.wants(start + 1, at - 1):
        return
    end = closing(text, at + 1, _STOPS | {","})
    yield from _emit(view, (start + 1, at - 1), (at + 1, end - 1), (at, at), "not-but", loose=True)


def _rather_than(view: View) -> Iterator[Gloss]:
    """ "stoic rather than tearful", "walked instead of running"."""
    text, tokens = view.text, view.text.tokens
    cues = [(i, i + 1) for i in view.at("rather") if _follows(tokens, i, "than")]
    cues += [(i, i + 1) for i in view.at("instead") if _follows(tokens, i, "of")]
    for first, last in cues:
        sentence = text.sentences[tokens[first].sent]
        end = closing(text, last + 1, _STOPS | {","})
        other = (last + 1, end - 1)
        if other[1] < other[0]:
            continue
        if first == sentence.first:
            if end >= sentence.last or tokens[end].text != ",":
                continue
            side = (end + 1, closing(text, end + 1, _STOPS | {","}) - 1)
        else:
            start = first
            while start - 1 > sentence.first and tokens[start - 1].text not in _STOPS | {","}:
                start -= 1
            side = (start, first - 1)
        near = side if first == sentence.first else (first - 1, first - 1)
        alike = tokens[near[1]].pos == tokens[other[0]].pos == "ADJ"
        yield from _emit(
            view, near if alike else side, other, (first, last), "rather-than", loose=not alike
        )
        yield from _emit(
            view, other, near if alike else side, (first, last), "rather-than", loose=not alike
        )


def _far_from(view: View) -> Iterator[Gloss]:
    """ "Far from being obdurate, he changed his mind"; "It was far from arid: streams ran"."""
    text, tokens = view.text, view.text.tokens
    for at in view.at("far"):
        if not _follows(tokens, at, "from"):
            continue
        sentence = text.sentences[tokens[at].sent]
        first = at + 2 + _follows(tokens, at + 1, "being")
        end = closing(text, first, _STOPS | {","})
        if at == sentence.first and end < sentence.last and tokens[end].text == ",":
            told = (end + 1, closing(text, end + 1, _STOPS) - 1)
            yield from _emit(view, (first, end - 1), told, (at, at + 1), "far-from", loose=True)
        elif at > sentence.first:
            side = (sentence.first, at - 1)
            yield from _emit(view, (first, end - 1), side, (at, at + 1), "far-from", loose=True)
            yield from _emit(view, side, (first, end - 1), (at, at + 1), "far-from", loose=True)


def _follows(tokens: tuple[Token, ...], i: int, word: str) -> bool:
    return i + 1 < len(tokens) and tokens[i + 1].lower == word


def _two_clauses(view: View) -> Iterator[Gloss]:
    """Two clauses set against each other by *whereas*, *while*, *although* or *but*."""
    text, tokens = view.text, view.text.tokens
    for at in view.at(*_LINKS, "but"):
        sentence = text.sentences[tokens[at].sent]
        if at == sentence.first:
            if tokens[at].lower == "but":
                continue
            comma = next((i for i in range(at + 3, sentence.last) if tokens[i].text == ","), None)
            if comma is None:
                continue
            a, b = (at + 1, comma - 1), (comma + 1, closing(text, comma + 1, _STOPS) - 1)
        elif tokens[at - 1].text == ",":
            start = at - 1
            while start > sentence.first and tokens[start - 1].text not in _STOPS:
                start -= 1
            a, b = (start, at - 2), (at + 1, closing(text, at + 1, _STOPS) - 1)
        else:
            continue
        left, right = _predicate(text, *a), _predicate(text, *b)
        if left is None or right is None:
            if not (view.asked and (left is not None or right is not None)):
                continue
            left, right = left or a, right or b
        strong = tokens[at].lower == "whereas" and all(
            _is_short_quality(text, *side) for side in (left, right)
        )
        yield from _emit(view, left, right, (at, at), "clauses", loose=not strong)
        yield from _emit(view, right, left, (at, at), "clauses", loose=not strong)


def _is_short_quality(text: Text, first: int, last: int) -> bool:
    """Whether a predicate is little more than *be* and an adjective."""
    stretch = text.tokens[first : last + 1]
    return len(stretch) <= 6 and any(t.dep == "acomp" for t in stretch)


def _once_now(view: View) -> Iterator[Gloss]:
    """ "Once an affluent port, it is now a poor village": what was and what is."""
    text, tokens = view.text, view.text.tokens
    for now in view.at("now"):
        sentence = text.sentences[tokens[now].sent]
        before = range(sentence.first, now)
        once = next((i for i in before if tokens[i].lower in ("once", "formerly")), None)
        if once is None:
            continue
        end = next(
            (i for i in range(once + 1, now) if tokens[i].is_punct or tokens[i].lower == "but"), now
        )
        was, is_ = (once + 1, end - 1), (now + 1, closing(text, now + 1, _STOPS | {","}) - 1)
        own_clause = end == now or is_clause(text, *was) or tokens[once + 1].pos == "PRON"
        if own_clause or tokens[once - 1].lower == "at":
            continue  # "once it had cooled, ...", "at once"
        short = was[1] - was[0] <= 3 and is_[1] - is_[0] <= 7
        for side, other in ((was, is_), (is_, was)):
            yield from _emit(view, side, other, (once, once), "once-now", loose=not short)


def _despite(view: View) -> Iterator[Gloss]:
    """ "Despite her usual reticence, she talked for an hour": only where asked."""
    if not view.asked:
        return
    text, tokens = view.text, view.text.tokens
    for sentence in text.sentences:
        opening = [t.lower for t in tokens[sentence.first : sentence.first + 3]]
        if opening[:1] == ["despite"]:
            last = sentence.first
        elif opening == ["in", "spite", "of"]:
            last = sentence.first + 2
        else:
            continue
        comma = closing(text, last + 1, _STOPS | {","})
        told = (comma + 1, closing(text, comma + 1, _STOPS) - 1)
        if comma >= sentence.last - 1 or not is_clause(text, *told):
            continue
        told = _predicate(text, *told) or told
        cue = (sentence.first, last)
        yield from _emit(view, (last + 1, comma - 1), told, cue, "despite", loose=True)


def _next_sentence(view: View) -> Iterator[Gloss]:
    """*However*, *by contrast*, *on the other hand* in the second of two statements: only where
    asked."""
    if not view.asked:
        return
    text, tokens = view.text, view.text.tokens
    for sentence in text.sentences:
        mark = closing(text, sentence.first, frozenset({";"}))
        parts = [(sentence.first, mark - 1)]
        if mark < sentence.last - 1 and tokens[mark].text == ";":
            parts.append((mark + 1, closing(text, mark + 1, frozenset({";"})) - 1))
        if sentence.index:
            before = text.sentences[sentence.index - 1]
            parts.insert(0, (before.first, before.last - 1))
        for a, b in pairwise(parts):
            cue = turn(text, *b)
            if cue is None:
                continue
            begin = cue[1] + 1
            while begin < b[1] and tokens[begin].is_punct:
                begin += 1
            yield from _emit(view, a, (begin, b[1]), cue, "sentences", loose=True)
            yield from _emit(view, (begin, b[1]), a, cue, "sentences", loose=True)

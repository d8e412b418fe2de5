"""All ways of giving a meaning, in one visible tuple. To add one: its module, its words, a line."""

from __future__ import annotations

import re

from rwtools.clue import Clue, Span, in_order
from rwtools.errors import InputError
from rwtools.text import Text
from rwtools.vocabulary.fallback import decided
from rwtools.vocabulary.model import Gloss, Way, to_clue
from rwtools.vocabulary.view import View
from rwtools.vocabulary.ways import (
    apposition,
    called,
    cause,
    colon,
    dash,
    examples,
    means,
    next_sentence,
    opposite,
    or_restatement,
    pair,
    parenthesis,
    relative_clause,
    semicolon,
    that_is,
)

__all__ = ["WAYS", "find", "signals"]


def _words(words: str) -> frozenset[str]:
    return frozenset(words.split())


WAYS: tuple[Way, ...] = (
    Way("meaning-apposition", _words(", ( \u2014 \u2013 -- ---"), apposition.find),
    Way("meaning-or", _words("or"), or_restatement.find),
    Way("meaning-that-is", _words("that other namely i.e. i.e viz."), that_is.find),
    Way(
        "meaning-called",
        _words(
            "called call termed named dubbed labeled labelled nicknamed known described designated "
            "referred"
        ),
        called.find,
    ),
    Way(
        "meaning-means",
        _words(
            "means mean meant meaning denotes denote signifies signify refers refer defined "
            "understood is are"
        ),
        means.find,
    ),
    Way("meaning-colon", _words(":"), colon.find),
    Way("meaning-semicolon", _words(";"), semicolon.find),
    Way("meaning-pair", _words("and"), pair.find),
    Way("meaning-dash", _words("\u2014 \u2013 -- ---"), dash.find),
    Way("meaning-parenthesis", _words("("), parenthesis.find),
    Way("meaning-relative-clause", _words("which who whose"), relative_clause.find),
    Way("meaning-next-sentence", _words(""), next_sentence.find),
    Way(
        "meaning-opposite",
        _words(
            "unlike but far rather instead whereas while although though however conversely yet "
            "contrast contrary hand once formerly despite spite"
        ),
        opposite.find,
    ),
    Way("meaning-examples", _words("such including like for e.g. other"), examples.find),
    Way(
        "meaning-cause",
        _words("so such too because since therefore consequently thus hence accordingly as"),
        cause.find,
    ),
)


def _glosses(view: View) -> list[tuple[str, Gloss]]:
    """What each way finds; a way is asked only where one of its cues stands in the passage."""
    places = view.places
    found: dict[tuple[str, Span, Span], tuple[str, Gloss]] = {}
    for way in WAYS:
        if way.cues and not any(cue in places for cue in way.cues):
            continue
        for gloss in way.find(view):
            if gloss.loose and not view.asked:
                continue
            if gloss.term.overlaps(gloss.gloss):
                continue
            key = (way.id, gloss.term, gloss.gloss)
            if key not in found or (found[key][1].loose and not gloss.loose):
                found[key] = (way.id, gloss)
    return list(found.values())


def _mentions(text: Text, target: str | tuple[int, int]) -> tuple[Span, ...]:
    """The target and all other mentions of the same words in the passage."""
    if isinstance(target, str):
        wanted, own = target, None
        if not wanted.strip():
            raise InputError("the target is empty", field="target")
    else:
        start, end = target
        if not 0 <= start < end <= len(text.passage):
            raise InputError(f"the target {start}..{end} is not inside the passage", field="target")
        wanted, own = text.passage[start:end], Span(start, end)
    pattern = re.compile(rf"(?<!\w){re.escape(wanted.strip())}(?!\w)", re.IGNORECASE)
    spans = {Span(*m.span()) for m in pattern.finditer(text.passage)}
    if own is not None:
        spans.add(own)
    if not spans:
        raise InputError(f"the target {wanted!r} is not in the passage", field="target")
    lemmas = (
        {t.lemma for s in spans for t in text.tokens_in(s.start, s.end) if not t.is_punct}
        if len(wanted.split()) == 1 and "_" not in wanted
        else set()
    )
    if len(lemmas) == 1:
        spans |= {Span(t.start, t.end) for t in text.tokens if t.lemma in lemmas}
    return tuple(sorted(spans))


def find(
    text: Text, *, target: str | tuple[int, int] | None = None, all_words: bool = False
) -> list[Clue]:
    """Where the passage itself gives the meaning of a word, in reading order.

    Without a target, only words that a learner is likely not to know are shown
    (``familiarity.UNFAMILIAR_BELOW``; ``all_words`` shows every one), and only ties that hold by
    themselves. A target, words of the passage or their offsets, is examined whatever its
    frequency, at each of its mentions, and looser ties are given too; where the passage gives
    nothing plain, the words beside it that its meaning must fit.
    Raises `InputError` where the target is not in the passage.
    """
    targets = None if target is None else _mentions(text, target)
    view = View(text, targets=targets, all_words=all_words)
    return in_order(
        to_clue(rule, text, gloss, at=_asked_in(gloss.term, targets))
        for rule, gloss in decided(text, _glosses(view), targets)
    )


def _asked_in(term: Span, targets: tuple[Span, ...] | None) -> Span | None:
    """The target inside a term, so that a clue about "pith" stands at it, not at "soft pith"."""
    inside = [t for t in targets or () if term.start <= t.start and t.end <= term.end]
    return inside[-1] if inside else None


def signals(text: Text, start: int, end: int) -> list[Clue]:
    """What in the passage points at the meaning of one place, even where it is a blank.

    Each clue stands at ``start..end``; its evidence ``gloss`` is what points. The one most likely
    to decide comes first. Both directions
    count: the words beside a term, and the term where the place lies in the words beside it.
    Raises `InputError` where the place is not in the passage.
    """
    if not 0 <= start < end <= len(text.passage):
        raise InputError(f"the place {start}..{end} is not inside the passage", field="target")
    place = Span(start, end)
    clues: dict[tuple[str, int, int], Clue] = {}
    for rule, gloss in ties(text, place):
        clue = to_clue(rule, text, gloss, at=place)
        clues.setdefault((rule, *_gloss_at(clue)), clue)
    for rule, gloss in _glosses(View(text, targets=(Span(0, len(text.passage)),))):
        beside = gloss.gloss.overlaps(place) and not gloss.term.overlaps(place)
        whole = gloss.variant in ("statement", "sentence", "sentence-before", "degree")
        if beside and not whole and not gloss.loose and gloss.label not in ("contrast", "cause"):
            clue = to_clue(rule, text, gloss, at=place, mirrored=True)
            clues.setdefault((rule, *_gloss_at(clue)), clue)
    return sorted(clues.values(), key=lambda c: (-c.confidence, _distance(c), c.rule))


def ties(text: Text, place: Span) -> list[tuple[str, Gloss]]:
    """Each rule's findings for the words at a place, the loose ones too."""
    found = _glosses(View(text, targets=(place,)))
    return [(rule, gloss) for rule, gloss in found if gloss.term.overlaps(place)]


def _distance(clue: Clue) -> int:
    """Characters between a clue's place and what points at it."""
    first, last = _gloss_at(clue)
    return max(first - clue.end, clue.start - last, 0)


def _gloss_at(clue: Clue) -> tuple[int, int]:
    gloss = next(e for e in clue.evidence if e.role == "gloss")
    return gloss.start, gloss.end

"""What to say about a word that is asked about: the sure ties alone, or, where the passage gives
nothing plain, the words beside it that its meaning must fit."""

from __future__ import annotations

from rwtools.clue import Span
from rwtools.text import Text, Token
from rwtools.vocabulary.familiarity import CONTENT
from rwtools.vocabulary.model import Gloss
from rwtools.vocabulary.phrases import DASHES, core, span

__all__ = ["FALLBACK", "decided"]

FALLBACK = "meaning-next-sentence"
"""The rule that neighbours, the words beside a place among them, are told under."""

_WEAK = frozenset({"lead-up", "next", "same-thing", "further"})
_NEIGHBOURS = _WEAK | {"rest"}
_DISTANT = frozenset({"sentences", "result"})  # ties of whole sentences
_ENOUGH = 2  # words that say something
_MARKS = frozenset({",", ";", ":", "(", ")"}) | DASHES

Found = tuple[str, Gloss]


def decided(text: Text, glosses: list[Found], targets: tuple[Span, ...] | None) -> list[Found]:
    """The findings for a question without those that a surer one makes idle.

    Where something beside a word gives its meaning for certain, mere neighbours and ties of whole
    sentences go, and so does a loose tie to the same words. Where there are only weak neighbours,
    the words next to the target in its own sentence come before them.
    """
    if targets is None:
        return glosses
    sure = [gloss.gloss for _, gloss in glosses if not gloss.loose]
    if sure:
        idle = _NEIGHBOURS | _DISTANT
        return [
            (rule, g)
            for rule, g in glosses
            if not g.loose or (g.variant not in idle and not any(g.gloss.overlaps(s) for s in sure))
        ]
    tied = [g.gloss for _, g in glosses if g.variant not in _NEIGHBOURS]
    glosses = [
        (rule, g)
        for rule, g in glosses
        if g.variant not in _NEIGHBOURS or not any(g.gloss.overlaps(t) for t in tied)
    ]
    variants = {gloss.variant for _, gloss in glosses}
    if variants - _WEAK:
        plainer = variants & {"description", "not-but"}
        idle = _WEAK - {"same-thing"} | ({"rest"} if plainer else set())
        return [found for found in glosses if found[1].variant not in idle]
    beside = _beside(text, targets)
    near = [found for found in glosses if found[1].variant != "lead-up"]
    return near if beside is None else [(FALLBACK, beside), *near]


def _beside(text: Text, targets: tuple[Span, ...]) -> Gloss | None:
    """The words behind the first target up to a mark, or, where these say little, before it."""
    tokens = text.tokens
    for target in targets:
        inside = [t for t in text.tokens_in(target.start, target.end) if not t.is_punct]
        if not inside:
            continue
        first, last = inside[0].i, inside[-1].i
        sentence = text.sentences[inside[0].sent]
        end = last + 1
        while end < sentence.last and not (
            tokens[end].text in _MARKS and _content(tokens[last + 1 : end]) >= _ENOUGH
        ):
            end += 1
        start = opens = min(core(text, last)[0], first)
        while start > sentence.first and not (
            tokens[start - 1].text in _MARKS and _content(tokens[start:opens]) >= _ENOUGH
        ):
            start -= 1
        sides = [_trimmed(tokens[last + 1 : end]), _trimmed(tokens[start:opens])]
        best = max(sides, key=lambda side: min(_content(side), _ENOUGH))
        if _content(best):
            gloss = span(text, best[0].i, best[-1].i)
            return Gloss(text.span(first, last), gloss, "restatement", "beside", loose=True)
    return None


def _trimmed(side: tuple[Token, ...]) -> tuple[Token, ...]:
    """A stretch without marks and conjunctions at its head and prepositions at its end."""
    while side and (side[0].is_punct or side[0].pos == "CCONJ"):
        side = side[1:]
    while side and (side[-1].is_punct or side[-1].pos in ("ADP", "DET", "CCONJ", "PART")):
        side = side[:-1]
    return side


def _content(side: tuple[Token, ...]) -> int:
    """How many words of a stretch say something."""
    return sum(t.pos in CONTENT and not t.is_punct for t in side)

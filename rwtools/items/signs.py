"""Signs of a relation that the words around show by their grammar: words that count the steps of an
account (*first ... last of all*), and what was expected before what happened (*assumed that*).

They only explain; `cues.py` has what is weighed.
"""

from __future__ import annotations

import re

from rwtools.clue import Span
from rwtools.items.case import Case
from rwtools.items.steps import said
from rwtools.items.transition import joined
from rwtools.text import Text, Token

__all__ = ["Sign", "signs"]

Sign = tuple[str, tuple[Span, ...]]
"""What is told, and the words of the item's passage that it rests on."""

_ORDER = frozenset(
    "first firstly second secondly third thirdly next then later afterwards afterward finally "
    "lastly last eventually subsequently".split()
)
_ORDER_PHRASES = re.compile(
    r"\b(?:(?:first|last) of all|to begin with|to start with|in the end|after that|at first|at last"
    r"|last came|next came)\b",
    re.IGNORECASE,
)
_EXPECTING = frozenset(
    "assume believe expect hope intend plan predict promise suppose think".split()
)
_PERSONS = frozenset("i you he she we they".split())
_MOST = 3


def signs(case: Case, best: int, relation: str | None) -> list[Sign]:
    """The signs that speak for a relation; most often none."""
    if relation == "sequence":
        return _order(case, best)
    if relation in ("concession", "contrast", "substitution"):
        return _expected(case, best)
    return []


def _order(case: Case, best: int) -> list[Sign]:
    """Order words of the whole passage: adverbs beside a verb or at the head of a sentence, not
    *the first party*."""
    text, where = case.texts[best], case.choices[best]
    found = [Span(*m.span()) for m in _ORDER_PHRASES.finditer(text.passage)]
    for token in text.tokens:
        if token.lower in _ORDER and _counts(text, token):
            own = Span(token.start, token.end)
            if not any(own.overlaps(other) for other in found):
                found.append(own)
    spans = sorted(
        Span(*where.back(s.start, s.end)) for s in found if not where.touches(s.start, s.end)
    )[:_MOST]
    if not spans:
        return []
    words = [said(case, span) for span in spans]
    if len(words) == 1:
        return [(f"{words[0]} shows that the passage tells things in their order.", (spans[0],))]
    listed = f"{', '.join(words[:-1])} and {words[-1]}"
    return [(f"{listed} count the steps in their order.", tuple(spans))]


def _counts(text: Text, token: Token) -> bool:
    """Whether a word of order says when something is done."""
    head = text.tokens[token.head]
    before = text.tokens[token.i - 1] if token.i else None
    if before is not None and before.lower in ("the", "a", "an", "at"):
        return False
    if token.lower == "first" and before is not None and before.pos == "AUX":
        return False  # "was first blown": for the first time
    return token.dep in ("advmod", "npadvmod") and head.pos in ("VERB", "AUX")


def _expected(case: Case, best: int) -> list[Sign]:
    """*Engineers assumed that it would fall*, and the other part tells something else."""
    text, where = case.texts[best], case.choices[best]
    both = joined(case)
    for token in text.tokens:
        span = Span(*where.back(token.start, token.end))
        if not (both.first.start <= span.start and span.end <= both.first.end):
            continue
        if token.lemma not in _EXPECTING or token.tag not in ("VBD", "VBN", "VBP", "VBZ"):
            continue
        if text.child(token.i, "neg") is not None:
            continue
        if text.child(token.i, "ccomp", "xcomp") is None or _same_doer(text, case, best):
            continue
        told = (
            f"{said(case, span)} says what was thought or hoped for; the other part says what is "
            "really so."
        )
        return [(told, (span,))]
    return []


def _same_doer(text: Text, case: Case, best: int) -> bool:
    """Whether the second part goes on to tell what a person of the first did."""
    where, second = case.choices[best], joined(case).second
    for token in text.tokens:
        if (
            token.dep in ("nsubj", "nsubjpass")
            and where.back(token.start, token.end)[0] >= second.start
        ):
            return token.lower in _PERSONS
    return False

"""A semicolon joins two parts of equal rank: two sentences, or the items of a long list."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.clue import Fix
from rwtools.rules.boundaries import THRESHOLD, boundaries, independent_in, is_linked, two_sides
from rwtools.rules.counts import counted_list
from rwtools.rules.model import Finding, Rule
from rwtools.rules.phrases import clear, short
from rwtools.rules.places import Place
from rwtools.text import Text, Token

__all__ = ["RULE", "find"]


# Words whose clause says when, where or if: after its main clause it takes no comma.
_NO_COMMA = frozenset("when whenever if unless until till before after once where because".split())


def find(text: Text) -> list[Finding]:
    """Fault span: the semicolon. Fix: a comma in its place, a colon before a list that was counted,
    or no mark. Sound: two independent clauses."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    found = boundaries(text)
    wrong = {s.place.mark: s for s in found.of("unequal") if s.probability >= THRESHOLD}
    for place in found.semicolons:
        mark = text.tokens[place.mark]
        both = two_sides(text, place)
        suspect = wrong.get(place.mark)
        count = counted_list(text, place)
        if count is not None:
            yield _list(text, place, count)
        elif suspect is not None and not _leaves_verb_out(text, place):
            left = independent_in(text, place.first, place.left)
            bare = left is not None and _needs_no_mark(text, place)
            yield Finding(
                mark.start,
                mark.end,
                "fault",
                suspect.probability,
                both.values,
                both.evidence,
                (Fix(mark.start, mark.end, "" if bare else ","),),
                "fault-left" if left is None else "fault-bare" if bare else "fault-right",
            )
        elif both.complete and not is_linked(text, place) and not found.doubted(place):
            yield Finding(
                mark.start, mark.end, "sound", 0.9, both.values, both.evidence, (), "sound"
            )


def _list(text: Text, place: Place, count: Token) -> Finding:
    """``three things; a pump, a bell and a horse``: what was counted is named."""
    mark = text.tokens[place.mark]
    left, right = text.span(place.first, place.left), text.span(place.right, place.last)
    return Finding(
        mark.start,
        mark.end,
        "fault",
        0.9,
        {
            "left": short(text, left.start, left.end),
            "right": short(text, right.start, right.end),
            "count": text.span(count.i, place.left).of(text.passage),
        },
        (
            text.evidence(text.span(count.i, place.left), "cue"),
            text.evidence(right, "clause"),
        ),
        (Fix(mark.start, mark.end, ":"),),
        "fault-list",
    )


def _leaves_verb_out(text: Text, place: Place) -> bool:
    """Whether a comma stands for the verb of the part before, and both parts are built alike:
    *whoever came first knew little; whoever came last, a great deal*."""
    words = text.tokens[place.right : place.last]
    alike = text.tokens[place.first].lower == words[0].lower if words else False
    return alike and words[0].lower not in _NO_COMMA and any(t.text == "," for t in words)


def _needs_no_mark(text: Text, place: Place) -> bool:
    """Whether a clause of time or condition follows its main clause, which takes no comma."""
    word = text.tokens[place.right]
    return word.lower in _NO_COMMA and word.tag in ("IN", "WRB")


RULE = Rule("semicolon-unequal-parts", find)

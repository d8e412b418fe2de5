"""Where two clauses meet: what the rules of the boundary share of a passage.

What is doubted and how sure that is comes from `rwtools.rules.doubts`; here it is kept for each
passage, and put into words.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from weakref import WeakKeyDictionary

from rwtools.clue import Evidence
from rwtools.rules.chains import chained
from rwtools.rules.doubts import (
    FRAGMENT_THRESHOLD,
    THRESHOLD,
    Fragment,
    Suspect,
    fragments,
    is_linked,
)
from rwtools.rules.fronted import before_time
from rwtools.rules.phrases import short
from rwtools.rules.places import Outline, Place, outline, places
from rwtools.text import Clause, Text, is_verse

__all__ = [
    "FRAGMENT_THRESHOLD",
    "THRESHOLD",
    "Boundaries",
    "Fragment",
    "Suspect",
    "TwoSides",
    "boundaries",
    "independent_in",
    "is_linked",
    "lowered",
    "survey",
    "two_sides",
]


class Boundaries:
    """All that is known of a passage's boundaries, worked out once and shared by the rules."""

    def __init__(self, text: Text) -> None:
        self.verse = is_verse(text.passage)
        self.shape: Outline = outline(text)
        self.places: tuple[Place, ...] = tuple(places(text, self.shape))
        self.semicolons = tuple(p for p in self.places if p.kind == "semicolon")
        self.commas = tuple(p for p in self.places if p.kind == "comma")
        self.suspects: tuple[Suspect, ...] = ()
        self.fragments: tuple[Fragment, ...] = ()

    def doubted(self, place: Place) -> bool:
        """Whether any model finds this place suspect."""
        return any(s.place == place for s in self.suspects)

    def of(self, label: str, kind: str = "") -> list[Suspect]:
        """Suspects with this label (and at this kind of place)."""
        return [s for s in self.suspects if s.label == label and kind in ("", s.place.kind)]


_known: WeakKeyDictionary[Text, Boundaries] = WeakKeyDictionary()


def boundaries(text: Text) -> Boundaries:
    """The boundaries of a passage (computed at the first call)."""
    if text not in _known:
        survey([text])
    return _known[text]


def survey(texts: Sequence[Text]) -> None:
    """Work out the boundaries of many passages at once, so that the models are asked in batches."""
    new = {text: Boundaries(text) for text in texts if text not in _known}
    judged = [(text, found) for text, found in new.items() if not found.verse]
    cases = [(text, found.shape, found.places) for text, found in judged]
    doubted = zip(judged, chained(cases), fragments(cases), strict=True)
    for (text, found), places_, sentences in doubted:
        known = {s.place.mark for s in places_}
        more = (s for s in before_time(text, found.commas) if s.place.mark not in known)
        found.suspects, found.fragments = (*places_, *more), sentences
    _known.update(new)


# ---------------------------------------------------------------- words for the rules


@dataclass(frozen=True, slots=True)
class TwoSides:
    """Both sides of a place in words for an explanation, and as evidence.

    ``values``: ``left`` and ``right`` (short quotes); where ``complete`` is true (a subject and a
    finite verb of its own was found on each side) ``left_subject``, ``left_verb``,
    ``right_subject`` and ``right_verb`` as well.
    """

    values: dict[str, str]
    evidence: tuple[Evidence, ...]
    complete: bool


def two_sides(text: Text, place: Place) -> TwoSides:
    """What stands left and right of a place."""
    spans = text.span(place.first, place.left), text.span(place.right, place.last)
    values = {
        side: short(text, span.start, span.end)
        for side, span in zip(("left", "right"), spans, strict=True)
    }
    evidence = [text.evidence(span, "clause") for span in spans]
    clauses = (
        independent_in(text, place.first, place.left),
        independent_in(text, place.right, place.last),
    )
    complete = all(clauses)
    for side, clause in zip(("left", "right"), clauses, strict=True):
        if clause is None or clause.subject is None:
            continue
        values[f"{side}_subject"] = short(text, clause.subject.start, clause.subject.end)
        values[f"{side}_verb"] = text.quote(clause.verb.start, clause.verb.end)
        evidence.append(text.evidence(clause.subject, "subject"))
        evidence.append(text.evidence(clause.verb, "verb"))
    return TwoSides(values, tuple(evidence), complete)


def independent_in(text: Text, first: int, last: int) -> Clause | None:
    """The first finite independent clause whose verb and own subject stand in a stretch."""
    lo, hi = text.tokens[first].start, text.tokens[last].end
    for clause in text.clauses:
        if (
            clause.finite
            and clause.kind == "independent"
            and clause.subject is not None
            and lo <= clause.verb.start
            and clause.verb.end <= hi
            and lo <= clause.subject.start
            and clause.subject.end <= hi
        ):
            return clause
    return None


def lowered(text: Text, index: int) -> str:
    """A word as it is written inside a sentence: *I* and names keep their capital."""
    token = text.tokens[index]
    if token.pos == "PROPN" or token.text == "I" or token.text[1:2] in ("'", "’"):
        return token.text
    if token.text[1:] != token.text[1:].lower():
        return token.text
    return token.text[:1].lower() + token.text[1:]

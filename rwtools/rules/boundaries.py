"""Where two clauses meet: which marks are sound, which are suspect, and how sure that is.

Several witnesses are heard. Trained trees judge each place from the words and the parse around it.
Places they doubt are looked at again: the stretches left and right are parsed as texts of their
own, and a second model judges with both. Known false friends (series, tag questions, quotations,
*the more ..., the more ...*) are set aside first. The rules of the boundary share what is found.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from typing import cast
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from rwtools.clue import Evidence
from rwtools.errors import ArtifactError
from rwtools.resources import artifact, load_json
from rwtools.rules.friends import (
    agrees,
    is_bare,
    is_command,
    is_whole,
    leaves_gap,
    may_be_fragment,
    opens_dependent,
    possible,
)
from rwtools.rules.phrases import short
from rwtools.rules.places import (
    ADVERBS,
    CLASSES,
    FINITE,
    Outline,
    Place,
    feature_names,
    features,
    outline,
    places,
)
from rwtools.rules.trees import Forest, load_forests
from rwtools.rules.wholeness import sentence_features, sentence_names
from rwtools.text import Clause, Sentence, Text, is_verse, parse_many

__all__ = [
    "FRAGMENT_THRESHOLD",
    "THRESHOLD",
    "Boundaries",
    "Fragment",
    "Suspect",
    "TwoSides",
    "bareness",
    "boundaries",
    "independent_in",
    "is_linked",
    "look_again",
    "lowered",
    "plainness",
    "side_features",
    "side_names",
    "sides",
    "two_sides",
]

THRESHOLD = 0.6
FRAGMENT_THRESHOLD = 0.5
_SIDE_DOUBT = 0.2
_FLOOR = 0.1
_SIDE_FLOOR = 0.05


@dataclass(frozen=True, slots=True)
class Suspect:
    """A place that looks wrong. ``label``: ``strong`` (two sentences meet here), ``second`` (a
    comma before a lone second verb), ``intro`` or ``compound`` (a comma is missing) or
    ``unequal`` (a semicolon beside a dependent part). ``linker``: the right side begins with a
    linking adverb such as *however*. ``score`` is the model's own, ``probability`` calibrated."""

    place: Place
    label: str
    probability: float
    score: float
    linker: bool = False


@dataclass(frozen=True, slots=True)
class Fragment:
    """A sentence that is none. ``joins`` says to which neighbour it belongs: ``before``,
    ``after``, or empty where there is none."""

    sentence: Sentence
    joins: str
    probability: float
    score: float


# ---------------------------------------------------------------- both sides on their own


def sides(text: Text, place: Place) -> tuple[str, str]:
    """The stretches left and right of a place, each written as a sentence of its own."""
    passage, tokens = text.passage, text.tokens
    left = passage[tokens[_sentence_start(text, place)].start : tokens[place.left].end]
    right = passage[tokens[place.right].start : tokens[place.last].end]
    sentence = text.sentences[tokens[place.left].sent]
    mark = "?" if passage[max(0, sentence.end - 3) : sentence.end].count("?") else "."
    return _capital(left) + ".", _capital(right) + mark


def _sentence_start(text: Text, place: Place) -> int:
    """Where the left side begins: a colon or dash does not cut it off from its sentence."""
    at, first = place.first, text.sentences[text.tokens[place.left].sent].first
    while at > first and text.tokens[at - 1].text != ";":
        at -= 1
    while at < place.first and text.tokens[at].is_punct:
        at += 1
    return at


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


@cache
def side_names() -> tuple[str, ...]:
    """Names of the columns of `side_features`."""
    return tuple(f"{side}:{name}" for side in ("left", "right") for name in sentence_names())


def side_features(left: Text, right: Text) -> NDArray[np.float32]:
    """What is seen in two stretches that were parsed alone."""
    rows = [
        sentence_features(side, outline(side), 0)
        if side.sentences
        else np.zeros(len(sentence_names()), dtype=np.float32)
        for side in (left, right)
    ]
    return np.concatenate(rows)


# ---------------------------------------------------------------- the models


@cache
def _models() -> dict[str, Forest]:
    path = artifact("boundary", "boundary.npz")
    found = load_forests(path)
    for name, forest in found.items():
        expected = sentence_names() if name == "stop" else feature_names()
        if name.endswith("-sides"):
            expected = expected + side_names()
        if forest.names != expected:
            raise ArtifactError(path, "this model was trained on other features", "run train.py")
    return found


@cache
def _calibration() -> dict[str, list[float]]:
    return cast("dict[str, list[float]]", load_json(artifact("boundary", "calibration.json")))


def plainness(text: Text, shape: Outline, place: Place, label: str) -> tuple[bool, bool]:
    """Two plain signs that a suspicion is right, beside the models' scores.

    Before a lone second verb: the stretch is short; both verbs have one form. Elsewhere: no other
    comma stands in the stretch; the right side opens with a pronoun or *there* and its verb (*it
    was*, *this explains*, *nothing could*).
    """
    tokens, codes = text.tokens, shape.codes
    if label == "second":
        verbs = [t.tag for t in tokens[place.first : place.last + 1] if t.tag in FINITE]
        return place.last - place.first <= 14, len(verbs) == 2 and verbs[0] == verbs[1]
    alone = all(
        i == place.mark or tokens[i].text != "," for i in range(place.first, place.last + 1)
    )
    first = tokens[place.right]
    pronoun = CLASSES[codes[place.right]] in ("pronoun", "it", "demonstrative", "there")
    near = tokens[place.right + 1 : min(place.right + 3, place.last + 1)]
    opens = (pronoun or first.lower in _PRONOUNS) and any(t.tag in FINITE for t in near)
    return alone, opens


def bareness(text: Text, sentence: Sentence) -> tuple[bool, bool]:
    """Two plain signs that a sentence is a fragment: no word could be its verb; so too, and no
    comma stands in it."""
    bare = is_bare(text, sentence)
    return bare, bare and not any(t.text == "," for t in text.sentence_tokens(sentence))


_PRONOUNS = frozenset(
    "nothing nobody none everything everyone something someone one this these those others".split()
)


def _calibrated(label: str, score: float, signs: tuple[bool, bool] = (False, False)) -> float:
    """The raw probability as the share of such places that are faults in ordinary prose."""
    slope, shift, alone, opens = _calibration().get(label, [1.0, 0.0, 0.0, 0.0])
    score = min(max(score, 1e-6), 1 - 1e-6)
    odds = slope * math.log(score / (1 - score)) + shift + alone * signs[0] + opens * signs[1]
    return 1 / (1 + math.exp(-odds))


class Boundaries:
    """All that is known of a passage's boundaries, worked out once and shared by the rules."""

    def __init__(self, text: Text) -> None:
        self.verse = is_verse(text.passage)
        self.shape: Outline = outline(text)
        self.suspects: tuple[Suspect, ...] = ()
        self.fragments: tuple[Fragment, ...] = ()
        self.semicolons: tuple[Place, ...] = ()
        self.commas: tuple[Place, ...] = ()
        found = places(text, self.shape)
        self.semicolons = tuple(p for p in found if p.kind == "semicolon")
        self.commas = tuple(p for p in found if p.kind == "comma")
        if not self.verse:
            self.suspects = tuple(_suspects(text, self.shape, found))
            self.fragments = tuple(_fragments(text, self.shape))

    def doubted(self, place: Place) -> bool:
        """Whether any model finds this place suspect."""
        return any(s.place == place for s in self.suspects)

    def of(self, label: str, kind: str = "") -> list[Suspect]:
        """Suspects with this label (and at this kind of place)."""
        return [s for s in self.suspects if s.label == label and kind in ("", s.place.kind)]


_known: WeakKeyDictionary[Text, Boundaries] = WeakKeyDictionary()


def boundaries(text: Text) -> Boundaries:
    """The boundaries of a passage (computed at the first call)."""
    found = _known.get(text)
    if found is None:
        found = _known[text] = Boundaries(text)
    return found


def _suspects(text: Text, shape: Outline, candidates: list[Place]) -> Iterator[Suspect]:
    by_kind: dict[str, list[tuple[Place, set[str]]]] = {}
    for place in candidates:
        if not _touches_blank(text, place) and (labels := possible(text, place)):
            by_kind.setdefault(place.kind, []).append((place, labels))
    doubtful: list[tuple[Place, NDArray[np.float32]]] = []
    for kind, found in by_kind.items():
        model = _models()[kind]
        rows = np.array([features(text, shape, place) for place, _ in found])
        table = model.probabilities(rows)
        for (place, labels), row, chances in zip(found, rows, table, strict=True):
            for label, chance in zip(model.classes, chances, strict=True):
                if label not in labels:
                    continue
                score = float(chance)
                if label in ("strong", "unequal"):
                    if score > _SIDE_DOUBT:
                        doubtful.append((place, row))
                elif score > _FLOOR:
                    signs = plainness(text, shape, place, label)
                    sure = _calibrated(label, score, signs)
                    yield Suspect(place, label, sure, score)
    if doubtful:
        yield from _strongest(text, shape, list(_second_look(text, doubtful)))


def look_again(
    text: Text, doubtful: list[tuple[Place, NDArray[np.float32]]]
) -> Iterator[tuple[Place, NDArray[np.float32]]]:
    """Parse both sides of doubtful places (with their features) as texts of their own; of the
    places whose sides do not speak against the suspicion, the features of all three."""
    halves = [half for place, _ in doubtful for half in sides(text, place)]
    parsed = parse_many(halves)
    for place, row in doubtful:
        left, right = next(parsed), next(parsed)
        at = text.tokens[place.right].start
        unequal = place.kind == "semicolon"
        if unequal:
            if all(is_whole(side) or is_command(side) for side in (left, right)):
                continue
        elif not (is_whole(left) and is_whole(right)):
            continue
        if not unequal and not agrees(text, at, right):
            continue
        if place.kind == "none" and leaves_gap(text, at, right):
            continue
        yield place, np.concatenate([row, side_features(left, right)])


def _second_look(
    text: Text, doubtful: list[tuple[Place, NDArray[np.float32]]]
) -> Iterator[Suspect]:
    for place, row in look_again(text, doubtful):
        model = _models()[f"{place.kind}-sides"]
        score = float(model.probabilities(row[None, :])[0, 1])
        if score > _SIDE_FLOOR:
            label = "unequal" if place.kind == "semicolon" else "strong"
            yield Suspect(place, label, 0.0, score, is_linked(text, place))


def _strongest(text: Text, shape: Outline, suspects: list[Suspect]) -> Iterator[Suspect]:
    """One suspect a sentence and kind: where two places compete, they speak for one fault."""
    groups: dict[tuple[int, str], list[Suspect]] = {}
    for suspect in suspects:
        kind = suspect.place.kind
        at = suspect.place.mark if kind == "semicolon" else text.tokens[suspect.place.left].sent
        groups.setdefault((at, kind), []).append(suspect)
    for group in groups.values():
        best = max(group, key=lambda s: s.score)
        score = 1.0
        for suspect in group:
            score *= 1 - suspect.score
        name = best.label if best.label == "unequal" else f"{best.label}-{best.place.kind}"
        sure = _calibrated(name, 1 - score, plainness(text, shape, best.place, best.label))
        yield replace(best, score=1 - score, probability=sure)


def _fragments(text: Text, shape: Outline) -> Iterator[Fragment]:
    model = _models()["stop"]
    chosen = [s for s in text.sentences if may_be_fragment(text, s)]
    if not chosen:
        return
    rows = np.array([sentence_features(text, shape, s.index) for s in chosen])
    for sentence, (_, right, left) in zip(chosen, model.probabilities(rows), strict=True):
        score = float(right + left)
        if score < _FLOOR:
            continue
        joins = "before" if right >= left else "after"
        if not _neighbours(text, sentence.index - (joins == "before")):
            joins = ""
        kind = "fragment" if opens_dependent(text, sentence) else "fragment-phrase"
        signs = bareness(text, sentence)
        yield Fragment(sentence, joins, _calibrated(kind, score, signs), score)


def _touches_blank(text: Text, place: Place) -> bool:
    near = text.tokens[max(place.first, place.left - 1) : place.right + 2]
    return any(t.is_blank for t in near)


def _neighbours(text: Text, index: int) -> bool:
    """Whether sentence ``index`` and the next stand in one paragraph."""
    if index < 0 or index + 1 >= len(text.sentences):
        return False
    gap = text.passage[text.sentences[index].end : text.sentences[index + 1].start]
    return gap.count("\n") < 2 and not gap.strip()


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


def is_linked(text: Text, place: Place) -> bool:
    """Whether the right side begins with a linking adverb such as *however*."""
    return text.tokens[place.right].lower in ADVERBS


def lowered(text: Text, index: int) -> str:
    """A word as it is written inside a sentence: *I* and names keep their capital."""
    token = text.tokens[index]
    if token.pos == "PROPN" or token.text == "I" or token.text[1:2] in ("'", "’"):
        return token.text
    if token.text[1:] != token.text[1:].lower():
        return token.text
    return token.text[:1].lower() + token.text[1:]

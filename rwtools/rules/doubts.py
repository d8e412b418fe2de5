"""Which places and sentences of a passage look wrong, and how sure that is.

Several witnesses are heard. Trained trees judge each place from the words and the parse around it.
Places they doubt are looked at again: the stretches left and right are parsed as texts of their
own, and a second model judges with both. Known false friends (series, tag questions, quotations,
*the more ..., the more ...*) are set aside first.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import cast

import numpy as np
from numpy.typing import NDArray

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
from rwtools.rules.inversion import is_inverted
from rwtools.rules.places import (
    ADVERBS,
    CLASSES,
    FINITE,
    Outline,
    Place,
    feature_names,
    features,
    outline,
)
from rwtools.rules.trees import Forest, load_forests
from rwtools.rules.wholeness import sentence_features, sentence_names
from rwtools.text import Sentence, Text, parse_many

__all__ = [
    "FRAGMENT_THRESHOLD",
    "THRESHOLD",
    "Case",
    "Doubt",
    "Fragment",
    "Suspect",
    "bareness",
    "fragments",
    "is_linked",
    "look_again",
    "plainness",
    "side_features",
    "side_names",
    "sides",
    "suspects",
]

THRESHOLD = 0.6
FRAGMENT_THRESHOLD = 0.5
_SIDE_DOUBT = 0.2
_FLOOR = 0.1
_SIDE_FLOOR = 0.05
_PLAIN = 0.85  # where a pattern shows the fault, whatever the trees say
_WHOLE = 3  # words after a pronoun that make a statement and no aside such as "it seems"


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
    """Where the left side begins: a colon or dash does not cut it off from its sentence, but a
    comma splice found before does."""
    at, first = place.first, text.sentences[text.tokens[place.left].sent].first
    if at > first and text.tokens[at - 1].text == ",":
        return at
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


# ---------------------------------------------------------------- places

Case = tuple[Text, Outline, Sequence[Place]]
Row = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Doubt:
    """A place that the first look doubts, with its features."""

    text: Text
    place: Place
    row: Row


def suspects(cases: Sequence[Case]) -> list[tuple[Suspect, ...]]:
    """For each passage the places that look wrong: of the commas of a sentence the one that most
    looks like a splice (see `rwtools.rules.chains` for more of them)."""
    found: list[list[Suspect]] = [[] for _ in cases]
    doubts: list[Doubt] = []
    number: dict[Text, int] = {text: n for n, (text, _, _) in enumerate(cases)}
    for kind in ("comma", "none", "semicolon"):
        asked = [
            (n, place, labels)
            for n, (text, _, candidates) in enumerate(cases)
            for place in candidates
            if place.kind == kind
            and not _touches_blank(text, place)
            and (labels := possible(text, place))
        ]
        for n, place, labels in asked:
            if "strong" in labels and _after_inversion(*cases[n][:2], place):
                found[n].append(Suspect(place, "strong", _PLAIN, _PLAIN))
            elif "unequal" in labels and _is_absolute(text := cases[n][0], place):
                found[n].append(Suspect(place, "unequal", _PLAIN, _PLAIN))
        if not asked:
            continue
        model = _models()[kind]
        rows = np.array([features(*cases[n][:2], place) for n, place, _ in asked])
        table = model.probabilities(rows)
        for (n, place, labels), row, chances in zip(asked, rows, table.tolist(), strict=True):
            text, shape, _ = cases[n]
            for label, score in zip(model.classes, chances, strict=True):
                if label not in labels:
                    continue
                if label in ("strong", "unequal"):
                    if score > _SIDE_DOUBT:
                        doubts.append(Doubt(text, place, row))
                elif score > _FLOOR:
                    signs = plainness(text, shape, place, label)
                    found[n].append(Suspect(place, label, _calibrated(label, score, signs), score))
    again: list[list[Suspect]] = [[] for _ in cases]
    for text, suspect in _second_look(doubts):
        again[number[text]].append(suspect)
    for n, (text, shape, _) in enumerate(cases):
        found[n] += _strongest(text, shape, again[n])
    return [tuple(each) for each in found]


def _after_inversion(text: Text, shape: Outline, place: Place) -> bool:
    """Whether a pronoun opens a second statement after a comma and one whose subject stands after
    its verb: *In the corner stood a clock, | it had stopped*. The trees take the first for an
    introductory phrase."""
    if place.kind != "comma" or place.last - place.right < _WHOLE:
        return False
    alone, opens = plainness(text, shape, place, "strong")
    first, *then = text.tokens[place.right : place.right + 4]
    held = then[2:] if then[0].lower == "of" else then[:1]  # each of them | had
    opens = opens or (first.lower in _QUANTITIES and any(t.tag in FINITE for t in held))
    return alone and opens and is_inverted(text, place.first, place.left)


def _is_absolute(text: Text, place: Place) -> bool:
    """Whether a noun with only an *-ing* form follows a semicolon: *...; neither giving way*."""
    words = [t for t in text.tokens[place.right : place.last + 1] if not t.is_punct]
    verb = next((k for k, t in enumerate(words) if t.pos in ("VERB", "AUX")), 0)
    if not verb or words[verb].tag != "VBG" or any(t.tag in FINITE for t in words):
        return False
    opens = words[0].pos in ("DET", "PRON", "NOUN") or words[0].lower in ("neither", "both")
    return opens and all(t.pos in _OF_NOUN for t in words[:verb])


_OF_NOUN = frozenset({"ADJ", "ADV", "DET", "NOUN", "NUM", "PRON", "PROPN", "CCONJ"})
_QUANTITIES = frozenset("all both each few many most none several some".split())


def look_again(doubts: Sequence[Doubt]) -> Iterator[Doubt]:
    """Parse both sides of doubtful places as texts of their own; of the places whose sides do not
    speak against the suspicion, the features of all three."""
    parsed = parse_many([half for doubt in doubts for half in sides(doubt.text, doubt.place)])
    for doubt in doubts:
        text, place = doubt.text, doubt.place
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
        yield Doubt(text, place, np.concatenate([doubt.row, side_features(left, right)]))


def _second_look(doubts: Sequence[Doubt]) -> Iterator[tuple[Text, Suspect]]:
    by_kind: dict[str, list[Doubt]] = {}
    for doubt in look_again(doubts) if doubts else ():
        by_kind.setdefault(doubt.place.kind, []).append(doubt)
    for kind, left in by_kind.items():
        label = "unequal" if kind == "semicolon" else "strong"
        table = _models()[f"{kind}-sides"].probabilities(np.array([d.row for d in left]))
        for doubt, score in zip(left, table[:, 1].tolist(), strict=True):
            if score > _SIDE_FLOOR:
                linked = is_linked(doubt.text, doubt.place)
                yield doubt.text, Suspect(doubt.place, label, 0.0, score, linked)


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


# ---------------------------------------------------------------- sentences


def fragments(cases: Sequence[Case]) -> list[tuple[Fragment, ...]]:
    """For each passage the sentences that look like none."""
    found: list[list[Fragment]] = [[] for _ in cases]
    asked = [
        (n, sentence)
        for n, (text, _, _) in enumerate(cases)
        for sentence in text.sentences
        if may_be_fragment(text, sentence)
    ]
    if asked:
        rows = np.array([sentence_features(*cases[n][:2], s.index) for n, s in asked])
        table = _models()["stop"].probabilities(rows).tolist()
        for (n, sentence), (_, right, left) in zip(asked, table, strict=True):
            if right + left >= _FLOOR:
                found[n].append(_fragment(cases[n][0], sentence, right, left))
    return [tuple(each) for each in found]


def _fragment(text: Text, sentence: Sentence, right: float, left: float) -> Fragment:
    joins = "before" if right >= left else "after"
    if not _neighbours(text, sentence.index - (joins == "before")):
        joins = ""
    kind = "fragment" if opens_dependent(text, sentence) else "fragment-phrase"
    sure = _calibrated(kind, right + left, bareness(text, sentence))
    return Fragment(sentence, joins, sure, right + left)


def _touches_blank(text: Text, place: Place) -> bool:
    near = text.tokens[max(place.first, place.left - 1) : place.right + 2]
    return any(t.is_blank for t in near)


def _neighbours(text: Text, index: int) -> bool:
    """Whether sentence ``index`` and the next stand in one paragraph."""
    if index < 0 or index + 1 >= len(text.sentences):
        return False
    gap = text.passage[text.sentences[index].end : text.sentences[index + 1].start]
    return gap.count("\n") < 2 and not gap.strip()


def is_linked(text: Text, place: Place) -> bool:
    """Whether the right side begins with a linking adverb such as *however*."""
    return text.tokens[place.right].lower in ADVERBS

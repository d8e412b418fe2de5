"""Places where a boundary mark stands or might be missing, and what can be seen around each.

A parser is unsure exactly here, so a place is described from several sides: the kinds of word on
both sides (tags are steadier than trees), how many finite verbs have no word that makes them
dependent, and which arcs of the parse cross the place. Training and checking share this module.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from itertools import accumulate

import numpy as np
from numpy.typing import NDArray

from rwtools.text import Text, Token

__all__ = [
    "ADVERBS",
    "CLASSES",
    "FINITE",
    "Outline",
    "Place",
    "feature_names",
    "features",
    "outline",
    "places",
]

ADVERBS = frozenset(
    "however therefore moreover furthermore nevertheless nonetheless consequently thus hence "
    "otherwise instead meanwhile besides likewise similarly accordingly indeed still then "
    "conversely additionally finally subsequently thereafter".split()
)
_SUBORDINATORS = frozenset(
    "because although though since while when whenever if unless until till after before as "
    "whereas once lest whether wherever where so_that".split()
)
_SUBJECT_PRONOUNS = frozenset({"i", "he", "she", "we", "they"})
FINITE = frozenset({"VBD", "VBZ", "VBP", "MD"})
CLASSES = (
    "pronoun", "it", "demonstrative", "there", "determiner", "noun", "name", "adjective",
    "finite", "modal", "base", "ing", "participle", "to", "preposition", "subordinator",
    "relative", "question", "and", "but", "adverb", "linker", "that", "comma", "mark", "other",
    "edge",
)  # fmt: skip
_CODE = {name: i for i, name in enumerate(CLASSES)}
_BY_TAG = {
    "EX": "there", "DT": "determiner", "PDT": "determiner", "PRP$": "determiner", "NN": "noun",
    "NNS": "noun", "NNP": "name", "NNPS": "name", "JJ": "adjective", "JJR": "adjective",
    "JJS": "adjective", "CD": "adjective", "VBD": "finite", "VBZ": "finite", "VBP": "finite",
    "MD": "modal", "VB": "base", "VBG": "ing", "VBN": "participle", "TO": "to", "WDT": "relative",
    "WP": "relative", "WP$": "relative", "WRB": "question", "RB": "adverb", "RBR": "adverb",
    "RBS": "adverb",
}  # fmt: skip
_NOMINAL = frozenset(
    _CODE[c] for c in ("pronoun", "it", "demonstrative", "there", "noun", "name", "adjective")
)
_STARTERS = frozenset(
    _CODE[c]
    for c in "pronoun it demonstrative there determiner noun name adjective ing linker".split()
)
_MARKERS = frozenset(_CODE[c] for c in ("subordinator", "relative", "question", "that"))
_VERBS = frozenset({_CODE["finite"], _CODE["modal"]})
_COMMA, _MARK, _EDGE = _CODE["comma"], _CODE["mark"], _CODE["edge"]
_COUNTED = (
    _MARKERS,
    frozenset({_COMMA}),
    frozenset({_COMMA, _MARK}),
    _NOMINAL,
    frozenset({_CODE["and"]}),
    frozenset({_CODE["preposition"]}),
)
_MARKER_SUM, _COMMA_SUM, _MARK_SUM, _NOMINAL_SUM, _AND_SUM, _PREPOSITION_SUM = range(6)
_STRONG = frozenset({";", ":", "—", "–", "--"})
_DEPS = (
    "ccomp conj advcl parataxis nsubj dobj prep appos relcl cc advmod amod xcomp dep npadvmod "
    "pobj mark aux attr other"
).split()
_DEP_GROUP = {
    "nsubjpass": "nsubj", "csubj": "nsubj", "csubjpass": "nsubj", "expl": "nsubj", "acl": "relcl",
    "preconj": "cc", "det": "amod", "compound": "amod", "nmod": "amod", "nummod": "amod",
    "poss": "amod", "auxpass": "aux", "acomp": "attr", "oprd": "attr", "neg": "aux",
    "pcomp": "pobj", "dative": "dobj", "agent": "prep",
}  # fmt: skip
_VERB_DEPS = ("ROOT", "conj", "ccomp", "advcl", "relcl", "parataxis", "appos", "dep", "other")
_FAR = 30


@dataclass(frozen=True, slots=True)
class Outline:
    """The class code of each token, and running counts of some classes (``sums[k][i]``: how many
    of the first ``i`` tokens are of kind ``k``), so that any stretch is counted at once."""

    codes: tuple[int, ...]
    sums: tuple[tuple[int, ...], ...]

    def count(self, kind: int, first: int, end: int) -> int:
        """How many of the tokens ``first..end`` (half-open) are of a counted kind."""
        return self.sums[kind][end] - self.sums[kind][first] if end > first else 0


@dataclass(frozen=True, slots=True)
class Place:
    """A place between the words ``left`` and ``right`` (token indices) of one sentence.

    ``kind`` is ``comma`` (a comma stands there, token ``mark``), ``none`` (no mark, ``mark`` is
    -1) or ``semicolon``. The stretches ``first..left`` and ``right..last`` (all included) reach to
    the next stronger mark or to the sentence's edge.
    """

    kind: str
    left: int
    right: int
    mark: int
    first: int
    last: int


def outline(text: Text) -> Outline:
    """The class code of each token, and the running counts."""
    codes = tuple(_CODE[_class(token)] for token in text.tokens)
    sums = tuple(tuple(accumulate((c in kind for c in codes), initial=0)) for kind in _COUNTED)
    return Outline(codes, sums)


def _class(token: Token) -> str:
    lower, tag = token.lower, token.tag
    if token.text == ",":
        return "comma"
    if token.is_punct:
        return "mark"
    if tag == "PRP":
        return "pronoun" if lower in _SUBJECT_PRONOUNS else "it"
    if tag in ("IN", "WRB") and lower in _SUBORDINATORS:
        if token.dep in ("mark", "advmod") or (lower in ("because", "if", "although")):
            return "subordinator"
        return "preposition" if tag == "IN" else "question"
    if tag == "IN":
        return "that" if lower == "that" else "preposition"
    if tag == "CC":
        return "and" if lower in ("and", "or", "nor", "&") else "but"
    if tag == "DT" and token.dep != "det" and lower in ("this", "that", "these", "those"):
        return "demonstrative"
    if lower in ADVERBS and tag in ("RB", "UH", "IN", "JJ"):
        return "linker"
    return _BY_TAG.get(tag, "other")


def _stretches(text: Text, first: int, last: int) -> list[tuple[int, int]]:
    """Parts of a sentence between strong marks, as token ranges (both ends included)."""
    parts: list[tuple[int, int]] = []
    begin = first
    for i in range(first, last):
        token = text.tokens[i]
        if token.text in _STRONG and token.is_punct:
            if begin < i:
                parts.append((begin, i - 1))
            begin = i + 1
    if begin < last:
        parts.append((begin, last - 1))
    return parts


def _trim(codes: tuple[int, ...], first: int, last: int) -> tuple[int, int]:
    while first <= last and codes[first] in (_COMMA, _MARK):
        first += 1
    while last >= first and codes[last] in (_COMMA, _MARK):
        last -= 1
    return first, last


def places(text: Text, shape: Outline) -> list[Place]:
    """Candidate places of all three kinds, cheaply gated: some finite verb on either side."""
    codes = shape.codes
    found: list[Place] = []
    for sentence in text.sentences:
        verbs = [i for i in range(sentence.first, sentence.last) if codes[i] in _VERBS]
        if not verbs:
            continue
        parts = _stretches(text, sentence.first, sentence.last)
        for n, (begin, end) in enumerate(parts):
            first, last = _trim(codes, begin, end)
            if n and text.tokens[begin - 1].text == ";":
                before = _trim(codes, *parts[n - 1])
                if first <= last and before[0] <= before[1]:
                    found.append(Place("semicolon", before[1], first, begin - 1, before[0], last))
            inside = [v for v in verbs if first <= v <= last]
            if len(inside) < 1:
                continue
            found.extend(_inside(text, codes, first, last, inside))
    return found


def _inside(
    text: Text, codes: tuple[int, ...], first: int, last: int, verbs: list[int]
) -> list[Place]:
    """Commas and unmarked places of one stretch that has a verb on its right."""
    found: list[Place] = []
    for i in range(first + 1, min(last, verbs[-1]) + 1):
        code = codes[i]
        if code == _COMMA:
            right = i + 1
            while right <= last and codes[right] == _MARK:
                right += 1
            left = i - 1
            while left >= first and codes[left] == _MARK:
                left -= 1
            if first <= left and right <= last and any(v >= right for v in verbs):
                found.append(Place("comma", left, right, i, first, last))
        elif _may_open(text, codes, first, i):
            later = next((v for v in verbs if v > i), -1)
            if later < 0 or later - i > 15:
                continue
            if code in _FRONTED and _COMMA not in codes[i:later]:
                continue
            if any(codes[j] in _NOMINAL for j in range(i, later)):
                left = i - 1
                while left > first and codes[left] == _MARK:
                    left -= 1
                found.append(Place("none", left, i, -1, first, last))
    return found


_VERBAL = frozenset(_CODE[c] for c in ("finite", "modal", "base", "ing", "participle", "to"))
_FRONTED = frozenset(_CODE[c] for c in ("preposition", "subordinator", "adverb", "to"))
_JOINERS = frozenset((_CODE["and"], _CODE["but"]))
_INNER = frozenset(
    _CODE[c]
    for c in "determiner preposition to and but that subordinator relative question comma".split()
)
_OPENING_MARKS = frozenset("([{-–—/\"'“‘`")


def _may_open(text: Text, codes: tuple[int, ...], first: int, i: int) -> bool:
    """Whether a clause may begin at a word without a mark before it, to judge by its neighbours:
    a verb stands somewhere before, and no word that needs this one to complete it."""
    code, before = codes[i], codes[i - 1]
    if code not in _STARTERS and code not in _FRONTED and code not in _JOINERS:
        return False
    if before == _MARK and text.tokens[i - 1].text[:1] in _OPENING_MARKS:
        return text.tokens[i - 1].text[:1] in "\"'“"
    if code in _JOINERS:
        return before != _COMMA
    if before in _INNER and not (code in _NOUNS and before == _CODE["preposition"]):
        return False
    return any(c in _VERBAL for c in codes[first:i])


_NOUNS = frozenset(_CODE[c] for c in ("pronoun", "demonstrative", "there"))


@cache
def feature_names() -> tuple[str, ...]:
    """Names of the columns that `features` gives, in order."""
    names: list[str] = []
    for spot in ("right", "right+1", "right+2", "left", "left-1", "first"):
        names.extend(f"{spot}={c}" for c in CLASSES)
    names += [
        "words_left", "words_right", "verbs_left", "verbs_right", "markers_left", "markers_right",
        "to_verb", "marks_to_verb", "markers_to_verb", "nominal_to_verb", "and_to_verb",
        "since_verb", "commas_left", "commas_right", "and_after_comma_right", "question",
        "quote_near", "in_brackets", "opens_dependent", "base_right", "linker_ahead",
        "arcs", "arcs_from_left", "right_subject_own", "right_subject_opens", "right_marked",
        "left_subject_own", "left_marked", "root_left", "root_right", "capital_right",
        "verb_after_comma", "nominal_left", "prep_to_verb", "series",
        "spare_left",
    ]  # fmt: skip
    for way in ("right<left", "left<right"):
        names.extend(f"{way}:{d}" for d in _DEPS)
    names.extend(f"right_verb={d}" for d in _VERB_DEPS)
    names.extend(f"left_verb={d}" for d in _VERB_DEPS)
    return tuple(names)


def _main_verb(text: Text, at: int) -> int:
    """The head of the verb group in which a finite word stands."""
    token = text.tokens[at]
    while token.dep in ("aux", "auxpass") and token.head != token.i:
        token = text.tokens[token.head]
    return token.i


_SUBJECT = frozenset({"nsubj", "nsubjpass", "csubj", "csubjpass", "expl"})
_QUOTES = frozenset("\"'“”‘’«»")


def features(text: Text, shape: Outline, place: Place) -> NDArray[np.float32]:
    """What is seen around a place, as one row in the order of `feature_names`."""
    codes, n = shape.codes, len(CLASSES)
    first, last, left, right = place.first, place.last, place.left, place.right
    row = np.zeros(len(feature_names()), dtype=np.float32)
    on = [
        k * n + (codes[at] if at <= last else _EDGE) for k, at in enumerate(range(right, right + 3))
    ]
    on += [(3 + k) * n + (codes[left - k] if left - k >= first else _EDGE) for k in (0, 1)]
    on.append(5 * n + codes[first])
    verbs_left = [i for i in range(first, left + 1) if codes[i] in _VERBS]
    verbs_right = [i for i in range(right, last + 1) if codes[i] in _VERBS]
    crossing = _crossing(text, place)
    right_verb, right_facts = _right_facts(text, verbs_right, right)
    left_verb, left_facts = _left_facts(text, verbs_left, left)
    roots = [i for i in range(first, last + 1) if text.tokens[i].head == i]
    base = 6 * n
    values = (
        *_counts(shape, place, verbs_left, verbs_right),
        *_look(text, shape, place),
        len(crossing), sum(1 for _, from_left in crossing if from_left), *right_facts, *left_facts,
        sum(1 for i in roots if i <= left), sum(1 for i in roots if i >= right),
        *_rest(text, shape, place, verbs_left, verbs_right),
    )  # fmt: skip
    row[base : base + len(values)] = values
    base += len(values)
    for i, from_left in crossing:
        row[base + (0 if from_left else len(_DEPS)) + _dep(text.tokens[i])] += 1
    base += 2 * len(_DEPS)
    if right_verb >= 0:
        on.append(base + right_verb)
    if left_verb >= 0:
        on.append(base + len(_VERB_DEPS) + left_verb)
    row[on] = 1
    return row


def _listing(shape: Outline, place: Place) -> bool:
    codes = shape.codes
    return shape.count(_COMMA_SUM, place.right, place.last + 1) > 0 and any(
        codes[i] == _COMMA and codes[i + 1] == _CODE["and"] for i in range(place.right, place.last)
    )


def _counts(
    shape: Outline, place: Place, verbs_left: list[int], verbs_right: list[int]
) -> tuple[float, ...]:
    """Lengths, verbs and marks on both sides, and what lies before the right side's verb."""
    first, last, left, right = place.first, place.last, place.left, place.right
    verb = verbs_right[0] if verbs_right else last + 1
    return (
        min(left - first + 1, _FAR), min(last - right + 1, _FAR), len(verbs_left),
        len(verbs_right), shape.count(_MARKER_SUM, first, left + 1),
        shape.count(_MARKER_SUM, right, last + 1), min(verb - right, _FAR),
        shape.count(_MARK_SUM, right, verb), shape.count(_MARKER_SUM, right, verb),
        shape.count(_NOMINAL_SUM, right, verb), shape.count(_AND_SUM, right, verb),
        min(left - verbs_left[-1], _FAR) if verbs_left else _FAR,
        shape.count(_COMMA_SUM, first, left + 1), shape.count(_COMMA_SUM, right, last + 1),
        _listing(shape, place),
    )  # fmt: skip


def _look(text: Text, shape: Outline, place: Place) -> tuple[float, ...]:
    """Marks of question, quotation and bracket, and how either side opens."""
    tokens, codes = text.tokens, shape.codes
    first, left, right = place.first, place.left, place.right
    sentence = text.sentences[tokens[left].sent]
    near = text.passage[tokens[left].end : tokens[right].start]
    brackets = 0
    if "(" in text.passage or "[" in text.passage:
        opened = text.passage[sentence.start : tokens[left].end]
        brackets = sum(opened.count(c) for c in "([") - sum(opened.count(c) for c in ")]")
    after_adverb = codes[first] == _CODE["adverb"] and codes[first + 1] in _MARKERS
    return (
        tokens[sentence.last - 1].text == "?" or tokens[max(sentence.last - 2, 0)].text == "?",
        any(c in _QUOTES for c in near), brackets > 0, codes[first] in _MARKERS or after_adverb,
        codes[right] == _CODE["base"], _CODE["linker"] in codes[right : right + 3],
    )  # fmt: skip


def _rest(
    text: Text, shape: Outline, place: Place, verbs_left: list[int], verbs_right: list[int]
) -> tuple[float, ...]:
    first, last, left, right = place.first, place.last, place.left, place.right
    verb = verbs_right[0] if verbs_right else last + 1
    token = text.tokens[right]
    commas = shape.count(_COMMA_SUM, right, last + 1)
    return (
        token.text[:1].isupper() and token.lower != "i", verb == right,
        shape.count(_NOMINAL_SUM, first, left + 1), shape.count(_PREPOSITION_SUM, right, verb),
        commas >= 1 and _listing(shape, place),
        max(-3, len(verbs_left) - shape.count(_MARKER_SUM, first, left + 1)),
    )  # fmt: skip


def _crossing(text: Text, place: Place) -> list[tuple[int, bool]]:
    """The arcs that cross a place: the dependent, and whether its head is on the left."""
    tokens = text.tokens
    first, last, left, right = place.first, place.last, place.left, place.right
    ahead, behind = range(right, last + 1), range(first, left + 1)
    found = [(i, False) for i in behind if tokens[i].head in ahead and tokens[i].dep != "punct"]
    found += [(i, True) for i in ahead if tokens[i].head in behind and tokens[i].dep != "punct"]
    return found


def _right_facts(text: Text, verbs: list[int], right: int) -> tuple[int, tuple[int, ...]]:
    """The right verb's relation; has it a subject of its own, does that open the right side, is
    it marked as dependent."""
    if not verbs:
        return -1, (0, 0, 0)
    main = _main_verb(text, verbs[0])
    own = opens = marked = 0
    for j in text.children[main]:
        if text.tokens[j].dep in _SUBJECT and j >= right:
            own = 1
            start = j
            while start > right and _reaches(text, start - 1, j):
                start -= 1
            opens = int(start == right)
        if text.tokens[j].dep == "mark" and j >= right:
            marked = 1
    return _verb_dep(text.tokens[main]), (own, opens, marked)


def _left_facts(text: Text, verbs: list[int], left: int) -> tuple[int, tuple[int, ...]]:
    """The last left verb's relation; has it a subject on the left, is it marked as dependent."""
    if not verbs:
        return -1, (0, 0)
    main = _main_verb(text, verbs[-1])
    own = marked = 0
    for j in text.children[main]:
        if text.tokens[j].dep in _SUBJECT and j <= left:
            own = 1
        if text.tokens[j].dep == "mark" and j <= left:
            marked = 1
    return _verb_dep(text.tokens[main]), (own, marked)


def _reaches(text: Text, at: int, top: int) -> bool:
    token = text.tokens[at]
    while token.i != top:
        if token.head == token.i:
            return False
        token = text.tokens[token.head]
    return True


_DEP_CODE = {d: i for i, d in enumerate(_DEPS)}
_VERB_CODE = {d: i for i, d in enumerate(_VERB_DEPS)}


def _dep(token: Token) -> int:
    dep = _DEP_GROUP.get(token.dep, token.dep)
    return _DEP_CODE.get(dep, _DEP_CODE["other"])


def _verb_dep(token: Token) -> int:
    return _VERB_CODE.get(token.dep, _VERB_CODE["other"])

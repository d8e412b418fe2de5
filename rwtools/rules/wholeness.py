"""Is a sentence whole? What can be seen in it, and beside it, as numbers.

A sentence is whole when a finite verb with a subject of its own stands in it that no subordinator,
relative word or question word makes dependent; questions and commands are whole as well.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from rwtools.rules.places import CLASSES, Outline
from rwtools.text import Text

__all__ = ["sentence_features", "sentence_names"]

_SUBJECT = frozenset({"nsubj", "nsubjpass", "csubj", "csubjpass", "expl"})
_REASONS = (
    "main", "coordinated", "second_verb", "paratactic", "subordinator", "relative", "complement",
    "participle", "infinitive", "reduced",
)  # fmt: skip
_ROOTS = ("VBD", "VBZ", "VBP", "MD", "VB", "VBG", "VBN", "NN", "NNS", "NNP", "JJ", "IN", "other")
_MARKERS = frozenset(CLASSES.index(c) for c in ("subordinator", "relative", "question", "that"))
_VERBS = frozenset(CLASSES.index(c) for c in ("finite", "modal"))
_COMMA = CLASSES.index("comma")
_EDGE = CLASSES.index("edge")
_EXAMPLES = frozenset(
    "especially including such particularly like with as without except for namely".split()
)
_FAR = 40


@cache
def sentence_names() -> tuple[str, ...]:
    """Names of the columns that `sentence_features` gives, in order."""
    names: list[str] = []
    for spot in ("first", "second", "third", "last", "next", "after_comma"):
        names.extend(f"{spot}={c}" for c in CLASSES)
    names.extend(f"root={t}" for t in _ROOTS)
    names.extend(f"finite:{r}" for r in _REASONS)
    names.extend(f"bare:{r}" for r in _REASONS)
    names += [
        "words", "verbs", "markers", "spare", "commas", "question", "exclamation", "full_stop",
        "root_subject", "root_subject_before", "root_marked", "root_at", "first_verb_at",
        "nominal_before_verb", "which_first", "example_first", "digits", "capitals", "quotes",
        "brackets", "marks", "before_words", "before_stop", "has_before", "has_next",
        "next_words", "comma_before_verb", "verb_after_comma", "colon_before",
        "next_lower_subject", "independent", "root_finite", "one_verb_marked", "marked_first",
    ]  # fmt: skip
    return tuple(names)


def sentence_features(text: Text, shape: Outline, index: int) -> NDArray[np.float32]:
    """What is seen in sentence ``index`` and beside it, as a row in the order of the names."""
    sentence = text.sentences[index]
    tokens, codes = text.tokens, shape.codes
    words = [i for i in range(sentence.first, sentence.last) if not tokens[i].is_punct]
    row = np.zeros(len(sentence_names()), dtype=np.float32)
    if not words:
        return row
    n = len(CLASSES)
    before = text.sentences[index - 1] if index else None
    after = text.sentences[index + 1] if index + 1 < len(text.sentences) else None
    commas = [i for i in range(sentence.first, sentence.last) if codes[i] == _COMMA]
    spots = [
        codes[words[0]],
        codes[words[1]] if len(words) > 1 else _EDGE,
        codes[words[2]] if len(words) > 2 else _EDGE,
        codes[words[-1]],
        codes[after.first] if after else _EDGE,
        codes[commas[0] + 1] if commas and commas[0] + 1 < sentence.last else _EDGE,
    ]
    for k, code in enumerate(spots):
        row[k * n + code] = 1
    base = 6 * n
    root = next((t for t in tokens[sentence.first : sentence.last] if t.dep == "ROOT"), None)
    tag = root.tag if root is not None and root.tag in _ROOTS else "other"
    row[base + _ROOTS.index(tag)] = 1
    base += len(_ROOTS)
    independent = 0
    for clause in text.clauses:
        if tokens[clause.head].sent != index:
            continue
        row[base + _REASONS.index(clause.reason) + (0 if clause.finite else len(_REASONS))] += 1
        independent += clause.kind == "independent" and clause.finite
    base += 2 * len(_REASONS)
    verbs = [i for i in words if codes[i] in _VERBS]
    markers = [i for i in words if codes[i] in _MARKERS]
    subject = None
    marked = finite = False
    if root is not None:
        for j in text.children[root.i]:
            if tokens[j].dep in _SUBJECT:
                subject = j
            marked = marked or tokens[j].dep == "mark"
        clause_of_root = text.clause_of_head.get(root.i)
        finite = clause_of_root is not None and clause_of_root.finite
    body = text.passage[sentence.start : sentence.end]
    first_verb = verbs[0] if verbs else words[-1]
    values = (
        min(len(words), _FAR), len(verbs), len(markers), max(-3, len(verbs) - len(markers)),
        len(commas), "?" in body[-3:], "!" in body[-3:], "." in body[-3:],
        subject is not None, subject is not None and root is not None and subject < root.i, marked,
        min(root.i - words[0], _FAR) if root is not None else _FAR,
        min(first_verb - words[0], _FAR) if verbs else _FAR,
        sum(1 for i in range(words[0], first_verb) if tokens[i].pos in ("NOUN", "PROPN", "PRON")),
        tokens[words[0]].lower in ("which", "who", "whom", "whose"),
        tokens[words[0]].lower in _EXAMPLES, sum(c.isdigit() for c in body) > 3,
        sum(1 for i in words if tokens[i].text[:1].isupper()) / len(words),
        any(c in "\"“”" for c in body), any(c in "()[]" for c in body),
        sum(1 for i in range(sentence.first, sentence.last) if tokens[i].is_punct),
        min(before.last - before.first, _FAR) if before else 0,
        bool(before and tokens[before.last - 1].text == "."), before is not None,
        after is not None, min(after.last - after.first, _FAR) if after else 0,
        bool(commas and verbs and commas[0] < verbs[0]),
        bool(commas and verbs and any(v > commas[0] for v in verbs)),
        bool(before and tokens[before.last - 1].text == ":"),
        bool(after and codes[after.first] in (0, 1, 2, 3)), independent, finite,
        len(verbs) <= len(markers), codes[words[0]] in _MARKERS,
    )  # fmt: skip
    row[base : base + len(values)] = values
    return row

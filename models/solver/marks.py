"""Learn which mark editors put between two stretches, from what is seen on either side of the gap.

Gaps are taken from edited textbooks: all kinds of marks, and gaps without one. The mark is taken
away and the facts of `items/seams.py` are looked up, just as for a punctuation item.
"""

from __future__ import annotations

import random
import re

import numpy as np
from data import rows
from sklearn.feature_extraction import DictVectorizer
from sklearn.linear_model import LogisticRegression

from rwtools.items.seams import MARKS, facts, mark_class

_MARK = re.compile(r"(?<=[a-z\d])([,;:.?]|—)(?: (?=\w)|(?<=—)(?=\w))")
_GAP = re.compile(r"(?<=\w) (?=\w)")
Example = tuple[list[str], str]


def examples(name: str, paragraphs: int, seed: int = 3) -> list[Example]:
    """(facts, mark) of gaps drawn from the paragraphs of a data file."""
    rng = random.Random(seed)
    texts = [" ".join(row["text"].split()) for row in rows(name)]
    rng.shuffle(texts)
    places, marks = [], []
    for text in texts[:paragraphs]:
        if len(text) < 200:
            continue
        marked = list(_MARK.finditer(text))
        for group, most in (
            ([m for m in marked if m[1] == ","], 2),
            ([m for m in marked if m[1] in ";:—"], 2),
            ([m for m in marked if m[1] in ".?"], 1),
            (list(_GAP.finditer(text)), 4),
        ):
            for match in rng.sample(group, min(most, len(group))):
                if match.start() >= 15 and len(text) - match.end() >= 15:
                    places.append((text, match.start(), match.end()))
                    marks.append(mark_class(match[0]))
    return [
        (found.names, "stop" if mark == "question" else mark)
        for found, mark in zip(facts(places), marks, strict=True)
    ]


def fit(train: list[Example], dev: list[Example]) -> dict[str, object]:
    """The mark model as JSON-ready data, with its accuracy on the development books."""
    vectorizer = DictVectorizer()
    matrix = vectorizer.fit_transform([dict.fromkeys(names, 1.0) for names, _ in train])
    labels = [mark for _, mark in train]
    model = LogisticRegression(C=0.3, class_weight="balanced", max_iter=1_000)
    model.fit(matrix, labels)
    order = [list(model.classes_).index(mark) for mark in MARKS]
    truth = np.array([mark for _, mark in dev])
    guess = model.predict(vectorizer.transform([dict.fromkeys(names, 1.0) for names, _ in dev]))
    weights = {}
    for name, column in vectorizer.vocabulary_.items():
        row = {
            mark: round(float(model.coef_[k, column]), 2)
            for mark, k in zip(MARKS, order, strict=True)
            if abs(model.coef_[k, column]) >= 0.05
        }
        if row:
            weights[name] = row
    return {
        "marks": list(MARKS),
        "bias": [round(float(model.intercept_[k]), 3) for k in order],
        "facts": dict(sorted(weights.items())),
        "examples": len(train),
        "measured": {
            mark: {
                "gaps": int((truth == mark).sum()),
                "recall": round(float(np.mean(guess[truth == mark] == mark)), 3),
            }
            for mark in MARKS
            if (truth == mark).any()
        },
    }

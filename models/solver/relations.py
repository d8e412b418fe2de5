"""Learn how much each cue counts for each relation (a light classifier over `items/cues.py`).

Pairs of stretches with the connective taken out: explicit and implicit relations of the treebank's
training part, and sentences of the textbooks that open with a connective, labelled by the relation
which that connective mostly shows. Classes weigh alike, so the model says what the cues add.
"""

from __future__ import annotations

import random
import re
from collections import Counter

import numpy as np
from data import rows
from sklearn.feature_extraction import DictVectorizer
from sklearn.linear_model import LogisticRegression

from rwtools.clue import Span
from rwtools.items.cues import cues
from rwtools.transitions import connectives, relation_of, relations

MOST = 1_500
"""Examples of one relation, at most: the rest would only repeat themselves."""


def _sense_names() -> dict[str, str]:
    return {sense: r.name for r in relations() for sense in r.senses}


def treebank(name: str) -> list[tuple[str, Span, Span, str]]:
    """(text, arg1, arg2, relation) from a part of the treebank."""
    names = _sense_names()
    found = []
    for document in rows(name):
        for row in document["relations"]:
            if row["type"] not in ("explicit", "implicit") or not row["arg1"] or not row["arg2"]:
                continue
            sense = ".".join(row["sense"].split(".")[:2]).split("+")[0]
            if sense not in names:
                continue
            one = Span(row["arg1"][0][0], row["arg1"][-1][1])
            two = Span(row["arg2"][0][0], row["arg2"][-1][1])
            if one.start > two.start:
                one, two = two, one
            if len(one) < 500 and len(two) < 500:
                found.append((document["text"], one, two, names[sense]))
    return found


def textbooks(name: str) -> list[tuple[str, Span, Span, str]]:
    """(text, sentence before, rest of the sentence, relation): sentences opened by a connective."""
    forms = sorted(
        (
            c.form
            for c in connectives().values()
            if c.pos == "adverb" and c.uses and len(c.form) > 3
        ),
        key=len,
        reverse=True,
    )
    opening = re.compile(
        r"(?<=[.;] )(" + "|".join(map(re.escape, forms)) + r"),? (?=[a-z\d])", re.IGNORECASE
    )
    top = {form: relation_of(form)[0] for form in forms}
    found = []
    for row in rows(name):
        text = " ".join(row["text"].split())
        for match in opening.finditer(text):
            relation, _, share = top[match[1].lower()]
            before = text.rfind(". ", 0, max(match.start() - 2, 0)) + 1
            after = re.compile(r"[.;?!](?= |$)").search(text, match.end())
            if share < 0.6 or after is None:
                continue
            one, two = Span(before, match.start()), Span(match.end(), after.start())
            if 10 < len(one) < 500 and 10 < len(two) < 500:
                found.append((text, one, two, relation))
    return found


def fit(seed: int = 1) -> dict[str, object]:
    """The relation model as JSON-ready data, with its accuracy on the development parts."""
    rng = random.Random(seed)
    pairs = treebank("gdtb_train.jsonl.gz") + textbooks("textbook_train.jsonl.gz")
    rng.shuffle(pairs)
    seen: Counter[str] = Counter()
    kept = []
    for pair in pairs:
        seen[pair[3]] += 1
        if seen[pair[3]] <= MOST:
            kept.append(pair)
    kept = [pair for pair in kept if seen[pair[3]] >= 40]
    vectorizer = DictVectorizer()
    matrix = vectorizer.fit_transform(map(_row, kept))
    labels = [pair[3] for pair in kept]
    model = LogisticRegression(C=0.1, class_weight="balanced", max_iter=2_000)
    model.fit(matrix, labels)
    measured = {}
    for name, test in (
        ("treebank", treebank("gdtb_dev.jsonl")),
        ("textbooks", textbooks("textbook_dev.jsonl.gz")),
    ):
        test = [pair for pair in test if pair[3] in set(model.classes_)]
        guess = model.predict(vectorizer.transform(map(_row, test)))
        truth = np.array([pair[3] for pair in test])
        share = [np.mean(guess[truth == c] == c) for c in sorted(set(truth))]
        measured[name] = {
            "pairs": len(test),
            "relations": len(set(truth)),
            "balanced_accuracy": round(float(np.mean(share)), 3),
        }
    weights = {
        cue: {
            str(relation): round(float(w), 3)
            for relation, w in zip(model.classes_, model.coef_[:, column], strict=True)
            if abs(w) >= 0.02
        }
        for cue, column in vectorizer.vocabulary_.items()
    }
    return {
        "relations": [str(c) for c in model.classes_],
        "bias": [round(float(b), 3) for b in model.intercept_],
        "cues": dict(sorted(weights.items())),
        "examples": len(kept),
        "measured": measured,
    }


def _row(pair: tuple[str, Span, Span, str]) -> dict[str, float]:
    text, one, two, _ = pair
    return {cue.name: 1.0 for cue in cues(text, one, two)}


if __name__ == "__main__":
    import json

    found = fit()
    print(json.dumps(found["measured"]), found["examples"], found["relations"])
    for cue, weights in found["cues"].items():
        top = sorted(weights.items(), key=lambda kv: -kv[1])
        print(
            f"{cue:30s}",
            [f"{r} {w:+.1f}" for r, w in top[:3]],
            [f"{r} {w:+.1f}" for r, w in top[-2:]],
        )

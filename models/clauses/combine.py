"""Weigh the witnesses of ``rwtools/items/whole.py`` against each other: ``combination.json``.

    python models/clauses/combine.py

Logistic regression on stretches of training books that the network has not seen, labelled by marks
and opening words as in ``evaluate.py``.
"""

from __future__ import annotations

import json
import random

import evaluate
import numpy as np
import stretches
from sklearn.feature_extraction import DictVectorizer
from sklearn.linear_model import LogisticRegression
from sklearn.model_selection import cross_val_predict

from rwtools.items.whole import witnesses
from rwtools.text import parse_many

MOST = 1_300


def main() -> None:
    rows = evaluate.rows_of_books("textbook_train.jsonl.gz", 20_000, 28_000, MOST)
    random.Random(2).shuffle(rows)
    texts = list(parse_many((stretches.upper(words) + "." for words, _, _ in rows), verse=False))
    seen = witnesses(texts)
    vectorizer = DictVectorizer(sparse=False)
    matrix = vectorizer.fit_transform(seen)
    whole = np.array([label for _, label, _ in rows])
    model = LogisticRegression(C=3.0, max_iter=1_000)
    guess = cross_val_predict(model, matrix, whole, cv=8)
    parsed = np.array([s["parsed"] for s in seen])
    model.fit(matrix, whole)
    weights = {
        name: round(float(w), 3)
        for name, w in zip(vectorizer.feature_names_, model.coef_[0], strict=True)
    }
    weights["bias"] = round(float(model.intercept_[0]), 3)
    found = {
        "weights": weights,
        "stretches": len(rows),
        "seen": {
            name: int((matrix[:, k] != 0).sum()) for name, k in vectorizer.vocabulary_.items()
        },
        "out_of_fold_errors": round(float(np.mean(guess != whole)), 4),
        "parser_errors": round(float(np.mean(parsed != whole)), 4),
    }
    path = evaluate.HERE / "combination.json"
    path.write_text(json.dumps(found, indent=1, sort_keys=True) + "\n", encoding="utf-8")
    print(path.read_text(encoding="utf-8"))


if __name__ == "__main__":
    main()

"""Train the finder and the relation model on ``gdtb_train`` and write ``model.npz``.

``python models/connectives/train.py [--cv]``; ``--cv`` prints the cross-validated scores. Both models
are regularised logistic regressions over present-or-absent features, with documents kept whole in
every fold. The confidence is calibrated by isotonic regression on the out-of-fold scores.
"""

from __future__ import annotations

import argparse
import json
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from scipy.sparse import csr_matrix
from sklearn.isotonic import IsotonicRegression
from sklearn.linear_model import LogisticRegression
from sklearn.model_selection import GroupKFold
from treebank import Document, Gold, Spans, documents, level2

from rwtools.transitions.candidates import Candidate, candidates
from rwtools.transitions.features import finder_features, sense_features
from rwtools.transitions.find import resolve
from rwtools.transitions.lexicon import Connective, connectives
from rwtools.transitions.model import FORMAT, expand, sense_prior, temper

SEED = 7
FOLDS = 5
FINDER_C = 0.1
SENSE_C = 0.05
MIN_COUNT = 2
SMALLEST = 0.005
OUT = Path(__file__).with_name("model.npz")


@dataclass(slots=True)
class Example:
    """A candidate of training text with its features and what the treebank says of it."""

    doc: int
    candidate: Candidate
    connective: Connective
    spans: Spans
    gold: Gold | None
    label: int
    finder: list[str]
    sense: list[str]


def examples(docs: list[Document]) -> list[Example]:
    """All candidates. The first half of a gold pair counts as a connective by itself too."""
    known = connectives()
    found = []
    for number, doc in enumerate(docs):
        gold = {g.spans: g for g in doc.gold}
        firsts = {g.spans[0] for g in doc.gold}
        tokens = doc.text.tokens
        for candidate in candidates(doc.text):
            spans: Spans = ((tokens[candidate.first].start, tokens[candidate.last - 1].end),)
            if candidate.second:
                a, b = candidate.second
                spans += ((tokens[a].start, tokens[b - 1].end),)
            match = gold.get(spans)
            connective = known[candidate.form]
            found.append(
                Example(
                    doc=number,
                    candidate=candidate,
                    connective=connective,
                    spans=spans,
                    gold=match,
                    label=int(match is not None or (len(spans) == 1 and spans[0] in firsts)),
                    finder=expand(connective, finder_features(doc.text, candidate)),
                    sense=expand(connective, sense_features(doc.text, candidate)),
                )
            )
    return found


def vocabulary(rows: list[list[str]]) -> dict[str, int]:
    """Features that enough examples have, numbered."""
    counts = Counter(f for row in rows for f in set(row))
    return {f: i for i, f in enumerate(sorted(f for f, n in counts.items() if n >= MIN_COUNT))}


def matrix(rows: list[list[str]], known: dict[str, int]) -> csr_matrix:
    """One row an example, one column a feature, 1 where present."""
    ends, columns = [0], []
    for row in rows:
        columns += sorted({known[f] for f in row if f in known})
        ends.append(len(columns))
    return csr_matrix((np.ones(len(columns)), columns, ends), shape=(len(rows), len(known)))


def fit_finder(x: csr_matrix, y: np.ndarray) -> LogisticRegression:
    return LogisticRegression(C=FINDER_C, max_iter=300, solver="liblinear").fit(x, y)


def fit_sense(x: csr_matrix, y: np.ndarray) -> LogisticRegression:
    return LogisticRegression(C=SENSE_C, max_iter=500).fit(x, y)


def matched(gold: list[Gold], kept: list[Example]) -> dict[int, Gold]:
    """Which kept candidates hit a gold connective: equal spans, or its first part's span."""
    exact = {g.spans: g for g in gold}
    firsts = {g.spans[0]: g for g in gold}
    used: set[Spans] = set()
    hits: dict[int, Gold] = {}
    for index, example in enumerate(kept):
        target = exact.get(example.spans) or firsts.get(example.spans[0])
        if target is not None and target.spans not in used:
            used.add(target.spans)
            hits[index] = target
    return hits


def sense_probabilities(
    model: LogisticRegression, x: csr_matrix, rows: list[Example]
) -> np.ndarray:
    logits = x @ model.coef_.T + model.intercept_
    return np.array(
        [
            temper(logit, sense_prior(r.connective, list(model.classes_)), r.connective.used)
            for logit, r in zip(logits, rows, strict=True)
        ]
    )


def cross_validate(
    docs: list[Document], rows: list[Example]
) -> tuple[np.ndarray, list[str], np.ndarray]:
    """Out-of-fold finding probabilities, best senses and their probabilities for all examples."""
    groups = np.array([r.doc for r in rows])
    y = np.array([r.label for r in rows])
    found = np.zeros(len(rows))
    best = [""] * len(rows)
    share = np.zeros(len(rows))
    for train, test in GroupKFold(FOLDS).split(y, y, groups):
        known = vocabulary([rows[i].finder for i in train])
        model = fit_finder(matrix([rows[i].finder for i in train], known), y[train])
        x = matrix([rows[i].finder for i in test], known)
        found[test] = model.predict_proba(x)[:, 1]
        gold = [i for i in train if rows[i].gold is not None]
        known = vocabulary([rows[i].sense for i in gold])
        target = np.array([level2(rows[i].gold.senses[0]) for i in gold])
        senses = fit_sense(matrix([rows[i].sense for i in gold], known), target)
        x = matrix([rows[i].sense for i in test], known)
        for i, p in zip(test, sense_probabilities(senses, x, [rows[i] for i in test]), strict=True):
            best[i], share[i] = senses.classes_[p.argmax()], p.max()
    return found, best, share


def outcomes(
    docs: list[Document],
    rows: list[Example],
    found: np.ndarray,
    best: list[str],
    share: np.ndarray,
    threshold: float,
) -> tuple[dict[str, float], np.ndarray, np.ndarray]:
    """Scores at a threshold; and for each kept candidate its raw score and whether it is right."""
    by_doc: dict[int, list[int]] = {}
    for i, row in enumerate(rows):
        by_doc.setdefault(row.doc, []).append(i)
    hits = kept_total = right = 0
    raw: list[float] = []
    truth: list[bool] = []
    for number, members in by_doc.items():
        kept = resolve([rows[i].candidate for i in members], [found[i] for i in members], threshold)
        chosen = [members[k] for k in kept]
        match = matched(docs[number].gold, [rows[i] for i in chosen])
        hits += len(match)
        kept_total += len(chosen)
        for k, i in enumerate(chosen):
            gold = match.get(k)
            good = gold is not None and best[i] in {level2(s) for s in gold.senses}
            right += good
            raw.append(found[i] * share[i])
            truth.append(good)
    total = sum(len(d.gold) for d in docs)
    precision, recall = hits / kept_total, hits / total
    scores = {
        "precision": precision,
        "recall": recall,
        "f1": 2 * precision * recall / (precision + recall),
        "sense": right / hits,
    }
    return scores, np.array(raw), np.array(truth)


def pack(words: list[str]) -> np.ndarray:
    return np.frombuffer("\n".join(words).encode("utf-8"), dtype=np.uint8)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cv", action="store_true", help="only print cross-validated scores")
    options = parser.parse_args()
    docs = documents("gdtb_train.jsonl.gz")
    rows = examples(docs)
    found, best, share = cross_validate(docs, rows)
    trials = {}
    for threshold in np.arange(0.36, 0.6, 0.02):
        trials[round(float(threshold), 2)] = outcomes(docs, rows, found, best, share, threshold)
    threshold = max(trials, key=lambda t: trials[t][0]["f1"])
    scores, raw, truth = trials[threshold]
    print(f"threshold {threshold}:", {k: round(v, 4) for k, v in scores.items()})
    if options.cv:
        return
    curve = IsotonicRegression(y_min=0.02, y_max=0.99, out_of_bounds="clip").fit(raw, truth)
    known = vocabulary([r.finder for r in rows])
    finder = fit_finder(matrix([r.finder for r in rows], known), np.array([r.label for r in rows]))
    kept = [(w, c) for w, c in zip(known, finder.coef_[0], strict=True) if abs(c) >= SMALLEST]
    gold = [r for r in rows if r.gold is not None]
    known = vocabulary([r.sense for r in gold])
    target = np.array([level2(r.gold.senses[0]) for r in gold])
    senses = fit_sense(matrix([r.sense for r in gold], known), target)
    strong = np.abs(senses.coef_).max(axis=0) >= SMALLEST
    meta = {
        "format": FORMAT,
        "senses": list(senses.classes_),
        "finder_bias": float(finder.intercept_[0]),
        "sense_bias": [round(float(b), 5) for b in senses.intercept_],
        "threshold": threshold,
        "calibration": [
            [round(float(v), 5) for v in curve.X_thresholds_],
            [round(float(v), 5) for v in curve.y_thresholds_],
        ],
        "cross_validation": {k: round(float(v), 4) for k, v in scores.items()},
        "seed": SEED,
    }
    np.savez_compressed(
        OUT,
        meta=np.frombuffer(json.dumps(meta).encode("utf-8"), dtype=np.uint8),
        finder_words=pack([w for w, _ in kept]),
        finder_weights=np.array([c for _, c in kept], dtype=np.float16),
        sense_words=pack([w for w, keep in zip(known, strong, strict=True) if keep]),
        sense_weights=senses.coef_.T[strong].astype(np.float16),
    )
    print(f"{OUT.name}: {OUT.stat().st_size / 1e6:.2f} MB, {len(kept)} + {strong.sum()} features")


if __name__ == "__main__":
    main()

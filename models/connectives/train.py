"""Train the finder and the relation model on ``gdtb_train`` and write ``model.npz``.

``python models/connectives/train.py [--cv]``; ``--cv`` only prints the cross-validated scores. The
finder is a regularised logistic regression over present-or-absent features and boosted trees over
the same features as categories, logits averaged. The relation model is three small networks, each
with a linear part, logits averaged too, taught by the labels of a fine-tuned encoder (``soft.npz``,
see `teach.py`) on the treebank's connectives and on those of the training textbooks. Documents are
kept whole in every fold, and no fold is taught by a teacher that learnt from it. The confidence is
calibrated by isotonic regression on the out-of-fold scores.
"""

from __future__ import annotations

import argparse
import json
from collections import Counter
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from lexicon import PATH as LEXICON
from lexicon import direction
from lexicon import relations as lexicon_relations
from scipy.sparse import csr_matrix
from sklearn.ensemble import HistGradientBoostingClassifier
from sklearn.isotonic import IsotonicRegression
from sklearn.linear_model import LogisticRegression
from soft import Plan, Senses, Soft, fit_units, together
from soft import read as read_soft
from treebank import Document, Gold, Spans, documents, level2

from rwtools.transitions.candidates import Candidate, candidates, plausible
from rwtools.transitions.features import finder_features, manner_of_text, sense_features
from rwtools.transitions.find import resolve
from rwtools.transitions.lexicon import Connective, Use, connectives
from rwtools.transitions.model import FORMAT, PAIR_BONUS, expand, sense_prior, temper
from rwtools.transitions.trees import MISSING, Forest

SEED = 7
FOLDS = 5
FINDER_C = 0.1
# Networks with a layer of units each (and a linear part), logits averaged.
PLANS = (Plan(), Plan(), Plan(features_kept=0.5, epochs=6))
TEACHER_SHARE = 1.0  # in the label of a treebank connective
TAUGHT_WEIGHT = 0.5  # of a textbook's connective against one of the treebank
ENOUGH = 20  # uses of a connective, to judge whether the teacher reads it well
TAUGHT_COUNT = 10  # a feature that training never showed twice needs so many in textbooks
CATEGORIES = 200
TREE_DEPTH = 6
THRESHOLD = 0.5  # a clue is shown when it is likelier than not
# Kinds of features that pair two others: the trees find pairs themselves.
PAIRS = frozenset("ba btlr at2 bt2 b2 a2 rolegov plr btl btr rw lw lr lrt".split())
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
        manner = manner_of_text(doc.text)
        for candidate in candidates(doc.text):
            if not plausible(doc.text, candidate):
                continue
            spans: Spans = ((tokens[candidate.first].start, tokens[candidate.last - 1].end),)
            if candidate.second:
                a, b = candidate.second
                spans += ((tokens[a].start, tokens[b - 1].end),)
            match = gold.get(spans)
            connective = known[candidate.form]
            plain = finder_features(doc.text, candidate, manner)
            found.append(
                Example(
                    doc=number,
                    candidate=candidate,
                    connective=connective,
                    spans=spans,
                    gold=match,
                    label=int(match is not None or (len(spans) == 1 and spans[0] in firsts)),
                    finder=expand(connective, plain),
                    sense=expand(connective, [*plain, *sense_features(doc.text, candidate)]),
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


def gold_label(row: Example, soft: Soft, untaught: set[str]) -> np.ndarray:
    """The teacher's label mixed with the treebank's answers; alone these where it has none
    or misreads the connective."""
    answers = {level2(s) for s in row.gold.senses}
    own = np.array([float(s in answers) for s in soft.senses])
    own /= max(own.sum(), 1.0)
    place = (row.doc, row.spans[0][0], row.candidate.form)
    if place not in soft.own or row.candidate.form in untaught:
        return own
    return TEACHER_SHARE * soft.own[place] + (1 - TEACHER_SHARE) * own


def misread(gold: list[Example], soft: Soft) -> set[str]:
    """Connectives that the teacher, out of fold, reads worse than by their most frequent sense
    (*however*: annotators themselves can hardly tell its contrasts from its concessions)."""
    answers: dict[str, Counter[str]] = {}
    right: Counter[str] = Counter()
    for row in gold:
        label = soft.own.get((row.doc, row.spans[0][0], row.candidate.form))
        if label is not None:
            wanted = {level2(s) for s in row.gold.senses}
            answers.setdefault(row.candidate.form, Counter()).update(wanted)
            right[row.candidate.form] += soft.senses[label.argmax()] in wanted
    return {
        form
        for form, counts in answers.items()
        if counts.total() >= ENOUGH and right[form] < max(counts.values())
    }


def fit_sense(gold: list[Example], soft: Soft, fold: int | None) -> Senses:
    """The relation model. ``fold``: the one that nothing may come from (None: learn from all)."""
    books = soft.books
    counts = Counter(f for row in books.features for f in set(row))
    words = set(vocabulary([r.sense for r in gold]))
    words |= {f for f, n in counts.items() if n >= TAUGHT_COUNT}
    known = {f: i for i, f in enumerate(sorted(words))}
    labels = books.labels.mean(0) if fold is None else books.labels[fold]
    untaught = misread(gold, soft)
    label = np.concatenate([[gold_label(r, soft, untaught) for r in gold], labels])
    priors = {form: sense_prior(entry, soft.senses) for form, entry in connectives().items()}
    allowed = np.array([priors[f] > 0 for f in [r.candidate.form for r in gold] + books.forms])
    allowed |= label > 0
    taught = [TAUGHT_WEIGHT * (form not in untaught) for form in books.forms]
    weight = np.array([1.0] * len(gold) + taught)
    x = matrix([*(r.sense for r in gold), *books.features], known)
    parts = [fit_units(x, label, weight, allowed, p, SEED + n) for n, p in enumerate(PLANS)]
    return Senses(soft.senses, known, *together(parts))


def kind(feature: str) -> str:
    """The column of a feature: what is before its colon (or its connective and class)."""
    return feature[:2] if "\t" in feature else feature.lstrip("=").partition(":")[0]


def tree_columns(rows: list[Example]) -> list[list[str]]:
    """For each kind of single feature its most frequent values, which become category codes."""
    counts = Counter(f for r in rows for f in set(r.finder) if "\t" not in f[2:])
    by_kind: dict[str, list[tuple[int, str]]] = {}
    for feature, count in counts.items():
        if kind(feature) not in PAIRS and count >= 3:
            by_kind.setdefault(kind(feature), []).append((-count, feature))
    return [[f for _, f in sorted(by_kind[k])[:CATEGORIES]] for k in sorted(by_kind)]


def encode(columns: list[list[str]], rows: list[Example]) -> np.ndarray:
    """Category codes of all rows as the trees read them (NaN: missing)."""
    codes = {f: (j, i) for j, words in enumerate(columns) for i, f in enumerate(words)}
    found = np.full((len(rows), len(columns)), np.nan)
    for index, row in enumerate(rows):
        for feature in row.finder:
            if feature in codes:
                column, code = codes[feature]
                found[index, column] = code
    return found


def fit_trees(x: np.ndarray, y: np.ndarray) -> HistGradientBoostingClassifier:
    return HistGradientBoostingClassifier(
        max_iter=120,
        learning_rate=0.08,
        max_leaf_nodes=12,
        max_depth=TREE_DEPTH,
        min_samples_leaf=15,
        l2_regularization=5.0,
        max_features=0.3,
        categorical_features=list(range(x.shape[1])),
        random_state=SEED,
    ).fit(x, y)


def tree_arrays(model: HistGradientBoostingClassifier) -> dict[str, np.ndarray]:
    """The trees as the plain arrays that `rwtools.transitions.trees` walks."""
    feature, ask, children, value, roots, left = [], [], [], [], [], []
    for (tree,) in model._predictors:
        base = len(feature)
        roots.append(base)
        for number, node in enumerate(tree.nodes):
            if node["is_leaf"]:
                feature.append(0)
                ask.append(0)
                children.append((base + number, base + number))
                value.append(node["value"])
                continue
            words = tree.raw_left_cat_bitsets[node["bitset_idx"]].astype("<u4")
            bits = np.unpackbits(words.view(np.uint8), bitorder="little")
            bits[MISSING] = node["missing_go_to_left"]
            feature.append(node["feature_idx"])
            ask.append(len(left))
            left.append(np.packbits(bits, bitorder="little"))
            children.append((base + int(node["right"]), base + int(node["left"])))
            value.append(0.0)
    return {
        "feature": np.array(feature, dtype=np.uint8),
        "ask": np.array(ask, dtype=np.uint16),
        "children": np.array(children, dtype=np.uint16),
        "value": np.array(value, dtype=np.float32),
        "roots": np.array(roots, dtype=np.uint16),
        "goes_left": np.array(left),
    }


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


def fold_lexicon(rows: list[Example]) -> dict[str, Connective]:
    """The lexicon as these rows alone would have filled it: no fold sees its own answers."""
    learnt: dict[str, Counter] = {}
    used: Counter[str] = Counter()
    for row in rows:
        if row.gold is not None:
            form = row.candidate.form
            used[form] += 1
            senses = ((level2(s), direction(s)) for s in row.gold.senses)
            learnt.setdefault(form, Counter()).update(senses)
    entries = json.loads(LEXICON.read_text(encoding="utf-8"))["entries"]
    found = {}
    for entry in entries:
        form = entry["form"]
        uses = lexicon_relations(entry, learnt.get(form, Counter()))
        known = connectives()[form]
        shares = tuple(Use(u["relation"], u["sense"], 0, u["frequency"], None) for u in uses)
        found[form] = replace(known, used=used[form], uses=shares)
    return found


def sense_probabilities(
    model: Senses, rows: list[Example], lexicon: dict[str, Connective]
) -> np.ndarray:
    logits = model.logits(matrix([r.sense for r in rows], model.known))
    found = []
    for logit, row in zip(logits, rows, strict=True):
        known = lexicon[row.candidate.form]
        found.append(temper(logit, sense_prior(known, model.classes), known.used))
    return np.array(found)


def cross_validate(rows: list[Example], soft: Soft) -> tuple[np.ndarray, list[str], np.ndarray]:
    """Out-of-fold finding probabilities, best senses and their probabilities for all examples."""
    folds = np.array([soft.folds.get(r.doc, r.doc % FOLDS) for r in rows])
    y = np.array([r.label for r in rows])
    found = np.zeros(len(rows))
    best = [""] * len(rows)
    share = np.zeros(len(rows))
    for fold in range(FOLDS):
        train, test = np.flatnonzero(folds != fold), np.flatnonzero(folds == fold)
        known = vocabulary([rows[i].finder for i in train])
        linear = fit_finder(matrix([rows[i].finder for i in train], known), y[train])
        logits = linear.decision_function(matrix([rows[i].finder for i in test], known))
        columns = tree_columns([rows[i] for i in train])
        trees = fit_trees(encode(columns, [rows[i] for i in train]), y[train])
        logits += trees.decision_function(encode(columns, [rows[i] for i in test]))
        pairs = np.array([PAIR_BONUS * (len(rows[i].spans) == 2) for i in test])
        found[test] = 1 / (1 + np.exp(-logits / 2 - pairs))
        gold = [rows[i] for i in train if rows[i].gold is not None]
        senses = fit_sense(gold, soft, fold)
        lexicon = fold_lexicon([rows[i] for i in train])
        shares = sense_probabilities(senses, [rows[i] for i in test], lexicon)
        for i, p in zip(test, shares, strict=True):
            best[i], share[i] = senses.classes[p.argmax()], p.max()
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
    soft = read_soft()
    print(f"{len(soft.books.forms)} connectives of textbooks")
    found, best, share = cross_validate(rows, soft)
    for threshold in (0.38, 0.42, 0.46, THRESHOLD):
        scores, raw, truth = outcomes(docs, rows, found, best, share, threshold)
        print(f"threshold {threshold}:", {k: round(v, 4) for k, v in scores.items()})
    if options.cv:
        return
    curve = IsotonicRegression(y_min=0.02, y_max=0.99, out_of_bounds="clip").fit(raw, truth)
    labels = np.array([r.label for r in rows])
    columns = tree_columns(rows)
    codes = encode(columns, rows)
    trees = fit_trees(codes, labels)
    arrays = tree_arrays(trees)
    tree_bias = float(trees._baseline_prediction.ravel()[0])
    served = Forest({}, len(columns), arrays, tree_bias, TREE_DEPTH)
    plain = np.where(np.isnan(codes), MISSING, codes).astype(np.intp)
    if np.abs(served.logits(plain) - trees.decision_function(codes)).max() > 1e-4:
        raise SystemExit("the exported trees do not answer as the trained ones do")
    known = vocabulary([r.finder for r in rows])
    finder = fit_finder(matrix([r.finder for r in rows], known), labels)
    kept = [(w, c) for w, c in zip(known, finder.coef_[0], strict=True) if abs(c) >= SMALLEST]
    gold = [r for r in rows if r.gold is not None]
    senses = fit_sense(gold, soft, None)
    strong = np.abs(senses.weights).max(axis=1) >= SMALLEST
    largest = np.maximum(np.abs(senses.weights).max(axis=0), 1e-6)
    scale = (largest / 127).astype(np.float32)  # eight bits are enough
    meta = {
        "format": FORMAT,
        "senses": senses.classes,
        "finder_bias": float(finder.intercept_[0]),
        "sense_bias": [round(float(b), 5) for b in senses.bias],
        "threshold": THRESHOLD,
        "columns": columns,
        "tree_bias": tree_bias,
        "tree_depth": TREE_DEPTH,
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
        sense_words=pack([w for w, keep in zip(senses.known, strong, strict=True) if keep]),
        sense_weights=np.rint(senses.weights[strong] / scale).astype(np.int8),
        sense_scale=scale,
        unit_weights=senses.units.astype(np.float16),
        **{f"tree_{name}": array for name, array in arrays.items()},
    )
    print(f"{OUT.name}: {OUT.stat().st_size / 1e6:.2f} MB, {len(kept)} + {strong.sum()} features")


if __name__ == "__main__":
    main()

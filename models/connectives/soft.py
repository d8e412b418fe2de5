"""The teacher's labels: what a fine-tuned encoder makes of connectives (``soft.npz``), and the
models that learn from such shares of relations instead of one right answer."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from scipy.sparse import csr_matrix
from treebank import rows

from rwtools.text import parse_many
from rwtools.transitions.candidates import candidates, plausible
from rwtools.transitions.features import finder_features, manner_of_text, sense_features
from rwtools.transitions.lexicon import connectives
from rwtools.transitions.model import expand

PATH = Path(__file__).with_name("soft.npz")
SEED = 7
NEVER = -1e9


@dataclass(slots=True)
class Taught:
    """Unlabelled connectives with features and one label per fold of teachers."""

    forms: list[str]
    features: list[list[str]]
    labels: np.ndarray  # (folds, rows, senses): by the runs that did not learn from the fold


@dataclass(slots=True)
class Soft:
    """The file's content. ``own``: (document, start, form) -> label of a treebank connective, by
    runs that did not learn from its fold; ``folds``: document -> fold."""

    senses: list[str]
    own: dict[tuple[int, int, str], np.ndarray]
    folds: dict[int, int]
    books: Taught


def shares(label: np.ndarray) -> np.ndarray:
    """From 1/255 to shares that sum to 1."""
    found = label.astype(float)
    total: np.ndarray = found / found.sum(-1, keepdims=True)
    return total


def read() -> Soft:
    """The labels, and the features of the textbooks' connectives (parsed anew)."""
    with np.load(PATH, allow_pickle=False) as data:
        kept = {name: data[name] for name in data.files}
    meta = json.loads(kept["meta"].tobytes().decode("utf-8"))
    forms = [meta["forms"][i] for i in kept["train_form"]]
    places = kept["train_place"].tolist()
    labels = shares(kept["train_label"])
    own = {
        (doc, start, form): label
        for (doc, start), form, label in zip(places, forms, labels, strict=True)
    }
    folds = {doc: int(fold) for (doc, _), fold in zip(places, kept["train_fold"], strict=True)}
    wanted: dict[int, dict[tuple[int, str], int]] = {}
    book_forms = [meta["forms"][i] for i in kept["book_form"]]
    for row, ((number, start), form) in enumerate(
        zip(kept["book_place"].tolist(), book_forms, strict=True)
    ):
        wanted.setdefault(number, {})[start, form] = row
    features = textbook_features(wanted)
    there = sorted(features)
    books = Taught(
        [book_forms[i] for i in there],
        [features[i] for i in there],
        shares(kept["book_label"][:, there]),
    )
    return Soft(meta["senses"], own, folds, books)


def textbook_features(wanted: dict[int, dict[tuple[int, str], int]]) -> dict[int, list[str]]:
    """Relation features of the wanted connectives: paragraph -> (start, form) -> row number."""
    raw = list(rows("textbook_train.jsonl.gz"))
    known = connectives()
    found: dict[int, list[str]] = {}
    numbers = sorted(wanted)
    for number, text in zip(numbers, parse_many(raw[i]["text"] for i in numbers), strict=True):
        manner = manner_of_text(text)
        for candidate in candidates(text):
            place = (text.tokens[candidate.first].start, candidate.form)
            row = wanted[number].get(place)
            if row is None or row in found or not plausible(text, candidate):
                continue
            plain = finder_features(text, candidate, manner)
            found[row] = expand(known[candidate.form], [*plain, *sense_features(text, candidate)])
    return found


class Senses:
    """Weights of a model of senses over present-or-absent features: one column a sense, then one a
    unit; what the units add to the senses; and the features' numbers."""

    def __init__(
        self, classes: list[str], known: dict[str, int], table: np.ndarray, units: np.ndarray
    ) -> None:
        self.classes = classes
        self.known = known
        self.weights, self.bias = table[:-1], table[-1]
        self.units = units

    def logits(self, x: csr_matrix) -> np.ndarray:
        """As the served model reckons them."""
        total, count = x @ self.weights + self.bias, len(self.classes)
        found: np.ndarray = total[:, :count] + np.maximum(total[:, count:], 0) @ self.units
        return found


def log_shares(logits: np.ndarray, allowed: np.ndarray) -> np.ndarray:
    """Logarithms of the shares of the allowed senses."""
    logits = np.where(allowed, logits, NEVER)
    logits = logits - logits.max(1, keepdims=True)
    found: np.ndarray = logits - np.log(np.exp(logits).sum(1, keepdims=True))
    return found


@dataclass(frozen=True, slots=True)
class Plan:
    """How the layer of units is trained (Adam; features and units are left out at random)."""

    units: int = 32
    epochs: int = 4
    batch: int = 256
    rate: float = 3e-3
    features_kept: float = 0.7
    units_kept: float = 0.7
    decay: float = 1e-5


def fit_units(
    x: csr_matrix, label: np.ndarray, weight: np.ndarray, allowed: np.ndarray, plan: Plan, seed: int
) -> tuple[np.ndarray, np.ndarray]:
    """A linear part and a layer of units beside it, trained together: the table (columns: senses,
    units; last row: bias) and what the units add to the senses."""
    rng = np.random.default_rng(seed)
    width, count, small = x.shape[1], label.shape[1], np.float32
    table = np.zeros((width + 1, count + plan.units), small)
    table[:-1, count:] = rng.normal(0, 0.05, (width, plan.units))
    units = (rng.uniform(-1, 1, (plan.units, count)) / np.sqrt(plan.units)).astype(small)
    held = [table, units]
    means = [np.zeros_like(p) for p in held]
    squares = [np.zeros_like(p) for p in held]
    x = x.tocsr().astype(small)
    steps = plan.epochs * -(-len(label) // plan.batch)
    step = 0
    for _ in range(plan.epochs):
        order = rng.permutation(len(label))
        for at in range(0, len(order), plan.batch):
            own = order[at : at + plan.batch]
            part = x[own]
            part.data = (rng.random(len(part.data)) < plan.features_kept).astype(small)
            total = part @ table[:-1] + table[-1]
            above = total[:, count:]
            mask = (above > 0) * (rng.random(above.shape) < plan.units_kept) / plan.units_kept
            hidden = above * mask.astype(small)
            found = np.exp(log_shares(total[:, :count] + hidden @ units, allowed[own]))
            off = (weight[own, None] * (found - label[own]) / len(own)).astype(small)
            back = (off @ units.T) * mask + 2 * plan.decay * above / len(own)
            slope = np.concatenate([off, back], 1).astype(small)
            slopes = [np.vstack([part.T @ slope, slope.sum(0)]), hidden.T @ off]
            step += 1
            rate = plan.rate * (1 - (step - 1) / steps) * min(1, step / 50)
            for values, mean, square, g in zip(held, means, squares, slopes, strict=True):
                mean += 0.1 * (g - mean)
                square += 0.001 * (g * g - square)
                size = np.sqrt(square / (1 - 0.999**step)) + 1e-8
                values -= rate / (1 - 0.9**step) * mean / size
    return table, units


def together(parts: list[tuple[np.ndarray, np.ndarray]]) -> tuple[np.ndarray, np.ndarray]:
    """One model whose logits are the mean of those of several."""
    count = parts[0][1].shape[1]
    linear = np.mean([table[:, :count] for table, _ in parts], axis=0)
    table = np.concatenate([linear, *(t[:, count:] for t, _ in parts)], axis=1)
    return table, np.concatenate([units for _, units in parts]) / len(parts)

"""A conditional logit with bounds: the probability of a choice is softmax of its weighted features.

Bounds keep the sign that each feature has by its meaning (a fault can't speak for a choice), which
matters more than fit when items are few.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import minimize

_FOR = frozenset(
    {
        "judge",
        "judge means",
        "judge opening",
        "marks",
        "relation",
        "tense around",
        "gloss",
        "reader",
        "reader in place",
        "reader opening",
        "sense",
    }
)
_AGAINST = frozenset(
    {
        "judge anywhere",
        "judge definition",
        "commonest sense",
        "common word",
        "reader unturned",
        "faults",
        "splice",
        "fragment",
        "colon",
        "question",
        "apostrophe",
        "same as another",
        "disagrees",
        "breaks pattern",
        "no sentence",
    }
)
BOUNDS = dict.fromkeys(_FOR, (0, None)) | dict.fromkeys(_AGAINST, (None, 0))
RIDGE = 0.005


@dataclass
class Example:
    """One item: a row of features per choice, the key, and how much the item counts."""

    name: str
    rows: np.ndarray
    key: int
    weight: float
    own: bool


def scores_to_probabilities(scores: np.ndarray) -> np.ndarray:
    powers = np.exp(scores - scores.max())
    return powers / powers.sum()


def fit(examples: Sequence[Example], names: Sequence[str]) -> np.ndarray:
    """Weights in the features' own units."""
    centred = [e.rows - e.rows.mean(axis=0) for e in examples]
    scale = np.sqrt(np.mean(np.concatenate(centred) ** 2, axis=0))
    scale[scale == 0] = 1
    total = sum(e.weight for e in examples)

    def loss(weights: np.ndarray) -> tuple[float, np.ndarray]:
        value, slope = 0.0, np.zeros_like(weights)
        for example, rows in zip(examples, centred, strict=True):
            scaled = rows / scale
            chances = scores_to_probabilities(scaled @ weights)
            value -= example.weight * np.log(max(chances[example.key], 1e-12))
            slope += example.weight * (chances @ scaled - scaled[example.key])
        return (
            value / total + RIDGE * float(weights @ weights),
            slope / total + 2 * RIDGE * weights,
        )

    bounds = [BOUNDS[name] for name in names]
    found = minimize(loss, np.zeros(len(names)), jac=True, method="L-BFGS-B", bounds=bounds)
    return found.x / scale


def folds(examples: Sequence[Example], names: Sequence[str], count: int = 8) -> list[np.ndarray]:
    """Probabilities of each example's choices from weights fitted without it."""
    found: list[np.ndarray] = [np.empty(0)] * len(examples)
    for fold in range(count):
        rest = [e for n, e in enumerate(examples) if n % count != fold]
        weights = fit(rest, names)
        for n in range(fold, len(examples), count):
            found[n] = scores_to_probabilities(examples[n].rows @ weights)
    return found

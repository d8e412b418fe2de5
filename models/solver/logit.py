"""A conditional logit with bounds: the probability of a choice is softmax of its weighted features.

Bounds keep the sign that each feature has by its meaning (a fault can't speak for a choice), which
matters more than fit when items are few.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import minimize

BOUNDS = {
    "judge": (0, None), "judge anywhere": (None, 0), "judge means": (0, None),
    "judge means anywhere": (None, 0), "faults": (None, 0), "marks": (0, None),
    "splice": (None, 0), "fragment": (None, 0), "colon": (None, 0), "question": (None, 0),
    "apostrophe": (None, 0), "relation": (0, None), "same as another": (None, 0),
    "disagrees": (None, 0), "tense around": (0, None), "no sentence": (None, 0),
    "gloss": (0, None),
}  # fmt: skip
RIDGE = 0.02


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

"""Test statistics: intervals, reliability, discrimination, and whether a gap could be chance."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "alpha",
    "corrected_point_biserial",
    "kr20",
    "mean_interval",
    "measurement_error",
    "permutation_p",
    "wilson",
]

Floats = NDArray[np.float64]


def wilson(right: ArrayLike, given: ArrayLike, confidence: float = 0.95) -> tuple[Floats, Floats]:
    """Wilson score interval of ``right`` out of ``given`` (arrays of one shape), as (low, high).

    Nothing given: (0, 1). Source: Wilson (1927), Journal of the American Statistical Association
    22, 209-212; recommended for small counts by Brown, Cai and DasGupta (2001).
    """
    from scipy.special import ndtri

    count, n = np.asarray(right, dtype=float), np.asarray(given, dtype=float)
    z2 = float(ndtri((1 + confidence) / 2)) ** 2
    with np.errstate(invalid="ignore", divide="ignore"):
        share = count / n
        middle = (share + z2 / (2 * n)) / (1 + z2 / n)
        half = np.sqrt(z2 * (share * (1 - share) + z2 / (4 * n)) / n) / (1 + z2 / n)
    low = np.where(n > 0, np.clip(middle - half, 0, 1), 0.0)
    high = np.where(n > 0, np.clip(middle + half, 0, 1), 1.0)
    # At the ends the formula gives exactly 0 or 1; rounding must not say otherwise.
    return np.where(count == 0, 0.0, low), np.where((count == n) & (n > 0), 1.0, high)


def kr20(marks: ArrayLike) -> float:
    """Kuder-Richardson formula 20 of ``marks`` (learners x items, 0 or 1); NaN if undefined.

    Source: Kuder and Richardson (1937), Psychometrika 2, 151-160, with population variances.
    """
    table = np.asarray(marks, dtype=float)
    share = table.mean(axis=0)
    return _reliability(float((share * (1 - share)).sum()), table, degrees=0)


def alpha(marks: ArrayLike) -> float:
    """Cronbach's alpha of ``marks`` (learners x items, any numbers); NaN if undefined.

    Source: Cronbach (1951), Psychometrika 16, 297-334, with sample variances.
    """
    table = np.asarray(marks, dtype=float)
    if len(table) < 2:
        return float("nan")
    return _reliability(float(table.var(axis=0, ddof=1).sum()), table, degrees=1)


def _reliability(item_variances: float, table: Floats, degrees: int) -> float:
    learners, items = table.shape
    if items < 2 or learners < 2:
        return float("nan")
    total = float(table.sum(axis=1).var(ddof=degrees))
    if total <= 0:
        return float("nan")
    return float(items / (items - 1) * (1 - item_variances / total))


def measurement_error(spread: float, reliability: float) -> float:
    """Standard error of measurement: ``spread * sqrt(1 - reliability)``, in the unit of spread."""
    return spread * float(np.sqrt(max(0.0, 1 - reliability)))


def corrected_point_biserial(marks: ArrayLike) -> Floats:
    """Correlation of each item (column, 0 or 1) with the sum of the *other* items; NaN if flat.

    Without the correction an item correlates with itself. For incomplete answers `grade` uses the
    share right of a learner's other items, which for complete ones gives the same figure.
    """
    table = np.asarray(marks, dtype=float)
    rest = table.sum(axis=1, keepdims=True) - table
    x, y = table - table.mean(axis=0), rest - rest.mean(axis=0)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.asarray((x * y).sum(axis=0) / np.sqrt((x**2).sum(axis=0) * (y**2).sum(axis=0)))


def mean_interval(values: ArrayLike, confidence: float = 0.95) -> tuple[float, float] | None:
    """Student t interval of a mean; None for fewer than two values."""
    from scipy.special import stdtrit

    sample = np.asarray(values, dtype=float)
    if len(sample) < 2:
        return None
    t = float(stdtrit(len(sample) - 1, (1 + confidence) / 2))
    half = t * float(sample.std(ddof=1)) / float(np.sqrt(len(sample)))
    return float(sample.mean()) - half, float(sample.mean()) + half


def permutation_p(
    values: ArrayLike, groups: ArrayLike, rounds: int = 9_999, seed: int = 0
) -> float | None:
    """How often shuffled group labels part the means at least as far as the real ones do.

    ``values`` and ``groups`` (labels) are of one length. The measure is the sum of squares between
    groups, so two or more groups can be compared. None for fewer than two groups. The real
    grouping counts as one of the rounds (Phipson and Smyth 2010), so p is never 0.
    """
    sample = np.asarray(values, dtype=float)
    names, labels = np.unique(np.asarray(groups), return_inverse=True)
    if len(names) < 2:
        return None
    sizes: Floats = np.bincount(labels).astype(float)
    generator = np.random.default_rng(seed)

    def apart(sums: Floats) -> Any:
        return (sums**2 / sizes).sum(axis=-1)

    centred = sample - sample.mean()
    edges = np.concatenate([[0], np.cumsum(sizes)[:-1]]).astype(int)
    real = float(apart(np.bincount(labels, weights=centred).astype(float)))
    step = max(1, 2_000_000 // len(sample))
    hits = 0
    for start in range(0, rounds, step):
        count = min(step, rounds - start)
        shuffled = generator.permuted(np.broadcast_to(centred, (count, len(centred))), axis=1)
        found = apart(np.add.reduceat(shuffled, edges, axis=1))
        hits += int((found >= real - 1e-12).sum())
    return (hits + 1) / (rounds + 1)

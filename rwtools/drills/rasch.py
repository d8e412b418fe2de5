"""The Rasch model: one difficulty per item and one ability per learner, on one scale (logits).

Difficulties: marginal maximum likelihood by EM over a fixed grid (Bock and Aitkin 1981), abilities
normal with mean 0 and a spread that is estimated too. Abilities: Warm's (1989) weighted
likelihood, which stays finite for scores of none and all. Fit: infit and outfit mean squares
(Wright and Masters 1982).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["MIN_ITEMS", "MIN_LEARNERS", "Rasch", "fit"]

Floats = NDArray[np.float64]

# 30 learners put a difficulty within 1 logit at 95% (Linacre 1994, Rasch Measurement Transactions
# 7:4, 328). Ten items: from memory, common practice.
MIN_LEARNERS = 30
MIN_ITEMS = 10

_GRID = np.linspace(-5, 5, 41)
TOLERANCE = 1e-4  # logits


@dataclass(frozen=True, slots=True)
class Rasch:
    """A fitted model, in logits. Abilities centre on 0: a difficulty of 0 is the middle learner's.

    ``difficulty``, ``difficulty_error``, ``infit``, ``outfit``: one per item; ``ability``,
    ``ability_error``: one per learner; ``spread``: standard deviation of abilities.
    """

    difficulty: Floats
    difficulty_error: Floats
    infit: Floats
    outfit: Floats
    ability: Floats
    ability_error: Floats
    spread: float


def fit(marks: Floats, given: NDArray[np.bool_], rounds: int = 200) -> Rasch:
    """Fit ``marks`` (learners x items, 0 or 1); ``given`` is False where there is no answer.

    Every item must have been got right by someone and wrong by someone.
    """
    from scipy.special import expit, logit

    right = np.where(given, marks, 0.0)
    counts = given.sum(axis=0)
    # What a learner's answers say depends on which items were given and on the score only, so
    # learners who were given the same items are worked out together.
    patterns, pattern = _patterns(given)
    score = right.sum(axis=1)
    difficulty = -logit(np.clip(right.sum(axis=0) / counts, 0.01, 0.99))
    spread = 1.0
    information = counts * 0.2
    for _ in range(rounds):
        posterior, nodes = _posterior(score, patterns, pattern, difficulty, spread)
        # Expected learners at each grid point who were given each item, and what they should get.
        here = np.zeros((len(patterns), len(nodes)))
        np.add.at(here, pattern, posterior)
        weight = here.T @ patterns
        chance = expit(nodes[:, None] - difficulty[None, :])
        expected = (weight * chance).sum(axis=0)
        information = (weight * chance * (1 - chance)).sum(axis=0)
        step = np.clip((expected - right.sum(axis=0)) / information, -1, 1)
        # Let the abilities' mean move too, and move the whole scale back to 0 with it: the same
        # estimates in a tenth of the rounds (parameter-expanded EM, Liu, Rubin and Wu 1998).
        mean = float((posterior @ nodes).mean())
        new_spread = float(np.sqrt((posterior @ nodes**2).mean() - mean**2))
        change = max(float(np.abs(step - mean).max()), abs(new_spread - spread))
        difficulty = difficulty + step - mean
        spread = min(max(new_spread, 0.05), 4.0)
        if change < TOLERANCE:
            break
    ability, ability_error = _abilities(score, patterns, pattern, difficulty)
    infit, outfit = _mean_squares(right, given, difficulty, ability)
    return Rasch(
        difficulty=difficulty,
        difficulty_error=1 / np.sqrt(information),
        infit=infit,
        outfit=outfit,
        ability=ability,
        ability_error=ability_error,
        spread=spread,
    )


def _patterns(given: NDArray[np.bool_]) -> tuple[Floats, NDArray[np.intp]]:
    """The different rows of ``given`` (patterns x items), and which of them each learner has."""
    packed = np.ascontiguousarray(np.packbits(given, axis=1))
    rows = packed.view(np.dtype((np.void, packed.shape[1]))).ravel()
    _, first, pattern = np.unique(rows, return_index=True, return_inverse=True)
    return given[first].astype(float), pattern


def _posterior(
    score: Floats, patterns: Floats, pattern: NDArray[np.intp], difficulty: Floats, spread: float
) -> tuple[Floats, Floats]:
    """How likely each learner is to be at each grid point (learners x points), and the points."""
    from scipy.special import logsumexp

    nodes = _GRID * spread
    # log P = sum of x (theta - b) - log(1 + exp(theta - b)); the part in x b does not vary.
    normaliser = patterns @ np.logaddexp(0, nodes[:, None] - difficulty[None, :]).T
    log = score[:, None] * nodes[None, :] - normaliser[pattern] - _GRID**2 / 2
    return np.exp(log - logsumexp(log, axis=1, keepdims=True)), nodes


def _abilities(
    score: Floats, patterns: Floats, pattern: NDArray[np.intp], difficulty: Floats
) -> tuple[Floats, Floats]:
    """Warm's weighted likelihood estimates and their standard errors, by Newton's method."""
    from scipy.special import expit

    pairs, back = np.unique(np.column_stack([pattern, score]), axis=0, return_inverse=True)
    seen, sums = patterns[pairs[:, 0].astype(int)], pairs[:, 1]
    ability, information = np.zeros(len(pairs)), np.ones(len(pairs))
    for _ in range(100):
        chance = expit(ability[:, None] - difficulty[None, :])
        variance = seen * chance * (1 - chance)
        information = np.maximum(variance.sum(axis=1), 1e-9)
        bias = (variance * (1 - 2 * chance)).sum(axis=1) / (2 * information)
        step = np.clip((sums - (seen * chance).sum(axis=1) + bias) / information, -0.7, 0.7)
        ability = np.clip(ability + step, -8, 8)
        if float(np.abs(step).max()) < 1e-4:
            break
    back = back.ravel()
    return ability[back], 1 / np.sqrt(information)[back]


def _mean_squares(
    right: Floats, given: NDArray[np.bool_], difficulty: Floats, ability: Floats
) -> tuple[Floats, Floats]:
    """Infit (weighted by information) and outfit (not weighted) of each item."""
    from scipy.special import expit

    chance = expit(ability[:, None] - difficulty[None, :])
    variance = chance * (1 - chance)
    seen = given.astype(float)
    squared = seen * (right - chance) ** 2
    infit = squared.sum(axis=0) / (seen * variance).sum(axis=0)
    outfit = (squared / variance).sum(axis=0) / seen.sum(axis=0)
    return infit, outfit

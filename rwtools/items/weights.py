"""The learnt numbers of the solvers, read from ``models/solver/weights.json``."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from typing import Any, cast

from rwtools.resources import artifact, load_json

__all__ = ["mark_scores", "relation_weights", "skill_weights", "softmax", "weigh"]


@cache
def _all() -> dict[str, Any]:
    return cast("dict[str, Any]", load_json(artifact("solver", "weights.json")))


def skill_weights(skill: str) -> dict[str, Any]:
    """``features`` (name to weight) and ``margin`` (answer only above this probability); for some
    skills ``first``, the weights where the judge was not asked."""
    return cast("dict[str, Any]", _all()["skills"][skill])


def relation_weights() -> dict[str, Any]:
    """``relations``, ``bias`` and ``cues`` (name to relation to weight)."""
    return cast("dict[str, Any]", _all()["relations"])


def mark_scores(names: Iterable[str]) -> dict[str, float]:
    """Log-odds of each mark at a place of which these facts hold (before normalising)."""
    model = _all()["marks"]
    scores = dict(zip(model["marks"], model["bias"], strict=True))
    for name in names:
        for mark, weight in model["facts"].get(name, {}).items():
            scores[mark] += weight
    return scores


def softmax(scores: Sequence[float]) -> list[float]:
    """Probabilities from scores."""
    top = max(scores)
    powers = [math.exp(score - top) for score in scores]
    total = sum(powers)
    return [power / total for power in powers]


def weigh(
    skill: str, features: Mapping[str, Sequence[float]], *, first: bool = False
) -> list[float]:
    """Probability of each choice: a conditional logit over the skill's few features; ``first``:
    without the judge's."""
    weights: dict[str, float] = skill_weights(skill)["first" if first else "features"]
    count = len(next(iter(features.values())))
    return softmax(
        [
            sum(w * features[name][n] for name, w in weights.items() if name in features)
            for n in range(count)
        ]
    )

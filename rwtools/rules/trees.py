"""Boosted decision trees as plain arrays: reading them and asking them, with numpy alone."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rwtools.errors import ArtifactError

__all__ = ["Forest", "load_forests"]

_REINSTALL = "install rwtools again, or restore the file from its repository"


@dataclass(frozen=True, slots=True)
class Forest:
    """Trees of one model, flattened: node ``k`` asks whether column ``feature[k]`` is at most
    ``threshold[k]`` and goes to ``left[k]`` or ``right[k]``; a leaf leads to itself and holds
    ``value[k]``. ``roots`` has one row a round and one column a class; ``base`` is each class's
    score before any tree; ``depth`` is the longest way down."""

    classes: tuple[str, ...]
    names: tuple[str, ...]
    roots: NDArray[np.int32]
    feature: NDArray[np.int16]
    threshold: NDArray[np.float32]
    left: NDArray[np.int32]
    right: NDArray[np.int32]
    value: NDArray[np.float32]
    base: NDArray[np.float32]
    depth: int

    def scores(self, rows: NDArray[np.float32]) -> NDArray[np.float32]:
        """Scores of shape (rows, score columns), before the soft maximum."""
        at = np.broadcast_to(self.roots.reshape(-1), (len(rows), self.roots.size)).copy()
        line = np.arange(len(rows))[:, None]
        for _ in range(self.depth):
            low = rows[line, self.feature[at]] <= self.threshold[at]
            at = np.where(low, self.left[at], self.right[at])
        summed = self.value[at].reshape(len(rows), *self.roots.shape).sum(axis=1)
        return np.asarray(summed + self.base, dtype=np.float32)

    def probabilities(self, rows: NDArray[np.float32]) -> NDArray[np.float32]:
        """Probabilities of shape (rows, classes)."""
        if not len(rows):
            return np.zeros((0, len(self.classes)), dtype=np.float32)
        scores = self.scores(rows)
        if scores.shape[1] == 1:
            yes = 1 / (1 + np.exp(-scores))
            return np.hstack([1 - yes, yes])
        scores = np.exp(scores - scores.max(axis=1, keepdims=True))
        return np.asarray(scores / scores.sum(axis=1, keepdims=True), dtype=np.float32)


def load_forests(path: Path) -> dict[str, Forest]:
    """All models of one ``.npz`` file (never pickled), by name."""
    found: dict[str, Forest] = {}
    try:
        with np.load(path, allow_pickle=False) as data:
            for name in data["models"].tolist():
                part: dict[str, Any] = {
                    key.removeprefix(f"{name}."): data[key]
                    for key in data.files
                    if key.startswith(f"{name}.")
                }
                found[name] = Forest(
                    classes=tuple(part.pop("classes").tolist()),
                    names=tuple(part.pop("names").tolist()),
                    depth=int(part.pop("depth")),
                    **part,
                )
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise ArtifactError(path, f"this file cannot be read ({error})", _REINSTALL) from error
    return found

"""A forest of boosted trees over categories, served from plain arrays.

Each tree asks at each node whether a feature's category is in a set. Leaves point at themselves, so
all candidates walk all trees in step, a fixed number of steps.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import numpy.typing as npt

__all__ = ["MISSING", "TREE_ARRAYS", "Forest"]

TREE_ARRAYS = ("feature", "ask", "children", "value", "roots", "goes_left")

MISSING = 255  # code of a category that the candidate lacks or that training never saw


class Forest:
    """Boosted trees as arrays, one entry a node.

    ``codes`` gives the column and the category of a feature. Arrays: ``feature`` (the column that
    a node asks), ``ask`` (its row of ``goes_left``), ``children`` (right, left), ``value`` (logit
    of a leaf).
    """

    def __init__(
        self,
        codes: Mapping[str, tuple[int, int]],
        columns: int,
        arrays: Mapping[str, npt.NDArray[Any]],
        bias: float,
        depth: int,
    ) -> None:
        self.codes = codes
        self.columns = columns
        self._feature = arrays["feature"].astype(np.intp)
        self._ask = arrays["ask"].astype(np.intp) * (MISSING + 1)
        self._children = arrays["children"].astype(np.intp).ravel()
        self._value = arrays["value"].astype(np.float64)
        self._roots = arrays["roots"].astype(np.intp)
        bits = np.unpackbits(arrays["goes_left"], axis=1, bitorder="little")
        self._goes_left = bits.astype(np.intp).ravel()
        self.bias = bias
        self.depth = depth

    def empty(self, count: int) -> npt.NDArray[np.intp]:
        """Room for the categories of ``count`` candidates, all missing."""
        return np.full((count, self.columns), MISSING, dtype=np.intp)

    def logits(self, encoded: npt.NDArray[np.intp]) -> npt.NDArray[np.float64]:
        """The summed leaves of all trees for each row of category codes."""
        at = np.repeat(self._roots[None, :], len(encoded), axis=0)
        lines = (np.arange(len(encoded)) * self.columns)[:, None]
        flat = encoded.ravel()
        for _ in range(self.depth):
            category = flat.take(lines + self._feature.take(at))
            at = self._children.take(2 * at + self._goes_left.take(self._ask.take(at) + category))
        found: npt.NDArray[np.float64] = self._value.take(at).sum(axis=1) + self.bias
        return found

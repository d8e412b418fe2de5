"""A forest of boosted trees over categories, served from plain arrays.

Each tree asks at each node whether a feature's category is in a set. Leaves point at themselves, so
all candidates walk all trees in step, a fixed number of steps.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
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
        self.feature = arrays["feature"].astype(np.intp)
        self.ask = arrays["ask"].astype(np.intp)
        self.children = arrays["children"].astype(np.intp)
        self.value = arrays["value"].astype(np.float64)
        self.roots = arrays["roots"].astype(np.intp)
        bits = np.unpackbits(arrays["goes_left"], axis=1, bitorder="little")
        self.goes_left = bits.astype(np.intp)
        self.bias = bias
        self.depth = depth

    def encode(self, rows: Iterable[Iterable[str]], count: int) -> npt.NDArray[np.intp]:
        """One row a candidate, one column a kind of feature, category codes inside."""
        found = np.full((count, self.columns), MISSING, dtype=np.intp)
        codes = self.codes
        for index, features in enumerate(rows):
            row = found[index]
            for feature in features:
                code = codes.get(feature)
                if code is not None:
                    row[code[0]] = code[1]
        return found

    def logits(self, encoded: npt.NDArray[np.intp]) -> npt.NDArray[np.float64]:
        """The summed leaves of all trees for each row."""
        at = np.broadcast_to(self.roots, (len(encoded), len(self.roots)))
        lines = np.arange(len(encoded))[:, None]
        for _ in range(self.depth):
            category = encoded[lines, self.feature[at]]
            at = self.children[at, self.goes_left[self.ask[at], category]]
        found: npt.NDArray[np.float64] = self.value[at].sum(axis=1) + self.bias
        return found

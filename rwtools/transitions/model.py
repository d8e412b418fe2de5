"""Two models over the features: is this candidate a connective, and with which relation?

The first is a linear model and boosted trees together, the second is linear.

Trained by ``models/connectives/train.py``; the artifact is a NumPy archive without pickled objects.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from functools import cache
from typing import Any

import numpy as np
import numpy.typing as npt

from rwtools.errors import ArtifactError
from rwtools.resources import artifact
from rwtools.transitions.lexicon import Connective, connectives
from rwtools.transitions.trees import TREE_ARRAYS, Forest

__all__ = ["FORMAT", "PAIR_BONUS", "Model", "expand", "load", "sense_prior", "temper"]

FORMAT = 2
# Training shows few pairs, and each half competes with its pair: on held-out folds this many
# logits more for a pair find three quarters of them instead of one in twenty.
PAIR_BONUS = 2.0
_MOST_TRUST = 0.8  # and none leans less than a fifth (best of 0 to 0.6 on held-out folds)
_PRIOR_WEIGHT = 3.0  # a form seen this often leans half on training, half on the lexicon
_REBUILD = "python models/connectives/train.py"


def expand(connective: Connective, features: Iterable[str]) -> list[str]:
    """All features of one candidate: alone, and (``=``) with the connective and its class."""
    form, pos = connective.form, connective.pos
    found = [f"c\t{form}", f"p\t{pos}"]
    for feature in features:
        found.append(feature)
        if feature[0] == "=":
            found.append(f"{form}\t{feature}")
            found.append(f"{pos}\t{feature}")
    return found


def sense_prior(connective: Connective, senses: Sequence[str]) -> npt.NDArray[np.float64]:
    """The lexicon's shares of the given senses; they sum to 1 (all alike where it knows none)."""
    shares = connective.shares()
    found = np.array([shares.get(sense, 0.0) for sense in senses])
    if not found.any():
        found += 1.0
    total: npt.NDArray[np.float64] = found / found.sum()
    return total


def temper(
    logits: npt.NDArray[np.float64], prior: npt.NDArray[np.float64], used: int
) -> npt.NDArray[np.float64]:
    """Sense probabilities: the model's, kept to senses that the lexicon knows, and leaning on the
    lexicon's shares the more, the less often training used the connective."""
    allowed = prior > 0
    weights = np.where(allowed, np.exp(logits - logits.max()), 0.0)
    total = weights.sum()
    learnt = weights / total if total > 0 else prior
    trust = _MOST_TRUST * used / (used + _PRIOR_WEIGHT)
    return trust * learnt + (1 - trust) * prior


class Model:
    """Weights of both models and their calibration.

    ``senses`` are level-2 senses; the sense weights have one row a feature and one column a sense.
    """

    def __init__(
        self,
        finder: dict[str, float],
        sense_rows: dict[str, int],
        sense_weights: npt.NDArray[np.float64],
        forest: Forest,
        meta: dict[str, Any],
    ) -> None:
        self.finder = finder
        self.forest = forest
        self.sense_rows = sense_rows
        self.sense_weights = sense_weights
        self.senses: list[str] = meta["senses"]
        self.finder_bias: float = meta["finder_bias"]
        self.sense_bias = np.array(meta["sense_bias"])
        self.threshold: float = meta["threshold"]
        self.knots: tuple[list[float], list[float]] = tuple(meta["calibration"])
        self.priors = {
            form: sense_prior(connective, self.senses) for form, connective in connectives().items()
        }

    def finding(self, found: Sequence[tuple[Connective, Sequence[str]]]) -> npt.NDArray[np.float64]:
        """For each (connective, finder features) the probability that it connects something.

        The logits of the linear model and of the trees weigh the same.
        """
        linear = np.array([self._linear(connective, features) for connective, features in found])
        rows = ((f"c\t{c.form}", f"p\t{c.pos}", *features) for c, features in found)
        trees = self.forest.logits(self.forest.encode(rows, len(found)))
        pairs = np.array([PAIR_BONUS if len(c.parts) == 2 else 0.0 for c, _ in found])
        chances: npt.NDArray[np.float64] = 1.0 / (1.0 + np.exp(-(linear + trees) / 2 - pairs))
        return chances

    def _linear(self, connective: Connective, features: Iterable[str]) -> float:
        weights = self.finder
        form, pos = connective.form, connective.pos
        total = self.finder_bias + weights.get(f"c\t{form}", 0.0) + weights.get(f"p\t{pos}", 0.0)
        for feature in features:
            total += weights.get(feature, 0.0)
            if feature[0] == "=":
                total += weights.get(f"{form}\t{feature}", 0.0)
                total += weights.get(f"{pos}\t{feature}", 0.0)
        return total

    def relations(self, connective: Connective, features: Iterable[str]) -> npt.NDArray[np.float64]:
        """The probabilities of ``senses``, given that the candidate connects something."""
        known = self.sense_rows
        rows = [known[f] for f in expand(connective, features) if f in known]
        logits = self.sense_bias + self.sense_weights[rows].sum(axis=0)
        return temper(logits, self.priors[connective.form], connective.used)

    def calibrated(self, raw: float) -> float:
        """From the product of both probabilities to how often such a clue is right."""
        return float(np.interp(raw, *self.knots))


def _words(packed: npt.NDArray[np.uint8]) -> list[str]:
    return packed.tobytes().decode("utf-8").split("\n")


@cache
def load() -> Model:
    """The trained model, read once per process; `ArtifactError` where it is damaged or too old."""
    path = artifact("connectives", "model.npz")
    try:
        with np.load(path, allow_pickle=False) as data:
            meta = json.loads(data["meta"].tobytes().decode("utf-8"))
            if meta.get("format") != FORMAT:
                why = f"its format is {meta.get('format')}, this code reads {FORMAT}"
                raise ArtifactError(path, why, _REBUILD)
            weights = data["finder_weights"].astype(np.float64).tolist()
            finder = dict(zip(_words(data["finder_words"]), weights, strict=True))
            rows = {word: row for row, word in enumerate(_words(data["sense_words"]))}
            sense_weights = data["sense_weights"].astype(np.float64)
            codes = {
                word: (column, code)
                for column, words in enumerate(meta["columns"])
                for code, word in enumerate(words)
            }
            arrays = {name: data[f"tree_{name}"] for name in TREE_ARRAYS}
            forest = Forest(
                codes, len(meta["columns"]), arrays, meta["tree_bias"], meta["tree_depth"]
            )
            return Model(finder, rows, sense_weights, forest, meta)
    except (OSError, ValueError, KeyError) as error:
        raise ArtifactError(path, f"this file cannot be read ({error})", _REBUILD) from error

"""Two models over the features: is this candidate a connective, and with which relation?

The first is a linear model and boosted trees together, the second three small networks in one: a
linear part and a layer of units.

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

FORMAT = 3
_UNKNOWN = (0.0, -1, 0)
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


def _split(words: Iterable[str]) -> dict[str, dict[str, int]]:
    """Row numbers of features by what they are paired with (a form, a class, or nothing)."""
    found: dict[str, dict[str, int]] = {}
    for row, word in enumerate(words):
        owner, tab, feature = word.rpartition("\t")
        if tab and feature[:1] == "=":
            found.setdefault(owner, {})[feature] = row
        else:
            found.setdefault("", {})[word] = row
    return found


class Model:
    """Weights of both models and their calibration.

    ``finder_words``/``finder_weights`` and ``sense_words``/``sense_weights`` name and weigh the
    features of `expand`; the sense weights have one row a feature and one column a sense (level 2),
    then one a unit. ``unit_weights`` say what each unit, where it is above 0, adds to each sense.
    """

    def __init__(
        self,
        finder_words: Sequence[str],
        finder_weights: npt.NDArray[np.float64],
        sense_words: Sequence[str],
        sense_weights: npt.NDArray[np.float64],
        unit_weights: npt.NDArray[np.float64],
        forest: Forest,
        meta: dict[str, Any],
    ) -> None:
        weights = finder_weights.tolist()
        owners = _split(finder_words)
        weighed = {o: {f: weights[r] for f, r in rows.items()} for o, rows in owners.items()}
        self._forms = {form: weighed.get(form, {}) for form in connectives()}
        # What a feature weighs alone and with the class, and its place in the trees: one look-up.
        self._classes: dict[str, dict[str, tuple[float, int, int]]] = {}
        for name in {connective.pos for connective in connectives().values()}:
            alone, paired = weighed[""], weighed.get(name, {})
            self._classes[name] = {
                f: (alone.get(f, 0.0) + paired.get(f, 0.0), *forest.codes.get(f, (-1, 0)))
                for f in {**alone, **paired, **forest.codes}
            }
        self._sense = _split(sense_words)
        self.sense_weights = sense_weights
        self.unit_weights = unit_weights
        self.forest = forest
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
        encoded = self.forest.empty(len(found))
        logits = []
        for row, (connective, features) in zip(encoded, found, strict=True):
            by_form = self._forms[connective.form]
            by_class = self._classes[connective.pos]
            total = self.finder_bias
            for feature in (f"c\t{connective.form}", f"p\t{connective.pos}", *features):
                weight, column, code = by_class.get(feature, _UNKNOWN)
                total += weight
                if column >= 0:
                    row[column] = code
                if feature in by_form:
                    total += by_form[feature]
            logits.append(total / 2 + (PAIR_BONUS if len(connective.parts) == 2 else 0.0))
        trees = self.forest.logits(encoded)
        chances: npt.NDArray[np.float64] = 1.0 / (1.0 + np.exp(-(np.array(logits) + trees / 2)))
        return chances

    def relations(self, connective: Connective, features: Iterable[str]) -> npt.NDArray[np.float64]:
        """The probabilities of ``senses``, given that the candidate connects something."""
        asked = (f"c\t{connective.form}", f"p\t{connective.pos}", *features)
        rows = []
        for owner in ("", connective.pos, connective.form):
            known = self._sense.get(owner)
            if known:
                rows += [known[feature] for feature in asked if feature in known]
        total = self.sense_bias + self.sense_weights.take(rows, axis=0).sum(axis=0)
        count = len(self.senses)
        logits = total[:count] + np.maximum(total[count:], 0.0) @ self.unit_weights
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
            codes = {
                word: (column, code)
                for column, words in enumerate(meta["columns"])
                for code, word in enumerate(words)
            }
            arrays = {name: data[f"tree_{name}"] for name in TREE_ARRAYS}
            forest = Forest(
                codes, len(meta["columns"]), arrays, meta["tree_bias"], meta["tree_depth"]
            )
            return Model(
                _words(data["finder_words"]),
                data["finder_weights"].astype(np.float64),
                _words(data["sense_words"]),
                data["sense_weights"] * data["sense_scale"].astype(np.float64),
                data["unit_weights"].astype(np.float64),
                forest,
                meta,
            )
    except (OSError, ValueError, KeyError) as error:
        raise ArtifactError(path, f"this file cannot be read ({error})", _REBUILD) from error

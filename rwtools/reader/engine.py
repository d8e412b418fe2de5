"""Run the reader: a passage with its choices in one row of tokens.

The passage, with a mask token in its blank, is the *trunk*; each choice is a *branch* whose tokens
take the positions of the blank. The trunk sees only itself, a branch sees the trunk and the
branches, so the order of the choices does not matter. A blank is run by itself, with its choices in
one fixed order: it gets the same numbers in any batch, though the arithmetic is eight-bit inside.
"""

from __future__ import annotations

import gzip
import math
import os
import threading
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rwtools import artifact

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Floats = npt.NDArray[np.float32]

__all__ = ["Blank", "Engine", "Weighed", "choose", "engine"]

LONGEST = 224
"""Tokens of the passage that are read (about 170 words): those nearest to the blank."""

AFTER = 60
"""So many of them stand after the blank, if there are as many; more if little stands before it."""

CHOICE = 24
"""Tokens of a choice that are read."""

UNSEEN = -1e4


@dataclass(frozen=True, slots=True)
class Blank:
    """A text with one blank, between ``before`` and ``after``, and what is offered for it.

    ``parts``: stretches of ``before + after`` (offsets as if nothing stood in the blank) that the
    choices are weighed without, each in turn, to see what they owe to it.
    """

    before: str
    choices: tuple[str, ...]
    after: str = ""
    parts: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True, slots=True)
class Weighed:
    """Natural-log probabilities of the choices (their exponentials add up to one), and for each
    part of the blank the same where the choices do not see it."""

    chances: tuple[float, ...]
    without: tuple[tuple[float, ...], ...] = ()


class Engine:
    """One loaded artifact. Its methods may be called from several threads at once."""

    def __init__(self, place: Path) -> None:
        import numpy as np
        import onnxruntime
        from tokenizers import Tokenizer

        description = artifact.describe(place, "reader")
        self.place = place
        self.config: dict[str, Any] = description["config"]
        self.tokenizer = Tokenizer.from_str(
            gzip.decompress(artifact.read(place, description, "tokenizer.json.gz")).decode()
        )
        arrays: dict[str, Any] = dict(artifact.weights(place, description))
        self._words, self._steps = arrays.pop("words.symbols"), arrays.pop("words.scales")
        self._places, self._distance = arrays.pop("places"), arrays.pop("distance")
        head = _opened(arrays.pop("head.symbols")) * arrays.pop("head.scales")[:, None]
        self._head: Floats = np.ascontiguousarray(head.T)
        self._head_bias, self._score = arrays.pop("head.bias"), arrays.pop("score")
        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = min(4, len(os.sched_getaffinity(0)))
        options.inter_op_num_threads = 1
        # Threads that spin while they wait would take the cores from the caller's other work.
        options.add_session_config_entry("session.intra_op.allow_spinning", "0")
        options.log_severity_level = 3
        values: dict[str, Any] = {}
        for name in list(arrays):
            array = arrays.pop(name)
            if name.endswith(".symbols"):
                array = np.ascontiguousarray(_opened(array, np.int8).T)
            values[name] = onnxruntime.OrtValue.ortvalue_from_numpy(array)
        options.add_external_initializers(list(values), list(values.values()))
        graph = artifact.read(place, description, "layers.onnx")
        self._layers = onnxruntime.InferenceSession(
            graph, options, providers=["CPUExecutionProvider"]
        )

    def weigh(self, blank: Blank) -> Weighed:
        """Weigh the choices of one blank."""
        if not blank.choices:
            return Weighed((), tuple(() for _ in blank.parts))
        codes = self.tokenizer.encode_batch(
            [blank.before, blank.after, *blank.choices], add_special_tokens=False
        )
        before, after, *choices = codes
        ends = min(len(after.ids), max(AFTER, LONGEST - len(before.ids)))
        starts = max(len(before.ids) - (LONGEST - ends), 0)
        edge = len(blank.before)
        spans = [*before.offsets[starts:], (edge, edge)]
        spans += [(a + edge, b + edge) for a, b in after.offsets[:ends]]
        hidden = [
            [1 + n for n, (a, b) in enumerate(spans) if start <= a < b <= end]
            for start, end in blank.parts
        ]
        branches = [code.ids[:CHOICE] or [self.config["end"]] for code in choices]
        order = sorted(range(len(branches)), key=branches.__getitem__)
        scores = self._scores(
            before.ids[starts:], after.ids[:ends], [branches[n] for n in order], hidden
        )
        found = []
        for row in scores:
            mine = [0.0] * len(order)
            for n, score in zip(order, row, strict=True):
                mine[n] = float(score)
            top = max(mine)
            total = top + math.log(sum(math.exp(score - top) for score in mine))
            found.append(tuple(score - total for score in mine))
        return Weighed(found[0], tuple(found[1:]))

    def _scores(
        self,
        before: Sequence[int],
        after: Sequence[int],
        branches: Sequence[Sequence[int]],
        hidden: Sequence[Sequence[int]],
    ) -> Floats:
        """Scores of the branches (sets, branches): a first set of branches sees the whole trunk,
        each further set all but some of its tokens. The trunk is computed once."""
        import numpy as np

        config, blank = self.config, 1 + len(before)
        trunk = [config["start"], *before, config["mask"], *after, config["end"]]
        known, size = len(trunk), sum(map(len, branches))
        sets = 1 + len(hidden)
        tokens = np.array([*trunk, *[t for branch in branches for t in branch] * sets])
        twig = [blank + n for branch in branches for n in range(len(branch))]
        places = np.array([*range(known), *twig * sets])
        words = _opened(self._words[tokens]) * self._steps[tokens, None]
        stream = words + self._places[places + config["first"]]
        bias = self._distance[:, self._buckets(places)]
        bias[:, :, known:] = UNSEEN
        for k in range(sets):
            own = slice(known + k * size, known + (k + 1) * size)
            bias[:, own, own] = self._distance[:, self._buckets(places[own])]
            if k:
                bias[:, own, hidden[k - 1]] = UNSEEN
        (states,) = self._layers.run(None, {"stream": stream, "bias": bias})
        at, means = known, []
        for branch in [*branches] * sets:
            means.append(states[at : at + len(branch)].mean(axis=0))
            at += len(branch)
        mine = np.stack(means)
        there = np.broadcast_to(states[blank], mine.shape)
        state = np.concatenate([mine, there, mine * there], 1)
        scores: Floats = np.tanh(state @ self._head + self._head_bias) @ self._score
        return scores.reshape(sets, len(branches))

    def _buckets(self, places: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
        """Which bucket the distance of each place from each other falls in: near ones have their
        own, far ones share."""
        import numpy as np

        half = self._distance.shape[1] // 2
        exact = half // 2
        away = places[None, :] - places[:, None]
        size = np.abs(away)
        far = np.log(np.maximum(size, 1) / exact) / math.log(128 / exact) * (half - exact)
        near = np.where(size < exact, size, np.minimum(exact + far.astype(np.int64), half - 1))
        found: npt.NDArray[np.int64] = near + (away > 0) * half
        return found


def _opened(symbols: npt.NDArray[Any], kind: Any = "float32") -> Any:
    """Two four-bit symbols a byte, low half first, as numbers -8 .. 7."""
    import numpy as np

    pairs = np.stack([symbols & 15, symbols >> 4], -1).reshape(len(symbols), -1)
    return pairs.astype(kind) - np.array(8, kind)


_lock = threading.Lock()
_engine: Engine | None = None


def engine() -> Engine:
    """The reader of this process, loaded at the first call (under a second) and then kept."""
    global _engine  # noqa: PLW0603 - one network per process is the point
    place = artifact.folder("reader")
    if _engine is None or _engine.place != place:
        with _lock:
            if _engine is None or _engine.place != place:
                _engine = Engine(place)
    return _engine


def choose(blanks: Sequence[Blank]) -> list[Weighed]:
    """Weigh the choices of each blank."""
    if not blanks:
        return []
    model = engine()
    return [model.weigh(blank) for blank in blanks]

"""Run the network: many small token trees in one pass.

A job is a shared beginning and branches that continue it. Several jobs are laid one after another
in one row of tokens; an attention bias lets each token see only its own beginning, and positions
count along each branch. So the beginning is computed once and nothing is padded. The arithmetic is
eight-bit inside, so a job's numbers move a little with its neighbours of one pass; a job that runs
alone gets the same numbers each time.
"""

from __future__ import annotations

import gzip
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

__all__ = ["Engine", "Job", "engine"]

PASS_TOKENS = 384
"""Jobs are put together until a pass holds about so many tokens."""

HEAD_ROWS = 48
"""The output layer makes one row of 49,152 numbers per token: 19 MB at a time."""

UNSEEN = -1e9


@dataclass(frozen=True, slots=True)
class Job:
    """Tokens of a shared beginning (it opens with the start token) and its branches."""

    shared: Sequence[int]
    branches: Sequence[Sequence[int]]

    @property
    def size(self) -> int:
        """Tokens that must be run: the last one of a branch only has to be predicted."""
        return len(self.shared) + sum(max(len(branch) - 1, 0) for branch in self.branches)


def _session(graph: bytes, arrays: dict[str, Any]) -> Any:
    """A session on those of the arrays that the graph names; `arrays` is emptied of them."""
    import onnxruntime

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = min(4, len(os.sched_getaffinity(0)))
    options.inter_op_num_threads = 1
    # Threads that spin while they wait would take the cores from the caller's other work.
    options.add_session_config_entry("session.intra_op.allow_spinning", "0")
    # The weights stay out of the runtime's arena, which would hold them twice; buffers come from
    # it, because without it memory grows from pass to pass.
    options.add_session_config_entry("session.use_device_allocator_for_initializers", "1")
    options.log_severity_level = 3
    values: dict[str, Any] = {}
    values = {
        name: onnxruntime.OrtValue.ortvalue_from_numpy(arrays.pop(name))
        for name in [name for name in arrays if name.encode() in graph]
    }
    options.add_external_initializers(list(values), list(values.values()))
    return onnxruntime.InferenceSession(graph, options, providers=["CPUExecutionProvider"])


class Engine:
    """One loaded artifact. Its methods may be called from several threads at once."""

    def __init__(self, place: Path) -> None:
        import numpy as np
        from tokenizers import Tokenizer

        description = artifact.describe(place, "judge")
        config: dict[str, Any] = description["config"]
        self.place = place
        self.window: int = config["window"]
        self.start: int = config["start"]
        self.tokenizer = Tokenizer.from_str(
            gzip.decompress(artifact.read(place, description, "tokenizer.json.gz")).decode()
        )
        arrays = artifact.weights(place, description)
        half = config["head_size"] // 2
        turn = config["rope_base"] ** -(np.arange(half, dtype=np.float64) / half)
        angles = np.arange(self.window)[:, None] * turn
        arrays["rope.cos"] = np.cos(angles).astype(np.float32)
        arrays["rope.sin"] = np.sin(angles).astype(np.float32)
        # The columns with large symbols are multiplied as floats (see models/judge/export.py).
        for name, columns in config["wide"].items():
            symbols = arrays[f"{name}.symbols"]
            arrays[f"{name}.columns"] = np.array(columns, np.int64)
            arrays[f"{name}.wide"] = symbols[columns] * arrays[f"{name}.scales"]
            symbols[columns] = 0
        # The embedding serves both ends: looked up here, multiplied in the head.
        self._embed: Any = arrays["embed.symbols"]
        self._embed_scales: Any = arrays["embed.scales"]
        self._embed_columns, self._embed_wide = arrays["embed.columns"], arrays["embed.wide"]
        self._embed_undo: Any = arrays.pop("embed.undo")
        # The runtime packs matrices anew. Each block's arrays are let go as soon as that is done,
        # so that no more than one block is held twice.
        read, together = artifact.read, config["together"]
        graph = read(place, description, "layers.onnx")
        self._layers = []
        for first in range(0, config["layers"], together):
            own = {}
            for n in range(together):
                prefix = f"layer.{first + n}."
                for name in [name for name in arrays if name.startswith(prefix)]:
                    own[f"layer.{n}.{name.removeprefix(prefix)}"] = arrays.pop(name)
            own |= {name: arrays[name] for name in ("rope.cos", "rope.sin")}
            self._layers.append(_session(graph, own))
        graph = read(place, description, "head.onnx")
        self._head = _session(graph, arrays)

    def encode(self, text: str) -> tuple[list[int], list[tuple[int, int]]]:
        """Tokens of a text and their code-point offsets."""
        encoding = self.tokenizer.encode(text, add_special_tokens=False)
        return encoding.ids, encoding.offsets

    def encode_many(self, texts: Sequence[str]) -> list[list[int]]:
        """Tokens of many texts."""
        many = self.tokenizer.encode_batch(list(texts), add_special_tokens=False)
        return [encoding.ids for encoding in many]

    def run(self, jobs: Sequence[Job], *, together: bool = True) -> list[list[Floats]]:
        """Per job and branch, the natural-log probability of each of the branch's tokens.

        ``together``: whether small jobs may share a pass, which is faster.
        """
        if not together:
            return [found for job in jobs for found in self._pass([job])]
        results: list[list[Floats]] = []
        waiting: list[Job] = []
        filled = 0
        for job in jobs:
            if waiting and filled + job.size > PASS_TOKENS:
                results += self._pass(waiting)
                waiting, filled = [], 0
            waiting.append(job)
            filled += job.size
        if waiting:
            results += self._pass(waiting)
        return results

    def _pass(self, jobs: Sequence[Job]) -> list[list[Floats]]:
        import numpy as np

        total = sum(job.size for job in jobs)
        tokens = np.empty(total, np.int64)
        positions = np.empty(total, np.int64)
        bias = np.full((total, total), UNSEEN, np.float32)
        rows: list[int] = []
        targets: list[int] = []
        at = 0
        for job in jobs:
            known = len(job.shared)
            trunk = slice(at, at + known)
            tokens[trunk] = job.shared
            positions[trunk] = np.arange(known)
            bias[trunk, trunk] = np.triu(np.full((known, known), UNSEEN, np.float32), 1)
            at += known
            for branch in job.branches:
                if not branch:
                    continue
                more = len(branch) - 1
                twig = slice(at, at + more)
                tokens[twig] = branch[:-1]
                positions[twig] = np.arange(known, known + more)
                bias[twig, trunk] = 0.0
                bias[twig, twig] = np.triu(np.full((more, more), UNSEEN, np.float32), 1)
                rows += [trunk.stop - 1, *range(at, at + more)]
                targets += branch
                at += more
        stream = self._embed[:, tokens].T * self._embed_scales[tokens, None]
        stream[:, self._embed_columns] = self._embed_wide[:, tokens].T
        stream *= self._embed_undo
        for layers in self._layers:
            (stream,) = layers.run(None, {"stream": stream, "positions": positions, "bias": bias})
        logprobs = np.empty(len(rows), np.float32)
        for first in range(0, len(rows), HEAD_ROWS):
            part = slice(first, first + HEAD_ROWS)
            wanted = np.array(targets[part], np.int64)[:, None]
            feed = {"stream": stream[rows[part]], "targets": wanted}
            logprobs[part] = self._head.run(None, feed)[0][:, 0]
        results: list[list[Floats]] = []
        at = 0
        for job in jobs:
            mine: list[Floats] = []
            for branch in job.branches:
                mine.append(logprobs[at : at + len(branch)])
                at += len(branch)
            results.append(mine)
        return results


_lock = threading.Lock()
_engine: Engine | None = None


def engine() -> Engine:
    """The judge of this process, loaded at the first call (about a second) and then kept."""
    global _engine  # noqa: PLW0603 - one model per process is the point
    if _engine is None or _engine.place != artifact.folder("judge"):
        with _lock:
            if _engine is None or _engine.place != artifact.folder("judge"):
                _engine = Engine(artifact.folder("judge"))
    return _engine

"""Load everything that answers need, so that no request waits for it."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator

from rwtools.errors import ArtifactError

__all__ = ["load", "load_to_share"]

_PASSAGE = "The mill, or works, is old; however, it runs because the tide turns its wheel."
_ITEM = {
    "id": "warm",
    "skill": "transition",
    "passage": "The mill is old. ____, it runs every day.",
    "question": "Which word fits?",
    "choices": ["However", "Therefore"],
}


def load() -> None:
    """Load the parser, the word lists and both networks, by using each once.

    Where the networks' files are missing the server still starts: hints do not need them, and a
    request that does is told what is wrong.
    """
    from rwtools.hints import hint
    from rwtools.items.model import read_item
    from rwtools.items.solving import solve_batch

    hint(_PASSAGE)
    with contextlib.suppress(ArtifactError):
        list(solve_batch([read_item(dict(_ITEM))]))


def load_to_share() -> None:
    """`load` in a process that will be forked: it must hold no threads, for a fork loses them.

    On one core the networks' runtime makes no pool of threads, so the children, which have the rest
    of the cores each for themselves, work with one thread each.
    """
    os.environ["TOKENIZERS_PARALLELISM"] = "false"
    with _one_core():
        load()


@contextlib.contextmanager
def _one_core() -> Iterator[None]:
    cores = os.sched_getaffinity(0)
    os.sched_setaffinity(0, {min(cores)})
    try:
        yield
    finally:
        os.sched_setaffinity(0, cores)

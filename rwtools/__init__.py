"""See which words of a passage decide the answer, and why.

The public functions are imported when first used, so that ``import rwtools`` stays quick.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from rwtools.api.client import Client
    from rwtools.clue import Clue, Evidence, Fix, Span
    from rwtools.drills.grade import grade
    from rwtools.drills.make import make
    from rwtools.errors import RwtoolsError
    from rwtools.hints import hint, hint_many
    from rwtools.items.solving import solve
    from rwtools.items.vet import vet

__all__ = [
    "Client",
    "Clue",
    "Evidence",
    "Fix",
    "RwtoolsError",
    "Span",
    "grade",
    "hint",
    "hint_many",
    "make",
    "solve",
    "vet",
]

__version__ = "0.1.0"

_HOME = {
    "Client": "rwtools.api.client",
    "Clue": "rwtools.clue",
    "Evidence": "rwtools.clue",
    "Fix": "rwtools.clue",
    "RwtoolsError": "rwtools.errors",
    "Span": "rwtools.clue",
    "grade": "rwtools.drills.grade",
    "hint": "rwtools.hints",
    "hint_many": "rwtools.hints",
    "make": "rwtools.drills.make",
    "solve": "rwtools.items.solving",
    "vet": "rwtools.items.vet",
}


def __getattr__(name: str) -> Any:
    """Import a public name from its room at first use (PEP 562)."""
    if name in _HOME:
        return getattr(import_module(_HOME[name]), name)
    raise AttributeError(f"module 'rwtools' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted([*__all__, "__version__"])

"""Where the project's data files are: the only module that knows.

In a checkout the top-level folders ``shared/``, ``models/`` and ``corpus/`` are read directly; in
an installed wheel they lie under ``rwtools/_data/``.
"""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

from rwtools.errors import ArtifactError

__all__ = ["artifact", "corpus", "load_json", "shared"]

_PACKAGE = Path(__file__).resolve().parent
_REINSTALL = "install rwtools again, or restore the file from its repository"


@cache
def _root() -> Path:
    packed = _PACKAGE / "_data"
    return packed if packed.is_dir() else _PACKAGE.parent


def _find(*parts: str) -> Path:
    path = _root().joinpath(*parts)
    if not path.exists():
        raise ArtifactError(path, "this file of rwtools is missing", _REINSTALL)
    return path


def shared(*parts: str) -> Path:
    """Path of a file below ``shared/`` (facts that code, API and tests share)."""
    return _find("shared", *parts)


def artifact(name: str, *parts: str) -> Path:
    """Path of a file below ``models/<name>/`` (trained weights and what belongs to them)."""
    return _find("models", name, *parts)


def corpus(*parts: str) -> Path:
    """Path of a file below ``corpus/`` (passages, items and drills written for this project)."""
    return _find("corpus", *parts)


def load_json(path: Path) -> Any:
    """Read a JSON data file of the project; a damaged one raises `ArtifactError`."""
    try:
        return json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise ArtifactError(path, f"this file cannot be read ({error})", _REINSTALL) from error

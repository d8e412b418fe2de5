"""Read the judge's files: check them, unpack the weights. See `models/judge/export.py` (writer).

The folder is ``models/judge`` of the project, or the one that the environment variable
``RWTOOLS_JUDGE`` names (for developers who try another artifact). Nothing is ever downloaded.
"""

from __future__ import annotations

import hashlib
import json
import os
import zlib
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rwtools import resources
from rwtools.errors import ArtifactError

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

__all__ = ["describe", "folder", "read", "verify", "weights"]

FORMAT = 2
PIECE = 2_000_000  # bytes of weights that are coded together
REBUILD = (
    "restore models/judge from the project's repository or install rwtools again; "
    "models/judge/card.md says how to train it anew"
)


def folder() -> Path:
    """The folder that holds the artifact."""
    override = os.environ.get("RWTOOLS_JUDGE")
    return Path(override) if override else resources.artifact("judge")


def describe(place: Path) -> dict[str, Any]:
    """Read `judge.json` and check that every file it names is there with its size."""
    path = place / "judge.json"
    try:
        description: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
        stated, files = description["format"], description["files"]
    except FileNotFoundError as error:
        raise ArtifactError(path, "the judge's description is missing", REBUILD) from error
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise ArtifactError(path, "the judge's description is damaged", REBUILD) from error
    if stated != FORMAT:
        why = f"the artifact has format {stated}, this version of rwtools reads format {FORMAT}"
        raise ArtifactError(path, why, REBUILD)
    for name, facts in files.items():
        try:
            size = (place / name).stat().st_size
        except OSError as error:
            raise ArtifactError(place / name, "the file is missing", REBUILD) from error
        if size != facts["bytes"]:
            why = f"the file has {size} bytes, not {facts['bytes']}"
            raise ArtifactError(place / name, why, REBUILD)
    return description


def read(place: Path, description: dict[str, Any], name: str) -> bytes:
    """One file of the artifact, checked against its SHA-256."""
    data = (place / name).read_bytes()
    if hashlib.sha256(data).hexdigest() != description["files"][name]["sha256"]:
        raise ArtifactError(place / name, "the file is damaged (its checksum is wrong)", REBUILD)
    return data


def verify(place: Path | None = None) -> None:
    """Check every file of the artifact against its checksum; raise `ArtifactError` if one is off.

    The same checks run when the judge is loaded.
    """
    place = place or folder()
    description = describe(place)
    for name in description["files"]:
        read(place, description, name)


def weights(place: Path, description: dict[str, Any]) -> dict[str, npt.NDArray[np.generic]]:
    """Unpack all weights. Two threads, since zlib and hashing leave the interpreter free."""
    import numpy as np

    streams: dict[str, dict[str, Any]] = description["streams"]
    names = [name for name in description["files"] if name.startswith("weights-")]
    with ThreadPoolExecutor(2) as pool:
        read_one = partial(read, place, description)
        parts = {n: memoryview(d) for n, d in zip(names, pool.map(read_one, names), strict=True)}

        def unpack(facts: dict[str, Any]) -> npt.NDArray[np.generic]:
            array = np.empty(facts["shape"], facts["type"])
            room = array.reshape(-1).view(np.uint8)
            at = 0
            for part, start, size in facts["pieces"]:
                data = parts[f"weights-{part}.bin"][start : start + size]
                raw = zlib.decompress(data, -15, min(PIECE, room.size - at))
                room[at : at + len(raw)] = np.frombuffer(raw, np.uint8)
                at += len(raw)
            return array

        return dict(zip(streams, pool.map(unpack, streams.values()), strict=True))

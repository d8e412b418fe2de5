"""Read a network's files: check them, unpack the weights. Writers: `models/*/export.py`.

A network's folder is ``models/<name>`` of the project, or the one that the environment variable
``RWTOOLS_<NAME>`` names (for developers who try another artifact). Nothing is ever downloaded.
"""

from __future__ import annotations

import hashlib
import json
import math
import mmap
import os
import zlib
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rwtools import resources
from rwtools.errors import ArtifactError

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

__all__ = ["describe", "folder", "read", "verify", "weights"]

FORMAT = 4
PIECE = 2_000_000  # bytes of weights that are coded together


def folder(name: str) -> Path:
    """The folder that holds the artifact of a network: ``judge`` or ``reader``."""
    override = os.environ.get(f"RWTOOLS_{name.upper()}")
    return Path(override) if override else resources.artifact(name)


def _remedy(name: str) -> str:
    return (
        f"restore models/{name} from the project's repository or install rwtools again; "
        f"models/{name}/card.md says how to train it anew"
    )


def describe(place: Path, name: str) -> dict[str, Any]:
    """Read ``NAME.json`` and check that every file it names is there with its size."""
    path = place / f"{name}.json"
    remedy = _remedy(name)
    try:
        description: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
        stated, files = description["format"], description["files"]
    except FileNotFoundError as error:
        raise ArtifactError(path, f"the {name}'s description is missing", remedy) from error
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise ArtifactError(path, f"the {name}'s description is damaged", remedy) from error
    if stated != FORMAT:
        why = f"the artifact has format {stated}, this version of rwtools reads format {FORMAT}"
        raise ArtifactError(path, why, remedy)
    for file, facts in files.items():
        try:
            size = (place / file).stat().st_size
        except OSError as error:
            raise ArtifactError(place / file, "the file is missing", remedy) from error
        if size != facts["bytes"]:
            why = f"the file has {size} bytes, not {facts['bytes']}"
            raise ArtifactError(place / file, why, remedy)
    description["name"] = name
    return description


def read(place: Path, description: dict[str, Any], name: str) -> bytes:
    """One file of the artifact, checked against its SHA-256."""
    data = (place / name).read_bytes()
    if hashlib.sha256(data).hexdigest() != description["files"][name]["sha256"]:
        why = "the file is damaged (its checksum is wrong)"
        raise ArtifactError(place / name, why, _remedy(description["name"]))
    return data


def verify(name: str, place: Path | None = None) -> None:
    """Check every file of an artifact against its checksum; raise `ArtifactError` if one is off.

    The same checks run when the network is loaded.
    """
    place = place or folder(name)
    description = describe(place, name)
    for file in description["files"]:
        read(place, description, file)


def weights(place: Path, description: dict[str, Any]) -> dict[str, npt.NDArray[np.generic]]:
    """Unpack all weights, file by file.

    Two threads, since zlib and hashing leave the interpreter free. Each array has pages of its own,
    which go back to the system as soon as nobody holds the array: most are needed only until the
    runtime has made its own copy.
    """
    import numpy as np

    arrays: dict[str, npt.NDArray[np.generic]] = {}
    work: dict[str, list[tuple[npt.NDArray[np.uint8], int, int]]] = {}
    for name, facts in description["streams"].items():
        kind = np.dtype(facts["type"])
        count = math.prod(facts["shape"])
        room = np.frombuffer(mmap.mmap(-1, max(count * kind.itemsize, 1)), np.uint8)
        arrays[name] = room[: count * kind.itemsize].view(kind).reshape(facts["shape"])
        for n, (part, start, size) in enumerate(facts["pieces"]):
            piece = room[n * PIECE : min((n + 1) * PIECE, count * kind.itemsize)]
            work.setdefault(f"weights-{part}.bin", []).append((piece, start, size))

    def unpack(name: str) -> None:
        data = memoryview(read(place, description, name))
        for piece, start, size in work[name]:
            raw = zlib.decompress(data[start : start + size], -15, piece.size)
            piece[:] = np.frombuffer(raw, np.uint8)

    with ThreadPoolExecutor(2) as pool:
        list(pool.map(unpack, work))
    return arrays

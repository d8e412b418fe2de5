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
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rwtools import resources
from rwtools.errors import ArtifactError

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

__all__ = ["describe", "folder", "read", "verify", "weights"]

FORMAT = 1
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
    """Unpack all weights; scales come back as float32. Two threads, since zlib frees the lock."""
    import numpy as np

    streams: dict[str, dict[str, Any]] = description["streams"]

    def unpack(data: memoryview, facts: dict[str, Any]) -> npt.NDArray[np.generic]:
        raw = zlib.decompress(data[facts["at"] : facts["at"] + facts["bytes"]], -15)
        array = np.frombuffer(raw, facts["type"]).reshape(facts["shape"])
        return array.astype(np.float32) if array.dtype == np.float16 else array

    unpacked: dict[str, npt.NDArray[np.generic]] = {}
    with ThreadPoolExecutor(2) as pool:
        names = sorted({f"weights-{facts['part']}.bin" for facts in streams.values()})
        for name, data in zip(names, pool.map(lambda n: read(place, description, n), names)):
            view = memoryview(data)
            mine = [k for k, facts in streams.items() if f"weights-{facts['part']}.bin" == name]
            arrays = pool.map(lambda k, v=view: unpack(v, streams[k]), mine)
            unpacked.update(zip(mine, arrays))
    return unpacked

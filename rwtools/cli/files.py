"""Files, for all commands: clear errors, batches line by line, output whole or not at all."""

from __future__ import annotations

import json
import os
import sys
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Any

from rwtools.errors import BatchLineError, UnreadableFileError

__all__ = ["STDIN", "json_lines", "read_bytes", "read_text", "write_whole"]

STDIN = "-"


def read_text(name: str) -> str:
    """All of a UTF-8 file, or of standard input for ``-``, line ends as they are.

    Raises `UnreadableFileError` for a missing file, a folder, or bytes that are not UTF-8.
    """
    if name == STDIN:
        return _decode(sys.stdin.buffer.read(), "standard input")
    return _decode(_read_bytes(name), name)


def read_bytes(name: str) -> bytes:
    """All of a file, or of standard input for ``-``, for readers that find out the coding.

    Raises `UnreadableFileError` for a missing file or a folder.
    """
    return sys.stdin.buffer.read() if name == STDIN else _read_bytes(name)


def _read_bytes(name: str) -> bytes:
    path = Path(name)
    try:
        if path.is_dir():
            raise UnreadableFileError("this is a folder, not a file", file=name)
        return path.read_bytes()
    except FileNotFoundError as error:
        raise UnreadableFileError("there is no such file", file=name) from error
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise UnreadableFileError(f"cannot be read ({why.lower()})", file=name) from error


def _decode(data: bytes, name: str) -> str:
    try:
        return data.removeprefix(b"\xef\xbb\xbf").decode("utf-8")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise UnreadableFileError("this is not UTF-8 text", file=name, line=line) from error


def json_lines(name: str) -> Iterator[tuple[int, dict[str, Any] | BatchLineError]]:
    """Each line of a JSON Lines file (``-``: standard input) with its number, read one by one.

    A broken line comes as a `BatchLineError`, so that the caller can report it and go on. Blank
    lines are passed over. Raises `UnreadableFileError` if the file cannot be opened.
    """
    if name != STDIN and (Path(name).is_dir() or not Path(name).exists()):
        _read_bytes(name)
    with sys.stdin.buffer if name == STDIN else Path(name).open("rb") as stream:
        for number, raw in enumerate(stream, 1):
            line = raw.removeprefix(b"\xef\xbb\xbf") if number == 1 else raw
            if line.strip():
                yield number, _record(line, "standard input" if name == STDIN else name, number)


def _record(line: bytes, name: str, number: int) -> dict[str, Any] | BatchLineError:
    try:
        record = json.loads(line.decode("utf-8"))
    except UnicodeDecodeError:
        return BatchLineError("this line is not UTF-8 text", file=name, line=number)
    except (ValueError, RecursionError) as error:
        why = getattr(error, "msg", str(error))
        return BatchLineError(f"this line is not JSON ({why})", file=name, line=number)
    if not isinstance(record, dict):
        return BatchLineError("this line is not a JSON object", file=name, line=number)
    return record


@contextmanager
def write_whole(name: str | Path) -> Iterator[IO[str]]:
    """Write a text file that appears whole or not at all (a temporary file, then a rename)."""
    path = Path(name)
    if path.is_dir():
        raise UnreadableFileError("this is a folder, so no file can be written there", file=path)
    try:
        handle, temporary = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent or ".")
    except OSError as error:
        why = (error.strerror or str(error)).lower()
        raise UnreadableFileError(f"cannot be written ({why})", file=path) from error
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as stream:
            yield stream
            stream.flush()
            os.fsync(stream.fileno())
        Path(temporary).chmod(0o644)
        Path(temporary).replace(path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise


def dump(record: Any) -> str:
    """One line of JSON, with letters of all scripts as they are."""
    return json.dumps(record, ensure_ascii=False, separators=(", ", ": "))


def count_lines(name: str) -> int | None:
    """How many lines a file has, for a progress bar (None for standard input)."""
    if name == STDIN:
        return None
    with Path(name).open("rb") as stream:
        return sum(chunk.count(b"\n") for chunk in iter(lambda: stream.read(1 << 20), b""))


def in_batches(records: Iterable[Any], size: int) -> Iterator[list[Any]]:
    """Lists of up to ``size`` records, in order."""
    batch: list[Any] = []
    for record in records:
        batch.append(record)
        if len(batch) == size:
            yield batch
            batch = []
    if batch:
        yield batch

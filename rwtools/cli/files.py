"""Files, for all commands: clear errors, batches line by line, output whole or not at all."""

from __future__ import annotations

import json
import os
import sys
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, nullcontext, suppress
from pathlib import Path
from typing import IO, Any, BinaryIO

import typer

from rwtools.errors import BatchLineError, InputError, UnreadableFileError
from rwtools.lines import json_value, open_file, raw_lines, why_not

__all__ = [
    "STDIN",
    "BadLines",
    "check_not_input",
    "count_lines",
    "dump",
    "in_batches",
    "json_lines",
    "numbered",
    "read_bytes",
    "read_text",
    "shown_name",
    "stdin_bytes",
    "write_whole",
]

STDIN = "-"
MOST_SHOWN = 20
_LARGEST = 1 << 28
"""Bytes of a file that is read as a whole: a million answers have a fifth of it."""


def shown_name(name: str) -> str:
    """What messages call a file: its name, or *standard input* for ``-``."""
    return "standard input" if name == STDIN else name


def stdin_bytes() -> BinaryIO:
    """Standard input as bytes; `UnreadableFileError` where the caller has closed it."""
    if sys.stdin is None:
        raise UnreadableFileError("this is closed", file="standard input")
    return sys.stdin.buffer


def read_text(name: str) -> str:
    """All of a UTF-8 file, or of standard input for ``-``, line ends as they are.

    Raises `UnreadableFileError` for a missing file, a folder, or bytes that are not UTF-8.
    """
    data = read_bytes(name)
    try:
        return data.removeprefix(b"\xef\xbb\xbf").decode("utf-8")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        why = "this is not UTF-8 text"
        raise UnreadableFileError(why, file=shown_name(name), line=line) from error


def read_bytes(name: str) -> bytes:
    """All of a file, or of standard input for ``-``, for readers that find out the coding.

    Raises `UnreadableFileError` for a missing file, a folder or a file beyond all measure.
    """
    shown = shown_name(name)
    try:
        with _opened(name) as stream:
            data: bytes = stream.read(_LARGEST + 1)
    except (OSError, ValueError) as error:
        raise why_not("read", error, shown) from error
    if len(data) > _LARGEST:
        raise UnreadableFileError(f"this is larger than {_LARGEST >> 20} MB", file=shown)
    return data


def _opened(name: str) -> Any:
    """A context that gives a file, closed at its end, or standard input, which stays open."""
    return nullcontext(stdin_bytes()) if name == STDIN else open_file(name)


def json_lines(name: str) -> Iterator[tuple[int, dict[str, Any] | BatchLineError]]:
    """Each line of a JSON Lines file (``-``: standard input) with its number, read one by one.

    A broken line comes as a `BatchLineError`, so that the caller can report it and go on. Blank
    lines are passed over. Raises `UnreadableFileError` if the file cannot be read or is no text.
    """
    shown = shown_name(name)
    with _opened(name) as stream:
        for number, line in enumerate(raw_lines(stream, shown), 1):
            if line.removeprefix(b"\xef\xbb\xbf").strip():
                yield number, _record(line, shown, number)


def _record(line: bytes, name: str, number: int) -> dict[str, Any] | BatchLineError:
    try:
        record = json_value(line, name, number)
    except BatchLineError as error:
        return error
    if not isinstance(record, dict):
        return BatchLineError("this line is not a JSON object", file=name, line=number)
    return record


def numbered(count: int, name: str) -> str:
    """A number with its noun: ``1 item``, ``2,000 items``."""
    return f"{count:,} {name}{'' if count == 1 else 's'}"


class BadLines:
    """Names bad lines on standard error as they come: the first ones, then only their number."""

    def __init__(self) -> None:
        self.count = 0

    def tell(self, problem: object) -> None:
        """Count a bad line, and say what is wrong with it if there were not too many before."""
        self.count += 1
        if self.count <= MOST_SHOWN:
            typer.echo(f"rwtools: {problem}", err=True)

    def end(self) -> None:
        """Say how many lines were not named."""
        if self.count > MOST_SHOWN:
            more = self.count - MOST_SHOWN
            typer.echo(f"rwtools: {numbered(more, 'more bad line')}", err=True)


@contextmanager
def write_whole(name: str | Path) -> Iterator[IO[str]]:
    """Write a text file that appears whole or not at all (a temporary file, then a rename).

    A link stays a link; what is no file, such as a pipe or ``/dev/stdout``, is written to directly.
    """
    path = Path(name)
    try:
        if path.is_dir():
            raise UnreadableFileError(
                "this is a folder, so no file can be written there", file=path
            )
        special = path.exists() and not path.is_file()
        target = path if special else Path(os.path.realpath(path))
        if special:
            temporary, handle = None, os.open(path, os.O_WRONLY)
        else:
            handle, temporary = tempfile.mkstemp(prefix=".rwtools.", dir=target.parent)
    except (OSError, ValueError) as error:
        raise why_not("written", error, path) from error
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as stream:
            yield stream
            stream.flush()
            if temporary is not None:
                os.fsync(stream.fileno())
        if temporary is not None:
            Path(temporary).chmod(0o644)
            Path(temporary).replace(target)
    except BaseException:
        if temporary is not None:
            Path(temporary).unlink(missing_ok=True)
        raise


def check_not_input(out: str, name: str) -> None:
    """Raise `InputError` where the output would take the place of what it is made from."""
    try:
        same = Path(out).is_file() and Path(name).exists() and Path(out).samefile(name)
    except (OSError, ValueError):
        return
    if same:
        raise InputError("this file is what is read; give another name to write to", file=out)


def dump(record: Any) -> str:
    """One line of JSON, with letters of all scripts as they are."""
    return json.dumps(record, ensure_ascii=False, separators=(", ", ": "))


def count_lines(name: str) -> int | None:
    """How many lines a file has, for a progress bar (None where counting would use them up)."""
    if name == STDIN or not Path(name).is_file():
        return None
    with suppress(OSError), open_file(name) as stream:
        return sum(chunk.count(b"\n") for chunk in iter(lambda: stream.read(1 << 20), b""))
    return None


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

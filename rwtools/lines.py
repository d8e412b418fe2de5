"""JSON Lines, read one line at a time: what is no file or no text is told once, in plain words."""

from __future__ import annotations

import json
from collections.abc import Iterator
from io import SEEK_CUR
from pathlib import Path
from typing import Any, BinaryIO

from rwtools.errors import BatchLineError, UnreadableFileError

__all__ = ["LONGEST", "json_value", "open_file", "raw_lines", "why_not"]

LONGEST = 1 << 24
"""Bytes of a line that are read; an item or a passage of the longest kind has a hundredth."""

_HEAD = 1 << 13
_UTF_16 = (b"\xff\xfe", b"\xfe\xff")
_UNPRINTABLE = bytes(set(range(32)) - set(b"\t\n\v\f\r\x1b"))
_MOST_UNPRINTABLE = 0.05  # bytes drawn at random have a tenth


def open_file(name: str | Path) -> BinaryIO:
    """A file, open for reading. Raises `UnreadableFileError` where that cannot be."""
    if not str(name):
        raise UnreadableFileError("the name of the file is empty")
    try:
        if Path(name).is_dir():
            raise UnreadableFileError("this is a folder, not a file", file=name)
        return Path(name).open("rb")
    except (OSError, ValueError) as error:
        raise why_not("read", error, name) from error


def why_not(done: str, error: OSError | ValueError, name: str | Path) -> UnreadableFileError:
    """The error for a file that cannot be ``done`` (read, written), in plain words."""
    if isinstance(error, FileNotFoundError) and done == "read":
        return UnreadableFileError("there is no such file", file=name)
    why = getattr(error, "strerror", None) or str(error)
    return UnreadableFileError(f"cannot be {done} ({why.lower()})", file=name)


def raw_lines(stream: BinaryIO, name: str) -> Iterator[bytes]:
    """The lines of a file, none read further than `LONGEST`.

    Raises `UnreadableFileError` where the file begins like no text, or reading fails.
    """
    try:
        _check_text(_head(stream), name)
        while line := stream.readline(LONGEST + 1):
            yield line
            while len(line) > LONGEST and not line.endswith(b"\n"):  # pass over the rest
                line = stream.readline(LONGEST + 1)
    except (OSError, ValueError) as error:
        raise why_not("read", error, name) from error


def _head(stream: BinaryIO) -> bytes:
    """The first bytes of a stream, which stay to be read."""
    peek = getattr(stream, "peek", None)
    if peek is not None:
        return bytes(peek(_HEAD)[:_HEAD])
    head = stream.read(_HEAD)
    stream.seek(-len(head), SEEK_CUR)
    return head


def _check_text(head: bytes, name: str) -> None:
    if head.startswith(_UTF_16):
        raise UnreadableFileError("this is UTF-16 text; save it as UTF-8", file=name)
    strange = len(head) - len(head.translate(None, _UNPRINTABLE))
    if b"\0" in head or strange > _MOST_UNPRINTABLE * len(head):
        raise UnreadableFileError("this is not a text file", file=name)


def json_value(line: bytes, name: str, number: int) -> Any:
    """What a line of JSON says; `BatchLineError` names file and line where it is none."""
    if len(line) > LONGEST:
        why = f"this line is longer than {LONGEST >> 20} MB"
        raise BatchLineError(why, file=name, line=number)
    try:
        return json.loads((line.removeprefix(b"\xef\xbb\xbf") if number == 1 else line).decode())
    except UnicodeDecodeError as error:
        raise BatchLineError("this line is not UTF-8 text", file=name, line=number) from error
    except (ValueError, RecursionError) as error:
        why = getattr(error, "msg", str(error))
        raise BatchLineError(f"this line is not JSON ({why})", file=name, line=number) from error

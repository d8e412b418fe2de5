"""Read items from JSON Lines, one by one: a bad line is reported and the others are still read."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from rwtools.errors import InputError, ItemError
from rwtools.items.model import Item, read_item
from rwtools.lines import json_value, open_file, raw_lines
from rwtools.text import MAX_CHARACTERS

__all__ = ["as_items", "load_items", "read_lines"]


def load_items(
    path: str | Path, *, limit: int = MAX_CHARACTERS
) -> Iterator[tuple[int, Item | InputError]]:
    """Each line's number with its item, or with the error that names file, line and field.

    Blank lines are passed over. One line is in memory at a time. Raises `UnreadableFileError` for
    a file that is missing, a folder or no text.
    """
    with open_file(path) as stream:
        yield from read_lines(raw_lines(stream, str(path)), str(path), limit=limit)


def read_lines(
    lines: Iterable[bytes], name: str, *, limit: int = MAX_CHARACTERS
) -> Iterator[tuple[int, Item | InputError]]:
    """`load_items` for lines that are at hand already; an id used before is an error too."""
    seen: dict[int, int] = {}
    for number, line in enumerate(lines, 1):
        if not line.removeprefix(b"\xef\xbb\xbf").strip():
            continue
        try:
            item = read_item(json_value(line, name, number), file=name, line=number, limit=limit)
        except InputError as error:
            yield number, error
            continue
        first = seen.setdefault(hash(item.id), number)
        if first != number:
            why = f"the id {item.id!r} was used in line {first} already"
            yield number, ItemError(why, file=name, line=number, field="id")
            continue
        yield number, item


def as_items(items: Iterable[Item | dict[str, Any]]) -> Iterator[Item]:
    """Items from items or from JSON-ready records; `ItemError` names the record's number."""
    for number, item in enumerate(items, 1):
        yield item if isinstance(item, Item) else read_item(item, line=number)

"""The discourse treebank as training and test material (read from ``RWTOOLS_DATA``).

Rows of one connective place are gathered: one with two rows has two senses, and either is right.
"""

from __future__ import annotations

import gzip
import json
import os
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from rwtools.text import Text, parse_many

ROOT = Path(__file__).resolve().parents[2]
Spans = tuple[tuple[int, int], ...]


@dataclass(slots=True)
class Gold:
    """An explicit connective: its span or spans, its senses (full PDTB-3 names), its arguments."""

    spans: Spans
    senses: list[str] = field(default_factory=list)
    arg1: list[Spans] = field(default_factory=list)
    arg2: list[Spans] = field(default_factory=list)


@dataclass(slots=True)
class Document:
    """A parsed document and its explicit connectives in reading order."""

    name: str
    genre: str
    text: Text
    gold: list[Gold]


def data_folder() -> Path:
    """The folder of the training and test data."""
    return Path(os.environ.get("RWTOOLS_DATA", ROOT.parent / "shared" / "data"))


def level2(sense: str) -> str:
    """The level-2 part of a sense: ``contingency.cause+belief.reason`` -> ``contingency.cause``."""
    return ".".join(part.split("+")[0] for part in sense.split(".")[:2])


def rows(name: str) -> Iterator[dict]:
    """The raw documents of a file of the data folder."""
    path = data_folder() / name
    with gzip.open(path, "rt") if name.endswith(".gz") else path.open() as lines:
        yield from map(json.loads, lines)


def _spans(pairs: list[list[int]]) -> Spans:
    return tuple((a, b) for a, b in pairs)


def documents(name: str) -> list[Document]:
    """All documents of a file, parsed."""
    raw = list(rows(name))
    found = []
    for row, text in zip(raw, parse_many(r["text"] for r in raw), strict=True):
        places: dict[Spans, Gold] = {}
        for relation in row["relations"]:
            spans = _spans(relation.get("conn") or [])
            if relation["type"] != "explicit" or not spans:
                continue
            gold = places.setdefault(spans, Gold(spans))
            gold.senses.append(relation["sense"])
            gold.arg1.append(_spans(relation["arg1"]))
            gold.arg2.append(_spans(relation["arg2"]))
        ordered = sorted(places.values(), key=lambda g: g.spans)
        found.append(Document(row["doc"], row["genre"], text, ordered))
    return found

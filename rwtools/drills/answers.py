"""Reading answers: the tables that spreadsheets write and JSON Lines, checked line by line."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rwtools.drills.model import Problem
from rwtools.errors import UnreadableFileError
from rwtools.items.model import LETTERS, Item
from rwtools.lines import open_file

if TYPE_CHECKING:
    import polars as pl

__all__ = ["Answers", "Checked", "check_answers", "from_records", "read_answers", "read_file"]

REQUIRED = ("learner", "item", "answer")
OPTIONAL = ("seconds", "position")
COLUMNS = (*REQUIRED, *OPTIONAL)
BEYOND = "beyond"
MOST_LISTED = 1_000
DAY = 86_400
# A cell that runs over more lines than this comes from a quotation mark that was never closed.
_MOST_LINES = 10
_SEPARATORS = ",;\t|"


@dataclass(frozen=True)
class Answers:
    """Answers as they stand in a file: all cells text, with the line where each record starts.

    ``frame``: columns line (u32) and learner, item, answer, seconds, position, beyond (text or
    null); ``beyond`` holds cells to the right of the header's last.
    """

    frame: pl.DataFrame
    name: str | None = None
    problems: list[Problem] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Checked:
    """The answers that can be graded.

    ``frame``: one row per answer, in file order: learner (u32, index into ``learners``), item
    (u32, index into the items), choice (i8, -1: blank), right (bool), seconds (f64 or null),
    position (i64 or null). ``problems``: the first of them by line; ``kinds`` counts all.
    """

    frame: pl.DataFrame
    learners: list[str]
    lines: int
    problems: list[Problem]
    kinds: dict[str, int]


def read_answers(data: bytes, name: str) -> Answers:
    """Read answers: CSV (comma, semicolon, tab or bar; UTF-8, UTF-16, Windows-1252), JSON Lines.

    Raises `UnreadableFileError` where no answer could be read at all.
    """
    text, notes = _decode(data, name)
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    if "\x00" in text:
        raise UnreadableFileError("this is not a text file", file=name)
    if not text.strip():
        raise UnreadableFileError("this file is empty", file=name)
    if text.lstrip()[0] in "{[":
        return _read_json_lines(text, name, notes)
    return _read_table(text, name, notes)


def read_file(name: str | PathLike[str]) -> Answers:
    """Read a file of answers; see `read_answers`."""
    with open_file(Path(name)) as stream:
        data = stream.read()
    return read_answers(data, str(name))


def _decode(data: bytes, name: str) -> tuple[str, list[str]]:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        coding = "utf-16"
    elif b"\x00" in data[:2]:
        # UTF-16 without a mark: the zero half of the first letter shows which half comes first.
        coding = "utf-16-be" if data[:1] == b"\x00" else "utf-16-le"
    else:
        coding = "utf-8-sig"
    try:
        return data.decode(coding), []
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        if coding != "utf-8-sig":
            raise UnreadableFileError(
                "this is not UTF-16 text", file=name, line=line if coding != "utf-16" else None
            ) from error
        # Text that is part UTF-8 is damaged; text with no UTF-8 in it may be an old spreadsheet's.
        if re.search(rb"[\xc3\xc4\xc5\xe2][\x80-\xbf]", data) is None:
            try:
                return data.decode("cp1252"), [
                    f"{name} is not UTF-8. It was read as Windows-1252: please check the names."
                ]
            except UnicodeDecodeError:
                pass
        raise UnreadableFileError("this is not UTF-8 text", file=name, line=line) from error


# Tables


def _read_table(text: str, name: str, notes: list[str]) -> Answers:
    import polars as pl

    start, line = 0, 1
    # Some spreadsheets say the separator first; blank lines may come before the header.
    while not (first := _line_at(text, start)).strip() or re.fullmatch("sep=.", first.strip()):
        start, line = start + len(first) + 1, line + 1
        if start >= len(text):
            raise UnreadableFileError("this file has no header", file=name)
    separator, names = _header(first, name, line)
    body = text[start + len(first) + 1 :]
    columns = [*names, BEYOND]
    problems: list[Problem] = []
    try:
        frame = _parse(body, columns, separator)
        newlines = sum(
            (pl.col(c).str.count_matches("\n", literal=True).fill_null(0) for c in columns),
            start=pl.lit(0, dtype=pl.UInt32),
        )
        frame = frame.with_columns(_newlines=newlines)
        longest = frame["_newlines"].max()
        patient = isinstance(longest, int) and longest > _MOST_LINES
    except pl.exceptions.PolarsError:
        patient = True
    if patient:
        frame = _patiently(body, columns, separator, line + 1, name, problems)
    else:
        lines = 1 + pl.col("_newlines")
        frame = frame.with_columns(
            (line + 1 + lines.cum_sum() - lines).cast(pl.UInt32).alias("line")
        )
    return Answers(_only_known(frame), name, problems, notes)


def _line_at(text: str, start: int) -> str:
    end = text.find("\n", start)
    return text[start:] if end < 0 else text[start:end]


def _header(first: str, name: str, line: int) -> tuple[str, list[str]]:
    """The separator, and a name for each column; columns that rwtools does not know get numbers."""
    best: tuple[int, str, list[str]] = (-1, ",", [])
    for separator in _SEPARATORS:
        cells = next(csv.reader([first], delimiter=separator), [])
        known = [c.strip().strip("\ufeff").lower() for c in cells]
        score = sum(c in known for c in COLUMNS)
        if score > best[0]:
            best = score, separator, known
    _, separator, known = best
    for wanted in REQUIRED:
        if wanted not in known:
            raise UnreadableFileError(
                "the header lacks this column; it must name learner, item and answer",
                file=name,
                line=line,
                field=wanted,
            )
    for wanted in COLUMNS:
        if known.count(wanted) > 1:
            raise UnreadableFileError(
                "the header has this column twice", file=name, line=line, field=wanted
            )
    return separator, [c if c in COLUMNS else f"_{i}" for i, c in enumerate(known)]


def _parse(body: str, columns: Sequence[str], separator: str) -> pl.DataFrame:
    import polars as pl

    header = separator.join(columns) + "\n"
    frame = pl.read_csv(
        io.BytesIO((header + body).encode()),
        separator=separator,
        infer_schema=False,
        truncate_ragged_lines=True,
    )
    return frame.select(pl.col(c).cast(pl.String) for c in columns)


def _patiently(
    body: str, columns: Sequence[str], separator: str, line: int, name: str, found: list[Problem]
) -> pl.DataFrame:
    """Read a table record by record, so that a stray quotation mark costs one line only."""
    import polars as pl

    lines = body.split("\n")
    if lines and not lines[-1]:
        lines.pop()
    at, records = 0, []
    while at < len(lines):
        ahead = lines[at : at + _MOST_LINES + 2]
        reader = csv.reader((entry + "\n" for entry in ahead), delimiter=separator)
        try:
            cells = next(reader)
            taken = reader.line_num
            if "\n" in "".join(cells)[-1:] and at + taken >= len(lines):
                taken = _MOST_LINES + 2
        except (csv.Error, StopIteration):
            cells, taken = [], _MOST_LINES + 2
        if taken > _MOST_LINES + 1:
            found.append(
                Problem(
                    file=name,
                    line=line + at,
                    kind="open_quote",
                    why="a quotation mark opens on this line and is never closed; "
                    "this line was skipped",
                )
            )
            at += 1
            continue
        padded = [*cells, *[""] * len(columns)][: len(columns)]
        records.append((line + at, *(cell or None for cell in padded)))
        at += taken
    schema = {"line": pl.UInt32, **dict.fromkeys(columns, pl.String)}
    return pl.DataFrame(records, schema=schema, orient="row")


def _only_known(frame: pl.DataFrame) -> pl.DataFrame:
    """The known columns, null where the file lacks one, without lines that hold nothing."""
    import polars as pl

    cells = [c for c in frame.columns if c not in ("line", "_newlines")]
    frame = frame.filter(pl.any_horizontal(pl.col(c).is_not_null() for c in cells))
    absent = [pl.lit(None, dtype=pl.String).alias(c) for c in COLUMNS if c not in frame.columns]
    return frame.with_columns(absent).select("line", *COLUMNS, BEYOND)


# JSON Lines


def _read_json_lines(text: str, name: str, notes: list[str]) -> Answers:
    problems: list[Problem] = []

    def records() -> Iterator[tuple[int, Mapping[str, Any]]]:
        for number, line in enumerate(text.split("\n"), 1):
            if not line.strip():
                continue
            try:
                record = json.loads(line)
            except (ValueError, RecursionError) as error:
                why = f"this line is not JSON ({getattr(error, 'msg', 'too deep')})"
                problems.append(Problem(file=name, line=number, kind="not_json", why=why))
                continue
            if isinstance(record, dict):
                yield number, record
            else:
                why = "this line is not a JSON object"
                problems.append(Problem(file=name, line=number, kind="not_json", why=why))

    return Answers(_frame_of(records()), name, problems, notes)


def from_records(records: Iterable[Mapping[str, Any]]) -> Answers:
    """Answers from mappings with the keys learner, item, answer and maybe seconds, position."""
    return Answers(_frame_of(enumerate(records, 1)))


def _frame_of(records: Iterable[tuple[int, Mapping[str, Any]]]) -> pl.DataFrame:
    import polars as pl

    columns: dict[str, list[Any]] = {c: [] for c in ("line", *COLUMNS)}
    for number, record in records:
        columns["line"].append(number)
        for column in COLUMNS:
            value = record.get(column)
            if value is not None and not isinstance(value, str):
                # Not text and not a number: kept, so that the check below can name it.
                value = json.dumps(value, ensure_ascii=False, default=str)
            columns[column].append(value)
    schema = {"line": pl.UInt32, **dict.fromkeys(COLUMNS, pl.String)}
    return pl.DataFrame(columns, schema=schema).with_columns(
        pl.lit(None, dtype=pl.String).alias(BEYOND)
    )


# Checking


def check_answers(answers: Answers, items: Sequence[Item]) -> Checked:
    """Match answers with items; every answer that can't be used is reported by line and counted.

    A second answer of a learner to an item is left out: the first stands. A bad time or position
    is reported too, and the answer is graded without it. Nothing here loops over answers.
    """
    import polars as pl

    frame = _matched(answers.frame, items)
    text = pl.col("answer").fill_null("").str.strip_chars().str.to_uppercase()
    frame = frame.with_columns(
        choice=pl.when(text == "")
        .then(pl.lit(-1, dtype=pl.Int8))
        .otherwise(
            text.replace_strict(list(LETTERS), range(6), default=None, return_dtype=pl.Int8)
        ),
        number=pl.col("seconds").str.strip_chars().str.replace(",", ".", literal=True)
        .cast(pl.Float64, strict=False),
        place=pl.col("position").str.strip_chars().str.replace(r"\.0+$", "")
        .cast(pl.Int64, strict=False),
    )  # fmt: skip
    no_letter = pl.col("choice").is_null() | (pl.col("choice") >= pl.col("choices"))
    fault = (
        pl.when(pl.col(BEYOND).is_not_null()).then(pl.lit("too_many_cells"))
        .when(pl.col("learner_name").is_null()).then(pl.lit("no_learner"))
        .when(pl.col("item_no").is_null()).then(pl.lit("unknown_item"))
        .when(pl.col("key").is_null()).then(pl.lit("no_key"))
        .when(no_letter).then(pl.lit("not_a_choice"))
        .otherwise(None)
    )  # fmt: skip
    frame = frame.with_columns(fault=fault)
    good = frame.filter(pl.col("fault").is_null())
    first = good.select(
        pl.struct("learner_name", "item_no").is_first_distinct().alias("first")
    ).to_series()
    again, good = good.filter(~first), good.filter(first)
    if again.height:
        earlier = good.select("learner_name", "item_no", first_line="line")
        again = again.join(earlier, on=["learner_name", "item_no"], how="left")
    given = pl.col("seconds").is_not_null()
    seconds_ok = pl.col("number").is_finite() & pl.col("number").is_between(0, DAY)
    placed = pl.col("position").is_not_null()
    bad_seconds = good.filter(given & ~seconds_ok.fill_null(False))
    bad_places = good.filter(placed & pl.col("place").is_null())
    reported = [
        *_reports(frame.filter(pl.col("fault").is_not_null())),
        _report(again, "duplicate", "item", _format(
            "{} has answered {} before, on line {}; the first answer stands",
            "learner_name", "item", "first_line")),
        _report(bad_seconds, "bad_seconds", "seconds", _format(
            "{} is not a number of seconds; the answer is graded without its time", "seconds")),
        _report(bad_places, "bad_position", "position", _format(
            "{} is not a whole number; the answer is graded without its position", "position")),
    ]  # fmt: skip
    all_reported = pl.concat(reported).sort("line", maintain_order=True)
    kinds = dict(all_reported.group_by("kind").len().sort("kind").iter_rows())
    problems = list(answers.problems)
    for problem in problems:
        kinds[problem.kind] = kinds.get(problem.kind, 0) + 1
    listed = [
        Problem(file=answers.name, **row)
        for row in all_reported.head(MOST_LISTED).iter_rows(named=True)
    ]
    names = good["learner_name"].unique(maintain_order=True)
    index = pl.DataFrame({"learner_name": names, "learner": range(len(names))}).cast(
        {"learner": pl.UInt32}
    )
    graded = good.drop("learner").join(index, on="learner_name", how="left", maintain_order="left")
    graded = graded.select(
        "learner",
        pl.col("item_no").alias("item"),
        "choice",
        (pl.col("choice") == pl.col("key")).alias("right"),
        pl.when(seconds_ok).then(pl.col("number")).alias("seconds"),
        pl.col("place").alias("position"),
    )
    return Checked(
        frame=graded,
        learners=names.to_list(),
        lines=answers.frame.height + len(problems),
        problems=sorted([*problems, *listed], key=lambda p: p.line or 0)[:MOST_LISTED],
        kinds=kinds,
    )


def _matched(frame: pl.DataFrame, items: Sequence[Item]) -> pl.DataFrame:
    """Add the tidied learner's name and the number, key and number of choices of the item."""
    import polars as pl

    # Names are tidied once each, not once per answer: spaces and line breaks run together, and
    # accents in one form, so that two ways of typing a name are one learner.
    tidy = (
        pl.col("learner")
        .str.replace_all(r"[\s\p{Cc}\u{FEFF}]+", " ")
        .str.strip_chars()
        .str.normalize("NFC")
    )
    names = frame.select("learner").unique().with_columns(learner_name=tidy)
    names = names.with_columns(
        pl.when(pl.col("learner_name") != "").then(pl.col("learner_name")).alias("learner_name")
    )
    bank = pl.DataFrame(
        {
            "item": [item.id.strip() for item in items],
            "item_no": range(len(items)),
            "key": [item.key for item in items],
            "choices": [len(item.choices) for item in items],
        },
        schema={"item": pl.String, "item_no": pl.UInt32, "key": pl.Int8, "choices": pl.Int8},
    )
    return (
        frame.with_columns(pl.col("item").str.strip_chars())
        .join(names, on="learner", how="left", maintain_order="left", nulls_equal=True)
        .join(bank, on="item", how="left", maintain_order="left")
    )


_FIELDS = {
    "too_many_cells": None,
    "no_learner": "learner",
    "unknown_item": "item",
    "no_key": "item",
    "not_a_choice": "answer",
}


def _reports(frame: pl.DataFrame) -> Iterator[pl.DataFrame]:
    """The answers that can't be graded, reported kind by kind."""
    import polars as pl

    words = {
        "too_many_cells": pl.lit("this line has more cells than the header"),
        "no_learner": pl.lit("this answer has no learner"),
        "unknown_item": pl.when(pl.col("item").is_null() | (pl.col("item") == ""))
        .then(pl.lit("this answer has no item"))
        .otherwise(_format("there is no item {}", "item")),
        "no_key": _format("item {} has no key, so answers to it can't be graded", "item"),
        "not_a_choice": _format("{} is not one of the choices of {}", "answer", "item"),
    }
    for kind, why in words.items():
        yield _report(frame.filter(pl.col("fault") == kind), kind, _FIELDS[kind], why)


def _format(template: str, *columns: str) -> pl.Expr:
    """A message with cells put in, each quoted, on one line and not too long."""
    import polars as pl

    def short(column: str) -> pl.Expr:
        if column == "first_line":
            return pl.col(column).cast(pl.String)
        tidy = pl.col(column).fill_null("").str.replace_all(r"[\s\p{Cc}]+", " ").str.slice(0, 60)
        return pl.concat_str(pl.lit("“"), tidy, pl.lit("”"))

    return pl.format(template, *(short(column) for column in columns))


def _report(frame: pl.DataFrame, kind: str, field: str | None, why: pl.Expr) -> pl.DataFrame:
    import polars as pl

    schema = {"line": pl.UInt32, "field": pl.String, "kind": pl.String, "why": pl.String}
    if frame.height == 0:
        return pl.DataFrame(schema=schema)
    return frame.select(
        "line",
        pl.lit(field, dtype=pl.String).alias("field"),
        pl.lit(kind).alias("kind"),
        why.alias("why"),
    )

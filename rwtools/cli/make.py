"""`rwtools make`: practice items from one's own passages."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from rwtools.errors import BatchLineError, InputError, UnreadableFileError, UsageError

if TYPE_CHECKING:
    from rwtools.drills.make import MakeReport
    from rwtools.drills.making.faults import FaultySentence

__all__ = ["command", "read_passages"]


def command(
    passages: Annotated[
        str,
        typer.Argument(
            metavar="PASSAGES",
            help="A text file, a folder of .txt files, a .jsonl file of {id, passage}, or -.",
        ),
    ],
    out: Annotated[
        str, typer.Option("-o", "--out", metavar="ITEMS.jsonl", help="The file to write.")
    ],
    skill: Annotated[
        list[str] | None,
        typer.Option(
            metavar="SKILL",
            help="Only this skill: transition, punctuation, grammar or vocabulary. "
            "Can be given again.",
        ),
    ] = None,
    count: Annotated[
        int | None,
        typer.Option(
            metavar="NUMBER", help="How many items, in equal parts by skill (all if not given)."
        ),
    ] = None,
    difficulty: Annotated[
        int | None,
        typer.Option(metavar="LEVEL", help="Only items of this difficulty, 1 (easy) to 4 (hard)."),
    ] = None,
    seed: Annotated[
        int, typer.Option(metavar="NUMBER", help="The same seed makes the same file.")
    ] = 0,
    jobs: Annotated[
        int, typer.Option(metavar="NUMBER", help="How many processes work at once.")
    ] = 1,
    cluster: Annotated[
        str | None,
        typer.Option(metavar="ADDRESS", help="Work on the Dask cluster with this address."),
    ] = None,
    as_json: Annotated[
        bool, typer.Option("--json", help="Print what was made and dropped as JSON.")
    ] = False,
) -> None:
    """Make practice items from passages. Each is vetted and solved; those that fail are dropped.

    An item is a question with four choices about 40 to 130 words of a passage. Sentences in which a
    rule finds a fault are shown in none; they are named at the end.
    """
    from rwtools.cli.files import STDIN, BadLines, check_not_input, dump, shown_name, write_whole
    from rwtools.cli.show import progress
    from rwtools.drills.make import make_items
    from rwtools.drills.spread import workers

    if jobs < 1:
        raise UsageError("--jobs takes a number of processes above 0")
    if out == STDIN:
        raise UsageError("-o takes the name of a file")
    check_not_input(out, passages)
    bad: list[InputError] = []
    told = BadLines()
    total = _how_many(passages)
    with write_whole(out) as stream, progress("make", total) as advance:
        given = read_passages(passages, bad)
        with workers(jobs, cluster) as spread:
            items, report = make_items(
                given,
                skills=skill,
                count=count,
                difficulty=difficulty,
                seed=seed,
                spread=spread,
                advance=advance,
            )
        for error in bad:
            told.tell(error)
        told.end()
        if not report.passages:
            raise InputError("there is no usable passage in it", file=shown_name(passages))
        for item in items:
            stream.write(dump(item.model_dump(exclude_none=True, exclude_defaults=False)) + "\n")
    if as_json:
        typer.echo(dump({"file": out, **report.to_dict(), "bad_passages": len(bad)}))
    else:
        _show(out, report)
    raise typer.Exit(2 if bad else 0)


def read_passages(name: str, bad: list[InputError]) -> Iterator[tuple[str, str]]:
    """Names and texts of the passages of a file, a folder, JSON Lines or standard input.

    Passages that cannot be read are put into ``bad`` and passed over. Raises `UnreadableFileError`
    where the file or folder itself cannot be read.
    """
    from rwtools.cli.files import STDIN, read_text, shown_name
    from rwtools.text import check_passage

    path = Path(name)
    if name != STDIN and path.is_dir():
        files = sorted(path.glob("*.txt"))
        if not files:
            raise UnreadableFileError("there is no .txt file in this folder", file=name)
        for file in files:
            try:
                yield file.stem, check_passage(read_text(str(file)).strip("\r\n"))
            except InputError as error:
                bad.append(error.at(file=file))
    elif path.suffix.lower() in (".jsonl", ".ndjson"):
        yield from _records(name, bad)
    else:
        given = shown_name(name)
        try:
            passage = check_passage(read_text(name).strip("\r\n"))
        except InputError as error:
            raise error.at(file=given) from error
        yield (given if name == STDIN else path.stem), passage


def _records(name: str, bad: list[InputError]) -> Iterator[tuple[str, str]]:
    from rwtools.cli.files import json_lines
    from rwtools.text import check_passage

    for number, record in json_lines(name):
        if isinstance(record, BatchLineError):
            bad.append(record)
            continue
        try:
            if not isinstance(record.get("id"), str | int):
                raise InputError("each line needs an id, a string or a number", field="id")
            yield str(record["id"]), check_passage(record.get("passage"))
        except InputError as error:
            bad.append(error.at(file=name, line=number))


def _how_many(name: str) -> int | None:
    """How many passages there are, for the progress bar, where that is quick to tell."""
    from rwtools.cli.files import count_lines

    path = Path(name)
    if path.is_dir():
        return len(list(path.glob("*.txt")))
    return count_lines(name) if path.suffix.lower() == ".jsonl" and path.is_file() else None


def _show(out: str, report: MakeReport) -> None:
    """A few lines: what was made, and why the rest was dropped."""
    from rwtools.cli.files import numbered

    made = ", ".join(f"{count} {skill}" for skill, count in sorted(report.made.items()) if count)
    items = numbered(sum(report.made.values()), "item")
    typer.echo(f"Written: {out}: {items}" + (f" ({made})" if made else ""))
    places = numbered(sum(report.tried.values()), "place")
    typer.echo(f"From {numbered(report.passages, 'passage')}; {places} tried.")
    for (skill, reason), count in sorted(report.dropped.items(), key=lambda p: (-p[1], p[0])):
        typer.echo(f"  {count:>5} dropped  {skill}: {reason}")
    if report.faulty:
        _show_faulty(report.faulty)
    for skill, count in sorted(report.short.items()):
        typer.echo(
            f"  {numbered(count, f'{skill} item')} fewer than asked: give more or longer passages."
        )


def _show_faulty(faulty: Sequence[FaultySentence]) -> None:
    """The sentences that no item shows, and what is wrong with them."""
    from rwtools.cli.files import MOST_SHOWN
    from rwtools.rules import wording

    typer.echo("Not shown in any item, because a rule finds a fault there (hint tells more):")
    for found in faulty[:MOST_SHOWN]:
        titles = "; ".join(wording(rule)["title"] for rule in found.rules)
        typer.echo(f"  {found.passage}: “{found.sentence}” ({titles})")
    if len(faulty) > MOST_SHOWN:
        typer.echo(f"  and {len(faulty) - MOST_SHOWN:,} more sentences")

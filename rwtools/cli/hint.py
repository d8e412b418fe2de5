"""`rwtools hint`: the signals of a passage."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from functools import partial
from typing import TYPE_CHECKING, Annotated, Any

import typer

from rwtools.errors import BatchLineError, InputError, UsageError

if TYPE_CHECKING:
    from rwtools.clue import Clue

__all__ = ["command"]


def command(
    file: Annotated[
        str | None,
        typer.Argument(
            metavar="FILE", help="A text file with one passage, or - for standard input."
        ),
    ] = None,
    reveal: Annotated[
        str,
        typer.Option(
            metavar="LEVEL",
            help="How much to tell: where (only where to look), why (the reason too), or all.",
        ),
    ] = "all",
    target: Annotated[
        str | None,
        typer.Option(
            metavar="WORD", help="Show what in the passage gives the meaning of this word."
        ),
    ] = None,
    kind: Annotated[
        list[str] | None,
        typer.Option(
            metavar="KIND",
            help="Only this kind: transition, meaning, punctuation or grammar. Can be given again.",
        ),
    ] = None,
    all_words: Annotated[
        bool,
        typer.Option(
            "--all", help="Look for the meaning of common words too, not only of rare ones."
        ),
    ] = False,
    check: Annotated[
        bool, typer.Option("--check", help="Show faults only; end with status 1 if there is one.")
    ] = False,
    judge: Annotated[
        bool,
        typer.Option(
            "--judge",
            help="Let a language model drop doubtful faults; slower, fewer false alarms.",
        ),
    ] = False,
    form: Annotated[
        str,
        typer.Option(
            metavar="FORM", help="How line breaks are read: as in prose, as in verse, or auto."
        ),
    ] = "auto",
    limit: Annotated[
        int, typer.Option(metavar="NUMBER", help="Longest passage taken, in characters.")
    ] = 20_000,
    batch: Annotated[
        str | None,
        typer.Option(
            metavar="FILE.jsonl",
            help='Many passages, one a line as {"id": ..., "passage": ...}; prints JSON.',
        ),
    ] = None,
    cluster: Annotated[
        str | None,
        typer.Option(metavar="ADDRESS", help="With --batch: work on this Dask cluster."),
    ] = None,
    as_json: Annotated[
        bool, typer.Option("--json", help="Print JSON instead of readable text.")
    ] = False,
) -> None:
    """Show the signals of a passage: transitions, word meanings, punctuation and grammar."""
    from rwtools.hints import REVEAL, check_kinds

    if reveal not in REVEAL:
        raise UsageError("--reveal takes where, why or all")
    if form not in ("auto", "prose", "verse"):
        raise UsageError("--form takes auto, prose or verse")
    if limit < 1:
        raise UsageError("--limit takes a number of characters above 0")
    check_kinds(kind)
    if batch is not None:
        if file is not None:
            raise UsageError("give either FILE or --batch FILE.jsonl, not both")
        if target is not None:
            raise UsageError("--target goes with one passage, not with --batch")
        if judge:
            raise UsageError("--judge goes with one passage, not with --batch")
        status = _batch(batch, reveal, kind, all_words, check, limit, cluster)
    else:
        if cluster is not None:
            raise UsageError("--cluster goes with --batch, not with one passage")
        if file is None and (sys.stdin is None or sys.stdin.isatty()):
            raise UsageError("give a FILE with a passage, or - to read standard input")
        status = _single(
            "-" if file is None else file,
            reveal,
            target,
            kind,
            all_words,
            check,
            judge,
            form,
            limit,
            as_json,
        )
    raise typer.Exit(status)


def _single(
    file: str,
    reveal: str,
    target: str | None,
    kinds: list[str] | None,
    all_words: bool,
    check: bool,
    judge: bool,
    form: Any,
    limit: int,
    as_json: bool,
) -> int:
    from rwtools.cli.files import dump, read_text, shown_name
    from rwtools.hints import hint, revealed

    name = shown_name(file)
    passage = read_text(file).rstrip("\r\n")
    try:
        clues = hint(
            passage,
            target=target,
            kinds=kinds,
            form=form,
            all_words=all_words,
            limit=limit,
            second_witness=judge,
        )
    except InputError as error:
        raise error.at(file=name) from error
    faults = [clue for clue in clues if clue.label == "fault"]
    shown = faults if check else clues
    if as_json:
        typer.echo(dump({"id": name, "clues": [revealed(c, reveal) for c in shown]}))  # type: ignore[arg-type]
    else:
        from rwtools.cli.show import show_hints

        show_hints(passage, shown, reveal)
    return 1 if check and faults else 0


def _batch(
    file: str,
    reveal: str,
    kinds: list[str] | None,
    all_words: bool,
    check: bool,
    limit: int,
    cluster: str | None,
) -> int:
    """Print ``{id, clues}`` for each line, in order; report broken lines and go on."""
    from rwtools.cli.files import BadLines, count_lines, dump, in_batches, shown_name
    from rwtools.cli.show import progress
    from rwtools.drills.spread import with_groups, workers
    from rwtools.hints import revealed

    bad, done, faulty = BadLines(), 0, 0
    groups = in_batches(_records(file, limit), 64)
    with progress("hint", count_lines(file)) as advance, workers(1, cluster) as spread:
        work = partial(_clues, kinds=kinds, all_words=all_words)
        for group, clues_of_group in with_groups(spread, work, groups):
            found = iter(clues_of_group)
            for record in group:
                advance(1)
                if isinstance(record, InputError):
                    bad.tell(record)
                    continue
                done += 1
                clues = next(found)
                if check:
                    clues = [clue for clue in clues if clue.label == "fault"]
                    faulty += bool(clues)
                typer.echo(
                    dump({"id": record["id"], "clues": [revealed(c, reveal) for c in clues]})  # type: ignore[arg-type]
                )
    bad.end()
    if not done and not bad.count:
        raise InputError("there is no passage in it", file=shown_name(file))
    return 2 if bad.count else int(faulty > 0)


def _clues(group: Sequence[Any], kinds: list[str] | None, all_words: bool) -> list[list[Clue]]:
    """The clues of the good records of a group; broken lines are left out."""
    from rwtools.hints import hint_many

    passages = [r["passage"] for r in group if not isinstance(r, InputError)]
    return list(hint_many(passages, kinds=kinds, all_words=all_words))


def _records(file: str, limit: int) -> Iterator[dict[str, Any] | InputError]:
    from rwtools.cli.files import json_lines, shown_name
    from rwtools.text import check_passage

    name = shown_name(file)
    for number, record in json_lines(file):
        if isinstance(record, BatchLineError):
            yield record
            continue
        try:
            if not isinstance(record.get("id"), str | int):
                raise InputError("each line needs an id, a string or a number", field="id")
            check_passage(record.get("passage"), limit=limit)
        except InputError as error:
            yield error.at(file=name, line=number)
            continue
        yield record

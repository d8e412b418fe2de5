"""`rwtools vet`: what is wrong with items, before a learner meets them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Any

import typer

from rwtools.errors import InputError, UsageError

__all__ = ["command"]

_BATCH = 16


def command(
    file: Annotated[
        str,
        typer.Argument(
            metavar="ITEMS.jsonl",
            help="Questions with their choices, one JSON object a line; or -.",
        ),
    ],
    jobs: Annotated[
        int, typer.Option(metavar="NUMBER", help="How many processes work at once.")
    ] = 1,
    cluster: Annotated[
        str | None,
        typer.Option(metavar="ADDRESS", help="Work on the Dask cluster with this address."),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON, a line an item.")] = False,
) -> None:
    """Look for faults in items; end with status 1 if there is one, 2 if a line cannot be read.

    Faults are, for example: a second choice that can be defended, a key against which the passage
    speaks, nothing that decides, a key that its length gives away, a choice that does not fit the
    blank, an item that repeats another. An item may have two to six choices.
    """
    if jobs < 1:
        raise UsageError("--jobs takes a number of processes above 0")
    raise typer.Exit(_run(file, jobs, cluster, as_json))


def _run(file: str, jobs: int, cluster: str | None, as_json: bool) -> int:
    from rwtools.cli.files import BadLines, count_lines, dump, in_batches, numbered, shown_name
    from rwtools.cli.show import progress
    from rwtools.cli.show_items import show_vetted
    from rwtools.cli.solve import numbered_items
    from rwtools.drills.spread import with_groups, workers
    from rwtools.items.duplicates import Duplicates
    from rwtools.items.vet import Vetted, repeated, unreadable

    seen = Duplicates()
    faulty = done = 0
    bad = BadLines()
    with progress("vet", count_lines(file)) as advance, workers(jobs, cluster) as spread:
        groups = in_batches(numbered_items(file), _BATCH)
        for group, found in with_groups(spread, vet_group, groups):
            reports = iter(found)
            for line, item in group:
                advance(1)
                done += 1
                if isinstance(item, InputError):
                    bad.tell(item)
                    report = unreadable(item, line)
                else:
                    problems = [*next(reports), *repeated(seen, item, line)]
                    report = Vetted(id=item.id, line=line, problems=problems)
                    faulty += bool(problems)
                if as_json:
                    typer.echo(dump(report.model_dump()))
                elif report.problems and report.id is not None:
                    show_vetted(report)
    bad.end()
    if not done:
        raise InputError("there is no item in it", file=shown_name(file))
    if not as_json:
        lines, items = numbered(done, "line"), numbered(faulty, "item")
        none = f"{bad.count:,} that {'is' if bad.count == 1 else 'are'} no item"
        typer.echo(f"{lines}: {items} with problems, {none}.")
    return 2 if bad.count else int(faulty > 0)


def vet_group(group: Sequence[Any]) -> list[Any]:
    """Problems of the good items of a group; broken lines are left out."""
    from rwtools.items.vet import vet_batch

    return vet_batch([item for _, item in group if not isinstance(item, InputError)])

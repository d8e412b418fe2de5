"""`rwtools solve`: items worked out, with the way to the answer."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Annotated, Any

import typer

from rwtools.errors import InputError, UsageError

if TYPE_CHECKING:
    from rwtools.items.model import Item, Solution, Step

__all__ = ["command", "numbered_items", "shown_steps"]

REVEAL = ("where", "why", "all")
_BATCH = 16


def command(
    file: Annotated[
        str,
        typer.Argument(
            metavar="ITEMS.jsonl",
            help="Questions with their choices, one JSON object a line; or -.",
        ),
    ],
    reveal: Annotated[
        str,
        typer.Option(
            metavar="LEVEL",
            help="How much to tell: where (only where to look), why (no answer yet), or all.",
        ),
    ] = "all",
    jobs: Annotated[
        int, typer.Option(metavar="NUMBER", help="How many processes work at once.")
    ] = 1,
    cluster: Annotated[
        str | None,
        typer.Option(metavar="ADDRESS", help="Work on the Dask cluster with this address."),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON, a line an item.")] = False,
) -> None:
    """Work out items: the answer, how sure it is, and the steps that lead to it."""
    if reveal not in REVEAL:
        raise UsageError("--reveal takes where, why or all")
    if jobs < 1:
        raise UsageError("--jobs takes a number of processes above 0")
    raise typer.Exit(_run(file, reveal, jobs, cluster, as_json))


def _run(file: str, reveal: str, jobs: int, cluster: str | None, as_json: bool) -> int:
    from rwtools.cli.files import BadLines, count_lines, dump, in_batches, numbered, shown_name
    from rwtools.cli.show import progress
    from rwtools.drills.spread import with_groups, workers

    done = answered = right = keyed = 0
    bad = BadLines()
    with progress("solve", count_lines(file)) as advance, workers(jobs, cluster) as spread:
        groups = in_batches(numbered_items(file), _BATCH)
        for group, solutions in with_groups(spread, solve_group, groups):
            found = iter(solutions)
            for _, item in group:
                advance(1)
                if isinstance(item, InputError):
                    bad.tell(item)
                    continue
                solution = next(found)
                done += 1
                answered += solution.answer is not None
                if item.answer is not None:
                    keyed += 1
                    right += solution.answer == item.answer
                if as_json:
                    typer.echo(dump(revealed(solution, reveal)))
                else:
                    from rwtools.cli.show_items import show_solution

                    show_solution(item, solution, reveal)
    bad.end()
    if not done and not bad.count:
        raise InputError("there is no item in it", file=shown_name(file))
    if not as_json:
        agree = f"; {right} of {keyed} agree with the key" if keyed and reveal == "all" else ""
        typer.echo(
            f"{numbered(done, 'item')}, {answered} answered, {done - answered} left open{agree}."
        )
    return 2 if bad.count else 0


def numbered_items(file: str) -> Iterator[tuple[int, Item | InputError]]:
    """Line numbers and items of a file or of standard input, read one by one."""
    from rwtools.cli.files import shown_name, stdin_bytes
    from rwtools.items.load import load_items, read_lines
    from rwtools.lines import raw_lines

    if file == "-":
        name = shown_name(file)
        return read_lines(raw_lines(stdin_bytes(), name), name)
    return load_items(file)


def solve_group(group: Sequence[Any]) -> list[Solution]:
    """Solutions of the good items of a group; broken lines are left out."""
    from rwtools.items.solving import solve_batch

    return solve_batch([item for _, item in group if not isinstance(item, InputError)])


def revealed(solution: Solution, level: str) -> dict[str, Any]:
    """A solution as data, holding back what a learner who tries first does not want to see.

    ``where``: only what to do and where to look; ``why``: what is found there too, but no verdict;
    ``all``: everything.
    """
    data = solution.model_dump()
    data["clues"] = [clue.to_dict() for clue in solution.clues]
    if level == "all":
        return data
    steps = shown_steps(solution, level)
    kept = ("step", "action", "evidence") if level == "where" else None
    return {
        "id": data["id"],
        "skill": data["skill"],
        "path": [s.model_dump(include=set(kept) if kept else None) for s in steps],
    }


def shown_steps(solution: Solution, level: str) -> list[Step]:
    """The steps that don't give the answer away: none that names a choice; all for ``all``."""
    if level == "all":
        return list(solution.path)
    names = [f"\u201c{choice.text.strip()}\u201d".casefold() for choice in solution.choices]
    open_steps = [
        step
        for step in solution.path
        if not any(name in f"{step.action} {step.finding}".casefold() for name in names)
    ]
    return _places(open_steps)[:2] if level == "where" else open_steps


def _places(steps: Sequence[Step]) -> list[Step]:
    """The steps without those that point at the same words as the one before."""
    kept: list[Step] = []
    for step in steps:
        words = {quote.quote.strip(" ,;:.") for quote in step.evidence}
        if not kept or words != {quote.quote.strip(" ,;:.") for quote in kept[-1].evidence}:
            kept.append(step)
    return kept

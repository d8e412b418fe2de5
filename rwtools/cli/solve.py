"""`rwtools solve`: items worked out, with the way to the answer."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING, Annotated, Any

import typer

from rwtools.errors import InputError, UsageError

if TYPE_CHECKING:
    from multiprocessing.queues import Queue

    from rwtools.items.model import Item, Solution, Step

__all__ = ["command", "in_processes", "numbered_items", "shown_steps"]

REVEAL = ("where", "why", "all")
_BATCH = 16


def command(
    file: Annotated[
        str, typer.Argument(metavar="ITEMS.jsonl", help="Items, one a line; - for standard input.")
    ],
    reveal: Annotated[
        str, typer.Option(help="How much to tell: where to look, why it matters, or all.")
    ] = "all",
    jobs: Annotated[int, typer.Option(help="Processes to work with.")] = 1,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON, a line an item.")] = False,
) -> None:
    """Work out items: the answer, how sure it is, and the steps that lead to it."""
    if reveal not in REVEAL:
        raise UsageError("--reveal takes where, why or all")
    if jobs < 1:
        raise UsageError("--jobs takes a number of processes above 0")
    raise typer.Exit(_run(file, reveal, jobs, as_json))


def _run(file: str, reveal: str, jobs: int, as_json: bool) -> int:
    from rwtools.cli.files import count_lines, dump, in_batches
    from rwtools.cli.show import progress

    bad = done = answered = right = keyed = 0
    with progress("solve", count_lines(file) if file != "-" else None) as advance:
        groups = in_batches(numbered_items(file), _BATCH)
        for group, solutions in in_processes(groups, jobs, solve_group):
            found = iter(solutions)
            for _, item in group:
                advance(1)
                if isinstance(item, InputError):
                    bad += 1
                    typer.echo(f"rwtools: {item}", err=True)
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
    if not as_json:
        agree = f"; {right} of {keyed} agree with the key" if keyed and reveal == "all" else ""
        typer.echo(f"{done} items, {answered} answered, {done - answered} left open{agree}.")
    return 2 if bad else 0


def numbered_items(file: str) -> Iterator[tuple[int, Item | InputError]]:
    """Line numbers and items of a file or of standard input, read one by one."""
    import sys

    from rwtools.items.load import load_items, read_lines

    if file == "-":
        return read_lines(sys.stdin.buffer, "standard input")
    return load_items(file)


def solve_group(group: Sequence[Any]) -> list[Solution]:
    """Solutions of the good items of a group; broken lines are left out."""
    from rwtools.items.solving import solve_batch

    return solve_batch([item for _, item in group if not isinstance(item, InputError)])


def in_processes(
    groups: Iterator[list[Any]], jobs: int, work: Callable[[Sequence[Any]], Any]
) -> Iterator[tuple[list[Any], Any]]:
    """Each group with what ``work`` makes of it, in order; few groups are held at a time."""
    if jobs == 1:
        for group in groups:
            yield group, work(group)
        return
    from collections import deque
    from concurrent.futures import Future, ProcessPoolExecutor
    from multiprocessing import get_context

    waiting: deque[tuple[list[Any], Future[Any]]] = deque()
    context = get_context("spawn")
    numbers = context.Queue()
    for number in range(jobs):
        numbers.put(number)
    with ProcessPoolExecutor(
        jobs, mp_context=context, initializer=_one_share, initargs=(numbers, jobs)
    ) as pool:
        try:
            for group in groups:
                waiting.append((group, pool.submit(work, group)))
                if len(waiting) > 2 * jobs:
                    first, result = waiting.popleft()
                    yield first, result.result()
            while waiting:
                first, result = waiting.popleft()
                yield first, result.result()
        finally:
            for _, result in waiting:
                result.cancel()


def _one_share(numbers: Queue[int], jobs: int) -> None:
    """Keep a worker to its share of the processor's cores, so that workers don't wait in turn."""
    own = sorted(os.sched_getaffinity(0))
    share = max(1, len(own) // jobs)
    first = numbers.get() * share
    os.environ["OMP_NUM_THREADS"] = str(share)
    os.sched_setaffinity(0, {own[(first + k) % len(own)] for k in range(share)})


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
    return open_steps[:2] if level == "where" else open_steps

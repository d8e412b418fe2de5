"""`rwtools grade`: the answers of a learner or a class, graded and explained."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from rwtools.errors import BatchLineError, InputError, UsageError

if TYPE_CHECKING:
    from rwtools.drills.model import Problem
    from rwtools.items.model import Item

__all__ = ["command"]


def command(
    items: Annotated[
        str, typer.Argument(metavar="ITEMS.jsonl", help="The items, one JSON object a line; or -.")
    ],
    answers: Annotated[
        str,
        typer.Argument(
            metavar="ANSWERS.csv",
            help="The answers, a CSV file with the columns learner, item, answer (seconds and "
            "position if known), or JSON Lines with these names; or -.",
        ),
    ],
    out: Annotated[
        str | None,
        typer.Option(
            metavar="DIR", help="A folder for report.html, report.json, learners.csv and items.csv."
        ),
    ] = None,
    budget: Annotated[
        float | None,
        typer.Option(metavar="SECONDS", help="Time for one item in seconds (71 if not given)."),
    ] = None,
    quick: Annotated[
        bool,
        typer.Option(
            "--quick", help="Explain misses by the items' own rationales only: much faster."
        ),
    ] = False,
    all_steps: Annotated[
        bool,
        typer.Option(
            "--all-steps",
            help="Let the solver explain the missed items even if they are more than 120.",
        ),
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print the report as JSON.")] = False,
) -> None:
    """Grade answers: scores by skill, every miss explained, and what to practise next."""
    from rwtools.cli.files import read_bytes, shown_name
    from rwtools.cli.show import progress
    from rwtools.drills.answers import read_answers
    from rwtools.drills.explain import from_rationale
    from rwtools.drills.grade import BUDGET, MOST_SOLVED, grade

    if items == answers == "-":
        raise UsageError("only one of ITEMS and ANSWERS can be standard input")
    if out is not None:
        from rwtools.drills.folder import check_folder

        check_folder(out)
    bank, problems = _items(items)
    read = read_answers(read_bytes(answers), shown_name(answers))
    with progress("explain", None) as advance:
        report = grade(
            bank,
            read,
            explain=from_rationale if quick else None,
            most=None if all_steps else MOST_SOLVED,
            budget=BUDGET if budget is None else budget,
            problems=problems,
            advance=lambda done, total: advance(1),
        )
    if out is not None:
        from rwtools.drills.folder import write_report

        made = write_report(report, bank, out)
        if not as_json:
            typer.echo(f"Written: {', '.join(str(path) for path in made)}")
    if as_json:
        typer.echo(report.model_dump_json())
    elif out is None:
        from rwtools.cli.show_grades import show_report

        show_report(report)
    _report(report.problems, sum(report.counts.problems.values()))
    raise typer.Exit(2 if report.counts.problems else 0)


def _items(name: str) -> tuple[list[Item], list[Problem]]:
    """The good items of a file, and what is wrong with the others."""
    from rwtools.cli.files import json_lines, shown_name
    from rwtools.drills.model import Problem
    from rwtools.items.model import read_item

    shown = shown_name(name)
    bank: dict[str, Item] = {}
    problems = []
    for number, record in json_lines(name):
        try:
            if isinstance(record, BatchLineError):
                raise record
            item = read_item(record, file=shown, line=number)
            if item.id.strip() in bank:
                raise InputError("there is an item with this id already", field="id")
            bank[item.id.strip()] = item
        except InputError as error:
            placed = error.at(file=shown, line=number)
            problems.append(
                Problem(
                    file=placed.file,
                    line=placed.line,
                    field=placed.field,
                    kind="bad_item",
                    why=placed.why,
                )
            )
    if not bank:
        first = f" ({problems[0].why})" if problems else ""
        raise InputError(f"there is no usable item{first}", file=shown)
    return list(bank.values()), problems


def _report(problems: list[Problem], count: int) -> None:
    """Name the lines that could not be used, on standard error."""
    from rwtools.cli.files import BadLines

    bad = BadLines()
    for problem in problems:
        bad.tell(problem)
    bad.count = count  # the report lists the first of them only
    bad.end()

"""The command `rwtools`: its commands, and how an error ends one."""

from __future__ import annotations

import os
import sys
from typing import Annotated, Any, NoReturn

import typer
from typer.core import TyperCommand

from rwtools import __version__
from rwtools.cli import grade, hint, make, serve, solve, vet
from rwtools.errors import RwtoolsError

__all__ = ["app", "main"]

USAGE = 2
INTERRUPTED = 130
EPILOG = (
    "Begin with: rwtools hint FILE. `rwtools COMMAND --help` tells all about a command. "
    "Exit status: 0 done; 1 a check found faults; 2 something could not be read or written."
)

app = typer.Typer(
    name="rwtools",
    help="See which words of a passage decide the answer, and why.",
    no_args_is_help=False,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
)


class Command(TyperCommand):
    """A command whose usage line names what must be given without braces, as manuals do."""

    def collect_usage_pieces(self, ctx: Any) -> list[str]:
        """The parts of the usage line."""
        return [piece.strip("{}") for piece in super().collect_usage_pieces(ctx)]


@app.callback(invoke_without_command=True, epilog=EPILOG)
def start(
    context: typer.Context,
    version: Annotated[bool, typer.Option("--version", help="Print the version and stop.")] = False,
) -> None:
    """See which words of a passage decide the answer, and why.

    A practice aid only: not affiliated with any examination; its estimates are not official scores.
    """
    if version:
        typer.echo(f"rwtools {__version__}")
        raise typer.Exit
    if context.invoked_subcommand is None:
        typer.echo(context.get_help())


for _name, _function, _short in (
    ("hint", hint.command, "Show the signals of a passage, and its faults."),
    ("solve", solve.command, "Work questions out, step by step."),
    ("vet", vet.command, "Look for faults in questions."),
    ("make", make.command, "Make practice questions from passages."),
    ("grade", grade.command, "Mark answers and explain every miss."),
    ("serve", serve.command, "Open the page on this computer."),
):
    app.command(_name, cls=Command, short_help=_short)(_function)


def main() -> NoReturn:
    """Run the command line; an error becomes one line on standard error and exit status 2."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="backslashreplace")
    try:
        status = app(standalone_mode=False)
        if sys.stdout is not None:
            sys.stdout.flush()
    except RwtoolsError as error:
        _fail(str(error))
    except BrokenPipeError:
        _end_quietly()
    except SystemExit as end:
        # The libraries that print end with 1 where our output is closed; 1 means faults here.
        if isinstance(end.__context__, BrokenPipeError):
            _end_quietly()
        raise
    except (typer.Abort, KeyboardInterrupt):
        typer.echo("rwtools: stopped", err=True)
        sys.exit(INTERRUPTED)
    except OSError as error:
        # A full disk, for one; files that are asked for by name have messages of their own.
        why = (error.strerror or str(error)).lower()
        _fail(f"{error.filename}: {why}" if error.filename else f"writing failed ({why})")
    except Exception as error:
        # The option parser's own errors carry a message for the user; others are our faults.
        message = getattr(error, "format_message", None)
        if message is None:
            raise
        _fail(str(message()))
    if status == INTERRUPTED:
        typer.echo("rwtools: stopped", err=True)
    sys.exit(status if isinstance(status, int) else 0)


def _end_quietly() -> NoReturn:
    """End as if all were done: the reader of our output (`| head`) has gone and wants no more."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    for stream in (sys.__stdout__, sys.__stderr__):
        if stream is not None:
            os.dup2(nowhere, stream.fileno())
    sys.exit(0)


def _fail(message: str) -> NoReturn:
    typer.echo(f"rwtools: {' '.join(message.split())}", err=True)
    sys.exit(USAGE)

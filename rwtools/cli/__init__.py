"""The command line: one file per command, each imported when it is called."""

from rwtools.cli.app import app, main

__all__ = ["app", "main"]

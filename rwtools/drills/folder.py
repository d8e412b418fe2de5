"""Writing a report's folder: it appears whole or not at all."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterable
from pathlib import Path

from rwtools.drills.model import Report
from rwtools.drills.report import pages
from rwtools.drills.tables import items_table, learners_table, to_csv
from rwtools.errors import UnreadableFileError
from rwtools.items.model import Item
from rwtools.lines import why_not

__all__ = ["check_folder", "write_report"]

_LEARNERS = "learners"
_ITEMS = "items.html"


def check_folder(folder: str | Path) -> None:
    """Raise `UnreadableFileError` where it is plain that no report can be written there."""
    target = Path(folder)
    try:
        if target.exists() and not target.is_dir():
            raise UnreadableFileError("this is a file, not a folder", file=target)
        there = next(path for path in (target, *target.absolute().parents) if path.exists())
        if not there.is_dir():
            raise UnreadableFileError(f"cannot be written ({there} is not a folder)", file=target)
        if not os.access(there, os.W_OK | os.X_OK):
            raise UnreadableFileError("cannot be written (permission denied)", file=target)
    except (OSError, ValueError) as error:
        raise why_not("written", error, target) from error


def write_report(report: Report, items: Iterable[Item], folder: str | Path) -> list[Path]:
    """Write report.html, report.json, learners.csv and items.csv; give back their paths.

    All is written in a hidden folder beside ``folder`` first and then moved, so that a run that is
    stopped leaves the old report, or none. Other files in ``folder`` stay as they are.
    """
    target = Path(folder)
    check_folder(target)
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        new = Path(tempfile.mkdtemp(prefix=f".{target.name}.", dir=target.parent))
    except OSError as error:
        raise why_not("written", error, target) from error
    try:
        _fill(new, report, list(items))
        made = [target / path.name for path in sorted(new.iterdir())]
        _move(new, target)
    except OSError as error:
        raise why_not("written", error, target) from error
    finally:
        shutil.rmtree(new, ignore_errors=True)
    return made


def _fill(new: Path, report: Report, items: list[Item]) -> None:
    new.chmod(0o755)
    for name, text in pages(report, items):
        path = new / name
        if path.parent != new:
            path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")
    (new / "learners.csv").write_text(to_csv(learners_table(report)), encoding="utf-8", newline="")
    (new / "items.csv").write_text(to_csv(items_table(report)), encoding="utf-8", newline="")
    (new / "report.json").write_text(report.model_dump_json() + "\n", encoding="utf-8")
    for path in new.iterdir():
        if path.is_file():
            with path.open("rb") as stream:
                os.fsync(stream.fileno())


def _move(new: Path, target: Path) -> None:
    """Put the finished files in place, each by one rename."""
    if not target.exists():
        new.rename(target)
        return
    # Pages of an earlier, larger class must not stay behind; they are ours if a report is there.
    if (target / "report.json").exists():
        old = new / ".old"
        old.mkdir()
        for name in (_LEARNERS, _ITEMS):
            if (target / name).exists():
                (target / name).rename(old / name)
    # The JSON comes last: where it is new, all the rest is.
    for path in sorted(new.iterdir(), key=lambda p: p.name == "report.json"):
        if path.name != ".old":
            path.replace(target / path.name)

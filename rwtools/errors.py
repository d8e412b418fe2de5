"""One tree of errors. Every message a user can meet is worded here, once, in one line."""

from __future__ import annotations

from pathlib import Path

__all__ = [
    "ArtifactError",
    "BatchLineError",
    "InputError",
    "ItemError",
    "PassageError",
    "RwtoolsError",
    "UnreadableFileError",
    "UsageError",
    "WorkerError",
]


class RwtoolsError(Exception):
    """Base of all errors that rwtools raises on purpose; its text is one clear line."""


class InputError(RwtoolsError):
    """Something the user gave cannot be used. Commands end with exit status 2."""

    def __init__(
        self,
        why: str,
        *,
        file: str | Path | None = None,
        line: int | None = None,
        field: str | None = None,
    ) -> None:
        self.why = why
        self.file = None if file is None else str(file)
        self.line = line
        self.field = field
        super().__init__(str(self))

    def __str__(self) -> str:
        """Say where, then what: ``items.jsonl, line 3, field choices: ...``."""
        where = [
            self.file,
            None if self.line is None else f"line {self.line}",
            None if self.field is None else f"field {self.field}",
        ]
        place = ", ".join(part for part in where if part)
        return f"{place}: {self.why}" if place else self.why

    def at(
        self, *, file: str | Path | None = None, line: int | None = None, field: str | None = None
    ) -> InputError:
        """Return the same error with its place filled in where it was not yet known."""
        return type(self)(
            self.why,
            file=self.file if self.file is not None else file,
            line=self.line if self.line is not None else line,
            field=self.field if self.field is not None else field,
        )


class PassageError(InputError):
    """The passage is empty, too long or not text."""


class ItemError(InputError):
    """An item lacks a field, or a field does not say what it must."""


class UnreadableFileError(InputError):
    """The file is missing, a folder, not readable or not UTF-8."""


class BatchLineError(InputError):
    """One line of a batch is broken; the other lines are still done."""


class UsageError(InputError):
    """Options that do not go together."""


class ArtifactError(RwtoolsError):
    """A model file is missing, damaged or of another version than the code expects."""

    def __init__(self, path: str | Path, why: str, rebuild: str) -> None:
        self.path = Path(path)
        self.why = why
        self.rebuild = rebuild
        super().__init__(f"{path}: {why}. To mend it: {rebuild}")

    def __reduce__(self) -> tuple[type[ArtifactError], tuple[Path, str, str]]:
        """Travel from a worker process whole."""
        return type(self), (self.path, self.why, self.rebuild)


class WorkerError(RwtoolsError):
    """A process that shared the work has died."""

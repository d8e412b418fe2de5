"""What a person sees in the terminal. Marks carry the meaning; colour only helps."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager

from rich.console import Console
from rich.padding import Padding
from rich.text import Text as Styled

from rwtools.clue import Clue

__all__ = ["console", "progress", "show_hints"]

# Each kind: opening and closing mark round its words, and a colour.
_MARKS = {
    "transition": ("‹", "›", "bold dark_cyan"),
    "meaning": ("{", "}", "bold dark_goldenrod"),
    "sound": ("⌈", "⌉", "green4"),
    "fault": ("✗[", "]", "bold red3"),
    "stance": ("~", "~", "bold medium_purple3"),
    "structure": ("§", "§", "bold steel_blue"),
}
_NAMES = {
    "transition": "transition",
    "meaning": "word meaning",
    "sound": "well marked",
    "fault": "fault",
    "stance": "stance",
    "structure": "structure",
}
_WIDTH = 88


def console() -> Console:
    """A console on standard output; plain when the output goes to a file or NO_COLOR is set."""
    made = Console(highlight=False, soft_wrap=False)
    made.width = min(made.width, _WIDTH)
    return made


def mark_of(clue: Clue) -> str:
    """Which mark a clue bears: its kind, or for punctuation and grammar its verdict."""
    return clue.label if clue.label in ("sound", "fault") else clue.kind


def show_hints(passage: str, clues: Sequence[Clue], reveal: str) -> None:
    """The passage with its signals marked and numbered, then each signal with its explanation."""
    out = console()
    out.print(Padding(_marked(passage, clues), (1, 2)))
    if not clues:
        out.print("  No signal found.\n")
        return
    used = sorted({mark_of(c) for c in clues}, key=list(_MARKS).index)
    legend = Styled("  ")
    for name in used:
        before, after, style = _MARKS[name]
        legend.append(f"{before}{_NAMES[name]}{after}", style).append("   ")
    out.print(legend, "\n", sep="")
    for number, clue in enumerate(clues, 1):
        out.print(_entry(number, clue, reveal))
        if reveal != "where":
            out.print(Padding(clue.explanation, (0, 2, 0, 6)))
        if reveal == "all" and clue.fix:
            out.print(Padding(Styled(f"Better: {_mended(passage, clue)}"), (0, 2, 0, 6)))
    out.print()


def _entry(number: int, clue: Clue, reveal: str) -> Styled:
    _, _, style = _MARKS[mark_of(clue)]
    quote = clue.quote.replace("\n", " / ") or "(something is missing here)"
    line = Styled(f"  {number:>2}  ").append(quote, style)
    if reveal == "where":
        return line.append(f"   {_NAMES[mark_of(clue)] if clue.kind != 'punctuation' else 'mark'}")
    name = clue.label if clue.label not in ("sound", "fault") else _NAMES[clue.label]
    line.append(f"   {name}", "bold")
    return line.append(f"   {clue.rule}", "dim")


def _mended(passage: str, clue: Clue) -> str:
    """The words round a fault as they stand once it is mended."""
    first, last = min(f.start for f in clue.fix), max(f.end for f in clue.fix)
    left = passage.rfind(" ", 0, max(0, first - 18)) + 1
    right = passage.find(" ", min(len(passage), last + 18))
    right = len(passage) if right < 0 else right
    words = passage[left:right]
    for fix in sorted(clue.fix, key=lambda f: -f.start):
        words = words[: fix.start - left] + fix.replacement + words[fix.end - left :]
    before, after = "… " if left else "", " …" if right < len(passage) else ""
    return before + " ".join(words.split()) + after


def _marked(passage: str, clues: Sequence[Clue]) -> Styled:
    """The passage with numbered marks; where clues overlap, the outer one is drawn last."""
    starts: dict[int, list[tuple[int, int, Clue]]] = {}
    taken: list[tuple[int, int]] = []
    order = {"fault": 0, "transition": 1, "meaning": 2, "sound": 3}
    ranked = sorted(enumerate(clues, 1), key=lambda p: (order.get(mark_of(p[1]), 4), p[0]))
    for number, clue in ranked:
        if any(clue.start < end and start < clue.end for start, end in taken):
            continue
        taken.append((clue.start, clue.end))
        starts.setdefault(clue.start, []).append((clue.end, number, clue))
    out, at = Styled(), 0
    for start in sorted(starts):
        for end, number, clue in sorted(starts[start], key=lambda t: t[:2]):
            before, after, style = _MARKS[mark_of(clue)]
            out.append(passage[at:start])
            at = max(at, end)
            out.append(f"{before}{passage[start:end]}{after}", style)
            out.append(_small(number), style)
    return out.append(passage[at:])


def _small(number: int) -> str:
    return str(number).translate(str.maketrans("0123456789", "⁰¹²³⁴⁵⁶⁷⁸⁹"))


@contextmanager
def progress(name: str, total: int | None) -> Iterator[Callable[[int], None]]:
    """A progress bar on standard error when that is a terminal and output goes elsewhere."""
    if not (sys.stderr and sys.stderr.isatty()) or (sys.stdout and sys.stdout.isatty()):
        yield lambda _: None
        return
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(name, total=total)
        yield lambda step: bar.advance(task, step)

"""A graded drill in the terminal: one learner in full, a class as a table."""

from __future__ import annotations

from rich import box
from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text as Styled

from rwtools.cli.show import console
from rwtools.drills.grade import NAMES
from rwtools.drills.model import LearnerReport, Report, Share

__all__ = ["show_report"]

# A class larger than this is shown by its weakest learners only.
MOST_LEARNERS = 40
MOST_MISSES = 30


def show_report(report: Report) -> None:
    """Print the report; a single learner sees every miss explained."""
    out = console()
    if len(report.learners) == 1:
        _learner(out, report, report.learners[0])
    else:
        _class(out, report)
    for note in report.notes:
        out.print(Padding(Styled(note), (0, 2)))
    out.print(
        Padding(Styled("A practice aid only; its figures are not official scores.", "dim"), (1, 2))
    )


def _grid(*heads: str) -> Table:
    """A quiet table; heads that start with # are over numbers."""
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 2, 0, 0))
    for head in heads:
        table.add_column(head.removeprefix("#"), justify="right" if head[0] == "#" else "left")
    return table


def _bar(share: Share, width: int = 20) -> str:
    """``····──●───····``: the interval as a line, the share as a dot."""
    place = [round(value * (width - 1)) for value in (share.low, share.share, share.high)]
    cells = ["─" if place[0] <= x <= place[2] else "·" for x in range(width)]
    cells[place[1]] = "●"
    return "".join(cells)


def _skills(report: Report, learner: LearnerReport | None) -> Table:
    table = _grid("skill", "#right", "0% to 100%, with 95% interval", "#share", "#time")
    for skill in learner.skills if learner else report.skills:
        table.add_row(
            NAMES[skill.skill],
            f"{skill.right} of {skill.given}",
            _bar(skill),
            f"{100 * skill.share:.0f}%",
            "" if skill.seconds is None else f"{skill.seconds:.0f} s",
        )
    return table


def _learner(out: Console, report: Report, r: LearnerReport) -> None:
    s = r.score
    head = Styled(f"{r.learner}: ", "bold").append(f"{s.right} of {s.given} right")
    head.append(f" ({100 * s.low:.0f} to {100 * s.high:.0f}%)")
    if r.blank:
        head.append(f", {r.blank} left blank")
    out.print(Padding(head, (1, 2, 0, 2)))
    if r.timing is not None:
        t = r.timing
        said = (
            f"{t.mean:.0f} s per item (budget {report.budget_seconds:.0f} s); "
            f"slow and wrong: {t.slow_and_wrong}, fast and wrong: {t.fast_and_wrong}"
        )
        out.print(Padding(Styled(said), (0, 2)))
    out.print(Padding(_skills(report, r), (0, 2)))
    if r.practise_next:
        out.print(Padding(Styled("Practise next", "bold"), (0, 2)))
        for number, advice in enumerate(r.practise_next, 1):
            said_next = Styled(f"{number}. ").append(NAMES[advice.skill], "bold")
            out.print(Padding(said_next.append(f": {advice.reason}"), (0, 2, 0, 4)))
    if r.misses:
        out.print(Padding(Styled("Missed", "bold"), (1, 2, 0, 2)))
    for miss in r.misses[:MOST_MISSES]:
        told = report.explanations[miss["item"]]
        took = miss["choice"] or "blank"
        line = Styled("✗ ", "bold red3").append(miss["item"], "bold")
        line.append(f"   {told.label or ''}   you: {took}   key: {told.key}")
        if miss["pace"] in ("slow", "fast"):
            line.append(f"   {miss['pace']} ({miss['seconds']:.0f} s)")
        out.print(Padding(line, (0, 2, 0, 4)))
        tempting = told.tempts.get(took)
        if tempting:
            out.print(Padding(Styled(f"{took}: {tempting}"), (0, 2, 0, 6)))
        out.print(Padding(Styled(f"{told.key}: {told.why}"), (0, 2, 0, 6)))
    if len(r.misses) > MOST_MISSES:
        out.print(Padding(f"{len(r.misses) - MOST_MISSES} more: see --out DIR or --json", (0, 4)))


def _class(out: Console, report: Report) -> None:
    c = report.counts
    head = f"{c.learners:,} learners, {c.items:,} items, {c.graded:,} answers"
    head += f", {c.blank:,} blank" if c.blank else ""
    out.print(Padding(Styled(head, "bold"), (1, 2, 0, 2)))
    shown = sorted(report.learners, key=lambda r: r.score.share)[:MOST_LEARNERS]
    names = {r.number for r in shown}
    table = _grid("learner", "#right", "0% to 100%, with 95% interval", "practise first")
    for r in report.learners:
        if r.number in names:
            first = r.practise_next[0] if r.practise_next else None
            what = "" if first is None else first.label or NAMES[first.skill]
            table.add_row(
                Styled(r.learner), f"{r.score.right} of {r.score.given}", _bar(r.score), what
            )
    out.print(Padding(table, (0, 2)))
    if len(report.learners) > len(shown):
        more = len(report.learners) - len(shown)
        out.print(Padding(f"and {more:,} learners with higher scores", (0, 2, 1, 2)))
    out.print(Padding(_skills(report, None), (0, 2)))
    review = [i for i in report.items if i.review]
    if review:
        out.print(Padding(Styled("Items to review", "bold"), (0, 2)))
        for item in review[:15]:
            line = Styled("! ", "bold").append(item.id, "bold").append(f"  {' '.join(item.review)}")
            out.print(Padding(line, (0, 2, 0, 4)))
        if len(review) > 15:
            out.print(Padding(f"and {len(review) - 15} more", (0, 4)))
    m = report.measure
    if m is not None and m.kr20 is not None and m.error is not None:
        said = f"Reliability (KR-20) {m.kr20:.2f}; standard error of a score {m.error:.1f} items"
        out.print(Padding(Styled(said), (1, 2, 0, 2)))
    if report.orders is not None:
        out.print(Padding(Styled(report.orders.sentence), (1, 2, 0, 2)))

"""Solutions and problems of items as a person sees them in the terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.padding import Padding
from rich.text import Text as Styled

from rwtools.cli.show import console
from rwtools.cli.solve import shown_steps

if TYPE_CHECKING:
    from rwtools.items.model import Item, Solution
    from rwtools.items.vet import Vetted

__all__ = ["show_solution", "show_vetted"]

_VERDICTS = {"fits": ("✓", "green4"), "ruled_out": ("✗", "red3"), "open": ("?", "dark_goldenrod")}


def show_solution(item: Item, solution: Solution, reveal: str) -> None:
    """The item, the steps, and with ``all`` the verdict on each choice and the answer."""
    out = console()
    out.print(Styled(f"{item.id}  ", "bold").append(item.skill, "dim"))
    out.print(Padding(_passage(item, solution, reveal), (1, 2)))
    out.print(Padding(item.question, (0, 2)))
    for letter, text in zip(item.letters, item.choices, strict=True):
        out.print(Padding(f"{letter}  {text}", (0, 4)))
    out.print()
    for step in shown_steps(solution, reveal):
        out.print(Padding(Styled(f"{step.step}. {step.action}", "bold"), (0, 2)))
        if reveal == "where":
            for quote in step.evidence:
                out.print(Padding(f"→ {' '.join(quote.quote.split())}", (0, 5)))
        else:
            out.print(Padding(step.finding, (0, 2, 0, 5)))
    if reveal == "all":
        _verdicts(solution)
    out.print()


def _verdicts(solution: Solution) -> None:
    out = console()
    out.print()
    for choice in solution.choices:
        mark, style = _VERDICTS[choice.verdict]
        line = Styled("  ").append(f"{mark} {choice.letter}", style)
        out.print(line.append(f"  {choice.text}   ").append(f"{choice.probability:.0%}", "dim"))
    if solution.answer is None:
        out.print(Styled("  Left open: the evidence does not decide.", "bold"))
    else:
        out.print(Styled(f"  Answer: {solution.answer}", "bold"))


def _passage(item: Item, solution: Solution, reveal: str) -> Styled:
    """The passage with the words that the shown steps rest on underlined."""
    shown = Styled(item.passage)
    for step in shown_steps(solution, reveal)[1:2] if reveal != "where" else ():
        for quote in step.evidence:
            shown.stylize("underline", quote.start, quote.end)
    return shown


def show_vetted(report: Vetted) -> None:
    """An item's problems, a paragraph each."""
    out = console()
    out.print(Styled(f"{report.id}  ", "bold").append(f"line {report.line}", "dim"))
    for problem in report.problems:
        style = "red3" if problem.severity == "error" else "dark_goldenrod"
        mark = "✗" if problem.severity == "error" else "!"
        out.print(Styled("  ").append(f"{mark} {problem.code}", style))
        out.print(Padding(problem.message, (0, 2, 0, 4)))
    out.print()

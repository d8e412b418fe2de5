"""Solve items: weigh the choices, answer where the evidence decides, and say why."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import islice
from typing import Any, Literal

from rwtools.clue import Clue, Evidence, Kind, Span
from rwtools.items import (
    explain_grammar,
    explain_punctuation,
    explain_transition,
    explain_vocabulary,
)
from rwtools.items.case import CORE, Case, gather
from rwtools.items.groups import features_of, group_of, is_covered, judged_of
from rwtools.items.load import as_items
from rwtools.items.model import ChoiceVerdict, Item, Solution, Step
from rwtools.items.steps import Explained, best_of, said
from rwtools.items.transition import holds_link, sense_of
from rwtools.items.weights import skill_weights, weigh

__all__ = ["BATCH", "Worked", "solution_of", "solve", "solve_batch", "work_out"]

BATCH = 16
"""Items that are looked up together: their passages are parsed in one stream."""

_RULED_OUT = 0.15
_SAFE = 0.7
"""An answer below this chance is told with a warning."""

_EXPLAIN: dict[str, Callable[[Case, Sequence[float]], Explained]] = {
    "transition": explain_transition.explain,
    "punctuation": explain_punctuation.explain,
    "grammar": explain_grammar.explain,
    "vocabulary": explain_vocabulary.explain,
}


SURE = 0.95
"""Where clues and reader give a choice this chance, the judge is not asked: it would not change the
answer (`models/solver/card.md`), and it takes half of the time."""


class Worked:
    """An item with all that was looked up, its features and the probability of each choice."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self.features = features_of(case)
        self.chances: list[float] = []
        group = group_of(case.item)
        if "first" in skill_weights(group):
            self.chances = weigh(group, self.features, first=True)
        if max(self.chances, default=0.0) < SURE:
            self.features |= judged_of(case)
            self.chances = weigh(group, self.features)
        self.best = best_of(self.chances)
        self.decided: bool = self.chances[self.best] >= skill_weights(group)["margin"]


def work_out(items: Sequence[Item]) -> list[Worked | None]:
    """Look up and weigh a batch; None for an item of a skill that is not covered yet."""
    covered = [item for item in items if is_covered(item)]
    cases = iter(gather(covered))
    return [Worked(next(cases)) if is_covered(item) else None for item in items]


def solve_batch(items: Sequence[Item]) -> list[Solution]:
    """Solutions of a batch of items, in order."""
    linking = [item for item in items if not _lacks_links(item)]
    found = iter(work_out(linking))
    return [
        _not_covered(item)
        if _lacks_links(item) or (worked := next(found)) is None
        else solution_of(worked)
        for item in items
    ]


def _lacks_links(item: Item) -> bool:
    """Whether an item asks for a connecting word and none of its choices is one or holds one."""
    return item.skill == "transition" and not any(map(holds_link, item.choices))


def solve(items: Iterable[Item | dict[str, Any]]) -> Iterator[Solution]:
    """The solution of each item of a stream, in order; one batch is in memory at a time.

    Items may be `Item` objects or JSON-ready records (a record that is no item raises
    `ItemError`). ``answer`` is None where the evidence doesn't decide, and for the reading skills,
    which are not covered yet.
    """
    stream = as_items(items)
    while batch := list(islice(stream, BATCH)):
        yield from solve_batch(batch)


def _not_covered(item: Item) -> Solution:
    if _lacks_links(item):
        finding = (
            "None of the choices is a connecting word, so this is no question about how the parts "
            "of the passage are linked. Check its skill: where forms or marks differ, it is a "
            "grammar or punctuation question."
        )
        why = "not weighed: this is no connecting word"
    elif item.skill in CORE:
        finding = (
            "The passage has neither a blank nor a target, so there is no place for the choices. "
            "Write the blank with four underscores (____), or give the word that is asked about as "
            "the target."
        )
        why = "not weighed: see the first step"
    else:
        finding = "No signal of the passage was weighed: not covered yet."
        why = "not covered yet"
    even = round(1 / len(item.choices), 4)
    return Solution(
        id=item.id,
        skill=item.skill,
        answer=None,
        confidence=0.0,
        choices=[
            ChoiceVerdict(letter=letter, text=text, probability=even, verdict="open", reason=why)
            for letter, text in zip(item.letters, item.choices, strict=True)
        ],
        path=[
            Step(
                step=1,
                action="Leave this item open.",
                finding=finding,
            )
        ],
    )


def solution_of(worked: Worked) -> Solution:
    """What was looked up for an item, told as a solution."""
    item, chances, best = worked.case.item, worked.chances, worked.best
    told = _EXPLAIN[item.skill](worked.case, chances)
    verdicts = []
    verdict: Literal["fits", "ruled_out", "open"]
    for n, (letter, text) in enumerate(zip(item.letters, item.choices, strict=True)):
        if n == best:
            verdict = "fits" if worked.decided else "open"
        else:
            verdict = "ruled_out" if chances[n] < _RULED_OUT else "open"
        reason, evidence = told.reasons[n]
        verdicts.append(
            ChoiceVerdict(
                letter=letter,
                text=text,
                probability=round(chances[n], 4),
                verdict=verdict,
                reason=reason,
                evidence=evidence,
            )
        )
    path = list(told.path)
    if not worked.decided:
        path.append(_undecided(worked, len(path) + 1))
    elif chances[best] < _SAFE:
        path.append(_unsafe(worked, len(path) + 1, told))
    return Solution(
        id=item.id,
        skill=item.skill,
        answer=item.letters[best] if worked.decided else None,
        confidence=round(chances[best], 4),
        choices=verdicts,
        path=path,
        clues=_clues(worked, told),
    )


def _clues(worked: Worked, told: Explained) -> list[Clue]:
    """The clues used: those found in the passage, and what the answer shows at the gap."""
    item, (start, end) = worked.case.item, worked.case.gap
    rule = next((step.rule for step in told.path if step.rule), None)
    if not worked.decided or item.skill == "vocabulary" or (rule is None and not told.relation):
        return told.clues
    reason, evidence = told.reasons[worked.best]
    kind: Kind = "transition"
    if item.skill in ("punctuation", "grammar"):
        kind = "punctuation" if item.skill == "punctuation" else "grammar"
    at_gap = Clue(
        kind=kind,
        start=start,
        end=end,
        quote=item.passage[start:end],
        label=told.relation or "sound",
        rule=rule or "transition-connective",
        explanation=reason,
        confidence=round(worked.chances[worked.best], 4),
        sense=sense_of(told.relation) if told.relation else None,
        evidence=tuple(Evidence(q.start, q.end, q.quote, q.role or "cue") for q in evidence),
    )
    return [*told.clues, at_gap]


def _undecided(worked: Worked, number: int) -> Step:
    ranked = sorted(range(len(worked.chances)), key=lambda n: -worked.chances[n])
    one, two = (worked.case.item.choices[n] for n in ranked[:2])
    return Step(
        step=number,
        action="Leave the answer open.",
        finding=f"“{one}” and “{two}” are too close: the passage has no signal that rules out one "
        "of them for certain.",
    )


def _unsafe(worked: Worked, number: int, told: Explained) -> Step:
    """A warning that the answer may be wrong, with what to read again."""
    best, second = sorted(range(len(worked.chances)), key=lambda n: -worked.chances[n])[:2]
    one, two = (worked.case.item.choices[n].strip() for n in (best, second))
    evidence = told.reasons[best][1]
    words = [said(worked.case, Span(q.start, q.end)) for q in evidence[:2]]
    again = " and ".join(words) or "the sentence"
    return Step(
        step=number,
        action="Be careful: this answer is likely, but not safe.",
        finding=f"“{one}” has {worked.chances[best]:.0%}, and “{two}” has "
        f"{worked.chances[second]:.0%}. Read {again} once more with each of them.",
        evidence=evidence,
    )

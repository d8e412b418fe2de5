"""Explanations of missed items, and the finer point inside a skill that an item is about."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cache
from typing import Literal

from rwtools.drills.model import Explanation
from rwtools.errors import RwtoolsError
from rwtools.items.model import Item, Quote, Solution
from rwtools.resources import load_json, shared

__all__ = ["Explain", "explain_item", "finer_label", "from_rationale", "solved"]

Explain = Callable[[Item], Solution | None]
_MOST_FINDINGS = 5
_MOST_QUOTES = 6
_NEAR = 0.04
_CLEARLY = 1.5
"""The likeliest wrong choice is said to come near from this probability, and if it is so many times
as likely as the next."""

_NEAREST = "It tempts more than the other wrong choices: it comes nearest to fitting."
# Terms that a learner will meet again elsewhere; other rules are told by their titles.
_TERMS = frozenset({"comma-splice", "fused-sentence", "sentence-fragment", "dangling-modifier"})


def from_rationale(item: Item) -> Solution | None:
    """Work nothing out: explanations come from the items' own rationales."""
    return None


def solved(
    items: Sequence[Item],
    explain: Explain | None = None,
    failed: Callable[[RwtoolsError], None] = lambda error: None,
) -> Iterator[Solution | None]:
    """The solution of each item, in order, by ``explain`` or else by the solver of `rwtools.items`.

    The solver is imported when first needed, and takes many items at a time. Where it cannot work
    (a model file is missing, say) ``failed`` is told why, and None stands for each item that is
    left: those are explained by their own rationales.
    """
    if explain is not None:
        yield from map(explain, items)
        return
    from rwtools.items.solving import solve

    done = 0
    try:
        for solution in solve(items):
            done += 1
            yield solution
    except RwtoolsError as error:
        failed(error)
    yield from [None] * (len(items) - done)


def explain_item(item: Item, solution: Solution | None) -> Explanation:
    """Why the key is right and what speaks against each other choice.

    The solver's findings are used where they lead to the key; where they don't, the item's own
    rationale is, and ``doubt`` tells what the solver found.
    """
    key = item.answer
    if key is None:
        raise ValueError(f"item {item.id} has no key")
    why, origin, doubt = "", "none", None
    verdicts = {v.letter: v for v in solution.choices} if solution else {}
    if solution and solution.answer == key:
        against = [v.reason for v in verdicts.values() if v.letter != key and v.reason]
        found = dict.fromkeys(s.finding.strip() for s in solution.path if s.finding.strip())
        # What speaks against the other choices is told beside them.
        findings = [f for f in found if not any(f in r or r in f for r in against)] or list(found)
        why, origin = " ".join(findings[:_MOST_FINDINGS]), "solver"
    if not why and item.rationale:
        why, origin = item.rationale, "rationale"
    if not why and key in verdicts:
        why, origin = verdicts[key].reason, "solver"
    if solution and solution.answer not in (None, key):
        doubt = (
            f"The evidence that was found points to {solution.answer} "
            f"(“{item.choice(str(solution.answer))}”), not to the key."
        )
    return Explanation(
        key=key,
        label=finer_label(item, solution),
        why=why or "This item carries no explanation.",
        origin=_origin(origin if why else "none"),
        tempts=_tempts(solution, key),
        evidence=_quotes(item, solution if origin == "solver" else None),
        doubt=doubt,
    )


def _tempts(solution: Solution | None, key: str) -> dict[str, str]:
    """For each wrong choice what it would need to be right, and which comes nearest to it."""
    if solution is None:
        return {}
    wrong = [v for v in solution.choices if v.letter != key]
    least = next((v.probability for v in solution.choices if v.letter == key), 0.0)
    told = {
        v.letter: v.reason
        for v in wrong
        # What the solver itself took, or leans to, it speaks for: that would mislead.
        if v.reason and (solution.answer == key or v.probability < least)
    }
    nearest, *others = sorted(wrong, key=lambda v: -v.probability)
    tempting = nearest.probability >= _NEAR and all(
        nearest.probability >= _CLEARLY * other.probability for other in others
    )
    if solution.answer == key and nearest.letter in told and others and tempting:
        told[nearest.letter] = f"{told[nearest.letter]} {_NEAREST}"
    return told


def _origin(name: str) -> Literal["solver", "rationale", "none"]:
    return "solver" if name == "solver" else "rationale" if name == "rationale" else "none"


def _quotes(item: Item, solution: Solution | None) -> list[Quote]:
    """The deciding words: quotes of the path, else the item's own; only those that are there."""
    found: Iterable[Quote] = item.evidence or []
    if solution is not None:
        found = [*(q for step in solution.path for q in step.evidence), *found]
    unique = {
        (q.start, q.end): q
        for q in found
        if q.start < q.end and item.passage[q.start : q.end] == q.quote and "____" not in q.quote
    }
    return list(unique.values())[:_MOST_QUOTES]


def finer_label(item: Item, solution: Solution | None) -> str | None:
    """What the item is about inside its skill: a rule, a relation, or how a meaning is given.

    From the clues and the path of its solution; None where they don't tell.
    """
    if solution is None:
        return None
    if item.skill in ("transition", "vocabulary"):
        kind = "transition" if item.skill == "transition" else "meaning"
        clues = [c for c in solution.clues if c.kind == kind and c.label]
        if clues:
            key = item.choices[item.key].casefold() if item.key is not None else ""
            best = next((c for c in clues if c.quote.casefold() == key), clues[0])
            return best.label if kind == "transition" else f"meaning shown by {best.label}"
    rules = [step.rule for step in solution.path if step.rule]
    rules += [clue.rule for clue in solution.clues if clue.kind == item.skill]
    # The rule that most of the steps name; of equals the first.
    return _rule_name(Counter(rules).most_common(1)[0][0]) if rules else None


def _rule_name(rule: str) -> str:
    """A rule in plain words: ``comma splice``, ``agreement of subject and verb``."""
    title = _titles().get(rule)
    if title is None or rule in _TERMS:
        return rule.replace("-", " ").replace("_", " ")
    return title[:1].lower() + title[1:]


@cache
def _titles() -> dict[str, str]:
    return {entry["id"]: entry["title"] for entry in load_json(shared("rules.json"))}

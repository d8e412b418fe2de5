"""What a way of giving a meaning is: logic in ``ways/``, words in ``shared/rules/``."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Any, Literal, cast

from rwtools.clue import Clue, Span
from rwtools.resources import artifact, load_json, shared
from rwtools.text import Text
from rwtools.vocabulary.view import View

__all__ = ["Gloss", "Label", "Way", "confidence", "to_clue", "wording"]

Label = Literal["definition", "restatement", "synonym", "contrast", "example", "cause"]


@dataclass(frozen=True, slots=True)
class Gloss:
    """A term and the words of the passage that give its meaning, or point at it.

    ``variant`` chooses the explanation template. ``cue`` is the word or mark that ties the two.
    ``loose`` marks a tie that only helps a reader who asks about this very word: it is given for
    a target, not shown unasked.
    """

    term: Span
    gloss: Span
    label: Label
    variant: str
    cue: Span | None = None
    loose: bool = False
    values: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Way:
    """One way of giving a meaning: its rule id and its logic.

    ``cues`` are lower-case tokens of which a passage must hold one for the logic to be worth
    running; empty where no single token tells.
    """

    id: str
    cues: frozenset[str]
    find: Callable[[View], Iterable[Gloss]]


@cache
def wording(rule: str) -> dict[str, Any]:
    """The words of a rule: id, kind, title, explanation templates, source and examples."""
    return cast("dict[str, Any]", load_json(shared("rules", f"{rule}.json")))


@cache
def _judgements() -> dict[str, Any]:
    return cast("dict[str, Any]", load_json(artifact("meaning", "judgements.json")))


@cache
def confidence(rule: str, variant: str) -> float:
    """How often this rule was right where its clues were read and judged by hand.

    ``models/meaning/judgements.json`` holds the counts and says where they are from. The share is
    drawn towards the rule's own, and the rule's towards that of all rules together, as if
    ``prior_weight`` more clues had been judged, because some counts are small.
    """
    data = _judgements()
    weight: float = data["prior_weight"]
    counts: dict[str, dict[str, list[int]]] = data["counts"]
    overall = [sum(c[k] for v in counts.values() for c in v.values()) for k in (0, 1)]
    share = overall[0] / sum(overall)
    of_rule = counts.get(rule, {})
    right, wrong = (sum(c[k] for c in of_rule.values()) for k in (0, 1))
    share = (right + weight * share) / (right + wrong + weight)
    right, wrong = of_rule.get(variant, (0, 0))
    return (right + weight * share) / (right + wrong + weight)


def _short(quote: str, limit: int = 30) -> str:
    """A quote that fits an explanation: long ones keep their first words."""
    words = quote.split()
    return " ".join(words) if len(words) <= limit else " ".join(words[:limit]) + " ..."


def to_clue(rule: str, text: Text, found: Gloss, at: Span | None = None) -> Clue:
    """The finding as a clue, with the rule's explanation filled in.

    ``at`` is the place asked about, where it is not the term itself but words on the gloss's side.
    """
    term, gloss = found.term.of(text.passage), found.gloss.of(text.passage)
    variant, spot, other = found.variant, found.term, found.gloss
    if at is not None:
        variant, spot, other, gloss = "near", at, found.term, term
        term = at.of(text.passage)
    values = {"term": _short(term), "gloss": _short(gloss), **found.values}
    if found.cue is not None:
        values["cue"] = _short(found.cue.of(text.passage))
    evidence = [text.evidence(spot, "term"), text.evidence(other, "gloss")]
    if found.cue is not None:
        evidence.append(text.evidence(found.cue, "cue"))
    return Clue(
        kind="meaning",
        start=spot.start,
        end=spot.end,
        quote=spot.of(text.passage),
        label=found.label,
        rule=rule,
        explanation=wording(rule)["explanation"][variant].format_map(values),
        confidence=confidence(rule, found.variant),
        evidence=tuple(evidence),
    )

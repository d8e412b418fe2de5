"""What a way of giving a meaning is: logic in ``ways/``, words in ``shared/rules/``."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
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
def confidence(rule: str, variant: str, *, loose: bool) -> float:
    """How often this rule was right where its clues were read and judged by hand.

    ``models/meaning/judgements.json`` holds the counts and says where they are from: one table for
    clues shown unasked, one for the loose ties that only a question brings up. The share of a
    variant is drawn towards its rule's, and the rule's towards that of its table, as if
    ``prior_weight`` more clues had been judged, because some counts are small.
    """
    data = _judgements()
    weight: float = data["prior_weight"]
    counts: dict[str, dict[str, list[int]]] = data["asked" if loose else "unasked"]
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


def to_clue(
    rule: str, text: Text, found: Gloss, *, at: Span | None = None, mirrored: bool = False
) -> Clue:
    """The finding as a clue, with the rule's explanation filled in.

    ``at`` is the place asked about: the clue stands there. It is part of the term, or, where
    ``mirrored``, of the gloss, so that the term is what tells its meaning.
    """
    spot = found.term if at is None else at
    other = found.term if mirrored else found.gloss
    values = {"term": _short(spot.of(text.passage)), "gloss": _short(other.of(text.passage))}
    evidence = [text.evidence(spot if mirrored else found.term, "term")]
    evidence.append(text.evidence(other, "gloss"))
    if found.cue is not None:
        values["cue"] = _short(found.cue.of(text.passage))
        evidence.append(text.evidence(found.cue, "cue"))
    template: str = wording(rule)["explanation"]["near" if mirrored else found.variant]
    return Clue(
        kind="meaning",
        start=spot.start,
        end=spot.end,
        quote=spot.of(text.passage),
        label=found.label,
        rule=rule,
        explanation=template.format_map(values),
        confidence=confidence(rule, found.variant, loose=found.loose),
        evidence=tuple(evidence),
    )

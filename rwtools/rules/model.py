"""What a rule is: logic here in Python, words in ``shared/rules/<id>.json``."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Any, Literal, cast

from rwtools.clue import Clue, Evidence, Fix, Kind
from rwtools.resources import load_json, shared
from rwtools.text import Text

__all__ = ["Finding", "Rule", "to_clue", "wording"]

Label = Literal["sound", "fault"]


@dataclass(frozen=True, slots=True)
class Finding:
    """Where a rule holds (``sound``) or is broken (``fault``).

    ``values`` fill the rule's explanation template; they are quotes from the passage or plain
    words computed from it. ``variant`` chooses among several templates of one label
    (``fault``, ``fault-question``, ...); empty means the label itself.
    """

    start: int
    end: int
    label: Label
    confidence: float
    values: Mapping[str, str] = field(default_factory=dict)
    evidence: tuple[Evidence, ...] = ()
    fix: tuple[Fix, ...] = ()
    variant: str = ""


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule's id (also the name of its words file, and with ``_`` of its module) and its logic."""

    id: str
    find: Callable[[Text], Iterable[Finding]]


@cache
def wording(rule: str) -> dict[str, Any]:
    """The words of a rule: id, kind, title, explanation templates, source and examples."""
    return cast("dict[str, Any]", load_json(shared("rules", f"{rule}.json")))


def to_clue(rule: str, text: Text, finding: Finding) -> Clue:
    """The finding as a clue, with the rule's explanation filled in."""
    words = wording(rule)
    template: str = words["explanation"][finding.variant or finding.label]
    return Clue(
        kind=cast("Kind", words["kind"]),
        start=finding.start,
        end=finding.end,
        quote=text.quote(finding.start, finding.end),
        label=finding.label,
        rule=rule,
        explanation=template.format_map(finding.values),
        confidence=finding.confidence,
        evidence=finding.evidence,
        fix=finding.fix,
    )

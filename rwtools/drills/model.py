"""The graded drill as pydantic models: what ``report.json`` holds and every view is made from."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field
from typing_extensions import TypedDict  # pydantic needs this one before Python 3.12

from rwtools.items.model import Quote, Skill

__all__ = [
    "Advice",
    "Counts",
    "Explanation",
    "FinerMisses",
    "ItemReport",
    "LearnerReport",
    "Measure",
    "Miss",
    "OrderGroup",
    "Orders",
    "Problem",
    "RaschFit",
    "Report",
    "Share",
    "SkillShare",
    "TimeBand",
    "Timing",
]

Probability = Annotated[float, Field(ge=0, le=1)]
Pace = Literal["slow", "fast", "blank"]


class _Model(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Problem(_Model):
    """Something in the input that could not be used as it stands."""

    file: str | None = None
    line: int | None = None
    field: str | None = None
    kind: str
    why: str

    def __str__(self) -> str:
        """Say where, then what, in one line."""
        where = [
            self.file,
            None if self.line is None else f"line {self.line}",
            None if self.field is None else f"field {self.field}",
        ]
        return ": ".join([", ".join(part for part in where if part), self.why]).removeprefix(": ")


class Counts(_Model):
    """How much was read, and what became of it. ``problems``: how many of each kind."""

    lines: int
    graded: int
    blank: int
    learners: int
    items: int
    items_unused: int
    problems: dict[str, int]


class Share(_Model):
    """``right`` of ``given``, as a share with its Wilson 95% interval (all 0..1)."""

    right: int
    given: int
    share: Probability
    low: Probability
    high: Probability


class SkillShare(Share):
    """A share in one skill; ``seconds``: mean time per item, where times were given."""

    skill: Skill
    seconds: float | None = None


class Miss(TypedDict):
    """One item missed. ``choice`` None: left blank. ``pace``: slow, fast, blank or neither."""

    item: str
    choice: str | None
    seconds: float | None
    pace: Pace | None


class FinerMisses(_Model):
    """Misses in one rule, relation or way of meaning inside a skill.

    ``given``: how many items of the learner's are about it, or None where that isn't known.
    """

    skill: Skill
    label: str
    missed: int
    given: int | None


class Advice(_Model):
    """A skill to practise. ``gain``: answers out of 27 that are at stake (see `grade`)."""

    skill: Skill
    gain: float
    missed: int
    given: int
    label: str | None
    reason: str


class Timing(_Model):
    """Time per item, in seconds, over the answers that carry a time."""

    timed: int
    mean: float
    median: float
    over_budget: int
    slow_and_wrong: int
    fast_and_wrong: int


class LearnerReport(_Model):
    """One learner. ``not_given``: items of the drill without a line for this learner."""

    number: int
    learner: str
    score: Share
    blank: int
    not_given: int
    skills: list[SkillShare]
    timing: Timing | None
    misses: list[Miss]
    finer: list[FinerMisses]
    practise_next: list[Advice]
    order: str | None = None
    ability: float | None = None
    ability_error: float | None = None


class Explanation(_Model):
    """Why the key is right, and why each wrong choice tempts; made once per missed item.

    ``origin``: ``solver`` (computed from the passage), ``rationale`` (the item's own) or ``none``.
    ``doubt``: what the solver found against the key.
    """

    key: str
    label: str | None
    why: str
    origin: Literal["solver", "rationale", "none"]
    tempts: dict[str, str]
    evidence: list[Quote]
    doubt: str | None = None


class RaschFit(_Model):
    """Rasch difficulty in logits with its standard error; mean squares, 1 is what is expected."""

    difficulty: float
    error: float
    infit: float
    outfit: float


class ItemReport(_Model):
    """One item. ``score.share`` is its difficulty: the share of learners who got it right.

    ``discrimination``: corrected point-biserial correlation. ``choices``: how often each was taken.
    ``review``: why somebody should read the item again, in plain words.
    """

    id: str
    skill: Skill
    label: str | None
    key: str
    score: Share
    blank: int
    choices: dict[str, int]
    discrimination: float | None
    seconds: float | None
    rasch: RaschFit | None = None
    review: list[str]


class Measure(_Model):
    """The drill as a measure. A figure that can't be had is None, and ``notes`` say why.

    ``error``: standard error of measurement, in items. ``spread``: standard deviation of scores.
    """

    complete_learners: int
    mean: float | None = None
    spread: float | None = None
    kr20: float | None = None
    alpha: float | None = None
    error: float | None = None
    rasch_learners: int | None = None
    rasch_spread: float | None = None
    notes: list[str]


class OrderGroup(_Model):
    """The learners who took the drill in one order; means over learners, 95% t intervals."""

    order: str
    learners: int
    share: Probability
    low: Probability | None
    high: Probability | None
    seconds: float | None
    seconds_low: float | None
    seconds_high: float | None


class Orders(_Model):
    """Orders of attack compared. ``p``: how often chance alone makes so large a gap."""

    groups: list[OrderGroup]
    p_share: float | None
    p_seconds: float | None
    sentence: str


class TimeBand(Share):
    """Answers whose time lies in ``[start, end)`` seconds; ``end`` None: no upper limit."""

    start: float
    end: float | None


class Report(_Model):
    """A graded drill."""

    budget_seconds: float
    counts: Counts
    notes: list[str]
    problems: list[Problem]
    skills: list[SkillShare]
    time_bands: list[TimeBand]
    measure: Measure | None
    orders: Orders | None
    learners: list[LearnerReport]
    items: list[ItemReport]
    explanations: dict[str, Explanation]

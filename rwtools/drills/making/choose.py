"""Choose the wrong choices: tempting, yet wrong by the judge's word as well as by the maker's."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, replace

from rwtools import judge, transitions
from rwtools.clue import Span
from rwtools.drills.making.draft import Draft, Option
from rwtools.items.model import Skill
from rwtools.text import Text
from rwtools.transitions import relation_of

__all__ = ["MARGIN", "Chosen", "choose", "shortlist", "weigh"]

MARGIN: dict[Skill, float] = {
    "transition": 1.0,
    "punctuation": 0.7,
    "grammar": 1.0,
    "vocabulary": 2.5,
}
"""How much likelier than a wrong choice the judge must find the key (natural log): a factor of 2.7,
2, 2.7 and 12. Random words are wrong more loosely than marks and forms, hence the wide margin."""

_CLOSE = 1.2
"""Where the best wrong choice comes so near above the margin, the item is one step harder."""

_SHORTLIST = 12
_NEAR_BY = 12  # characters behind a blank that a shortlist looks at
_TEMPTING = 8
_REAL_SHARE = 0.15  # of a connective's uses: relations that it shows more rarely don't count


@dataclass(frozen=True, slots=True)
class Chosen:
    """The wrong choices of a draft and its hardness, or the ``reason`` why there are none."""

    wrong: tuple[Option, ...] = ()
    hardness: int = 0
    reason: str = ""


def weigh(text: Text, drafts: Sequence[Draft], frames: Sequence[Span]) -> list[list[float] | None]:
    """For each draft the judge's log-probabilities of its key and options (None: not a blank).

    The judge reads what the learner will read: the part of the passage in the draft's frame.
    """
    places = []
    for draft, shown in zip(drafts, frames, strict=True):
        if not draft.target:
            choices = [draft.key, *(option.text for option in draft.options)]
            before = text.quote(shown.start, draft.place.start)
            places.append((before, choices, text.quote(draft.place.end, shown.end)))
    scores = iter(judge.compare_many(places))
    return [None if draft.target else next(scores) for draft in drafts]


def shortlist(text: Text, draft: Draft, shown: Span) -> Draft:
    """A draft with many options (vocabulary) cut down to those that go best with the words near by.

    Only a few words behind the blank are read, so that many options cost little.
    """
    if draft.target or len(draft.options) <= _SHORTLIST:
        return draft
    behind = text.quote(draft.place.end, min(shown.end, draft.place.end + _NEAR_BY))
    before = text.quote(shown.start, draft.place.start)
    options = draft.options
    scores = judge.compare(before, [option.text for option in options], behind)
    best = sorted(range(len(options)), key=lambda n: (-scores[n], options[n].text))[:_SHORTLIST]
    return replace(draft, options=tuple(options[n] for n in best))


def choose(
    text: Text, draft: Draft, scores: list[float] | None, rng: random.Random, count: int = 3
) -> Chosen:
    """Wrong choices on which judge and maker agree, or the reason why the draft is dropped."""
    if draft.skill == "transition":
        reason = _unclear_relation(text, draft)
        if reason:
            return Chosen(reason=reason)
    if scores is None:
        return Chosen(_groups(draft.options, count), draft.hardness)
    margins = [scores[0] - score for score in scores[1:]]
    wrong = [
        (margin, option)
        for margin, option in zip(margins, draft.options, strict=True)
        if margin >= MARGIN[draft.skill] and not _may_fit(draft, option)
    ]
    if draft.skill != "vocabulary" and max(scores[1:]) > scores[0]:
        return Chosen(reason="the judge prefers another choice")
    wrong.sort(key=lambda pair: pair[0])
    if draft.skill == "vocabulary":
        wrong = wrong[:_TEMPTING]
        rng.shuffle(wrong)
    picked = _groups([option for _, option in wrong], count)
    if len(picked) < count:
        return Chosen(reason="the judge finds too few choices wrong")
    best = min(margin for margin, option in wrong if option in picked)
    harder = best < MARGIN[draft.skill] + _CLOSE
    return Chosen(picked, min(4, draft.hardness + harder))


def _groups(options: Sequence[Option], count: int) -> tuple[Option, ...]:
    found: dict[str, Option] = {}
    for option in options:
        found.setdefault(option.group or option.text, option)
    return tuple(found.values())[:count]


def _unclear_relation(text: Text, draft: Draft) -> str:
    """Whether the relation model reads the passage's own connective otherwise than the maker."""
    for clue in transitions.find(text):
        if clue.start <= draft.place.start and draft.place.end <= clue.end:
            if clue.label == draft.point or _same_family(clue.label, draft.point):
                return ""
            return "the relation model reads the passage otherwise"
    return "the relation model finds no relation"


_FAMILIES = (
    frozenset({"contrast", "concession"}),
    frozenset({"restatement", "detail"}),
    frozenset({"addition", "similarity"}),
)


def _same_family(one: str, two: str) -> bool:
    return any({one, two} <= family for family in _FAMILIES)


def _may_fit(draft: Draft, option: Option) -> bool:
    """Whether the lexicon gives a wrong connective the relation of the right one too."""
    if draft.skill != "transition":
        return False
    return any(
        share >= _REAL_SHARE and (relation == draft.point or _same_family(relation, draft.point))
        for relation, _, share in relation_of(option.text)
    )

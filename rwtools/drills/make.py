"""Make practice items from passages: drafts, then only those on which all checks agree."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from contextlib import ExitStack
from dataclasses import asdict, dataclass, field
from itertools import chain, islice
from typing import Any

from rwtools.clue import Span
from rwtools.drills.making import grammar, punctuation, transition, vocabulary
from rwtools.drills.making.build import build, frame, pick, reorder
from rwtools.drills.making.choose import choose, shortlist, weigh
from rwtools.drills.making.draft import Draft
from rwtools.drills.making.faults import FaultySentence, faulty_sentences, why_left_out
from rwtools.drills.making.window import sound_sentences, words
from rwtools.drills.spread import Spread, processes
from rwtools.errors import UsageError
from rwtools.items.model import Item, Skill
from rwtools.items.solving import work_out
from rwtools.items.vet import problems_of
from rwtools.text import Text, check_passage, parse

__all__ = [
    "SKILLS_MADE",
    "MakeReport",
    "Yield",
    "candidates",
    "drafts",
    "from_passage",
    "make",
    "make_items",
]

SKILLS_MADE: tuple[Skill, ...] = ("transition", "punctuation", "grammar", "vocabulary")
_MAKERS = {
    "transition": transition.drafts,
    "punctuation": punctuation.drafts,
    "grammar": grammar.drafts,
    "vocabulary": vocabulary.drafts,
}
_TRIES = 3
"""How many drafts are tried for each item that a passage may give in one skill."""

_WORDS_PER_ITEM = 90
"""A passage gives at most one item a skill for so many words, so that it isn't asked to death."""

_TOO_LIKE = 0.7
"""Share of common words from which two items of one passage and skill are too like each other."""

_SURE = 0.55
"""The probability that the solver must give the key: well above where it begins to answer."""

_GROUP = 16
"""Passages that are worked on before it is looked which skills are still wanted."""


def drafts(text: Text, skill: str, rng: random.Random) -> Iterator[Draft]:
    """What could be asked about a passage in one skill; nothing is checked yet."""
    if skill not in _MAKERS:
        raise UsageError(
            f"there is no skill {skill!r} to make; there are {', '.join(SKILLS_MADE)}",
            field="skill",
        )
    if not text.verse:
        for draft in _MAKERS[skill](text, rng):
            if _stands_free(text, draft.place):
                yield draft


def _stands_free(text: Text, place: Span) -> bool:
    """Whether a place is no part of a longer word: *being* in *well-being* is."""
    before, after = text.passage[: place.start][-1:], text.passage[place.end :][:1]
    return not any(c.isalnum() or c in "-_/" for c in before + after)


def candidates(
    text: Text, skill: str, rng: random.Random, *, source: str = "made"
) -> Iterator[Item]:
    """Items made from a parsed passage, unfiltered: neither judged, nor vetted, nor solved.

    The key is the passage's own wording; its letter is drawn by ``rng``. The wrong choices are
    drawn too, so the same seed gives the same items.
    """
    sound = sound_sentences(text)
    for draft in drafts(text, skill, rng):
        wrong = pick(draft.options)
        shown = frame(draft, text, sound, rng)
        if len(wrong) == 3 and shown is not None:
            yield build(draft, wrong, text, shown, rng, source=source)


@dataclass(slots=True)
class Yield:
    """What one passage gave: items by skill, how many drafts were tried, why others fell, and which
    sentences no item shows, because a rule finds a fault in them."""

    items: dict[str, list[Item]] = field(default_factory=dict)
    tried: Counter[str] = field(default_factory=Counter)
    dropped: Counter[tuple[str, str]] = field(default_factory=Counter)
    faulty: list[FaultySentence] = field(default_factory=list)


@dataclass(slots=True)
class MakeReport:
    """What became of the passages and drafts of a run.

    ``made`` and ``tried`` count items and drafts by skill; ``dropped`` counts the drafts that were
    tried and not kept, by skill and reason; ``short`` says how many items fewer than asked for a
    skill gave (only with a count). ``faulty`` are the sentences that no item shows, because a rule
    finds a fault in them.
    """

    passages: int = 0
    made: Counter[str] = field(default_factory=Counter)
    tried: Counter[str] = field(default_factory=Counter)
    dropped: Counter[tuple[str, str]] = field(default_factory=Counter)
    short: Counter[str] = field(default_factory=Counter)
    faulty: list[FaultySentence] = field(default_factory=list)

    def to_dict(self) -> dict[str, Any]:
        """The report as JSON-ready data, sorted."""
        reasons: dict[str, dict[str, int]] = {}
        for (skill, reason), count in sorted(self.dropped.items()):
            reasons.setdefault(skill, {})[reason] = count
        return {
            "passages": self.passages,
            "made": dict(sorted(self.made.items())),
            "tried": dict(sorted(self.tried.items())),
            "dropped": reasons,
            "short": dict(sorted(self.short.items())),
            "faulty": [asdict(sentence) for sentence in self.faulty],
        }


def from_passage(
    source: str, passage: str, index: int, skills: Sequence[str], difficulty: int | None, seed: int
) -> Yield:
    """All items that one passage gives; depends on its arguments only, so it can run anywhere."""
    text = parse(passage)
    sound = sound_sentences(text)
    faulty = {} if text.verse else faulty_sentences(text, source)
    found = Yield(faulty=list(faulty.values()))
    fit = [is_sound and n not in faulty for n, is_sound in enumerate(sound)]
    most = max(1, words(passage) // _WORDS_PER_ITEM)
    waiting: dict[str, list[Item]] = {}
    for skill in skills:
        rng = random.Random(f"{seed} {index} {skill} {source}")
        framed: list[tuple[Draft, Span]] = []
        for draft in _varied(list(drafts(text, skill, rng)), rng):
            shown = frame(draft, text, fit, rng)
            if shown is not None and len(framed) < most * _TRIES:
                framed.append((shortlist(text, draft, shown), shown))
            elif shown is None and (reason := why_left_out(text, draft, sound, faulty)):
                found.tried[skill] += 1
                found.dropped[skill, reason] += 1
        found.tried[skill] += len(framed)
        weights = weigh(text, [d for d, _ in framed], [s for _, s in framed])
        for (draft, shown), scores in zip(framed, weights, strict=True):
            item = _item(text, draft, shown, scores, rng, source)
            if isinstance(item, Item) and difficulty is not None and item.difficulty != difficulty:
                item = "another difficulty"
            if isinstance(item, Item):
                waiting.setdefault(skill, []).append(item)
            else:
                found.dropped[skill, item] += 1
    _keep(found, waiting, most)
    return found


def _keep(found: Yield, waiting: dict[str, list[Item]], most: int) -> None:
    """Check the waiting items, as many at a time as are still wanted, all skills in one batch."""
    while True:
        batch: list[Item] = []
        for skill, items in waiting.items():
            room = most - len(found.items.get(skill, ()))
            if not room and items:
                found.dropped[skill, "the passage has enough items"] += len(items)
            chosen = items[:room]
            waiting[skill] = items[room:] if room else []
            kept = [*found.items.get(skill, ())]
            for item in chosen:
                if any(_alike(item, other) for other in kept):
                    found.dropped[skill, "too like another item"] += 1
                else:
                    kept.append(item)
                    batch.append(item)
        if not batch and not any(waiting.values()):
            return
        for item, reason in zip(batch, _faults(batch), strict=True):
            if reason:
                found.dropped[item.skill, reason] += 1
            else:
                found.items.setdefault(item.skill, []).append(item)


def _alike(one: Item, other: Item) -> bool:
    """Whether two items of one skill show nearly the same words (vetting minds from 0.8)."""
    ours, theirs = set(one.passage.lower().split()), set(other.passage.lower().split())
    return len(ours & theirs) >= _TOO_LIKE * len(ours | theirs)


def _varied(found: list[Draft], rng: random.Random) -> list[Draft]:
    """The drafts in random order, but every point once before any comes again; one per place."""
    rng.shuffle(found)
    rounds: Counter[str] = Counter()
    ranked = []
    for draft in found:
        ranked.append((rounds[draft.point], draft))
        rounds[draft.point] += 1
    ranked.sort(key=lambda pair: pair[0])
    kept: list[Draft] = []
    for _, draft in ranked:
        if not any(draft.place.overlaps(other.place) for other in kept):
            kept.append(draft)
    return kept


def _item(
    text: Text,
    draft: Draft,
    shown: Span,
    scores: list[float] | None,
    rng: random.Random,
    source: str,
) -> Item | str:
    """The item of a draft, or the reason why there is none."""
    chosen = choose(text, draft, scores, rng)
    if chosen.reason:
        return chosen.reason
    if len(chosen.wrong) < 3:
        return "too few wrong choices"
    item = build(draft, chosen.wrong, text, shown, rng, source=source)
    return item.model_copy(update={"difficulty": chosen.hardness})


def _faults(items: Sequence[Item]) -> list[str]:
    """For each item the reason to drop it, or an empty string."""
    reasons = []
    for item, worked in zip(items, work_out(items), strict=True):
        problems = problems_of(item, worked)
        if problems:
            reasons.append(f"vetting: {problems[0].code}")
        elif worked is None or not worked.decided:
            reasons.append("the solver leaves it open")
        elif item.letters[worked.best] != item.answer:
            reasons.append("the solver takes another choice")
        elif worked.chances[worked.best] < _SURE:
            reasons.append("the solver is not sure enough")
        else:
            reasons.append("")
    return reasons


def make_items(
    passages: Iterable[str | tuple[str, str]],
    *,
    skills: Collection[str] | None = None,
    count: int | None = None,
    difficulty: int | None = None,
    seed: int = 0,
    jobs: int = 1,
    spread: Spread | None = None,
    advance: Callable[[int], None] = lambda done: None,
) -> tuple[list[Item], MakeReport]:
    """Practice items from passages (or pairs of a name and a passage), and what became of the rest.

    An item is kept where the judge and the relation model agree that its wrong choices are wrong,
    vetting finds nothing, and the solver arrives at the key. ``skills``: some of `SKILLS_MADE`;
    ``count``: how many items in all, in equal parts by skill; ``difficulty`` 1 (easy) to 4 keeps
    only such items. The same passages, options and ``seed`` give the same items, whatever the
    number of processes (``jobs``) or the way to ``spread`` the work. ``advance`` is called
    with the number of passages done. The stream of passages is read as far as needed.
    Raises `UsageError` for options out of range and `PassageError` for a passage that cannot be
    read.
    """
    wanted = _wanted_skills(skills)
    _check_numbers(count, difficulty, jobs)
    quota = _quotas(wanted, count)
    report = MakeReport()
    kept: dict[str, list[Item]] = {skill: [] for skill in wanted}
    seen: set[str] = set()
    with ExitStack() as stack:
        work = spread or stack.enter_context(processes(jobs))
        for group in _groups(passages, None if count is None else _GROUP):
            open_skills = tuple(
                s for s in wanted if count is None or len(kept[s]) < min(count, 2 * quota[s])
            )
            if count is not None and all(len(kept[s]) >= quota[s] for s in wanted):
                break
            calls = (
                (source, passage, index, open_skills, difficulty, seed)
                for index, source, passage in group
            )
            for result in work(from_passage, calls):
                _collect(result, kept, seen, report)
                advance(1)
    return _settled(kept, quota, count, seed, report), report


make = make_items
"""The public name of `make_items`."""


def _wanted_skills(skills: Collection[str] | None) -> tuple[str, ...]:
    for skill in skills or ():
        if skill not in SKILLS_MADE:
            raise UsageError(
                f"there is no skill {skill!r} to make; there are {', '.join(SKILLS_MADE)}",
                field="skill",
            )
    return tuple(s for s in SKILLS_MADE if not skills or s in skills)


def _check_numbers(count: int | None, difficulty: int | None, jobs: int) -> None:
    if count is not None and count < 1:
        raise UsageError("the count must be 1 or more", field="count")
    if difficulty is not None and not 1 <= difficulty <= 4:
        raise UsageError("the difficulty goes from 1 (easy) to 4 (hard)", field="difficulty")
    if jobs < 1:
        raise UsageError("there must be 1 job or more", field="jobs")


def _quotas(skills: Sequence[str], count: int | None) -> dict[str, int]:
    if count is None:
        return dict.fromkeys(skills, 0)
    share, rest = divmod(count, len(skills))
    return {skill: share + (n < rest) for n, skill in enumerate(skills)}


def _groups(
    passages: Iterable[str | tuple[str, str]], size: int | None
) -> Iterator[Iterator[tuple[int, str, str]]]:
    """Numbered passages, checked: ``size`` at a time, or all in one group."""
    numbered = _numbered(passages)
    while first := next(numbered, None):
        group = numbered if size is None else islice(numbered, size - 1)
        yield chain([first], group)


def _numbered(passages: Iterable[str | tuple[str, str]]) -> Iterator[tuple[int, str, str]]:
    for index, given in enumerate(passages):
        source, passage = (f"passage {index + 1}", given) if isinstance(given, str) else given
        yield index, source, check_passage(passage)


def _collect(
    result: Yield, kept: dict[str, list[Item]], seen: set[str], report: MakeReport
) -> None:
    """Add what one passage gave; an item that was met before counts as dropped."""
    report.passages += 1
    report.tried += result.tried
    report.dropped += result.dropped
    report.faulty += result.faulty
    for skill, items in result.items.items():
        for item in items:
            if item.id in seen:
                report.dropped[skill, "the same item again"] += 1
            else:
                seen.add(item.id)
                kept[skill].append(item)


def _settled(
    kept: dict[str, list[Item]],
    quota: dict[str, int],
    count: int | None,
    seed: int,
    report: MakeReport,
) -> list[Item]:
    """The items in the order of skills, as many as asked, with their keys spread evenly."""
    taken = kept
    if count is not None:
        taken = {skill: items[: quota[skill]] for skill, items in kept.items()}
        for skill, items in taken.items():
            if len(items) < quota[skill]:
                report.short[skill] = quota[skill] - len(items)
        missing = count - sum(map(len, taken.values()))
        for skill, items in kept.items():
            more = items[quota[skill] : quota[skill] + missing]
            taken[skill] = taken[skill] + more
            missing -= len(more)
    for skill, items in taken.items():
        report.made[skill] += len(items)
    # The items count too: with the seed alone, the first key of a skill would be the same letter
    # whatever the text.
    names = " ".join(item.id for items in taken.values() for item in items)
    letters = _letters([len(items) for items in taken.values()], random.Random(f"{seed} {names}"))
    return [
        reorder(item, letter)
        for items, keys in zip(taken.values(), letters, strict=True)
        for item, letter in zip(items, keys, strict=True)
    ]


def _letters(counts: Sequence[int], rng: random.Random) -> list[list[str]]:
    """Keys for each skill in mixed order, each letter in a quarter of the places of every skill and
    of all together."""
    found: list[list[str]] = []
    spare: list[str] = []
    for count in counts:
        keys = list("ABCD" * (count // 4))
        rest: list[str] = []
        for _ in range(count % 4):
            spare = spare or rng.sample("ABCD", 4)
            rest.append(next(key for key in spare if key not in rest))
            spare.remove(rest[-1])
        keys += rest
        rng.shuffle(keys)
        found.append(keys)
    return found

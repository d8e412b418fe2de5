"""Grading: a drill's answers become scores, times, misses, item statistics and advice.

What to practise next: for each skill, ``gain = 27 x weight x missed``, the number of answers at
stake in a sitting of 27 items. ``weight`` is the skill's share of the items the learner was given.
``missed`` is the share missed, drawn towards the learner's overall share by four imagined
answers: ``(misses + 4 x overall) / (given + 4)``. Four is the square of 1.96, as in Agresti and
Coull (1998), The American Statistician 52, 119-126: a skill seen in two items alone can't come
first by bad luck. All skills count as equally learnable: nothing in the data says otherwise.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from os import PathLike
from typing import TYPE_CHECKING, Any

import numpy as np

from rwtools.drills.answers import DAY, Answers, Checked, check_answers, from_records, read_file
from rwtools.drills.explain import Explain, explain_item, finer_label, from_rationale, solved
from rwtools.drills.model import (
    Advice,
    Counts,
    Explanation,
    FinerMisses,
    ItemReport,
    LearnerReport,
    Measure,
    Problem,
    RaschFit,
    Report,
    Share,
    SkillShare,
    TimeBand,
    Timing,
)
from rwtools.drills.orders import compare_orders, order_of_each
from rwtools.drills.statistics import alpha, kr20, measurement_error, wilson
from rwtools.errors import InputError, RwtoolsError
from rwtools.items.model import LETTERS, SKILLS, Item, read_item

if TYPE_CHECKING:
    import polars as pl

__all__ = ["BUDGET", "CLASS", "MOST_SOLVED", "SITTING", "grade"]

# Common practice, no published source: 32 minutes for 27 items; an answer in under a third of the
# time for an item is a quick one.
SITTING = 27
BUDGET = 32 * 60 / SITTING
FAST = 1 / 3
# Item statistics of fewer learners say next to nothing.
CLASS = 10
_PULL = 4
# Items that nobody missed are worked out too, for counts such as "4 of 5", in drills up to this.
_MOST_LABELLED = 300
MOST_SOLVED = 120
_MANY = (
    "{missed} items were missed. That is many, so their own rationales explain them; with "
    "--all-steps the solver works them all out, about three in a second."
)
_MOST_CELLS = 20_000_000
# A wrong choice is worth a look when so large a part of the class took it.
_ENOUGH = 0.3
NAMES = {skill: skill.replace("_", " ") for skill in SKILLS}


def grade(
    items: Iterable[Item | Mapping[str, Any]],
    answers: str | PathLike[str] | Answers | Iterable[Mapping[str, Any]],
    *,
    explain: Explain | None = None,
    most: int | None = MOST_SOLVED,
    budget: float = BUDGET,
    problems: Sequence[Problem] = (),
    advance: Callable[[int, int], None] | None = None,
) -> Report:
    """Grade the answers of one or many learners.

    ``items`` may be `Item` objects or JSON-ready records; their ids must differ. ``answers`` is a
    file (CSV or JSON Lines), what `read_answers` gives, or mappings with learner, item, answer and
    maybe seconds and position. ``explain`` works out an item (None: the solver of `rwtools.items`);
    it is asked once per item. Where more than ``most`` items were missed, the solver is not asked
    and the items' own rationales explain them (None: it is always asked). ``budget`` is the time
    for an item in seconds. ``problems`` are those of the item file, to be listed with the rest.
    ``advance(done, all)`` is told of each item explained. A blank answer is wrong, and is counted
    apart.

    Raises `InputError` if no answer at all can be graded, `ItemError` for a record that is no item
    and `UnreadableFileError` for a file that can't be read.
    """
    import polars as pl

    bank = [item if isinstance(item, Item) else read_item(dict(item)) for item in items]
    if len({item.id.strip() for item in bank}) < len(bank):
        raise InputError("two items have the same id", field="id")
    if isinstance(answers, str | PathLike):
        answers = read_file(answers)
    elif not isinstance(answers, Answers):
        answers = from_records(answers)
    if not 0 < budget <= DAY:
        raise InputError("the time for an item must be more than 0 seconds and at most a day")
    checked = check_answers(answers, bank)
    if checked.frame.height == 0:
        first = f" ({checked.problems[0].why})" if checked.problems else ""
        raise InputError(f"no answer can be graded{first}", file=answers.name)
    skills = pl.Series([SKILLS.index(item.skill) for item in bank], dtype=pl.UInt8)
    wrong = ~pl.col("right")
    frame = checked.frame.with_columns(
        skill=skills.gather(checked.frame["item"]),
        pace=pl.when(pl.col("choice") < 0).then(pl.lit("blank"))
        .when(wrong & (pl.col("seconds") > budget)).then(pl.lit("slow"))
        .when(wrong & (pl.col("seconds") < FAST * budget)).then(pl.lit("fast")),
    )  # fmt: skip
    missed = frame.filter(~pl.col("right"))["item"].n_unique()
    many = explain is None and most is not None and missed > most
    if many:
        explain = from_rationale
    failures: list[RwtoolsError] = []
    explanations, labels, counted = _explained(bank, frame, explain, advance, failures.append)
    placed = order_of_each(frame, bank)
    rasch_items, abilities, measure = _measure(bank, frame, len(checked.learners))
    learners = _learners(bank, frame, checked.learners, labels, counted, placed, abilities, budget)
    kinds = dict(checked.kinds)
    for problem in problems:
        kinds[problem.kind] = kinds.get(problem.kind, 0) + 1
    used = frame["item"].n_unique()
    return Report(
        budget_seconds=budget,
        counts=Counts(
            lines=checked.lines,
            graded=frame.height,
            blank=int((frame["choice"] < 0).sum()),
            learners=len(learners),
            items=used,
            items_unused=len(bank) - used,
            problems=dict(sorted(kinds.items())),
        ),
        notes=[
            *answers.notes,
            *_notes(checked, len(learners)),
            *_unsolved(explanations, explain, failures),
            *([_MANY.format(missed=missed)] if many else []),
        ],
        problems=[*problems, *checked.problems],
        skills=_skill_shares(frame, []).get((), []),
        time_bands=_time_bands(frame, budget),
        measure=measure,
        orders=compare_orders(frame, placed),
        learners=learners,
        items=_items(bank, frame, explanations, labels, rasch_items, budget),
        explanations=explanations,
    )


def _notes(checked: Checked, learners: int) -> list[str]:
    notes = []
    if 1 < learners < CLASS:
        notes.append(
            f"Figures about single items need {CLASS} learners or more. This class has {learners}, "
            "so they are left out."
        )
    if checked.frame["seconds"].null_count() == checked.frame.height:
        notes.append("The answers carry no times.")
    return notes


def _unsolved(
    explanations: Mapping[str, Explanation],
    explain: Explain | None,
    failures: Sequence[RwtoolsError],
) -> list[str]:
    """Say how many explanations the solver did not make, where it was asked for them."""
    others = sum(told.origin != "solver" for told in explanations.values())
    if explain is not None or not others:
        return []
    if failures:
        return [
            f"The solver could not do its work ({failures[0]}). The items' own rationales explain "
            f"{others} of {len(explanations)} missed items."
        ]
    return [
        f"{others} of {len(explanations)} missed items could not be worked out with enough "
        "certainty; the items' own rationales explain them."
    ]


def _explained(
    items: Sequence[Item],
    frame: pl.DataFrame,
    explain: Explain | None,
    advance: Callable[[int, int], None] | None,
    failed: Callable[[RwtoolsError], None],
) -> tuple[dict[str, Explanation], list[str | None], bool]:
    """Explanations of missed items, by id; what each item is about, where that is known; and
    whether that was looked up for the items that nobody missed too.

    Those are worked out only to count them beside missed ones of their skill.
    """
    import polars as pl

    missed = frame.filter(~pl.col("right"))["item"].unique().sort().to_list()
    explanations: dict[str, Explanation] = {}
    labels: list[str | None] = [None] * len(items)
    done = 0
    labelled_skills = set()
    solutions = solved([items[index] for index in missed], explain, failed)
    for index, solution in zip(missed, solutions, strict=True):
        item = items[index]
        made = explain_item(item, solution)
        explanations[item.id] = made
        labels[index] = made.label
        if made.label:
            labelled_skills.add(item.skill)
        done += 1
        if advance:
            advance(done, len(missed))
    others = sorted(set(frame["item"].unique().to_list()) - set(missed))
    others = [i for i in others if items[i].skill in labelled_skills]
    all_looked_up = len(missed) + len(others) <= _MOST_LABELLED
    if all_looked_up:
        solutions = solved([items[index] for index in others], explain)
        for index, solution in zip(others, solutions, strict=True):
            labels[index] = finer_label(items[index], solution)
            done += 1
            if advance:
                advance(done, len(missed) + len(others))
    return explanations, labels, all_looked_up


# Shares


def _skill_shares(frame: pl.DataFrame, by: list[str]) -> dict[tuple[Any, ...], list[SkillShare]]:
    """Shares by skill, in the order of `SKILLS`, for each value of the columns ``by``."""
    import polars as pl

    table = (
        frame.group_by(*by, "skill")
        .agg(right=pl.col("right").sum(), given=pl.len(), seconds=pl.col("seconds").mean())
        .sort(*by, "skill")
    )
    low, high = wilson(table["right"], table["given"])
    found: dict[tuple[Any, ...], list[SkillShare]] = defaultdict(list)
    for row, (a, b) in zip(table.iter_rows(named=True), zip(low, high, strict=True), strict=True):
        found[tuple(row[c] for c in by)].append(
            SkillShare(
                skill=SKILLS[row["skill"]],
                right=row["right"],
                given=row["given"],
                share=row["right"] / row["given"],
                low=float(a),
                high=float(b),
                seconds=None if row["seconds"] is None else round(row["seconds"], 1),
            )
        )
    return found


def _shares(right: Sequence[int], given: Sequence[int]) -> list[Share]:
    low, high = wilson(right, given)
    return [
        Share(right=r, given=n, share=r / n if n else 0.0, low=float(a), high=float(b))
        for r, n, a, b in zip(right, given, low, high, strict=True)
    ]


def _time_bands(frame: pl.DataFrame, budget: float) -> list[TimeBand]:
    """How many answers were right, by the time they took (bands in thirds of the budget)."""
    import polars as pl

    edges = [round(budget * part) for part in (0, 1 / 3, 2 / 3, 1, 1.5, 2)]
    timed = frame.filter(pl.col("seconds").is_not_null() & (pl.col("choice") >= 0))
    bands = []
    for start, end in zip(edges, [*edges[1:], None], strict=True):
        inside = pl.col("seconds") >= start
        if end is not None:
            inside &= pl.col("seconds") < end
        part = timed.filter(inside)["right"]
        if len(part):
            share = _shares([int(part.sum())], [len(part)])[0]
            bands.append(TimeBand(start=start, end=end, **share.model_dump()))
    return bands


# Learners


def _learners(
    items: Sequence[Item],
    frame: pl.DataFrame,
    names: Sequence[str],
    labels: Sequence[str | None],
    counted: bool,
    placed: pl.DataFrame,
    abilities: Mapping[int, tuple[float, float]],
    budget: float,
) -> list[LearnerReport]:
    import polars as pl

    used = frame["item"].n_unique()
    totals = frame.group_by("learner").agg(
        right=pl.col("right").sum(),
        given=pl.len(),
        blank=(pl.col("choice") < 0).sum(),
        timed=pl.col("seconds").count(),
        mean=pl.col("seconds").mean(),
        median=pl.col("seconds").median(),
        over=(pl.col("seconds") > budget).sum(),
        slow=(pl.col("pace") == "slow").sum(),
        fast=(pl.col("pace") == "fast").sum(),
    )
    rows = sorted(totals.iter_rows(named=True), key=lambda r: _by_name(names[r["learner"]]))
    scores = _shares([r["right"] for r in rows], [r["given"] for r in rows])
    skills = _skill_shares(frame, ["learner"])
    misses = _misses(frame, items)
    finer = _finer(frame, labels, counted)
    orders = dict(placed.iter_rows())
    made = []
    for number, (row, score) in enumerate(zip(rows, scores, strict=True), 1):
        learner = row["learner"]
        ability = abilities.get(learner)
        made.append(
            LearnerReport(
                number=number,
                learner=names[learner],
                score=score,
                blank=row["blank"],
                not_given=used - row["given"],
                skills=skills[(learner,)],
                timing=None
                if not row["timed"]
                else Timing(
                    timed=row["timed"],
                    mean=round(row["mean"], 1),
                    median=round(row["median"], 1),
                    over_budget=row["over"],
                    slow_and_wrong=row["slow"],
                    fast_and_wrong=row["fast"],
                ),
                misses=misses.get(learner, []),
                finer=finer.get(learner, []),
                practise_next=_advice(score, skills[(learner,)], finer.get(learner, [])),
                order=orders.get(learner),
                ability=None if ability is None else round(ability[0], 3),
                ability_error=None if ability is None else round(ability[1], 3),
            )
        )
    return made


def _by_name(name: str) -> tuple[str, str]:
    return name.casefold(), name


def _misses(frame: pl.DataFrame, items: Sequence[Item]) -> dict[int, list[Any]]:
    """Each learner's misses in the order of the items."""
    import polars as pl

    ids = pl.Series([item.id for item in items], dtype=pl.String)
    letters = pl.Series(list(LETTERS), dtype=pl.String)
    missed = frame.filter(~pl.col("right")).sort("learner", "item")
    choice = pl.when(pl.col("choice") >= 0).then(pl.col("choice")).cast(pl.UInt32)
    rows = missed.select(
        item=ids.gather(missed["item"]),
        choice=letters.gather(missed.select(choice).to_series()),
        seconds=pl.col("seconds").round(1),
        pace=pl.col("pace"),
    ).to_dicts()
    runs = missed["learner"].rle().struct.unnest()
    found, start = {}, 0
    for length, learner in runs.select("len", "value").iter_rows():
        found[learner] = rows[start : start + length]
        start += length
    return found


def _finer(
    frame: pl.DataFrame, labels: Sequence[str | None], counted: bool
) -> dict[int, list[FinerMisses]]:
    """Each learner's misses by rule or relation, most missed first.

    How many such items were given is told only where all items were looked up (``counted``).
    """
    import polars as pl

    column = pl.Series(labels, dtype=pl.String).gather(frame["item"]).alias("label")
    table = (
        frame.select("learner", "skill", "right", column)
        .filter(pl.col("label").is_not_null())
        .group_by("learner", "skill", "label")
        .agg(missed=(~pl.col("right")).sum(), given=pl.len())
        .filter(pl.col("missed") > 0)
        .sort(["missed", "given", "skill", "label"], descending=[True, False, False, False])
    )
    found: dict[int, list[FinerMisses]] = defaultdict(list)
    for row in table.iter_rows(named=True):
        found[row["learner"]].append(
            FinerMisses(
                skill=SKILLS[row["skill"]],
                label=row["label"],
                missed=row["missed"],
                given=row["given"] if counted else None,
            )
        )
    return found


def _advice(
    score: Share, skills: Sequence[SkillShare], finer: Sequence[FinerMisses]
) -> list[Advice]:
    """The three skills where practice can gain most (the formula is at the top of this file)."""
    overall = 1 - score.share
    ranked = []
    for skill in skills:
        missed = skill.given - skill.right
        if missed:
            share = (missed + _PULL * overall) / (skill.given + _PULL)
            ranked.append((SITTING * skill.given / score.given * share, missed, skill))
    ranked.sort(key=lambda entry: (-entry[0], -entry[1], SKILLS.index(entry[2].skill)))
    advice = []
    for gain, missed, skill in ranked[:3]:
        points = [f for f in finer if f.skill == skill.skill]
        # One miss of a kind is no pattern.
        point = points[0] if points and points[0].missed > 1 else None
        advice.append(
            Advice(
                skill=skill.skill,
                gain=round(gain, 2),
                missed=missed,
                given=skill.given,
                label=None if point is None else point.label,
                reason=_reason(skill, missed, gain, point),
            )
        )
    return advice


def _reason(skill: SkillShare, missed: int, gain: float, point: FinerMisses | None) -> str:
    said = f"You missed {missed} of {skill.given} {NAMES[skill.skill]} items."
    if point is not None:
        of = f" of {point.given}" if point.given else ""
        said += f" Look first at this: {point.label}, missed {point.missed}{of}."
    stake = (
        f"about {gain:.0f} answers are"
        if gain >= 1.5
        else "about 1 answer is"
        if gain >= 0.75
        else "less than 1 answer is"
    )
    return f"{said} In a sitting of {SITTING} items, {stake} at stake here."


# Items


def _items(
    items: Sequence[Item],
    frame: pl.DataFrame,
    explanations: Mapping[str, Explanation],
    labels: Sequence[str | None],
    rasch: Mapping[int, RaschFit],
    budget: float,
) -> list[ItemReport]:
    """The items that somebody answered, in file order."""
    import polars as pl

    # The learner's share right on the *other* items: see `corrected_point_biserial`.
    n, right = pl.len().over("learner"), pl.col("right").cast(pl.Float64)
    rest = (right.sum().over("learner") - right) / pl.when(n > 1).then(n - 1)
    frame = frame.with_columns(rest=rest)
    table = (
        frame.group_by("item")
        .agg(
            right=pl.col("right").sum(),
            given=pl.len(),
            blank=(pl.col("choice") < 0).sum(),
            median=pl.col("seconds").median(),
            discrimination=pl.corr(right, pl.col("rest")),
        )
        .sort("item")
    )
    taken: dict[int, dict[str, tuple[int, float | None]]] = defaultdict(dict)
    per_choice = frame.filter(pl.col("choice") >= 0).group_by("item", "choice")
    for item, choice, count, mean in per_choice.agg(
        pl.len(), pl.col("rest").mean().alias("mean")
    ).iter_rows():
        taken[item][LETTERS[choice]] = count, mean
    scores = _shares(table["right"].to_list(), table["given"].to_list())
    made = []
    for row, score in zip(table.iter_rows(named=True), scores, strict=True):
        index, item = row["item"], items[row["item"]]
        value = row["discrimination"]
        enough = score.given >= CLASS and value is not None and np.isfinite(value)
        discrimination = round(float(value), 3) if enough else None
        explanation = explanations.get(item.id)
        review = [] if explanation is None or not explanation.doubt else [explanation.doubt]
        if score.given >= CLASS:
            review += _review(item, score, discrimination, taken[index])
            if row["median"] is not None and row["median"] > 2 * budget:
                review.append(f"It is slow: half of the learners took over {row['median']:.0f} s.")
        fitted = rasch.get(index)
        if fitted is not None and not 0.7 <= fitted.infit <= 1.3:
            # Wright and Linacre (1994), Rasch Measurement Transactions 8:3, 370.
            review.append(f"It does not fit the Rasch model well (infit {fitted.infit:.2f}).")
        made.append(
            ItemReport(
                id=item.id,
                skill=item.skill,
                label=labels[index],
                key=str(item.answer),
                score=score,
                blank=row["blank"],
                choices={x: taken[index].get(x, (0, None))[0] for x in item.letters},
                discrimination=discrimination,
                seconds=None if row["median"] is None else round(row["median"], 1),
                rasch=fitted,
                review=review,
            )
        )
    return made


def _review(
    item: Item,
    score: Share,
    discrimination: float | None,
    taken: Mapping[str, tuple[int, float | None]],
) -> list[str]:
    """Reasons to read an item again. Limits: common practice, no published source."""
    reasons = []
    key = str(item.answer)
    key_count, key_mean = taken.get(key, (0, None))
    for letter in item.letters:
        count, mean = taken.get(letter, (0, None))
        if letter == key:
            continue
        if count > key_count:
            reasons.append(f"More learners took {letter} ({count}) than the key ({key_count}).")
        elif (
            count >= _ENOUGH * score.given
            and mean is not None
            and key_mean is not None
            and mean > key_mean
        ):
            reasons.append(
                f"The {count} learners who took {letter} did better on the other items than those "
                "who took the key."
            )
    # In a small class a little below 0 is nothing but noise.
    large = score.given >= 3 * CLASS
    if discrimination is not None and discrimination < (0 if large else -0.2):
        reasons.append("Learners who did well elsewhere tended to miss it.")
    elif large and discrimination is not None and discrimination < 0.1 and score.share < 0.9:
        reasons.append("It hardly tells strong learners from weak ones.")
    if score.share < 1 / len(item.choices) and not reasons:
        reasons.append("Fewer learners got it right than guessing would give.")
    if large and score.share < 0.9:
        unused = [x for x in item.letters if x != key and taken.get(x, (0, None))[0] == 0]
        if unused:
            reasons.append(f"Nobody took {' or '.join(unused)}.")
    return reasons


# The drill as a measure


def _measure(
    items: Sequence[Item], frame: pl.DataFrame, learners: int
) -> tuple[dict[int, RaschFit], dict[int, tuple[float, float]], Measure | None]:
    """Reliability over the learners who were given every item, and the Rasch model."""
    import polars as pl

    if learners < CLASS:
        return {}, {}, None
    notes: list[str] = []
    used = frame["item"].unique().sort()
    given = frame.group_by("learner").agg(pl.len().alias("n"))
    complete = given.filter(pl.col("n") == len(used))["learner"]
    figures: dict[str, Any] = {"complete_learners": len(complete)}
    if len(complete) >= CLASS and len(used) >= 2:
        marks, _ = _matrix(frame.filter(pl.col("learner").is_in(complete.implode())))
        scores = marks.sum(axis=1)
        reliability = kr20(marks)
        figures |= {"mean": float(scores.mean()), "spread": float(scores.std(ddof=1))}
        if np.isfinite(reliability):
            figures |= {
                "kr20": reliability,
                "alpha": alpha(marks),
                "error": measurement_error(figures["spread"], reliability),
            }
        else:
            notes.append("All learners have the same score, so reliability is not defined.")
    else:
        notes.append(
            f"Reliability needs {CLASS} learners who were given every item; "
            f"here are {len(complete)}."
        )
    rasch_items, abilities = _rasch(frame, figures, notes)
    return rasch_items, abilities, Measure(notes=notes, **figures)


def _matrix(frame: pl.DataFrame) -> tuple[np.ndarray[Any, Any], np.ndarray[Any, Any]]:
    """Marks (learners x items, 0 or 1) and which of them were given, in order of their numbers."""
    learner = frame["learner"].rank("dense").to_numpy() - 1
    item = frame["item"].rank("dense").to_numpy() - 1
    marks = np.zeros((int(learner.max()) + 1, int(item.max()) + 1))
    given = np.zeros(marks.shape, dtype=bool)
    marks[learner, item] = frame["right"].to_numpy()
    given[learner, item] = True
    return marks, given


def _rasch(
    frame: pl.DataFrame, figures: dict[str, Any], notes: list[str]
) -> tuple[dict[int, RaschFit], dict[int, tuple[float, float]]]:
    import polars as pl

    from rwtools.drills.rasch import MIN_ITEMS, MIN_LEARNERS, fit

    share = pl.col("right").mean().over("item")
    kept = frame.filter((pl.len().over("item") >= MIN_LEARNERS) & (share > 0) & (share < 1))
    kept = kept.filter(pl.len().over("learner") >= MIN_ITEMS)
    # Leaving learners out may leave an item with right (or wrong) answers only.
    kept = kept.filter((share > 0) & (share < 1))
    learners, items = kept["learner"].unique().sort(), kept["item"].unique().sort()
    if len(learners) < MIN_LEARNERS or len(items) < MIN_ITEMS:
        notes.append(
            f"The Rasch model needs {MIN_LEARNERS} learners and {MIN_ITEMS} items that some got "
            "right and some got wrong; there are too few."
        )
        return {}, {}
    if len(learners) * len(items) > _MOST_CELLS:
        notes.append("The Rasch model was left out: the table of learners and items is too large.")
        return {}, {}
    fitted = fit(*_matrix(kept))
    figures |= {"rasch_learners": len(learners), "rasch_spread": fitted.spread}
    left_out = frame["item"].n_unique() - len(items)
    if left_out:
        notes.append(f"The Rasch model leaves out {left_out} items that all or none got right.")
    table = zip(
        items, fitted.difficulty, fitted.difficulty_error, fitted.infit, fitted.outfit, strict=True
    )
    people = zip(learners, fitted.ability, fitted.ability_error, strict=True)
    return (
        {
            item: RaschFit(
                difficulty=round(float(b), 3),
                error=round(float(se), 3),
                infit=round(float(infit), 3),
                outfit=round(float(outfit), 3),
            )
            for item, b, se, infit, outfit in table
        },
        {learner: (float(a), float(se)) for learner, a, se in people},
    )

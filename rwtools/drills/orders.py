"""Orders of attack: in which order a learner took the drill, and whether it made a difference."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rwtools.drills.model import OrderGroup, Orders
from rwtools.drills.statistics import mean_interval, permutation_p
from rwtools.items.model import Item

if TYPE_CHECKING:
    import polars as pl

__all__ = ["BACK", "FRONT", "OTHER", "VOCABULARY", "compare_orders", "order_of_each"]

FRONT = "front to back"
BACK = "back to front"
VOCABULARY = "vocabulary first, then from the last item backwards"
OTHER = "another order"

# An order counts as this one if the rank correlation is at least this; a learner is placed only
# with so many positions, on so large a part of the answers. Common practice, no published source.
ALIKE = 0.9
MIN_POSITIONS = 8
MIN_PART = 0.8
# Below this many learners in each of two groups, a test could hardly ever find a difference.
MIN_GROUP = 3


def order_of_each(frame: pl.DataFrame, items: Sequence[Item]) -> pl.DataFrame:
    """Each learner's order (columns learner, order); learners with too few positions are left out.

    ``frame`` has learner, item (index into ``items``) and position (or null).
    """
    import polars as pl

    count = len(items)
    words = pl.Series([i for i, item in enumerate(items) if item.skill == "vocabulary"] or [-1])
    at, word = pl.col("item").cast(pl.Int64), pl.col("item").cast(pl.Int64).is_in(words.implode())
    # What the positions would rank like in each order; vocabulary may itself go either way.
    plans = {
        "front": at,
        "back": -at,
        "words_on": pl.when(word).then(at - 2 * count).otherwise(-at),
        "words_back": pl.when(word).then(-at - 2 * count).otherwise(-at),
    }
    placed = pl.col("position").is_not_null()
    enough = (placed.sum() >= MIN_POSITIONS) & (placed.mean() >= MIN_PART)
    ranked = (
        frame.filter(enough.over("learner"))
        .filter(placed)
        .with_columns(**plans)
        .with_columns(pl.col("position", *plans).rank().over("learner"))
    )
    alike = ranked.group_by("learner", maintain_order=True).agg(
        pl.corr("position", plan).fill_nan(0).alias(plan) for plan in plans
    )
    words_first = pl.max_horizontal("words_on", "words_back")
    # In a drill without vocabulary "vocabulary first" is the same as back to front: call it that.
    order = (
        pl.when((pl.col("front") >= ALIKE) & (pl.col("front") >= words_first))
        .then(pl.lit(FRONT))
        .when((pl.col("back") >= ALIKE) & (pl.col("back") >= words_first - 1e-9))
        .then(pl.lit(BACK))
        .when(words_first >= ALIKE)
        .then(pl.lit(VOCABULARY))
        .otherwise(pl.lit(OTHER))
    )
    return alike.select("learner", order.alias("order"))


def compare_orders(frame: pl.DataFrame, placed: pl.DataFrame) -> Orders | None:
    """Accuracy and time by order, with a permutation test over learners; None without positions.

    ``frame`` has learner, right and seconds; ``placed`` is what `order_of_each` gives.
    """
    import polars as pl

    if placed.height == 0:
        return None
    each = (
        frame.group_by("learner")
        .agg(share=pl.col("right").mean(), seconds=pl.col("seconds").mean())
        .join(placed, on="learner")
        .sort("learner")
    )
    groups = []
    for order in (FRONT, VOCABULARY, BACK, OTHER):
        part = each.filter(pl.col("order") == order)
        if part.height:
            groups.append(_group(order, part))
    large = [g.order for g in groups if g.learners >= MIN_GROUP]
    tested = each.filter(pl.col("order").is_in(large))
    p_share = p_seconds = None
    if len(large) > 1:
        p_share = permutation_p(tested["share"], tested["order"])
        timed = tested.drop_nulls("seconds")
        if all((timed["order"] == name).sum() >= MIN_GROUP for name in large):
            p_seconds = permutation_p(timed["seconds"], timed["order"])
    return Orders(
        groups=groups,
        p_share=p_share,
        p_seconds=p_seconds,
        sentence=_sentence(groups, large, p_share, p_seconds),
    )


def _group(order: str, part: pl.DataFrame) -> OrderGroup:
    share = mean_interval(part["share"])
    times = part["seconds"].drop_nulls()
    seconds = mean_interval(times) if len(times) > 1 else None
    return OrderGroup(
        order=order,
        learners=part.height,
        share=float(part["share"].sum() / part.height),
        low=None if share is None else max(0.0, share[0]),
        high=None if share is None else min(1.0, share[1]),
        seconds=float(times.sum() / len(times)) if len(times) else None,
        seconds_low=None if seconds is None else max(0.0, seconds[0]),
        seconds_high=None if seconds is None else seconds[1],
    )


def _sentence(
    groups: Sequence[OrderGroup], tested: Sequence[str], p: float | None, p_seconds: float | None
) -> str:
    """Say plainly whether the differences could be chance."""
    if len(groups) == 1:
        return f"All learners took the drill in one order ({groups[0].order}); nothing to compare."
    if p is None:
        return (
            "Too few learners to compare the orders: "
            f"at least two orders need {MIN_GROUP} learners each."
        )
    compared = sorted((g for g in groups if g.order in tested), key=lambda g: -g.share)
    best, worst = compared[0], compared[-1]
    gap = round(100 * (best.share - worst.share))
    said = (
        f"“{best.order[0].upper()}{best.order[1:]}” scored {gap} points higher than "
        f"“{worst.order}”. " + _chance(p)
    )
    if p_seconds is not None:
        could = "could also be chance" if p_seconds >= 0.05 else "is hardly chance"
        said += f" The difference in time {could} (p = {p_seconds:.2g})."
    return said + " Learners chose their order themselves, so this is no proof that an order helps."


def _chance(p: float) -> str:
    times = "fewer than 1 in 100" if p < 0.01 else f"about {round(100 * p)} in 100"
    if p >= 0.05:
        return (
            f"This could be chance: if the order made no difference, {times} "
            f"classes would still show a gap as large as this (p = {p:.2g})."
        )
    return (
        f"This is hardly chance: if the order made no difference, only {times} "
        f"classes would show a gap as large as this (p = {p:.2g})."
    )

"""The report as tables for spreadsheets, with formulas in names and texts made harmless."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from rwtools.drills.model import Report
from rwtools.items.model import LETTERS

if TYPE_CHECKING:
    import polars as pl

__all__ = ["items_table", "learners_table", "neutral", "to_csv"]

# A cell that starts with one of these can run as a formula (OWASP, "CSV Injection").
_FORMULA = r"^[=+\-@\t\r\n＝＋－＠]"
_NUMBER = r"^[+\-]?[0-9]+([.,][0-9]+)?$"


def neutral(frame: pl.DataFrame) -> pl.DataFrame:
    """Put an apostrophe before every text that a spreadsheet could run; numbers stay numbers."""
    import polars as pl

    made = []
    for name in frame.select(pl.col(pl.String)).columns:
        text = pl.col(name)
        risky = text.str.contains(_FORMULA) & ~text.str.contains(_NUMBER)
        made.append(pl.when(risky).then(pl.lit("'") + text).otherwise(text).alias(name))
    return frame.with_columns(made)


def to_csv(frame: pl.DataFrame) -> str:
    """The table as CSV in UTF-8, all texts quoted."""
    return neutral(frame).write_csv(quote_style="non_numeric", float_precision=4)


def learners_table(report: Report) -> pl.DataFrame:
    """One row per learner; shares and limits 0 to 1, times in seconds."""
    import polars as pl

    skills = [s.skill for s in report.skills]
    rows: list[dict[str, Any]] = []
    for r in report.learners:
        t = r.timing
        row: dict[str, Any] = {
            "learner": r.learner,
            "given": r.score.given,
            "right": r.score.right,
            "blank": r.blank,
            "not_given": r.not_given,
            "share": r.score.share,
            "low": r.score.low,
            "high": r.score.high,
            "mean_seconds": t and t.mean,
            "over_budget": t and t.over_budget,
            "slow_and_wrong": t and t.slow_and_wrong,
            "fast_and_wrong": t and t.fast_and_wrong,
            "ability": r.ability,
            "ability_error": r.ability_error,
            "order": r.order,
        }
        for n in range(3):
            advice = r.practise_next[n] if n < len(r.practise_next) else None
            row[f"next_{n + 1}"] = advice and (
                advice.skill + (f": {advice.label}" if advice.label else "")
            )
        of = {s.skill: s for s in r.skills}
        for skill in skills:
            row[f"{skill}_right"] = of[skill].right if skill in of else None
            row[f"{skill}_given"] = of[skill].given if skill in of else None
        rows.append(row)
    return pl.DataFrame(rows, infer_schema_length=None)


def items_table(report: Report) -> pl.DataFrame:
    """One row per item; ``difficulty`` is the share right, ``A`` ... how often each was taken."""
    import polars as pl

    most = max(len(i.choices) for i in report.items)
    rows: list[dict[str, Any]] = []
    for i in report.items:
        fitted = i.rasch
        rows.append(
            {
                "item": i.id,
                "skill": i.skill,
                "about": i.label,
                "key": i.key,
                "given": i.score.given,
                "right": i.score.right,
                "blank": i.blank,
                "difficulty": i.score.share,
                "low": i.score.low,
                "high": i.score.high,
                "discrimination": i.discrimination,
                "median_seconds": i.seconds,
                **{letter: i.choices.get(letter) for letter in LETTERS[:most]},
                "rasch_difficulty": fitted and fitted.difficulty,
                "rasch_error": fitted and fitted.error,
                "infit": fitted and fitted.infit,
                "outfit": fitted and fitted.outfit,
                "review": " ".join(i.review) or None,
            }
        )
    return pl.DataFrame(rows, infer_schema_length=None)

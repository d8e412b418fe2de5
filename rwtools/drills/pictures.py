"""Pictures of a graded drill as SVG: labelled, readable in black and white, with a description."""

from __future__ import annotations

import io
import re
from collections.abc import Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from rwtools.drills.html import Html, tag
from rwtools.drills.model import ItemReport, LearnerReport, SkillShare, TimeBand

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = [
    "band_name",
    "grey_of",
    "ink_on",
    "interval_bar",
    "items_picture",
    "learners_by_skill",
    "skills_picture",
    "times_picture",
]

# Stand-ins for the report's own colours, put in after drawing, so that pictures follow the scheme.
INK, SOFT, LINE, ACCENT = "#010203", "#040506", "#070809", "#0a0b0c"
_VARIABLES = {INK: "--ink", SOFT: "--soft", LINE: "--line", ACCENT: "--accent"}
_SETTINGS: Any = {
    "text.parse_math": False,  # a dollar sign in a name is no formula
    "svg.fonttype": "none",
    "font.family": "sans-serif",
    "font.sans-serif": ["DejaVu Sans"],
    "font.size": 10,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.edgecolor": SOFT,
    "axes.labelcolor": INK,
    "text.color": INK,
    "xtick.color": SOFT,
    "ytick.color": SOFT,
    "xtick.labelcolor": INK,
    "ytick.labelcolor": INK,
    "grid.color": LINE,
    "grid.linewidth": 0.7,
    "figure.facecolor": "none",
    "axes.facecolor": "none",
    "savefig.facecolor": "none",
}
MOST_ROWS = 60


@contextmanager
def _drawing(width: float, height: float) -> Iterator[tuple[Figure, Axes]]:
    import matplotlib as mpl
    from matplotlib.figure import Figure as Made

    with mpl.rc_context(_SETTINGS):
        figure = Made(figsize=(width, height), layout="constrained")
        yield figure, figure.add_subplot()


def _svg(figure: Figure, name: str, title: str, description: str) -> Html:
    """The picture as an SVG element; its ids carry ``name``, so that two can stand on one page."""
    import matplotlib as mpl

    stream = io.StringIO()
    with mpl.rc_context({**_SETTINGS, "svg.hashsalt": name}):
        figure.savefig(
            stream,
            format="svg",
            metadata={"Date": None, "Creator": None, "Format": None, "Type": None},
        )
    svg = stream.getvalue()
    svg = re.sub(r"<metadata>.*?</metadata>", "", svg[svg.index("<svg") :], flags=re.DOTALL)
    svg = re.sub(r'\bid="', f'id="{name}-', svg)
    svg = re.sub(r'(href="|url\()#', rf"\1#{name}-", svg)
    svg = svg.replace("'DejaVu Sans'", "'DejaVu Sans', Verdana")
    for colour, variable in _VARIABLES.items():
        svg = svg.replace(colour, f"var({variable})")
    heading = tag("title", title, id=f"{name}-title") + tag("desc", description, id=f"{name}-desc")
    names = f'role="img" aria-labelledby="{name}-title {name}-desc"'
    # `font` as a shorthand with several families must not break the quotes of its attribute.
    return Html(re.sub(r"<svg([^>]*)>", rf"<svg {names}\1>{_safe(heading)}", svg, count=1))


def _safe(replacement: str) -> str:
    return replacement.replace("\\", r"\\")


def _percent(share: float) -> str:
    return f"{100 * share:.0f}%"


def interval_bar(share: float, low: float, high: float) -> Html:
    """A small line from ``low`` to ``high`` with a dot at ``share``, on a scale of 0 to 1.

    For tables that give the same figures in words, so it is hidden from screen readers.
    """
    x, a, b = (4 + 112 * value for value in (share, low, high))
    return Html(
        '<svg class="bar" viewBox="0 0 120 14" aria-hidden="true" focusable="false">'
        '<path d="M4 2v10M60 4v6M116 2v10" stroke="var(--line)"/>'
        f'<path d="M{a:.1f} 7H{b:.1f}" stroke="var(--soft)" stroke-width="2"/>'
        f'<circle cx="{x:.1f}" cy="7" r="3.6" fill="var(--ink)"/></svg>'
    )


def _share_axis(axis: Any) -> None:
    from matplotlib.ticker import PercentFormatter

    axis.set_major_formatter(PercentFormatter(1))
    axis.set_ticks([0, 0.25, 0.5, 0.75, 1])


def skills_picture(skills: Sequence[SkillShare]) -> Html:
    """Share right in each skill with its 95% interval."""
    with _drawing(7, 0.9 + 0.42 * len(skills)) as (figure, axes):
        rows = range(len(skills))
        shares = [s.share for s in skills]
        arms = [
            [s.share - s.low for s in skills],
            [s.high - s.share for s in skills],
        ]
        axes.errorbar(
            shares, rows, xerr=arms, fmt="o", color=INK, ecolor=SOFT, elinewidth=2, capsize=4
        )
        axes.set_yticks(
            rows, [f"{s.skill.replace('_', ' ')}  ({s.right:,} of {s.given:,})" for s in skills]
        )
        axes.set_ylim(len(skills) - 0.5, -0.5)
        axes.set_xlim(-0.02, 1.02)
        axes.set_xlabel("answers right, with 95% interval")
        _share_axis(axes.xaxis)
        axes.grid(axis="x")
        axes.set_axisbelow(True)
        said = "; ".join(
            f"{s.skill.replace('_', ' ')} {_percent(s.share)} "
            f"({_percent(s.low)} to {_percent(s.high)})"
            for s in skills
        )
        return _svg(figure, "skills", "Share right in each skill", f"{said}.")


def band_name(band: TimeBand) -> str:
    """A time band in words."""
    if band.end is None:
        return f"{band.start:.0f} s or more"
    return f"{band.start:.0f} to {band.end:.0f} s"


def times_picture(bands: Sequence[TimeBand], budget: float) -> Html:
    """Share right by the time that answers took, with the time budget marked."""
    with _drawing(7, 3.3) as (figure, axes):
        columns = range(len(bands))
        arms = [[b.share - b.low for b in bands], [b.high - b.share for b in bands]]
        axes.errorbar(
            columns,
            [b.share for b in bands],
            yerr=arms,
            fmt="o",
            color=INK,
            ecolor=SOFT,
            elinewidth=2,
            capsize=4,
        )
        names = [band_name(b).replace(" s or more", " s\nor more") for b in bands]
        axes.set_xticks(
            columns, [f"{n}\n({b.given:,})" for n, b in zip(names, bands, strict=True)], fontsize=9
        )
        inside = sum(b.end is not None and b.end <= round(budget) for b in bands)
        if 0 < inside < len(bands):
            axes.axvline(inside - 0.5, color=ACCENT, linestyle=(0, (5, 3)))
            axes.text(inside - 0.46, 0.03, f"budget {budget:.0f} s", color=ACCENT, fontsize=9)
        axes.set_xlim(-0.5, len(bands) - 0.5)
        axes.set_ylim(0, 1.03)
        axes.set_ylabel("answers right")
        axes.set_xlabel("time for the answer (number of answers)")
        _share_axis(axes.yaxis)
        axes.grid(axis="y")
        axes.set_axisbelow(True)
        said = "; ".join(f"{band_name(b)}: {b.right} of {b.given} right" for b in bands)
        return _svg(figure, "times", "Time against correctness", f"{said}. Budget {budget:.0f} s.")


def _rows(learners: Sequence[LearnerReport]) -> list[tuple[str, list[LearnerReport]]]:
    """The rows of the heat map: learners by score, or tenths of a large class."""
    ranked = sorted(learners, key=lambda r: (-r.score.share, r.number))
    if len(ranked) <= MOST_ROWS:
        return [(_short(r.learner), [r]) for r in ranked]
    edges = [round(len(ranked) * part / 10) for part in range(11)]
    names = ["highest tenth", *(f"tenth {n}" for n in range(2, 10)), "lowest tenth"]
    return [(names[i], ranked[edges[i] : edges[i + 1]]) for i in range(10)]


def _short(name: str, most: int = 24) -> str:
    return name if len(name) <= most else name[: most - 1] + "…"


def learners_by_skill(learners: Sequence[LearnerReport], skills: Sequence[SkillShare]) -> Html:
    """Heat map: the share right of each learner (or tenth of a large class) in each skill."""
    rows = _rows(learners)
    columns = [s.skill for s in skills]
    names = [c.replace("_", "\n") for c in columns]
    with _drawing(max(4.5, 2 + 0.95 * len(columns)), 0.8 + 0.3 * len(rows)) as (figure, axes):
        said = []
        for y, (name, members) in enumerate(rows):
            row = []
            for x, skill in enumerate(columns):
                cells = [s for r in members for s in r.skills if s.skill == skill]
                given = sum(s.given for s in cells)
                if not given:
                    continue
                share = sum(s.right for s in cells) / given
                row.append(f"{names[x]} {_percent(share)}")
                grey = grey_of(share)
                axes.add_patch(
                    _cell(x, y, grey),
                )
                axes.text(
                    x,
                    y,
                    f"{100 * share:.0f}",
                    ha="center",
                    va="center",
                    color=ink_on(grey),
                    fontsize=9,
                )
            if len(rows) <= 30:
                said.append(f"{name}: {', '.join(row)}".replace("\n", " "))
        axes.set_xlim(-0.5, len(columns) - 0.5)
        axes.set_ylim(len(rows) - 0.5, -0.5)
        axes.set_xticks(range(len(columns)), names, fontsize=9)
        axes.set_yticks(range(len(rows)), [name for name, _ in rows], fontsize=9)
        axes.tick_params(length=0, labeltop=True, labelbottom=False)
        for spine in axes.spines.values():
            spine.set_visible(False)
        description = "Percent right; a darker cell is a lower share. "
        description += ". ".join(said) if said else "The learner tables give the same figures."
        return _svg(figure, "map", "Learners and skills", description)


def grey_of(share: float) -> float:
    """The grey of a heat-map cell, 0 black to 1 white: lower shares are darker."""
    return 0.28 + 0.72 * share


def ink_on(grey: float) -> str:
    """Black or white, whichever stands out more from a grey (4.5:1 or better)."""
    return "#000000" if grey > 0.465 else "#ffffff"


def _cell(x: float, y: float, grey: float) -> Any:
    from matplotlib.patches import Rectangle

    return Rectangle(
        (x - 0.48, y - 0.46),
        0.96,
        0.92,
        facecolor=(grey, grey, grey),
        edgecolor=SOFT,
        linewidth=0.5,
    )


def items_picture(items: Sequence[ItemReport]) -> Html:
    """Each item's difficulty against its discrimination; items to review as empty squares."""
    from matplotlib.ticker import PercentFormatter

    placed = [i for i in items if i.discrimination is not None]
    with _drawing(7, 4.2) as (figure, axes):
        for review, marker, name in (
            (False, "o", "nothing found"),
            (True, "s", "to review"),
        ):
            part = [i for i in placed if bool(i.review) is review]
            axes.plot(
                [i.score.share for i in part],
                [i.discrimination or 0.0 for i in part],
                marker,
                color=INK,
                markerfacecolor="none" if review else INK,
                markersize=7 if review else 5,
                alpha=1 if len(placed) <= 100 else 0.6,
                linestyle="none",
                label=f"{name} ({len(part)})",
            )
        for item in placed if len(placed) <= MOST_ROWS else []:
            number = items.index(item) + 1
            axes.annotate(
                str(number),
                (item.score.share, item.discrimination or 0.0),
                xytext=(5, 4),
                textcoords="offset points",
                fontsize=8,
                color=SOFT,
            )
        axes.axhline(0, color=SOFT, linewidth=0.8)
        axes.set_xlim(-0.03, 1.05)
        axes.set_xlabel("easier →   share of learners who got it right", loc="right")
        axes.set_ylabel("discrimination (corrected point-biserial)")
        axes.xaxis.set_major_formatter(PercentFormatter(1))
        axes.grid()
        axes.set_axisbelow(True)
        axes.legend(frameon=False, loc="upper left", bbox_to_anchor=(0, 1.13), ncols=2)
        review_ids = [i.id for i in placed if i.review]
        said = (
            f"{len(placed)} items. To review: {', '.join(review_ids[:30]) or 'none'}. "
            "The table of items gives the figures."
        )
        return _svg(figure, "items", "Difficulty and discrimination of the items", said)

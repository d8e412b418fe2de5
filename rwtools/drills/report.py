"""The report as HTML: one page that works offline, or for large classes a page per learner too.

Everything is drawn from `Report`, so that ``report.json`` and the pages can't tell different tales.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from functools import cache

from rwtools.drills.grade import BUDGET, CLASS, FAST, NAMES, SITTING
from rwtools.drills.html import Html, join, tag
from rwtools.drills.model import (
    Explanation,
    ItemReport,
    LearnerReport,
    Measure,
    Miss,
    OrderGroup,
    Report,
    Share,
    SkillShare,
)
from rwtools.drills.pictures import (
    band_name,
    interval_bar,
    items_picture,
    learners_by_skill,
    skills_picture,
    times_picture,
)
from rwtools.drills.style import STYLE
from rwtools.items.model import Item, Quote

__all__ = ["pages"]

# Up to here, all learners are on the one page; beyond it, each has a page of their own.
MOST_LEARNERS = 60
MOST_MISSES = 2_500
# Beyond this many misses, the learners' pages link to explanations and don't repeat them.
MOST_REPEATED = 30_000
MOST_LISTED = 4_000
MOST_PROBLEMS = 200

FOOTER = (
    "A practice aid only. Its figures are estimates for practice. They are not official scores, "
    "and no examination body has anything to do with them. This report was made on this computer; "
    "no name or answer was sent anywhere."
)


def pages(report: Report, items: Sequence[Item]) -> Iterator[tuple[str, str]]:
    """The pages of a report, as (path below the report's folder, HTML), ``report.html`` first."""
    bank = {item.id: item for item in items}
    misses = sum(len(learner.misses) for learner in report.learners)
    alone = len(report.learners) <= MOST_LEARNERS and misses <= MOST_MISSES
    anchors = {item_id: f"item-{n}" for n, item_id in enumerate(report.explanations, 1)}
    if alone:
        links = {r.number: f"#learner-{r.number}" for r in report.learners}
        sections = [
            tag(
                "section",
                _learner(report, learner, _Misses(report, bank, anchors, "", full=True)),
                id=f"learner-{learner.number}",
                class_="learner",
                aria_labelledby=f"learner-{learner.number}-name",
            )
            for learner in report.learners
        ]
        explained = _explained(report, bank, anchors, "h2")
        yield "report.html", _main(report, links, sections, explained, "")
        return
    links = {r.number: f"learners/{_file_name(r)}" for r in report.learners}
    yield "report.html", _main(report, links, [], None, "items.html")
    back = Html('<p class="small"><a href="report.html">Back to the report</a></p>')
    yield "items.html", _page("Items explained", [back, _explained(report, bank, anchors, "h1")])
    told = _Misses(report, bank, anchors, "../items.html", full=misses <= MOST_REPEATED)
    back = Html('<p class="small"><a href="../report.html">Back to the report</a></p>')
    for learner in report.learners:
        body = [back, _learner(report, learner, told, "h1")]
        yield links[learner.number], _page(learner.learner, body)


def _file_name(learner: LearnerReport) -> str:
    """A file name that every system takes: Latin letters and digits of the name, and the number."""
    plain = unicodedata.normalize("NFKD", learner.learner).encode("ascii", "ignore").decode()
    plain = re.sub(r"[^A-Za-z0-9]+", "-", plain).strip("-")[:40].strip("-")
    return f"{plain or 'learner'}-{learner.number}.html"


def _page(title: str, body: Sequence[Html | None]) -> str:
    head = tag(
        "head",
        tag("meta", charset="utf-8"),
        tag("meta", name="viewport", content="width=device-width, initial-scale=1"),
        Html(
            '<meta http-equiv="Content-Security-Policy" '
            "content=\"default-src 'none'; style-src 'unsafe-inline'\">"
        ),
        tag("title", title),
        Html(f"<style>{STYLE}</style>"),
    )
    footer = tag("footer", tag("p", FOOTER, class_="small"))
    return "<!DOCTYPE html>\n" + tag(
        "html", head, tag("body", tag("main", list(body)), footer), lang="en"
    )


# Small pieces


def _percent(value: float) -> str:
    return f"{100 * value:.0f}%"


def _span(share: Share) -> str:
    return f"{100 * share.low:.0f} to {100 * share.high:.0f}%"


def _name(name: str) -> Html:
    # Names may be written right to left: they must not turn the words round them.
    return tag("bdi", name)


def _cell(text: str | Html | None, *, number: bool = False) -> Html:
    return tag("td", text if text is not None else "–", class_="n" if number else None)


def _share_cell(share: Share) -> Html:
    return tag("td", f"{_percent(share.share)} ({_span(share)})", class_="s")


def _seconds(value: float | None) -> str:
    return "–" if value is None else f"{value:.0f} s"


def _table(caption: str, heads: Sequence[str], rows: Sequence[Html]) -> Html:
    """A table; a head that starts with ``#`` is over a column of numbers."""
    cells = [
        tag("th", h.removeprefix("#"), scope="col", class_="n" if h.startswith("#") else None)
        for h in heads
    ]
    table = tag(
        "table",
        tag("caption", caption),
        tag("thead", tag("tr", cells)),
        tag("tbody", list(rows)),
    )
    # Wide tables scroll by themselves; a keyboard must be able to reach them.
    return tag("div", table, class_="scroll", tabindex="0", role="region", aria_label=caption)


def _figures(pairs: Sequence[tuple[str, str | None]]) -> Html:
    """The most important figures, large."""
    shown = [tag("div", tag("dt", name), tag("dd", value)) for name, value in pairs if value]
    return tag("dl", shown, class_="figures")


def _picture(svg: Html, caption: str) -> Html:
    return tag("figure", svg, tag("figcaption", caption))


def _count(number: int, noun: str) -> str:
    return f"{number:,} {noun}{'' if number == 1 else 's'}"


# The main page


def _main(
    report: Report,
    links: Mapping[int, str],
    sections: Sequence[Html],
    explained: Html | None,
    explained_at: str,
) -> str:
    counts = report.counts
    single = len(report.learners) == 1
    title = f"Drill report: {report.learners[0].learner}" if single else "Drill report"
    read = (
        f"{_count(counts.learners, 'learner')}, {_count(counts.items, 'item')}, "
        f"{_count(counts.graded, 'answer')}."
    )
    problems = sum(counts.problems.values())
    parts: list[tuple[str, str, list[Html | None]]] = []
    if not single:
        parts.append(("learners", "Learners", _learner_table(report, links)))
    parts.append(("skills", "Skills", _skills(report, single)))
    if report.time_bands:
        parts.append(("time", "Time", _times(report)))
    if report.orders is not None and not single:
        parts.append(("orders", "Order of attack", _orders(report)))
    if not single:
        parts.append(("items", "Items", _items(report)))
    if report.measure is not None:
        parts.append(("measure", "The drill as a measure", _measure(report.measure)))
    if problems:
        parts.append(("problems", "Lines that could not be used", _problems(report)))
    parts.append(("method", "How the figures are made", _method(report)))
    menu = [tag("li", tag("a", heading, href=f"#{key}")) for key, heading, _ in parts]
    if explained is not None:
        menu.insert(-1, tag("li", tag("a", "Items explained", href="#explained")))
    elif explained_at:
        menu.insert(-1, tag("li", tag("a", "Items explained", href=explained_at)))
    chapters = [
        tag(
            "section",
            tag("h2", heading, id=f"{key}-name"),
            body,
            id=key,
            aria_labelledby=f"{key}-name",
        )
        for key, heading, body in parts
    ]
    body = [
        tag("h1", title),
        tag("p", read),
        None if single else _glance(report),
        *(tag("p", note) for note in report.notes),
        tag("nav", tag("ul", menu), aria_label="Parts of the report"),
        *(sections if single else []),
        *chapters[:-1],
        *([] if single else sections),
        explained,
        chapters[-1],
    ]
    return _page(title, body)


def _glance(report: Report) -> Html:
    right = sum(r.score.right for r in report.learners)
    given = report.counts.graded
    means = [r.timing for r in report.learners if r.timing is not None]
    timed = sum(t.timed for t in means)
    mean = sum(t.mean * t.timed for t in means) / timed if timed else None
    measure = report.measure
    problems = sum(report.counts.problems.values())
    return _figures(
        [
            ("Answers right", f"{_percent(right / given)}"),
            ("Left blank", f"{report.counts.blank:,}"),
            ("Time per item", None if mean is None else _seconds(mean)),
            ("Reliability", None if measure is None or measure.kr20 is None
             else f"{measure.kr20:.2f}"),
            ("Items to review", str(sum(bool(i.review) for i in report.items))
             if len(report.learners) >= CLASS else None),
            ("Problems in the input", f"{problems:,}" if problems else None),
        ]
    )  # fmt: skip


def _learner_table(report: Report, links: Mapping[int, str]) -> list[Html | None]:
    timed = any(r.timing for r in report.learners)
    rows = []
    for r in report.learners[:MOST_LISTED]:
        s, t = r.score, r.timing
        first = r.practise_next[0] if r.practise_next else None
        rows.append(
            tag(
                "tr",
                tag("th", tag("a", _name(r.learner), href=links[r.number]), scope="row"),
                _cell(f"{s.right:,} of {s.given:,}", number=True),
                _cell(interval_bar(s.share, s.low, s.high)),
                _share_cell(s),
                _cell(str(r.blank), number=True),
                [
                    _cell(None if t is None else _seconds(t.mean), number=True),
                    _cell(None if t is None else str(t.slow_and_wrong), number=True),
                    _cell(None if t is None else str(t.fast_and_wrong), number=True),
                ]
                if timed
                else None,
                _cell(None if first is None else (first.label or NAMES[first.skill])),
            )
        )
    heads = ["Learner", "#Right", "", "Share (95% interval)", "#Blank"]
    heads += ["#Time per item", "#Slow, wrong", "#Fast, wrong"] if timed else []
    caption = "Each learner. The dot is the share right; the line is its 95% interval."
    table = _table(caption, [*heads, "Practise first"], rows)
    rest = len(report.learners) - MOST_LISTED
    more = f"{rest:,} more learners are in learners.csv." if rest > 0 else None
    return [table, tag("p", more) if more else None]


def _skill_table(skills: Sequence[SkillShare], caption: str) -> Html:
    timed = any(s.seconds is not None for s in skills)
    rows = [
        tag(
            "tr",
            tag("th", NAMES[s.skill], scope="row"),
            _cell(f"{s.right:,} of {s.given:,}", number=True),
            _cell(interval_bar(s.share, s.low, s.high)),
            _share_cell(s),
            _cell(_seconds(s.seconds), number=True) if timed else None,
        )
        for s in skills
    ]
    heads = ["Skill", "#Right", "", "Share (95% interval)", *(["#Time per item"] if timed else [])]
    return _table(caption, heads, rows)


def _skills(report: Report, single: bool) -> list[Html | None]:
    picture = _picture(
        skills_picture(report.skills),
        "The dot is the share of right answers. The line shows where the true share may well lie: "
        "the fewer the answers, the longer the line.",
    )
    if single:
        return [picture]
    heat = _picture(
        learners_by_skill(report.learners, report.skills),
        "Percent right of each learner in each skill, best score first. A darker cell is a lower "
        "share."
        if len(report.learners) <= 60
        else "Percent right in each skill, by tenths of the class (best tenth first). A darker "
        "cell is a lower share.",
    )
    return [picture, _skill_table(report.skills, "All learners together"), heat]


def _times(report: Report) -> list[Html | None]:
    rows = [
        tag(
            "tr",
            tag("th", band_name(b), scope="row"),
            _cell(f"{b.right:,} of {b.given:,}", number=True),
            _share_cell(b),
        )
        for b in report.time_bands
    ]
    return [
        _picture(
            times_picture(report.time_bands, report.budget_seconds),
            "Are quick answers more often wrong? Are long ones worth their time? Blank answers are "
            "left out.",
        ),
        _table(
            "Right answers by time taken", ["Time", "#Right", "Share (95% interval)"], rows
        ),
    ]  # fmt: skip


def _orders(report: Report) -> list[Html | None]:
    orders = report.orders
    if orders is None:
        return []

    def times(g: OrderGroup) -> str:
        if g.seconds is None:
            return "–"
        if g.seconds_low is None or g.seconds_high is None:
            return _seconds(g.seconds)
        return f"{g.seconds:.0f} s ({g.seconds_low:.0f} to {g.seconds_high:.0f})"

    def shares(g: OrderGroup) -> str:
        if g.low is None or g.high is None:
            return _percent(g.share)
        return f"{_percent(g.share)} ({100 * g.low:.0f} to {100 * g.high:.0f}%)"

    rows = [
        tag(
            "tr",
            tag("th", g.order, scope="row"),
            _cell(f"{g.learners:,}", number=True),
            _cell(shares(g)),
            _cell(times(g)),
        )
        for g in orders.groups
    ]
    heads = ["Order", "#Learners", "Mean share right (95% interval)", "Mean time per item"]
    caption = "In which order the learners took the items"
    return [_table(caption, heads, rows), tag("p", orders.sentence)]


def _items(report: Report) -> list[Html | None]:
    judged = any(i.discrimination is not None for i in report.items)
    rasch = any(i.rasch is not None for i in report.items)
    most = max(len(i.choices) for i in report.items)

    def choices(item: ItemReport) -> list[Html]:
        cells = []
        for letter in "ABCDEF"[:most]:
            count = item.choices.get(letter)
            shown = None if count is None else f"{count:,}"
            if letter == item.key:
                cells.append(tag("td", f"{shown}*", class_="n key"))
            else:
                cells.append(_cell(shown, number=True))
        return cells

    rows = []
    for number, i in enumerate(report.items, 1):
        fitted = i.rasch
        rows.append(
            tag(
                "tr",
                _cell(str(number), number=True),
                tag("th", i.id, scope="row"),
                _cell(f"{NAMES[i.skill]}: {i.label}" if i.label else NAMES[i.skill]),
                _share_cell(i.score),
                _cell(None if i.discrimination is None else f"{i.discrimination:.2f}", number=True)
                if judged
                else None,
                choices(i),
                _cell(str(i.blank), number=True),
                [
                    _cell(f"{fitted.difficulty:.2f} ± {fitted.error:.2f}", number=True),
                    _cell(f"{fitted.infit:.2f} / {fitted.outfit:.2f}", number=True),
                ]
                if fitted
                else [_cell(None, number=True)] * 2
                if rasch
                else None,
                _cell(" ".join(i.review)),
            )
        )
    heads = ["#No.", "Item", "About", "Right (95% interval)"]
    heads += ["#Discrimination"] if judged else []
    heads += [f"#{letter}" for letter in "ABCDEF"[:most]] + ["#Blank"]
    heads += ["#Rasch difficulty", "#Infit / outfit"] if rasch else []
    picture = None
    if judged:
        picture = _picture(
            items_picture(report.items),
            "Items on the right are easy. Items high up are missed mainly by learners who do badly "
            "elsewhere too, as they should be. The numbers are those of the table.",
        )
    few = None
    if judged and len(report.learners) < 30:
        few = tag(
            "p",
            f"With {len(report.learners)} learners these figures are rough: "
            "take them as hints where to look.",
        )
    caption = "Each item: how often it was right, and how often each choice was taken (* the key)"
    return [few, picture, _table(caption, [*heads, "Why review it"], rows)]


def _measure(measure: Measure) -> list[Html | None]:
    sentences = []
    if measure.mean is not None and measure.spread is not None:
        sentences.append(
            f"{_count(measure.complete_learners, 'learner')} took every item. Their mean score is "
            f"{measure.mean:.1f}, with a standard deviation of {measure.spread:.1f}."
        )
    if measure.kr20 is not None and measure.error is not None:
        sentences.append(
            f"Reliability (KR-20, the same as Cronbach's alpha for right and wrong) is "
            f"{measure.kr20:.2f}: {_verdict(measure.kr20)} The standard error of measurement is "
            f"{measure.error:.1f} items: two learners whose scores are closer than about "
            f"{2.8 * measure.error:.0f} items may well be equal."
        )
    if measure.rasch_learners is not None:
        sentences.append(
            f"The Rasch model was fitted to {_count(measure.rasch_learners, 'learner')}; their "
            f"abilities have a standard deviation of {measure.rasch_spread:.2f} logits. In it, a "
            "learner has an even chance on an item whose difficulty equals the learner's ability."
        )
    return [tag("p", text) for text in [*sentences, *measure.notes]]


def _verdict(reliability: float) -> str:
    # Limits: common practice; compare Nunnally (1978), Psychometric Theory.
    if reliability >= 0.9:
        return "high enough to speak about single learners."
    if reliability >= 0.7:
        return "good enough for practice."
    return "too low to rank learners by this drill alone."


def _problems(report: Report) -> list[Html | None]:
    kinds = [
        tag("tr", tag("th", kind.replace("_", " "), scope="row"), _cell(f"{count:,}", number=True))
        for kind, count in report.counts.problems.items()
    ]
    listed = [
        tag(
            "tr",
            _cell(p.file),
            _cell(None if p.line is None else str(p.line), number=True),
            _cell(p.field),
            _cell(p.why),
        )
        for p in report.problems[:MOST_PROBLEMS]
    ]
    hidden = sum(report.counts.problems.values()) - len(listed)
    return [
        _table("How many of each kind", ["Kind", "#Lines"], kinds),
        _table("Line by line", ["File", "#Line", "Field", "What is wrong"], listed),
        tag("p", f"{hidden:,} more are not listed here.") if hidden > 0 else None,
    ]


def _method(report: Report) -> list[Html | None]:
    budget = f"{report.budget_seconds:.0f} seconds"
    usual = abs(report.budget_seconds - BUDGET) < 0.5
    lines = [
        "A blank answer counts as wrong. An item without a line for a learner was not given to "
        "that learner, and does not count.",
        "Intervals of shares are Wilson score intervals, 95% (Wilson 1927). If the same learner "
        "took many such drills, about 95 in 100 such intervals would hold the true share.",
        f"The time budget is {budget} for an item"
        + (f" ({SITTING} items in 32 minutes; common practice)." if usual else ".")
        + f" “Slow” means over the budget; “fast” means under {FAST * report.budget_seconds:.0f} "
        "seconds.",
        f"What to practise next: the answers at stake in a sitting of {SITTING} items, which is "
        f"{SITTING} × the skill's part of the drill × the share missed in that skill. A share "
        "from few items is drawn towards the learner's overall share by four imagined answers "
        "(after Agresti and Coull 1998). All skills count as equally learnable.",
        "Discrimination is the correlation between an item and the share right on the learner's "
        f"other items. It needs {CLASS} learners.",
        "The reasons to review an item are rules of thumb (common practice, no published source), "
        "but for the Rasch limits of 0.7 and 1.3 (Wright and Linacre 1994).",
        "Rasch difficulties: marginal maximum likelihood (Bock and Aitkin 1981), with 30 learners "
        "or more (Linacre 1994). Abilities: weighted likelihood (Warm 1989).",
        "Orders of attack are compared by 9,999 random regroupings of the learners.",
    ]
    return [tag("ul", [tag("li", line) for line in lines], class_="small")]


# One learner


class _Misses:
    """Misses as HTML; what doesn't depend on the learner is made once per item and choice."""

    def __init__(
        self,
        report: Report,
        bank: Mapping[str, Item],
        anchors: Mapping[str, str],
        page: str,
        *,
        full: bool,
    ) -> None:
        self._report, self._bank, self._full = report, bank, full
        self._links = {key: f"{page}#{anchor}" for key, anchor in anchors.items()}
        self._made = cache(self._entry if full else self._row)

    def __call__(self, misses: Sequence[Miss]) -> Html:
        if self._full:
            return Html("".join([self._told(miss) for miss in misses]))
        heads = ["Item", "About", "Your answer", "Key", "Time"]
        rows = Html("".join([self._told(miss) for miss in misses]))
        return _table("Each item links to its explanation", heads, [rows])

    def _told(self, miss: Miss) -> str:
        before, after = self._made(miss["item"], miss["choice"])
        time = _time(miss)
        return f"{before} · {time}{after}" if self._full and time else f"{before}{time}{after}"

    def _about(self, item: Item) -> str:
        label = self._report.explanations[item.id].label
        return NAMES[item.skill] + (f": {label}" if label else "")

    def _entry(self, item_id: str, choice: str | None) -> tuple[str, str]:
        item, explanation = self._bank[item_id], self._report.explanations[item_id]
        link = tag("a", item_id, href=self._links[item_id])
        key = tag("p", "The key is ", _quoted(item, explanation.key), ". ", explanation.why)
        taken: list[Html | str] = [Html("You left it blank.")]
        if choice is not None:
            reason = explanation.tempts.get(choice)
            taken = ["You took ", _quoted(item, choice), "." if reason is None else f". {reason}"]
        head = f'<div class="miss"><h4>{link} · {join([self._about(item)])}'
        return head, f"</h4>{tag('p', taken)}{key}</div>"

    def _row(self, item_id: str, choice: str | None) -> tuple[str, str]:
        item = self._bank[item_id]
        cells = [
            tag("th", tag("a", item_id, href=self._links[item_id]), scope="row"),
            _cell(self._about(item)),
            _cell(choice or "blank"),
            _cell(str(item.answer)),
        ]
        return f"<tr>{join(cells)}<td>", "</td></tr>"


def _time(miss: Miss) -> str:
    seconds, pace = miss["seconds"], miss["pace"]
    if seconds is None:
        return ""
    return f"{seconds:.0f} s" + (f", {pace}" if pace in ("slow", "fast") else "")


def _quoted(item: Item, letter: str) -> Html:
    return join([tag("strong", letter), f" (“{item.choice(letter)}”)"])


def _learner(report: Report, r: LearnerReport, misses: _Misses, level: str = "h2") -> Html:
    score, timing = r.score, r.timing
    lower = {"h1": "h2", "h2": "h3"}[level]
    figures = [
        ("Right", f"{score.right} of {score.given}"),
        ("Share (95% interval)", f"{_percent(score.share)} ({_span(score)})"),
        ("Left blank", str(r.blank) if r.blank else None),
        ("Not given", str(r.not_given) if r.not_given else None),
        ("Time per item", None if timing is None else _seconds(timing.mean)),
        ("Over the budget", None if timing is None else f"{timing.over_budget} of {timing.timed}"),
        ("Slow and wrong", None if timing is None else str(timing.slow_and_wrong)),
        ("Fast and wrong", None if timing is None else str(timing.fast_and_wrong)),
        ("Ability (logits)", None if r.ability is None
         else f"{r.ability:.2f} ± {r.ability_error:.2f}"),
    ]  # fmt: skip
    nothing = "Nothing was missed. Take a harder drill, or a faster one."
    advice = (
        tag("ol", [tag("li", tag("strong", NAMES[a.skill].capitalize()), ". ", a.reason)
                   for a in r.practise_next], class_="next")
        if r.practise_next else tag("p", nothing)
    )  # fmt: skip
    finer = None
    if r.finer:
        rows = [
            tag(
                "tr",
                tag("th", f.label, scope="row"),
                _cell(NAMES[f.skill]),
                _cell(f"{f.missed}" + (f" of {f.given}" if f.given else ""), number=True),
            )
            for f in r.finer
        ]
        finer = _table("Inside the skills: what was missed", ["Point", "Skill", "#Missed"], rows)
    pace = None
    if timing is not None and (timing.slow_and_wrong or timing.fast_and_wrong):
        pace = tag("p", _pace(timing.slow_and_wrong, timing.fast_and_wrong))
    order = tag("p", f"Order taken: {r.order}.", class_="small") if r.order else None
    return join(
        [
            tag(level, _name(r.learner), id=f"learner-{r.number}-name"),
            _figures(figures),
            tag(lower, "Practise next"),
            advice,
            pace,
            order,
            tag(lower, "Skills"),
            _skill_table(r.skills, f"Skills of {r.learner}"),
            finer,
            [tag(lower, f"Missed items ({len(r.misses)})"), misses(r.misses)] if r.misses else None,
        ]
    )


def _pace(slow: int, fast: int) -> str:
    said = []
    if slow:
        said.append(
            f"{slow} {'miss' if slow == 1 else 'misses'} took longer than the budget: when "
            "the time is up, choose, mark the item and go on."
        )
    if fast:
        said.append(
            f"{fast} {'miss' if fast == 1 else 'misses'} came very quickly: read all "
            "choices before you answer."
        )
    return " ".join(said)


# Items explained


def _explained(
    report: Report, bank: Mapping[str, Item], anchors: Mapping[str, str], level: str
) -> Html:
    lower = {"h1": "h2", "h2": "h3"}[level]
    entries = [
        tag(
            "article",
            _item(bank[item_id], explanation, lower),
            id=anchors[item_id],
            class_="item",
        )
        for item_id, explanation in report.explanations.items()
    ]
    if not entries:
        return Html("")
    note = "Every item that somebody missed. The marked words decide the answer."
    heading = tag(level, "Items explained", id="explained-name")
    body = [heading, tag("p", note), entries]
    return tag("section", body, id="explained", aria_labelledby="explained-name")


def _item(item: Item, explanation: Explanation, level: str) -> Html:
    about = NAMES[item.skill] + (f": {explanation.label}" if explanation.label else "")
    choices = []
    for letter in item.letters:
        text = f"{letter}. {item.choice(letter)}"
        if letter == explanation.key:
            choices.append(tag("li", tag("strong", f"{text} (key)")))
        else:
            reason = explanation.tempts.get(letter)
            choices.append(
                tag("li", text, tag("span", f" – {reason}", class_="small") if reason else None)
            )
    doubt = (
        tag("p", tag("strong", "Please check: "), explanation.doubt) if explanation.doubt else None
    )
    return join(
        [
            tag(level, f"{item.id} · {about}"),
            tag("p", _marked(item.passage, explanation.evidence), class_="passage"),
            tag("p", item.passage_2, class_="passage") if item.passage_2 else None,
            _item_table(item),
            tag("ul", [tag("li", note) for note in item.notes]) if item.notes else None,
            tag("p", item.question),
            tag("ul", choices, class_="choices"),
            tag("p", "Why: ", explanation.why),
            doubt,
        ]
    )  # fmt: skip


def _item_table(item: Item) -> Html | None:
    if item.table is None:
        return None
    rows = [
        tag("tr", [_cell("" if cell is None else str(cell)) for cell in row])
        for row in item.table.rows
    ]
    unit = f" ({item.table.unit})" if item.table.unit else ""
    return _table((item.table.title or "Table") + unit, item.table.columns, rows)


def _marked(passage: str, evidence: Sequence[Quote]) -> Html:
    """The passage with the deciding words marked; quotes that overlap make one mark."""
    merged: list[tuple[int, int]] = []
    for start, end in sorted((q.start, q.end) for q in evidence):
        if merged and start <= merged[-1][1]:
            merged[-1] = merged[-1][0], max(end, merged[-1][1])
        else:
            merged.append((start, end))
    pieces: list[str | Html] = []
    at = 0
    for start, end in merged:
        pieces += [passage[at:start], tag("mark", passage[start:end])]
        at = end
    return join([*pieces, passage[at:]])

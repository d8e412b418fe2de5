"""The report: escaped, whole, self-contained, readable; tables that no spreadsheet can run."""

from __future__ import annotations

import csv
import io
import os
import random
import re
import signal
import subprocess
import sys
import time
from html.parser import HTMLParser

import pytest

from rwtools.drills import folder
from rwtools.drills.explain import from_rationale
from rwtools.drills.folder import write_report
from rwtools.drills.grade import grade
from rwtools.drills.model import Report
from rwtools.drills.pictures import grey_of, ink_on
from rwtools.drills.report import pages
from rwtools.drills.style import STYLE
from rwtools.drills.tables import items_table, learners_table, to_csv
from rwtools.errors import UnreadableFileError
from rwtools.items.model import Item, Quote

NASTY = "<script>alert(1)</script>\"&'</td>"
ITEMS = [
    Item(
        id=f"{skill}-{n}",
        skill=skill,
        passage=f"A cat <b>sat</b> & {n} dogs ran; it was not good.",
        question="Which choice fits?",
        choices=["one <i>", "two & more", "three", "four"],
        answer="ABCD"[n % 4],
        rationale="Because <u>of</u> this & that.",
        evidence=[Quote(start=2, end=5, quote="cat"), Quote(start=4, end=10, quote="t <b>s")],
    )
    for skill in ("vocabulary", "punctuation", "grammar")
    for n in range(6)
]


def answers(names: list[str], seed: int = 0) -> list[dict]:
    generator = random.Random(seed)
    return [
        {"learner": name, "item": item.id, "answer": generator.choice(["A", "B", "C", "D", ""]),
         "seconds": generator.randint(4, 190), "position": k}
        for name in names
        for k, item in enumerate(ITEMS, 1)
    ]  # fmt: skip


NAMES = [NASTY, "=cmd|' /C calc'!A0", "+1+1", "@SUM(A1)", "-2", "Ana $x$", "אבגד", *"BCDEFG"]


@pytest.fixture(scope="module")
def report() -> Report:
    return grade(ITEMS, answers(NAMES), explain=from_rationale)


@pytest.fixture(scope="module")
def page(report) -> str:
    made = dict(pages(report, ITEMS))
    assert list(made) == ["report.html"]
    return made["report.html"]


VOID = {"meta", "br", "hr"}


class Outline(HTMLParser):
    """Checks nesting, and collects ids, links, tags and texts."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.ids: list[str] = []
        self.links: list[str] = []
        self.tags: dict[str, list[dict]] = {}
        self.text: list[str] = []

    def handle_starttag(self, tag, attrs):
        self.tags.setdefault(tag, []).append(dict(attrs))
        for name, value in attrs:
            if name == "id":
                self.ids.append(value)
            if name in ("href", "xlink:href", "src"):
                self.links.append(value)
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.text.append(data)


def outline(html: str) -> Outline:
    found = Outline()
    found.feed(html)
    assert found.open == []
    return found


def test_page_is_well_formed_and_its_links_lead_somewhere(page: str) -> None:
    found = outline(page)
    assert len(found.ids) == len(set(found.ids))
    assert found.links
    assert all(link[1:] in found.ids for link in found.links if link.startswith("#"))


def test_page_needs_nothing_from_outside_and_no_script(page: str) -> None:
    found = outline(page)
    assert all(link.startswith("#") for link in found.links)
    assert not {"script", "link", "img", "iframe", "object", "embed"} & set(found.tags)
    assert not re.search(r"url\((?!#)|@import|\son\w+=", page.replace(NASTY, ""))


def test_names_and_texts_are_escaped_but_complete(page: str) -> None:
    said = "".join(outline(page).text)
    assert NASTY in said
    assert "one <i>" in said
    assert "Because <u>of</u> this & that." in said
    assert "<script" not in page


def test_overlapping_evidence_is_one_mark(page: str) -> None:
    assert "<mark>cat &lt;b&gt;s</mark>" in page


def test_every_picture_has_a_text_alternative(page: str) -> None:
    found = outline(page)
    pictures = [svg for svg in found.tags["svg"] if svg.get("aria-hidden") != "true"]
    assert len(pictures) == 4
    for svg in pictures:
        assert svg["role"] == "img"
        assert set(svg["aria-labelledby"].split()) <= set(found.ids)
    assert len(found.tags["desc"]) == 4


def test_footer_says_what_the_report_is_not(page: str) -> None:
    said = "".join(outline(page).text)
    assert "practice aid only" in said
    assert "not official scores" in said


def luminance(colour: str) -> float:
    # WCAG 2.2, definition of relative luminance.
    digits = colour.lstrip("#")
    digits = digits if len(digits) == 6 else "".join(2 * d for d in digits)
    parts = [int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    light, dark = sorted([luminance(one), luminance(other)], reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_text_stands_out_from_its_ground_in_light_dark_and_print() -> None:
    schemes = re.findall(r"--paper: (#\w+); --ink: (#\w+); --soft: (#\w+).*?--band: (#\w+);"
                         r"\s*--accent: (#\w+); --mark: (#\w+)", STYLE, re.DOTALL)  # fmt: skip
    assert len(schemes) == 3
    for paper, ink, soft, band, accent, mark in schemes:
        for text, ground in [
            (ink, paper),
            (soft, paper),
            (ink, band),
            (accent, paper),
            (ink, mark),
        ]:
            assert contrast(text, ground) >= 7


def test_heat_map_figures_stand_out() -> None:
    for share in range(101):
        grey = grey_of(share / 100)
        assert contrast(f"{round(grey * 255):02x}" * 3, ink_on(grey)) >= 4.5


def test_same_answers_same_page(report: Report, page: str) -> None:
    assert dict(pages(report, ITEMS))["report.html"] == page


# Tables


def test_no_cell_can_run_as_a_formula(report: Report) -> None:
    rows = list(csv.DictReader(io.StringIO(to_csv(learners_table(report)))))
    assert [r["learner"] for r in rows] == [
        ("'" + r.learner if r.learner[0] in "=+@" else r.learner) for r in report.learners
    ]
    for entry in rows:
        for value in entry.values():
            assert not re.match(r"[=+\-@\t\r]", value) or re.fullmatch(r"[+-]?\d+(\.\d+)?", value)


def test_numbers_stay_numbers(report: Report) -> None:
    rows = list(csv.DictReader(io.StringIO(to_csv(items_table(report)))))
    assert len(rows) == len(ITEMS)
    found = [float(r["discrimination"]) for r in rows if r["discrimination"]]
    assert any(value < 0 for value in found)
    assert [int(r["right"]) for r in rows] == [i.score.right for i in report.items]
    taken = sum(int(r[x]) for r in rows for x in "ABCD") + sum(int(r["blank"]) for r in rows)
    assert taken == report.counts.graded


# Large classes


@pytest.fixture(scope="module")
def large() -> Report:
    names = [f"Pupil {n} Żółć/../{n}" for n in range(70)]
    return grade(ITEMS, answers(names, 3), explain=from_rationale)


def test_large_class_gets_a_page_for_each_learner(large: Report) -> None:
    made = dict(pages(large, ITEMS))
    assert len(made) == 72
    main = outline(made["report.html"])
    for link in main.links:
        assert link[1:] in main.ids if link.startswith("#") else link.split("#")[0] in made
    for name, html in made.items():
        assert re.fullmatch(r"(learners/)?[\w-]+\.html", name)
        found = outline(html)
        assert "practice aid only" in "".join(found.text)
        for link in found.links:
            if link.startswith("../items.html#"):
                assert f'id="{link.split("#")[1]}"' in made["items.html"]


def test_very_many_misses_are_listed_and_not_repeated(large: Report, monkeypatch) -> None:
    monkeypatch.setattr("rwtools.drills.report.MOST_REPEATED", 10)
    made = dict(pages(large, ITEMS))
    learner = next(r for r in large.learners if r.misses)
    html = next(text for name, text in made.items() if name.endswith(f"-{learner.number}.html"))
    links = [x for x in outline(html).links if x.startswith("../items.html#")]
    assert len(links) == len(learner.misses)


# The folder


def test_folder_holds_what_it_should_and_nothing_else(report: Report, tmp_path) -> None:
    target = tmp_path / "new" / "report"
    write_report(report, ITEMS, target)
    names = ["items.csv", "learners.csv", "report.html", "report.json"]
    assert sorted(p.name for p in target.iterdir()) == names
    assert [p.name for p in target.parent.iterdir()] == ["report"]
    assert Report.model_validate_json((target / "report.json").read_text()) == report


def test_other_files_stay_and_an_old_reports_pages_go(report, large, tmp_path) -> None:
    (tmp_path / "mine.txt").write_text("mine")
    write_report(large, ITEMS, tmp_path)
    assert len(list((tmp_path / "learners").iterdir())) == 70
    write_report(report, ITEMS, tmp_path)
    assert sorted(p.name for p in tmp_path.iterdir()) == [
        "items.csv", "learners.csv", "mine.txt", "report.html", "report.json",
    ]  # fmt: skip
    assert (tmp_path / "mine.txt").read_text() == "mine"


def test_learners_folder_of_somebody_else_stays(report, tmp_path) -> None:
    (tmp_path / "learners").mkdir()
    (tmp_path / "learners" / "list.txt").write_text("mine")
    write_report(report, ITEMS, tmp_path)
    assert (tmp_path / "learners" / "list.txt").read_text() == "mine"


def test_a_failure_leaves_the_old_report(report, large, tmp_path, monkeypatch) -> None:
    target = tmp_path / "report"
    write_report(report, ITEMS, target)
    before = {p.name: p.read_bytes() for p in target.iterdir()}

    def fail(_):
        raise RuntimeError("the table can't be made")

    monkeypatch.setattr(folder, "items_table", fail)
    with pytest.raises(RuntimeError):
        write_report(large, ITEMS, target)
    assert {p.name: p.read_bytes() for p in target.iterdir()} == before
    assert [p.name for p in tmp_path.iterdir()] == ["report"]


def test_a_killed_run_leaves_no_half_written_report(tmp_path) -> None:
    """Killed while it writes its pages: the folder isn't there."""
    target = tmp_path / "report"
    code = (
        "import sys, time\n"
        "from rwtools.drills import folder\n"
        "from rwtools.drills.model import Counts, Report\n"
        "def slow(report, items):\n"
        "    yield 'report.html', 'half'\n"
        "    print('begun', flush=True)\n"
        "    time.sleep(60)\n"
        "folder.pages = slow\n"
        "counts = Counts(lines=0, graded=0, blank=0, learners=0, items=0, items_unused=0,"
        " problems={})\n"
        "folder.write_report(Report(budget_seconds=71, counts=counts, notes=[], problems=[],"
        " skills=[], time_bands=[], measure=None, orders=None, learners=[], items=[],"
        " explanations={}), [], sys.argv[1])\n"
    )
    run = subprocess.Popen(
        [sys.executable, "-c", code, str(target)], stdout=subprocess.PIPE, text=True
    )
    assert run.stdout is not None
    assert run.stdout.readline() == "begun\n"
    os.kill(run.pid, signal.SIGKILL)
    run.wait(10)
    time.sleep(0.1)
    assert not target.exists()


def test_a_file_in_the_way_is_one_clear_line(report, tmp_path) -> None:
    (tmp_path / "report").write_text("")
    with pytest.raises(UnreadableFileError, match="this is a file, not a folder"):
        write_report(report, ITEMS, tmp_path / "report")

"""The report in a real browser: no accessibility fault in either scheme, no sideways scrolling."""

from __future__ import annotations

import pytest

from rwtools.drills.answers import read_file
from rwtools.drills.explain import from_rationale
from rwtools.drills.folder import write_report
from rwtools.drills.grade import grade
from rwtools.items.model import read_item

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]


@pytest.fixture(scope="module")
def report(root, tmp_path_factory):
    import json

    folder = root / "corpus" / "drills"
    lines = (folder / "items.jsonl").read_text(encoding="utf-8").splitlines()
    items = [read_item(json.loads(line)) for line in lines]
    made = grade(items, read_file(folder / "answers.csv"), explain=from_rationale)
    target = tmp_path_factory.mktemp("report") / "demo"
    write_report(made, items, target)
    return target / "report.html"


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [360, 1200])
def test_page_is_accessible_and_fits(browser, report, scheme, width):
    from axe_core_python.sync_playwright import Axe

    context = browser.new_context(
        color_scheme=scheme, bypass_csp=True, viewport={"width": width, "height": 900}
    )
    page = context.new_page()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(report.as_uri())
    assert Axe().run(page)["violations"] == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert asked == [report.as_uri()]
    context.close()

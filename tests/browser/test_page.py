"""The page as a learner uses it, in a real browser."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]

PASSAGE = "The pith, or soft core, is light; however, it is strong. Because it is hollow, it bends."


def own_text(page, text: str) -> None:
    page.click("#edit")
    page.fill("#own-text", text)
    page.click("#own button[type=submit]")
    page.wait_for_selector("#own", state="hidden")


def test_first_sight_is_a_marked_example(open_page):
    page = open_page()
    assert page.locator("#passage .mark").count() >= 5
    assert "millers" in page.inner_text("#passage")
    assert "practice aid" in page.inner_text("footer").lower()
    # Common practice in typography, no single published source: 45 to 75 characters a line.
    longest = page.evaluate(
        """() => {
          const walker = document.createTreeWalker(document.querySelector('#passage'), 4);
          const lines = new Map(), range = document.createRange();
          for (let node; (node = walker.nextNode());)
            for (let i = 0; i < node.length; i++) {
              range.setStart(node, i); range.setEnd(node, i + 1);
              const key = Math.round(range.getBoundingClientRect().bottom / 12);
              lines.set(key, (lines.get(key) || 0) + 1);
            }
          return Math.max(...lines.values());
        }"""
    )
    assert 55 <= longest <= 76


def test_a_pasted_passage_is_marked_and_a_mark_explains_itself(open_page):
    page = open_page()
    own_text(page, PASSAGE)
    page.click("#passage .transition >> text=however")
    note = page.inner_text("#note")
    assert "however" in note
    assert "rule: transition" in note
    assert page.locator("#passage .ev").count() >= 2
    # Lines lead to both parts, one solid and one dashed, and each part bears its name.
    dashes = page.evaluate(
        "[...document.querySelectorAll('#passage .links path')]"
        ".map(p => getComputedStyle(p).strokeDasharray)"
    )
    assert len(dashes) >= 2
    assert len(set(dashes)) >= 2
    assert {"first part", "second part"} <= set(page.locator(".part").all_inner_texts())


def test_keyboard_alone_is_enough(open_page):
    page = open_page()
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    for _ in range(40):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.classList.contains('mark')"):
            break
    page.keyboard.press("Enter")
    assert page.locator("#passage .mark[aria-pressed=true]").count() == 1
    assert page.evaluate("document.activeElement.getAttribute('aria-pressed')") == "true"
    page.keyboard.press("Space")
    assert page.locator("#passage .mark[aria-pressed=true]").count() == 0


def test_three_steps_of_help(open_page):
    page = open_page()
    page.click("[data-reveal=where]")
    assert page.locator("#passage .transition").count() == 0
    looks = page.evaluate(
        "[...new Set([...document.querySelectorAll('#passage .mark')].map(e => {"
        " const s = getComputedStyle(e); return s.textDecorationLine + s.color + s.fontWeight; }))]"
    )
    assert len(looks) == 1
    assert looks[0].startswith("underline")
    assert "guess" in page.inner_text("#note")
    page.locator("#passage .mark").first.click()
    assert "rule:" not in page.inner_text("#note")
    page.click("#note >> text=Tell me why")
    assert page.locator("#passage .transition").count() > 0
    assert page.locator("#passage .ev").count() == 0
    page.click("#note >> text=Show me in the text")
    assert "rule:" in page.inner_text("#note")


def test_counts_by_kind_and_a_list_of_all(open_page):
    page = open_page()
    page.click("#counts summary")
    assert page.locator("#signals tbody tr").count() >= 3
    page.locator("#signals .list button").first.click()
    assert page.locator("#passage .mark[aria-pressed=true]").count() == 1
    assert page.inner_text("#note h2")


def test_a_question_is_worked_out_step_by_step(open_page):
    page = open_page("question")
    page.click("#ask-example")
    page.click("#ask button[type=submit]")
    page.wait_for_selector("#path li")
    assert page.locator("#path li").count() >= 1
    assert "fits" not in page.inner_text("#asked-choices")
    lit = 0
    while page.is_enabled("#path-next"):
        lit += page.locator("#asked-passage .ev").count()
        page.click("#path-next")
    assert lit > 0
    assert "The answer is A" in page.inner_text("#path")
    assert page.locator("#asked-choices .why").count() == 4


def test_on_a_phone_each_step_comes_into_sight(open_page):
    page = open_page("question", width=360, height=740, reduced_motion="reduce")
    page.click("#ask-example")
    page.click("#ask button[type=submit]")
    page.wait_for_selector("#path li")
    while page.is_enabled("#path-next"):
        page.click("#path-next")
        note, step, button = (
            page.locator(place).bounding_box()
            for place in (".note:has(#path)", "#path li[aria-current]", "#path-next")
        )
        assert note["y"] <= button["y"]
        assert button["y"] + button["height"] <= step["y"] + 1
        assert step["y"] + min(step["height"], 60) <= note["y"] + note["height"]


def test_a_drill_gives_feedback_and_keeps_a_history_that_can_be_deleted(open_page):
    page = open_page()
    page.click("#to-drill")
    page.click("#drill >> text=Make the drill")
    made = '#drill form, #drill p:has-text("No good question")'
    page.wait_for_selector(made, timeout=240_000)
    assert page.locator("#drill form").count() == 1
    while page.locator("#drill form").count():
        page.locator("#drill input[type=radio]").first.check()
        page.click("#drill button[type=submit]")
        page.wait_for_selector("#drill-note .verdict")
        page.locator("#drill-note .tools button").first.click()
    assert "right" in page.inner_text("#drill h2")
    page.click("#history summary")
    assert page.locator("#past tbody tr").count() >= 1
    assert page.locator("#runs tbody tr").count() == 1
    page.click("#forget")
    assert page.locator("#past tbody tr").count() >= 1
    page.click("#forget-no")
    assert page.evaluate("document.activeElement.id") == "forget"
    page.click("#forget")
    page.click("#forget-yes")
    assert page.locator("#past tbody tr").count() == 0
    assert page.evaluate("localStorage.getItem('rwtools.history')") is None


def test_a_class_is_marked(open_page, tmp_path, root):
    items = tmp_path / "items.jsonl"
    lines = (root / "corpus/items/grammar.jsonl").read_text().splitlines()[:3]
    items.write_text("\n".join(lines), encoding="utf-8")
    ids = [json.loads(line)["id"] for line in lines]
    answers = tmp_path / "answers.csv"
    rows = [f"Ada,{ids[0]},A", f"Ada,{ids[1]},B", f"<b>Bo</b>,{ids[2]},C"]
    answers.write_text("learner,item,answer\n" + "\n".join(rows), encoding="utf-8")
    page = open_page("marks")
    page.set_input_files("#grade-items", str(items))
    page.set_input_files("#grade-answers", str(answers))
    page.click("#grade button[type=submit]")
    page.wait_for_selector("#report tbody tr", timeout=60_000)
    assert page.locator("#report tbody tr").count() == 2
    assert "<b>Bo</b>" in page.inner_text("#report")
    with page.expect_download() as waiting:
        page.click("text=Save the full report")
    assert "<html" in Path(waiting.value.path()).read_text(encoding="utf-8")


def test_dark_page_is_kept(open_page):
    page = open_page()
    page.click("#light")
    assert page.get_attribute("html", "data-light") == "dark"
    page.reload()
    page.wait_for_selector("body[data-ready]")
    assert page.get_attribute("html", "data-light") == "dark"


def test_phone_width_needs_no_sideways_scrolling(open_page):
    for desk in ("read", "question", "drill", "marks"):
        page = open_page(desk, width=360, height=740, has_touch=True)
        assert page.evaluate("document.documentElement.scrollWidth") <= 360


def test_touch_chooses_a_mark(open_page):
    page = open_page(width=390, height=800, has_touch=True)
    page.locator("#passage .mark").first.tap()
    assert page.locator("#passage .mark[aria-pressed=true]").count() == 1


def test_the_longest_passage_and_one_too_long(open_page):
    page = open_page()
    long = (PASSAGE + " ") * 230
    own_text(page, long[:20_000].rstrip())
    assert page.locator("#passage .mark").count() > 300
    page.click("#edit")
    page.fill("#own-text", "word " * 4001)
    page.click("#own button[type=submit]")
    page.wait_for_selector("#trouble:not([hidden])")
    assert "20,000" in page.inner_text("#trouble")
    page.faults.clear()  # the browser logs the refused request


@pytest.mark.parametrize(
    "text",
    [
        "قال المعلم: “hello”; however, the class, or group, was silent.",
        "👩‍🏫🙂 The pith, or soft core, is light; however, it is é́ strong 🙂.",
        "<script>document.title='x'</script> <b>Bold</b>; however, & it is &lt;text&gt;.",
    ],
)
def test_any_text_is_shown_as_the_text_it_is(open_page, text):
    page = open_page()
    title = page.title()
    own_text(page, text)
    shown = page.evaluate(
        "[...document.querySelectorAll('#passage > span')].map(e => e.textContent).join('')"
    )
    assert shown.replace("\u2038", "") == text
    assert page.title() == title
    assert page.locator("#passage b, #passage script").count() == 0
    mark = page.locator("#passage .transition")
    assert mark.first.text_content() == "however"


def test_on_a_phone_the_chosen_mark_and_its_note_are_in_sight_together(open_page):
    page = open_page(width=360, height=740, has_touch=True)
    mark = page.locator("#passage .mark").last
    mark.tap()
    chosen, note = mark.bounding_box(), page.locator("#note").bounding_box()
    assert chosen["y"] >= 0
    assert chosen["y"] + chosen["height"] <= note["y"]
    assert note["y"] + note["height"] <= 741
    assert page.evaluate("document.documentElement.scrollWidth") <= 360


@pytest.mark.parametrize("desk", ["read", "question", "drill", "marks"])
@pytest.mark.parametrize("light", ["light", "dark"])
def test_accessibility_by_axe(open_page, desk, light):
    """WCAG 2.2 A and AA, checked by axe-core."""
    from axe_core_python.sync_playwright import Axe

    page = open_page(desk, color_scheme=light)
    if desk == "read":
        page.locator("#passage .mark").first.click()
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
    found = Axe().run(page, options={"runOnly": {"type": "tag", "values": tags}})
    assert [(v["id"], v["nodes"][0]["html"][:120]) for v in found["violations"]] == []

"""The notes and the list of the Read desk: doubt, places in sight, the keyboard's place."""

from __future__ import annotations

import json

import pytest

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]

TEXT = "When rain fell, the clay softened, and the wall, a low bank of earth, sank."


def clue(text: str, quote: str, label: str, **more) -> dict:
    """A clue as the server sends it, about the first place of some words."""
    start = text.index(quote)
    end = start + len(quote)
    place = {"start": start, "end": end, "start_utf16": start, "end_utf16": end}
    told = {"kind": "transition", "rule": "transition-connective", "confidence": 0.9}
    told |= {"explanation": f"About {quote}.", "evidence": [], "fix": []}
    return {**place, "quote": quote, "label": label, **told, **more}


def part(text: str, quote: str, role: str) -> dict:
    """A part that a clue speaks of."""
    found = clue(text, quote, "")
    return {n: found[n] for n in ("start", "end", "start_utf16", "end_utf16", "quote")} | {
        "role": role
    }


def answered(page, text: str, clues: list[dict]) -> None:
    """Show a text for which the server found these clues."""
    page.route(
        "**/v1/hint",
        lambda route: route.fulfill(
            content_type="application/json", body=json.dumps({"clues": clues})
        ),
    )
    page.click("#edit")
    page.fill("#own-text", text)
    page.click("#own button[type=submit]")
    page.wait_for_selector("#own", state="hidden")


def test_a_weak_mark_is_lighter_and_says_perhaps(open_page):
    page = open_page()
    answered(
        page,
        TEXT,
        [
            clue(TEXT, "When", "simultaneity"),
            clue(TEXT, "and", "cause", confidence=0.06),
        ],
    )
    weak = page.locator("#passage .mark.weak")
    assert weak.count() == 1
    assert weak.get_attribute("aria-label") == "and, perhaps: joins ideas"
    weight = "e => Number(getComputedStyle(e).fontWeight)"
    assert weak.evaluate(weight) < page.locator("#passage .mark").first.evaluate(weight)
    assert "perhaps" in page.inner_text("#legend")
    assert "1 of them is doubtful" in page.inner_text("#note")
    assert "not therefore correct" in page.inner_text("#note")
    weak.click()
    assert "of 100 marks like it, about 6 are right" in page.inner_text("#note")
    page.click("#counts summary")
    assert "“and” – perhaps joins ideas: cause" in page.inner_text("#signals")


def test_every_listed_signal_selects_its_mark_and_counts_agree(open_page):
    page = open_page()
    clues = [
        clue(TEXT, ", a low bank of earth,", "sound", kind="punctuation", rule="series-comma"),
        clue(TEXT, "a low bank of earth", "definition", kind="meaning", rule="meaning-apposition"),
        clue(TEXT, "and", "addition"),
    ]
    answered(page, TEXT, clues)
    marks = page.locator("#passage .mark")
    assert "3 signals" in page.inner_text("#note")
    assert f"{marks.count()} marked places (some have more than one signal)" in page.inner_text(
        "#note"
    )
    page.click("#counts summary")
    rows = page.locator("#signals .list button")
    for number, found in enumerate(clues):
        rows.nth(number).click()
        chosen = page.locator("#passage .mark[aria-pressed=true]")
        assert chosen.inner_text() == found["quote"]
    # The other signal of one place can be reached from the text, too.
    rows.nth(0).click()
    page.click("#note >> text=Also here")
    assert page.locator("#passage .mark[aria-pressed=true]").inner_text() == "a low bank of earth"


def test_parts_of_one_name_are_numbered(open_page):
    page = open_page()
    members = [part(TEXT, word, "arg2") for word in ("rain", "clay", "wall")]
    verbs = [part(TEXT, word, "verb") for word in ("fell", "softened")]
    answered(
        page,
        TEXT,
        [
            clue(
                TEXT,
                "When",
                "sound",
                kind="punctuation",
                rule="series-comma",
                evidence=[*members, *verbs],
            )
        ],
    )
    page.locator("#passage .mark").first.click()
    told = page.locator("#note dt").all_inner_texts()
    assert told == ["member 1", "member 2", "member 3", "verb 1", "verb 2"]
    assert set(page.locator("#passage .part").all_inner_texts()) == set(told)
    assert "well marked: commas of a list" in page.inner_text("#note")


@pytest.mark.parametrize("width", [1280, 390])
def test_the_list_shows_the_note_and_keeps_its_place(open_page, width):
    page = open_page(width=width, height=844)
    page.focus("#counts summary")
    page.keyboard.press("Enter")
    row = page.locator("#signals .list button").last
    row.focus()
    page.keyboard.press("Enter")
    note = page.locator("#note h2").bounding_box()
    assert 0 <= note["y"] <= 844 - note["height"]
    assert page.evaluate("document.activeElement.closest('#signals') !== null")
    quote = page.evaluate("document.activeElement.textContent")
    page.keyboard.press("Escape")
    assert page.locator("#passage .mark[aria-pressed=true]").count() == 0
    assert page.evaluate("document.activeElement.textContent") == quote
    page.keyboard.press("Enter")
    page.click("#note >> text=Go to it in the text")
    page.until(
        """() => {
          const mark = document.querySelector('#passage .mark[aria-pressed=true]');
          const r = mark.getBoundingClientRect();
          return document.activeElement === mark && r.top >= 0 && r.bottom <= innerHeight;
        }"""
    )


def test_the_skip_link_leaves_the_desk_as_it_is(open_page):
    page = open_page("question")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "work"
    page.reload()
    page.wait_for_selector("body[data-ready]")
    assert page.is_visible("#desk-question")
    assert page.title().startswith("Question")


def test_escape_closes_a_note_and_stays_at_its_mark(open_page):
    page = open_page()
    page.locator("#passage .mark").nth(1).click()
    page.keyboard.press("Escape")
    assert page.locator("#passage .mark[aria-pressed=true]").count() == 0
    assert page.evaluate("document.activeElement.dataset.index") is not None


def test_a_comma_has_room_for_a_finger(open_page):
    page = open_page(width=390, height=844, has_touch=True, is_mobile=True)
    mark = page.locator("#passage .mark.small").first
    mark.scroll_into_view_if_needed()
    box = mark.bounding_box()
    # WCAG 2.2, success criterion 2.5.8: 24 by 24 pixels at least.
    size = mark.evaluate(
        "e => { const s = getComputedStyle(e, '::after'); return [s.width, s.height]; }"
    )
    assert all(float(length.removesuffix("px")) >= 24 for length in size)
    page.touchscreen.tap(box["x"] + box["width"] + 5, box["y"] + box["height"] / 2)
    assert mark.get_attribute("aria-pressed") == "true"


def test_a_text_without_signals_is_not_called_sound(open_page):
    page = open_page()
    answered(page, "La casa es grande.", [])
    assert "No signal found" in page.inner_text("#note")
    assert "English only" in page.inner_text("#note")


def test_reading_says_that_it_works_and_complaints_go_away(open_page):
    page = open_page()
    waiting = []
    page.route("**/v1/hint", lambda route: waiting.append(route))  # noqa: PLW0108 (not a builtin)
    page.click("#edit")
    page.fill("#own-text", "   ")
    page.click("#own button[type=submit]")
    assert "no text yet" in page.inner_text("#own-text-wrong")
    page.fill("#own-text", TEXT)
    assert page.locator("#own-text-wrong").count() == 0
    page.click("#own button[type=submit]")
    page.until("document.querySelector('#own [type=submit]').disabled")
    assert "Reading" in page.inner_text("#own button[type=submit]")
    for _ in range(100):
        if waiting:
            break
        page.wait_for_timeout(20)
    waiting[0].fulfill(
        status=422, content_type="application/problem+json", body='{"detail": "no text"}'
    )
    page.wait_for_selector("#trouble:not([hidden])")
    assert page.is_enabled("#own button[type=submit]")
    page.click("#own-close")
    assert page.is_hidden("#trouble")
    page.faults.clear()  # the browser logs the refused request
    page.click("[data-desk=question]")
    page.until("document.title.startsWith('Question')")

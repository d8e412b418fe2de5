"""The Question and Drill desks: complaints beside their fields, words in sight, nothing lost."""

from __future__ import annotations

import json

import pytest

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]

LONG = " ".join(
    f"In the year {n} the mill stood still and nobody came to mend it." for n in range(40)
)
QUESTION = {
    "skill": "grammar",
    "passage": "The dogs ____ in the yard.",
    "question": "Which form fits?",
    "choices": "is\nare",
}


def asked(page, **more) -> None:
    """Fill the form in and send it."""
    values = {**QUESTION, "target": "", **more}
    page.select_option("#ask-skill", values["skill"])
    for name in ("passage", "target", "question", "choices"):
        page.fill(f"#ask-{name}", values[name])
    page.click("#ask button[type=submit]")


def solution(text: str, confidence: float) -> dict:
    """A solution of two steps, whose words stand at the beginning and at the end."""

    def at(start: int, end: int) -> list[dict]:
        place = {"start": start, "end": end, "start_utf16": start, "end_utf16": end}
        return [{**place, "quote": text[start:end], "role": "cue"}]

    path = [
        {
            "step": 1,
            "action": "Begin.",
            "finding": "Here. " * 60,
            "rule": None,
            "evidence": at(0, 11),
        },
        {
            "step": 2,
            "action": "End.",
            "finding": "There.",
            "rule": None,
            "evidence": at(len(text) - 9, len(text)),
        },
    ]
    choices = [
        {"letter": letter, "text": word, "verdict": verdict, "reason": "So.", "evidence": at(0, 11)}
        for letter, word, verdict in (("A", "is", "ruled_out"), ("B", "are", "fits"))
    ]
    return {"answer": "B", "confidence": confidence, "choices": choices, "path": path}


def answering(page, path: str, body: dict) -> None:
    """Answer a path of the API with this body."""
    page.route(
        f"**/v1/{path}",
        lambda route: route.fulfill(content_type="application/json", body=json.dumps(body)),
    )


@pytest.mark.parametrize(
    ("more", "field", "words"),
    [
        ({"passage": " "}, "passage", "no passage yet"),
        ({"passage": "The dogs ___ here."}, "passage", "four underscores"),
        ({"passage": "The dogs bark."}, "passage", "no blank"),
        ({"passage": "The ____ dogs ____."}, "passage", "more than one blank"),
        ({"skill": "vocabulary", "passage": "A lucid day."}, "target", "Write the word"),
        (
            {"skill": "vocabulary", "passage": "A lucid day.", "target": "zebra"},
            "target",
            "“zebra” does not stand in the passage",
        ),
        ({"question": ""}, "question", "no question yet"),
        ({"choices": "is"}, "choices", "one choice only"),
        ({"choices": "is\nare\nis"}, "choices", "the same: “is”"),
        ({"choices": "a\nb\nc\nd\ne\nf\ng"}, "choices", "six at most"),
    ],
)
def test_a_field_says_itself_what_is_wrong(open_page, more, field, words):
    page = open_page("question")
    sent = []
    page.on("request", lambda request: sent.append(request.url))
    asked(page, **more)
    assert words in page.inner_text(f"#ask-{field}-wrong")
    assert page.locator(".complaint:visible").count() == 1
    assert page.evaluate("document.activeElement.id") == f"ask-{field}"
    assert not any("/v1/solve" in url for url in sent)
    page.type(f"#ask-{field}", "x")
    assert page.locator(".complaint:visible").count() == 0


@pytest.mark.parametrize(
    ("typed", "choices"),
    [
        ("(A) is\n(B) are", ["is", "are"]),
        ("a. is\nb. are", ["is", "are"]),
        ("A. Lind, who is\nShe is", ["A. Lind, who is", "She is"]),
        ("B. is\nA. are", ["B. is", "A. are"]),
    ],
)
def test_letters_go_where_all_choices_have_them(open_page, typed, choices):
    page = open_page("question")
    answering(page, "solve", {"solutions": [solution(QUESTION["passage"], 0.9)]})
    with page.expect_request("**/v1/solve") as sent:
        asked(page, choices=typed)
    assert sent.value.post_data_json["items"][0]["choices"] == choices


@pytest.mark.parametrize(
    ("confidence", "words"),
    [(0.95, "very sure"), (0.8, "fairly sure"), (0.6, "not very sure"), (0.3, "Do not rely")],
)
def test_an_answer_says_how_sure_it_is_and_keeps_the_focus(open_page, confidence, words):
    page = open_page("question")
    answering(page, "solve", {"solutions": [solution(QUESTION["passage"], confidence)]})
    asked(page)
    page.wait_for_selector("#path li")
    while page.is_enabled("#path-next"):
        page.focus("#path-next")
        page.keyboard.press("Enter")
    assert words in page.inner_text("#sure")
    assert str(round(confidence * 100)) in page.inner_text("#sure")
    assert page.evaluate("document.activeElement.getAttribute('aria-current')") == "step"


@pytest.mark.parametrize("motion", ["reduce", "no-preference"])
def test_on_a_phone_the_lit_words_of_each_step_are_in_sight(open_page, motion):
    page = open_page("question", width=390, height=844, has_touch=True, reduced_motion=motion)
    passage = f"{LONG} The dogs ____ there."
    answering(page, "solve", {"solutions": [solution(passage, 0.9)]})
    asked(page, passage=passage)
    page.wait_for_selector("#path li")
    seen = """() => {
      const note = document.querySelector('#desk-question .note').getBoundingClientRect();
      const lit = [...document.querySelectorAll('#asked-passage .ev')]
        .map(e => e.getBoundingClientRect());
      return lit.length > 0 && lit.every(r => r.top >= 0 && r.bottom <= note.top);
    }"""
    page.until(seen)
    while page.is_enabled("#path-next"):
        page.tap("#path-next")
        page.until(seen)


def item(number: int, passage: str) -> dict:
    """A question of a drill."""
    return {
        "id": f"q{number}",
        "skill": "grammar",
        "passage": passage,
        "question": "Which form fits?",
        "choices": ["is", "are"],
        "answer": "B",
        "rationale": "Two dogs, one verb. " * 40,
        "evidence": [{"start": 4, "end": 8, "start_utf16": 4, "end_utf16": 8, "quote": "dogs"}],
    }


def drill(page, number: int = 2) -> None:
    """Make a drill of some questions."""
    items = [item(n, f"The dogs ____ in yard {n}.") for n in range(number)]
    answering(page, "make", {"items": items, "report": {}})
    answering(page, "solve", {"solutions": [solution(items[0]["passage"], 0.9)]})
    page.click("#to-drill")
    page.click("#drill >> text=Make the drill")
    page.wait_for_selector("#drill form")


def check(page) -> None:
    """Answer the question, wrongly."""
    page.locator("#drill input[type=radio]").first.check()
    page.click("#drill button[type=submit]")
    page.wait_for_selector("#drill-note >> text=Why not A")


def test_each_answer_is_saved_and_a_reload_loses_nothing(open_page):
    page = open_page()
    drill(page)
    page.click("#drill button[type=submit]")
    assert "Choose an answer first" in page.inner_text("#drill form")
    check(page)
    runs = page.evaluate("JSON.parse(localStorage.getItem('rwtools.history'))")
    assert len(runs) == 1
    assert set(runs[0]) == {"when", "results"}
    assert [set(r) for r in runs[0]["results"]] == [{"skill", "right", "seconds"}]
    page.reload()
    page.wait_for_selector("body[data-ready]")
    assert "Question 2 of 2" in page.inner_text("#drill")
    check(page)
    page.click("#history summary")
    assert "0 of 2" in page.inner_text("#runs")
    assert "grammar (2)" in page.inner_text("#runs")
    assert page.evaluate("JSON.parse(localStorage.getItem('rwtools.history')).length") == 1


def test_a_new_text_gives_a_new_drill_and_a_drill_can_be_left(open_page):
    page = open_page()
    drill(page)
    page.click("[data-desk=read]")
    before = page.inner_text("#passage")
    page.click("#another")
    page.until("old => document.querySelector('#passage').innerText !== old", arg=before)
    page.click("[data-desk=drill]")
    assert "another text" in page.inner_text("#drill-source")
    page.click("[data-desk=read]")
    text = page.evaluate("document.querySelector('#passage').textContent")
    page.click("#to-drill")
    page.wait_for_selector("#drill >> text=Make the drill")
    assert text[:15] in page.inner_text("#drill")
    page.click("#drill >> text=Go on with the drill")
    assert "Question 1 of 2" in page.inner_text("#drill")
    page.click("#drill >> text=Leave this drill")
    assert page.locator("#drill form").count() == 0
    assert page.locator("#drill >> text=Make the drill").count() == 1


def test_on_a_phone_the_next_question_is_in_reach(open_page):
    page = open_page(width=390, height=844, has_touch=True)
    drill(page)
    check(page)
    onward = page.locator("#drill-note >> text=Next question").bounding_box()
    assert 0 <= onward["y"] <= 844 - onward["height"]
    assert page.evaluate(
        """() => {
          const button = document.querySelector('#drill-note .tools button');
          const r = button.getBoundingClientRect();
          return document.elementFromPoint(r.left + 9, r.bottom - 3) === button;
        }"""
    )
    page.tap("#drill-note >> text=Next question")
    assert "Question 2" in page.evaluate("document.activeElement.textContent")


def test_what_was_typed_outlives_a_reload(open_page):
    page = open_page()
    page.click("#edit")
    page.fill("#own-text", "My own words stay; however, they are few.")
    page.click("#own button[type=submit]")
    page.wait_for_selector("#own", state="hidden")
    assert page.locator("#passage .mark").first.bounding_box()["y"] >= 0
    page.click("[data-desk=question]")
    page.fill("#ask-passage", "Half a question ____")
    page.reload()
    page.wait_for_selector("body[data-ready]")
    assert page.input_value("#ask-passage") == "Half a question ____"
    page.click("#ask-example")
    assert "ferry" in page.input_value("#ask-passage")
    page.click("#ask-example")
    assert page.input_value("#ask-passage") == "Half a question ____"
    page.click("[data-desk=read]")
    assert "My own words" in page.inner_text("#passage")
    # It stays in this tab: nothing that a later user of the computer finds.
    assert "own words" not in page.evaluate("JSON.stringify({...localStorage})")

"""What the API answers, against the package itself, the schemas and outside counts."""

from __future__ import annotations

import csv
import io
import json

import jsonschema
import pytest

import rwtools
from rwtools.drills.make import SKILLS_MADE

NDJSON = {"accept": "application/x-ndjson"}
PITH = "The pith, or soft core, is light; however, it is strong."


def spans(data):
    """Every dictionary with offsets and a quote in JSON data."""
    if isinstance(data, dict):
        if {"start", "end", "quote"} <= data.keys():
            yield data
        data = list(data.values())
    if isinstance(data, list):
        for entry in data:
            yield from spans(entry)


def lines(answer):
    assert answer.status_code == 200, answer.text
    assert answer.headers["content-type"].startswith("application/x-ndjson")
    assert answer.text.endswith("\n")
    return [json.loads(line) for line in answer.text.splitlines()]


def in_utf16(text: str, start: int, end: int) -> str:
    """A slice by UTF-16 units, as a browser counts (Python's own codec is the outside source)."""
    return text.encode("utf-16-le")[2 * start : 2 * end].decode("utf-16-le")


def test_hint_is_what_the_package_finds_and_fits_the_schema(client, root):
    found = client.post("/v1/hint", json={"passage": PITH}).json()
    assert [rwtools.Clue.from_dict(c).to_dict() for c in found["clues"]] == [
        clue.to_dict() for clue in rwtools.hint(PITH)
    ]
    schema = json.loads((root / "shared" / "schemas" / "clue.json").read_text("utf-8"))
    for clue in found["clues"]:
        jsonschema.validate(clue, schema)


def test_offsets_in_both_units(client):
    passage = "🙂👩‍🏫 The pith, or soft core, is light; however, é́ it is strong 🙂."
    found = list(spans(client.post("/v1/hint", json={"passage": passage}).json()))
    assert found
    for span in found:
        assert passage[span["start"] : span["end"]] == span["quote"]
        assert in_utf16(passage, span["start_utf16"], span["end_utf16"]) == span["quote"]


def test_half_a_character_comes_back_as_it_was_sent(client):
    body = b'{"passage": "The \\ud83d pith, or soft core, is light; however, it is strong."}'
    answer = client.post("/v1/hint", content=body, headers={"content-type": "application/json"})
    passage = json.loads(body)["passage"]
    found = list(spans(answer.json()))
    assert found
    for span in found:
        assert passage[span["start"] : span["end"]] == span["quote"]
        assert span["start_utf16"] == span["start"]  # half of a pair is one unit


def test_less_is_shown_to_those_who_want_to_try_first(client):
    where = client.post("/v1/hint", json={"passage": PITH, "reveal": "where"}).json()["clues"]
    assert all(
        set(c) == {"kind", "start", "end", "quote", "start_utf16", "end_utf16"} for c in where
    )
    why = client.post("/v1/hint", json={"passage": PITH, "reveal": "why"}).json()["clues"]
    assert all("explanation" in c and "evidence" not in c for c in why)
    one = client.post("/v1/hint", json={"passage": PITH, "kinds": ["transition"]}).json()["clues"]
    assert {c["kind"] for c in one} == {"transition"}


def test_a_batch_of_passages(client, passages):
    sent = [{"id": name, "passage": p} for name, p in list(passages.items())[:11]]
    whole = client.post("/v1/hints", json={"passages": sent}).json()["hints"]
    streamed = lines(client.post("/v1/hints", json={"passages": sent}, headers=NDJSON))
    assert whole == streamed
    assert [entry["id"] for entry in whole] == [entry["id"] for entry in sent]
    first = client.post("/v1/hint", json={"passage": sent[0]["passage"]}).json()
    assert first["clues"] == whole[0]["clues"]
    bad = [*sent, {"id": 5, "passage": " "}]
    problem = client.post("/v1/hints", json={"passages": bad}).json()
    assert (problem["status"], problem["field"]) == (422, "passages.11.passage")


def test_solve_whole_and_streamed(client, some_items, root):
    whole = client.post("/v1/solve", json={"items": some_items}).json()["solutions"]
    streamed = lines(client.post("/v1/solve", json={"items": some_items}, headers=NDJSON))
    assert [s["id"] for s in whole] == [i["id"] for i in some_items]
    assert whole == streamed
    schema = json.loads((root / "shared" / "schemas" / "solution.json").read_text("utf-8"))
    right = 0
    for item, solution in zip(some_items, whole, strict=True):
        right += solution["answer"] == item["answer"]
        for span in spans(solution):
            assert item["passage"][span["start"] : span["end"]] == span["quote"]
            found = in_utf16(item["passage"], span["start_utf16"], span["end_utf16"])
            assert found == span["quote"]
        jsonschema.validate(_bare(solution), schema)
    assert right >= 3  # of 5 that were written with a clear key


def _bare(data):
    """Without the browser's offsets, which the contract's schema does not have."""
    if isinstance(data, list):
        return [_bare(entry) for entry in data]
    if isinstance(data, dict):
        return {k: _bare(v) for k, v in data.items() if not k.endswith("_utf16")}
    return data


def test_vet_reports_each_record_and_repeats_across_batches(client, some_items):
    sent = [*some_items, {"id": "odd"}, {**some_items[0], "id": "again"}]
    reports = lines(client.post("/v1/vet", json={"items": sent}, headers=NDJSON))
    assert reports == client.post("/v1/vet", json={"items": sent}).json()["reports"]
    assert [r["line"] for r in reports] == list(range(1, len(sent) + 1))
    odd, again = reports[-2:]
    assert [p["code"] for p in odd["problems"]] == ["format"]
    assert "field skill" in odd["problems"][0]["message"]
    assert "duplicate" in {p["code"] for p in again["problems"]}


def test_make_gives_sound_items_with_their_keys(client, passages):
    body = {"passages": [passages["tide-mill"]], "count": 2, "seed": 3}
    made = client.post("/v1/make", json=body).json()
    again = client.post("/v1/make", json=body).json()
    assert made == again
    assert 1 <= len(made["items"]) <= 2
    for item in made["items"]:
        assert item["answer"] in "ABCD"
        assert item["skill"] in SKILLS_MADE
        for quote in item.get("evidence", []):
            assert (
                in_utf16(item["passage"], quote["start_utf16"], quote["end_utf16"])
                == (quote["quote"])
            )


def test_the_skills_that_can_be_made_are_those_of_the_maker():
    from typing import get_args

    from rwtools.api.routers.drills import MadeSkill

    assert get_args(MadeSkill) == SKILLS_MADE


@pytest.fixture
def answers(some_items):
    wrong = {"A": "B", "B": "A", "C": "A", "D": "A"}
    return [
        {
            "learner": name,
            "item": item["id"],
            "answer": item["answer"] if ok else wrong[item["answer"]],
        }
        for name, step in (("Ines", 1), ("Bao, “B”", 2))
        for n, item in enumerate(some_items)
        for ok in [n % step == 0]
    ]


def test_grade_by_json_and_by_files_is_the_same(client, some_items, answers):
    report = client.post("/v1/grade", json={"items": some_items, "answers": answers}).json()
    scores = {entry["learner"]: entry["score"] for entry in report["learners"]}
    assert (scores["Ines"]["right"], scores["Ines"]["given"]) == (5, 5)
    assert scores["Bao, “B”"]["right"] == 3
    by_id = {item["id"]: item["passage"] for item in some_items}
    for name, told in report["explanations"].items():
        for span in spans(told):
            assert by_id[name][span["start"] : span["end"]] == span["quote"]
            assert span["end_utf16"] >= span["end"]

    table = io.StringIO()
    writer = csv.DictWriter(table, ["learner", "item", "answer"])
    writer.writeheader()
    writer.writerows(answers)
    files = {
        "items": ("items.jsonl", "\n".join(json.dumps(i) for i in some_items).encode()),
        "answers": ("answers.csv", table.getvalue().encode()),
    }
    assert client.post("/v1/grade", files=files).json()["learners"] == report["learners"]
    page = client.post("/v1/grade?format=html", files=files)
    assert page.headers["content-type"].startswith("text/html")
    assert "Bao, “B”" in page.text


def test_bad_items_are_named(client, some_items):
    good = some_items[0]
    for change, field in (
        ({"choices": ["same", "same"]}, "items.1.choices"),
        ({"skill": "sums"}, "items.1.skill"),
        ({"passage": "no ____ and ____"}, "items.1.passage"),
        ({"answer": "F"}, "items.1.answer"),
        ({"difficulty": 9}, "items.1.difficulty"),
    ):
        answer = client.post("/v1/solve", json={"items": [good, {**good, **change}]})
        problem = answer.json()
        assert answer.status_code == 422
        assert answer.headers["content-type"] == "application/problem+json"
        assert problem["field"] == field
        assert problem["detail"]
    assert client.post("/v1/solve", json={"items": []}).json()["field"] == "items"
    assert client.post("/v1/solve", json={"items": [3]}).json()["field"] == "items.0"


def test_bad_uploads_are_named(client, some_items):
    item = json.dumps(some_items[0]).encode()
    good = b"learner,item,answer\nIda," + some_items[0]["id"].encode() + b",A\n"
    for items, answers, field, line in (
        (item + b"\n{", good, "items", 2),
        (item + b"\n{}", good, "items", 2),
        (b"\n", good, "items", None),
        (item, b"", None, None),
        (item, b"learner,item,answer\n", None, None),
    ):
        files = {"items": ("i.jsonl", items), "answers": ("a.csv", answers)}
        answer = client.post("/v1/grade", files=files)
        assert answer.status_code == 422, (items, answers)
        problem = answer.json()
        assert problem.get("line") == line
        if field and line is None:
            assert problem["field"] == field
    missing = client.post("/v1/grade", files={"items": ("i.jsonl", item)})
    assert missing.json()["field"] == "answers"


@pytest.mark.parametrize(
    "body",
    [
        b"{",
        b'{"passage": "A word.", "\\ud800": 1}',
        b'{"passage": NaN}',
        b"[" * 5000,
        b'"text"',
        b"\xff\xfe",
    ],
)
def test_odd_bodies_are_refused_with_a_reason(client, body):
    answer = client.post("/v1/hint", content=body, headers={"content-type": "application/json"})
    assert answer.status_code in (400, 422)
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.json()["detail"]


def test_another_method_is_405_and_names_the_right_one(client):
    answer = client.get("/v1/hint")
    assert answer.status_code == 405
    assert answer.headers["allow"] == "POST"


def test_facts(client, root):
    rules = client.get("/v1/rules").json()
    assert {r["id"] for r in rules} == {p.stem for p in (root / "shared/rules").glob("*.json")}
    assert client.get("/v1/relations").json()
    examples = client.get("/v1/examples").json()
    assert examples[0]["id"] == "tide-mill"
    assert all(e["passage"] for e in examples)


def test_errors_say_in_plain_words_what_is_wrong(client, some_items):
    head = {"content-type": "application/json"}
    for path in ("/v1/hint", "/v1/grade"):
        told = client.post(path, content=b"{", headers=head).json()
        assert told["detail"].startswith("The body of the request is not JSON")
        assert "field" not in told
        told = client.post(path, content=b'"text"', headers=head).json()
        assert told["detail"].startswith("The body of the request must be a JSON object")
    told = client.post("/v1/hint", content=b"A word.", headers={"content-type": "text/plain"})
    assert "JSON object" in told.json()["detail"]
    item = {**some_items[0], "choices": ["one"]}
    told = client.post("/v1/solve", json={"items": [item]}).json()
    assert told["detail"] == "there must be at least 2 here, not 1"
    assert told["field"] == "items.0.choices"
    assert client.get("/v1/none").json()["detail"] == "There is nothing at this path."

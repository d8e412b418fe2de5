"""`rwtools grade` as its user meets it: files, exit status, one clear line for bad input."""

from __future__ import annotations

import csv
import json
import os
import subprocess
import sys

import jsonschema
import pytest


def run(*arguments: object, stdin: bytes = b"") -> subprocess.CompletedProcess:
    return subprocess.run(
        [sys.executable, "-m", "rwtools", "grade", *map(str, arguments)],
        input=stdin,
        capture_output=True,
        timeout=120,
        check=False,
        env={**os.environ, "COLUMNS": "88", "NO_COLOR": "1"},
    )


def lines(result: subprocess.CompletedProcess) -> list[str]:
    said = result.stderr.decode().splitlines()
    assert "Traceback" not in result.stderr.decode()
    return said


@pytest.fixture
def demo(root):
    return root / "corpus" / "drills" / "items.jsonl", root / "corpus" / "drills" / "answers.csv"


def test_the_demo_class(demo, tmp_path):
    items, answers = demo
    done = run(items, answers, "--quick", "--out", tmp_path / "report")
    assert (done.returncode, lines(done)) == (0, [])
    report = json.loads((tmp_path / "report" / "report.json").read_text())
    with answers.open(newline="", encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    keys = {i["id"]: i["answer"] for i in map(json.loads, items.read_text().splitlines())}
    for learner in report["learners"]:
        own = [r for r in rows if r["learner"] == learner["learner"]]
        right = sum(r["answer"] == keys[r["item"]] for r in own)
        assert (learner["score"]["right"], learner["score"]["given"]) == (right, len(own))
        missed = [r["item"] for r in own if r["answer"] != keys[r["item"]]]
        assert sorted(m["item"] for m in learner["misses"]) == sorted(missed)
        assert sum(s["given"] for s in learner["skills"]) == len(own)
    assert report["counts"]["learners"] == 12
    assert len(report["orders"]["groups"]) == 4


def test_json_fits_the_models_schema(demo):
    from rwtools.drills.model import Report

    done = run(*demo, "--quick", "--json")
    assert done.returncode == 0
    jsonschema.validate(json.loads(done.stdout), Report.model_json_schema(mode="serialization"))


def test_the_terminal_shows_a_class_and_a_learner(demo):
    items, answers = demo
    done = run(items, answers, "--quick")
    said = done.stdout.decode()
    assert "12 learners, 27 items, 324 answers" in said
    assert "Items to review" in said
    assert "not official scores" in said
    one = [line for line in answers.read_text().splitlines() if line.startswith(("lea", "Jun"))]
    done = run(items, "-", "--quick", stdin="\n".join(one).encode())
    said = done.stdout.decode()
    assert "Jun Tanabe: 22 of 27 right" in said
    assert "Practise next" in said
    assert said.count("✗") == 5


def test_bad_lines_are_named_the_rest_is_done_and_the_status_says_so(demo, tmp_path):
    items, _ = demo
    first = json.loads(items.read_text().splitlines()[0])
    bank = tmp_path / "bank.jsonl"
    bank.write_text(
        "\n".join(
            [json.dumps(first), "{", json.dumps({**first, "choices": ["a"]}), json.dumps(first)]
        )
    )
    table = tmp_path / "class.csv"
    table.write_text(f"learner,item,answer\nAna,{first['id']},{first['answer']}\n,x,A\nBo,x,A\n")
    done = run(bank, table, "--out", tmp_path / "out", "--quick")
    assert done.returncode == 2
    said = lines(done)
    assert len(said) == 5
    assert said[0].startswith(f"rwtools: {bank}, line 2: this line is not JSON")
    assert said[1].startswith(f"rwtools: {bank}, line 3, field choices")
    assert said[2] == f"rwtools: {bank}, line 4, field id: there is an item with this id already"
    assert said[3] == f"rwtools: {table}, line 3, field learner: this answer has no learner"
    assert said[4] == f"rwtools: {table}, line 4, field item: there is no item “x”"
    report = json.loads((tmp_path / "out" / "report.json").read_text())
    assert report["counts"]["graded"] == 1
    assert sum(report["counts"]["problems"].values()) == 5


@pytest.mark.parametrize(
    "extra", [["--budget", "0"], ["--budget", "-3"], ["--budget", "nan"], ["--budget", "inf"]]
)
def test_a_budget_must_be_a_time(demo, extra):
    done = run(*demo, "--quick", *extra)
    assert done.returncode == 2
    assert len(lines(done)) == 1


def test_files_that_cannot_be_used(demo, tmp_path):
    items, answers = demo
    for arguments in (
        [tmp_path / "no.jsonl", answers],
        [items, tmp_path / "no.csv"],
        [items, tmp_path],
        [tmp_path, answers],
        [answers, items],
        ["-", "-"],
        [items, items],
        [items, answers, "--out", items],
    ):
        done = run(*arguments, "--quick")
        assert done.returncode == 2, arguments
        assert done.stdout == b"", arguments
        said = lines(done)
        assert said, arguments
        assert all(line.startswith("rwtools: ") for line in said), arguments

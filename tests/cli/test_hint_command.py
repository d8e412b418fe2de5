"""`rwtools hint` as its user meets it: output, exit status, one clear line for bad input."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import pytest

PASSAGE = (
    "The pith, or soft core, is light; however, it is strong. "
    "Because the stem is hollow, it bends. Its bark is rough."
)


def run(*arguments: str, stdin: bytes = b"", **environment: str) -> subprocess.CompletedProcess:
    return subprocess.run(
        [sys.executable, "-m", "rwtools", *arguments],
        input=stdin,
        capture_output=True,
        timeout=60,
        check=False,
        env={**os.environ, **environment},
    )


@pytest.fixture(scope="module")
def hints():
    result = run("hint", "-", "--json", stdin=PASSAGE.encode())
    assert result.returncode == 0, result.stderr
    return json.loads(result.stdout)


def test_json_carries_the_contracts_fields_and_true_quotes(hints):
    assert set(hints) == {"id", "clues"}
    assert hints["clues"]
    for clue in hints["clues"]:
        assert PASSAGE[clue["start"] : clue["end"]] == clue["quote"]
        assert 0 <= clue["confidence"] <= 1
        for evidence in clue["evidence"]:
            assert PASSAGE[evidence["start"] : evidence["end"]] == evidence["quote"]
    assert {c["kind"] for c in hints["clues"]} >= {"transition", "meaning", "punctuation"}


def test_json_fits_the_published_schema(hints, root):
    import jsonschema

    schema = json.loads((root / "shared" / "schemas" / "hints.json").read_text())
    jsonschema.validate(hints, schema)


def test_every_rule_named_is_in_the_index(hints, root):
    index = {r["id"] for r in json.loads((root / "shared" / "rules.json").read_text())}
    assert {c["rule"] for c in hints["clues"]} <= index


def test_clues_come_in_reading_order(hints):
    keys = [(c["start"], c["start"] - c["end"], c["rule"]) for c in hints["clues"]]
    assert keys == sorted(keys)


def test_reveal_gives_graded_help():
    where = json.loads(
        run("hint", "-", "--json", "--reveal", "where", stdin=PASSAGE.encode()).stdout
    )
    why = json.loads(run("hint", "-", "--json", "--reveal", "why", stdin=PASSAGE.encode()).stdout)
    assert all(set(c) == {"kind", "start", "end", "quote"} for c in where["clues"])
    assert all("explanation" in c and "fix" not in c for c in why["clues"])


def test_readable_output_marks_the_passage_without_colour():
    result = run("hint", "-", stdin=PASSAGE.encode(), NO_COLOR="1")
    shown = result.stdout.decode()
    assert result.returncode == 0
    assert "\x1b" not in shown
    assert "‹however›" in shown
    assert "‹Because›" in shown


def test_check_ends_with_status_one_only_where_a_fault_is():
    wrong = b"The bridge is old, it has stood here for two hundred years."
    assert run("hint", "-", "--check", stdin=wrong).returncode == 1
    assert run("hint", "-", "--check", stdin=PASSAGE.encode()).returncode == 0


def test_target_is_explained_however_common():
    found = json.loads(
        run(
            "hint",
            "-",
            "--json",
            "--target",
            "core",
            "--kind",
            "meaning",
            stdin=b"The core, or middle, is soft.",
        ).stdout
    )
    assert any(c["quote"] == "core" for c in found["clues"])


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"", "the passage is empty"),
        (b" \n\t\n", "the passage is empty"),
        (b"word " * 5000, "the limit is 20,000"),
        (b"a\0b", "NUL bytes"),
        (b"caf\xe9", "not UTF-8"),
    ],
)
def test_unreadable_passages_get_one_line_that_names_the_file(tmp_path, content, why):
    path = tmp_path / "passage.txt"
    path.write_bytes(content)
    result = run("hint", str(path))
    error = result.stderr.decode()
    assert result.returncode == 2
    assert result.stdout == b""
    assert error.count("\n") == 1
    assert str(path) in error
    assert why in error


def test_a_missing_file_and_a_folder_get_one_line(tmp_path):
    for path, why in ((tmp_path / "none.txt", "no such file"), (tmp_path, "a folder")):
        result = run("hint", str(path))
        assert result.returncode == 2
        assert result.stderr.decode().count("\n") == 1
        assert why in result.stderr.decode()


@pytest.mark.parametrize(
    "arguments",
    [
        ["--reveal", "some"],
        ["--kind", "nouns"],
        ["--nonsense"],
        ["--form", "song"],
        ["--limit", "0"],
        ["--target", "absent"],
        ["--batch", "x.jsonl", "-"],
    ],
)
def test_bad_usage_gets_one_line_and_status_two(arguments):
    result = run(
        "hint", *(["-"] if "--batch" not in arguments else []), *arguments, stdin=b"A word."
    )
    assert result.returncode == 2
    assert result.stderr.decode().count("\n") == 1


def test_a_batch_does_the_good_lines_and_reports_the_bad_ones(tmp_path):
    path = tmp_path / "batch.jsonl"
    lines = [
        json.dumps({"id": "a", "passage": PASSAGE}),
        "{broken",
        json.dumps({"id": "b"}),
        json.dumps({"passage": PASSAGE}),
        json.dumps({"id": "c", "passage": ""}),
        json.dumps([1]),
        "",
        json.dumps({"id": 7, "passage": PASSAGE}),
    ]
    path.write_text("\n".join(lines), encoding="utf-8")
    result = run("hint", "--batch", str(path))
    assert result.returncode == 2
    assert [json.loads(line)["id"] for line in result.stdout.splitlines()] == ["a", 7]
    errors = result.stderr.decode().splitlines()
    assert [f"line {n}" in e for n, e in zip((2, 3, 4, 5, 6), errors, strict=True)] == [True] * 5
    assert "field passage" in errors[1]
    assert "field id" in errors[2]


def test_a_batch_gives_what_single_runs_give(tmp_path, hints):
    path = tmp_path / "batch.jsonl"
    path.write_text(json.dumps({"id": "a", "passage": PASSAGE}) + "\n", encoding="utf-8")
    result = run("hint", "--batch", str(path))
    assert result.returncode == 0
    assert json.loads(result.stdout)["clues"] == hints["clues"]

"""`rwtools make` from outside: what it reads, what it writes, how it fails."""

import json
import subprocess
import sys
from types import SimpleNamespace

import pytest

from rwtools.cli.app import main
from rwtools.cli.files import dump
from rwtools.drills.make import make_items
from rwtools.items.model import read_item


@pytest.fixture
def run(monkeypatch, capsys):
    """The command in this process, where the models are loaded: status, output and errors."""

    def go(*arguments):
        monkeypatch.setattr(sys, "argv", ["rwtools", "make", *map(str, arguments)])
        with pytest.raises(SystemExit) as end:
            main()
        told = capsys.readouterr()
        return SimpleNamespace(returncode=end.value.code, stdout=told.out, stderr=told.err)

    return go


@pytest.mark.slow
def test_two_processes_make_the_bytes_that_one_makes(made_once, pairs, tmp_path):
    """The command with two jobs against this process: same request, same seed, same file."""
    items, _ = make_items(pairs, skills=["punctuation"], seed=4)
    assert len(items) == sum(item.skill == "punctuation" for item in made_once[0]) > 0
    source, out = tmp_path / "p.jsonl", tmp_path / "items.jsonl"
    source.write_text("\n".join(json.dumps({"id": k, "passage": p}) for k, p in pairs))
    command = [sys.executable, "-m", "rwtools", "make", source, "-o", out, "--seed", "4"]
    command += ["--skill", "punctuation", "--jobs", "2", "--json"]
    done = subprocess.run([*map(str, command)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    lines = [dump(item.model_dump(exclude_none=True)) + "\n" for item in items]
    assert out.read_text(encoding="utf-8") == "".join(lines)
    assert [read_item(json.loads(line)) for line in lines] == items
    report = json.loads(done.stdout)
    assert report["made"] == {"punctuation": len(items)}
    keys = {"file", "passages", "made", "tried", "dropped", "short", "faulty", "bad_passages"}
    assert set(report) == keys


def test_skill_and_difficulty_narrow_the_choice(made_once, run, root, tmp_path):
    """Of one passage the items of a skill and difficulty are those of the whole run."""
    folder = tmp_path / "passages"
    folder.mkdir()
    text = (root / "corpus" / "passages" / "tide-mill.txt").read_text(encoding="utf-8")
    (folder / "tide-mill.txt").write_text(text, encoding="utf-8")
    out = tmp_path / "items.jsonl"
    options = ("--seed", "4", "--skill", "grammar")
    done = run(folder, "-o", out, *options)
    assert done.returncode == 0, done.stderr
    assert "Written:" in done.stdout
    found = [read_item(json.loads(line)) for line in out.read_text().splitlines()]
    expected = {i.id for i in made_once[0] if i.source == "tide-mill" and i.skill == "grammar"}
    assert {item.id for item in found} == expected
    levels = {item.difficulty for item in found}
    other = next(level for level in (1, 2, 3, 4) if level not in levels)
    done = run(folder, "-o", out, *options, "--difficulty", other)
    assert all(json.loads(x)["difficulty"] == other for x in out.read_text().splitlines())


def test_bad_lines_are_told_and_the_rest_is_done(made_once, run, root, tmp_path):
    passage = (root / "corpus" / "passages" / "tide-mill.txt").read_text()
    lines = [json.dumps({"id": "good", "passage": passage}), "{not json", '{"id": "x"}']
    source, out = tmp_path / "p.jsonl", tmp_path / "items.jsonl"
    source.write_text("\n".join(lines))
    result = run(source, "-o", out, "--skill", "punctuation", "--count", "1")
    assert result.returncode == 2
    assert "p.jsonl, line 2" in result.stderr
    assert "p.jsonl, line 3, field passage" in result.stderr
    assert len(out.read_text().splitlines()) == 1


@pytest.mark.parametrize(
    ("name", "content", "message"),
    [
        ("missing.txt", None, "missing.txt: there is no such file"),
        ("empty.txt", b"", "empty.txt, field passage: the passage is empty"),
        ("latin.txt", b"caf\xe9", "latin.txt, line 1: this is not UTF-8 text"),
    ],
)
def test_what_cannot_be_read(run, tmp_path, name, content, message):
    source, out = tmp_path / name, tmp_path / "items.jsonl"
    if content is not None:
        source.write_bytes(content)
    result = run(source, "-o", out)
    assert result.returncode == 2
    assert message in result.stderr
    assert len(result.stderr.strip().splitlines()) == 1
    assert not out.exists()


def test_a_folder_without_texts(run, tmp_path):
    result = run(tmp_path, "-o", tmp_path / "items.jsonl")
    assert result.returncode == 2
    assert "there is no .txt file in this folder" in result.stderr


def test_a_folder_in_the_way(run, root, tmp_path):
    result = run(root / "corpus/passages/tide-mill.txt", "-o", tmp_path)
    assert result.returncode == 2
    assert result.stderr.count("\n") == 1
    assert "this is a folder" in result.stderr


def test_a_place_that_cannot_be_written(run, root, tmp_path):
    result = run(root / "corpus/passages/tide-mill.txt", "-o", tmp_path / "no" / "items.jsonl")
    assert result.returncode == 2
    assert "cannot be written" in result.stderr


@pytest.mark.parametrize(
    "options", [("--difficulty", "9"), ("--count", "0"), ("--skill", "spelling"), ("--jobs", "0")]
)
def test_options_out_of_range(run, root, tmp_path, options):
    out = tmp_path / "items.jsonl"
    result = run(root / "corpus/passages/tide-mill.txt", "-o", out, *options)
    assert result.returncode == 2
    assert not out.exists()
    assert "Traceback" not in result.stderr

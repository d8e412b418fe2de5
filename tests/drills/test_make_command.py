"""`rwtools make` from outside: what it reads, what it writes, how it fails."""

import json
import subprocess
import sys

import pytest

from rwtools import judge
from rwtools.errors import ArtifactError
from rwtools.items.model import read_item


@pytest.fixture(scope="module", autouse=True)
def _judge():
    try:
        judge.compare("A ", ["mill", "hill"])
    except ArtifactError as error:
        pytest.skip(f"the judge is not there: {error}")


def run(*arguments, stdin=None):
    return subprocess.run(
        [sys.executable, "-m", "rwtools", "make", *map(str, arguments)],
        input=stdin,
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.fixture(scope="module")
def made(root, tmp_path_factory):
    folder = tmp_path_factory.mktemp("make")
    file, other = folder / "items.jsonl", folder / "again.jsonl"
    passage = root / "corpus" / "passages" / "salt-road.txt"
    skills = ("--skill", "punctuation", "--skill", "grammar")
    first = run(passage, "-o", file, "--seed", "3", "--json", *skills)
    second = run(passage, "-o", other, "--seed", "3", *skills)
    return first, second, file, other


def test_it_writes_items(made):
    first, _, file, _ = made
    assert first.returncode == 0, first.stderr
    items = [read_item(json.loads(line)) for line in file.read_text().splitlines()]
    assert items
    report = json.loads(first.stdout)
    assert sum(report["made"].values()) == len(items)
    assert set(report) == {"file", "passages", "made", "tried", "dropped", "short", "bad_passages"}


def test_the_same_seed_makes_the_same_bytes(made):
    _, second, file, other = made
    assert second.returncode == 0
    assert file.read_bytes() == other.read_bytes()
    assert "Written:" in second.stdout


def test_bad_lines_are_told_and_the_rest_is_done(root, tmp_path):
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
def test_what_cannot_be_read(tmp_path, name, content, message):
    source, out = tmp_path / name, tmp_path / "items.jsonl"
    if content is not None:
        source.write_bytes(content)
    result = run(source, "-o", out)
    assert result.returncode == 2
    assert message in result.stderr
    assert len(result.stderr.strip().splitlines()) == 1
    assert not out.exists()


def test_a_folder_without_texts(tmp_path):
    result = run(tmp_path, "-o", tmp_path / "items.jsonl")
    assert result.returncode == 2
    assert "there is no .txt file in this folder" in result.stderr


def test_a_place_that_cannot_be_written(root, tmp_path):
    result = run(root / "corpus/passages/tide-mill.txt", "-o", tmp_path / "no" / "items.jsonl")
    assert result.returncode == 2
    assert "cannot be written" in result.stderr


@pytest.mark.parametrize(
    "options", [("--difficulty", "9"), ("--count", "0"), ("--skill", "spelling"), ("--jobs", "0")]
)
def test_options_out_of_range(root, tmp_path, options):
    out = tmp_path / "items.jsonl"
    result = run(root / "corpus/passages/tide-mill.txt", "-o", out, *options)
    assert result.returncode == 2
    assert not out.exists()
    assert "Traceback" not in result.stderr

"""Reading items: good lines are done, bad ones are named by file, line and field."""

from __future__ import annotations

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rwtools.errors import InputError, ItemError, UnreadableFileError
from rwtools.items.load import as_items, load_items, read_lines
from rwtools.items.model import Item

GOOD = {
    "id": "a1",
    "skill": "grammar",
    "passage": "The boats ____ late.",
    "question": "Which form fits?",
    "choices": ["are", "is"],
    "answer": "A",
}


def lines(*records: object) -> list[bytes]:
    return [r if isinstance(r, bytes) else json.dumps(r).encode() + b"\n" for r in records]


@pytest.mark.parametrize(
    ("change", "field", "words"),
    [
        ({"choices": ["are"]}, "choices", "at least 2"),
        ({"choices": ["are", "are"]}, "choices", "the same"),
        ({"answer": "E"}, "answer", "E is not one of AB"),
        ({"answer": 3}, "answer", "string"),
        ({"skill": "spelling"}, "skill", "grammar"),
        ({"passage": "  "}, "passage", "empty"),
        ({"passage": "One ____ and two ____."}, "passage", "more than one blank"),
        ({"target": "whale"}, "target", "does not occur"),
        ({"difficulty": 9}, "difficulty", "less than or equal to 4"),
        ({"question": None}, "question", "string"),
    ],
)
def test_a_bad_field_is_named_with_file_and_line(change, field, words):
    found = list(read_lines(lines(GOOD, {**GOOD, "id": "b", **change}), "set.jsonl"))
    assert isinstance(found[0][1], Item)
    error = found[1][1]
    assert isinstance(error, InputError)
    assert str(error).startswith(f"set.jsonl, line 2, field {field}")
    assert words in str(error)
    assert "\n" not in str(error)


@pytest.mark.parametrize("missing", ["id", "skill", "passage", "question", "choices"])
def test_a_missing_field_is_named(missing):
    record = {k: v for k, v in GOOD.items() if k != missing}
    (_, error), *_ = read_lines(lines(record), "set.jsonl")
    assert isinstance(error, InputError)
    assert f"field {missing}" in str(error)


def test_lines_that_are_no_objects_are_passed_by():
    raw = lines(b"{oops\n", b"[1, 2]\n", b"\xff\xfe\n", b"\n", GOOD)
    found = list(read_lines(raw, "set.jsonl"))
    assert [number for number, _ in found] == [1, 2, 3, 5]
    assert [isinstance(item, Item) for _, item in found] == [False, False, False, True]


def test_an_id_that_was_used_before_is_named_with_its_first_line():
    found = list(read_lines(lines(GOOD, GOOD), "set.jsonl"))
    assert "line 1 already" in str(found[1][1])


def test_a_file_that_is_not_there(tmp_path):
    with pytest.raises(UnreadableFileError, match="there is no such file"):
        list(load_items(tmp_path / "none.jsonl"))
    with pytest.raises(UnreadableFileError):
        list(load_items(tmp_path))


def test_records_in_memory_are_numbered():
    with pytest.raises(ItemError, match="line 2, field choices"):
        list(as_items([GOOD, {**GOOD, "choices": "AB"}]))


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=200))
def test_no_bytes_end_in_a_traceback(raw):
    for _, item in read_lines(raw.splitlines(keepends=True), "x"):
        assert isinstance(item, Item | InputError)

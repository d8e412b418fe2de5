"""Reading answers: every dialect gives the same answers, every bad line is named and counted."""

from __future__ import annotations

import io
import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rwtools.drills.answers import check_answers, from_records, read_answers
from rwtools.errors import UnreadableFileError
from rwtools.items.model import Item

ITEMS = [
    Item(
        id=f"i{n}",
        skill="grammar",
        passage="The cats ____ here.",
        question="Which form fits?",
        choices=["sit", "sits", "sitting"],
        answer=key,
    )
    for n, key in enumerate("ABC", 1)
]
NO_KEY = Item(
    id="open", skill="grammar", passage="It ____.", question="?", choices=["is", "are"]
)  # fmt: skip
ROWS = [
    ("Zoë Łaska", "i1", "A", "61.5", "1"),
    ("Zoë Łaska", "i2", "", "3", "2"),
    ("Ngozi\nAde", "i1", "b", "40", "2"),
    ("Ngozi\nAde", "i3", "C", "", "1"),
]


def graded(data: bytes, items=ITEMS):
    return check_answers(read_answers(data, "answers.csv"), items)


def content(checked):
    return [
        (checked.learners[r["learner"]], r["item"], r["choice"], r["right"], r["seconds"],
         r["position"])
        for r in checked.frame.iter_rows(named=True)
    ]  # fmt: skip


EXPECTED = [
    ("Zoë Łaska", 0, 0, True, 61.5, 1),
    ("Zoë Łaska", 1, -1, False, 3.0, 2),
    ("Ngozi Ade", 0, 1, False, 40.0, 2),
    ("Ngozi Ade", 2, 2, True, None, 1),
]


def table(separator=",", end="\n", comma=False, header="learner,item,answer,seconds,position"):
    lines = [header.replace(",", separator)]
    for learner, item, answer, seconds, position in ROWS:
        number = seconds.replace(".", ",") if comma else seconds
        lines.append(separator.join([f'"{learner}"', item, answer, number, position]))
    return end.join(lines) + end


DIALECTS = {
    "plain": table().encode(),
    "byte order mark": table().encode("utf-8-sig"),
    "semicolons, decimal commas": table(";", comma=True).encode(),
    "tabs": table("\t").encode(),
    "Windows line ends": table(end="\r\n").encode(),
    "old Macintosh line ends": table(end="\r").encode(),
    "UTF-16 with mark": table("\t", end="\r\n").encode("utf-16"),
    "UTF-16 big-endian": b"\xfe\xff" + table("\t").encode("utf-16-be"),
    "UTF-16 without mark": table().encode("utf-16-le"),
    "separator named first": b"sep=;\r\n" + table(";", end="\r\n").encode(),
    "capital headers": table(header="Learner, ITEM ,Answer,seconds,position").encode(),
    "no end of line": table().rstrip("\n").encode(),
    "blank lines": table().replace("\nZ", "\n\n\nZ").encode() + b"\n\n",
    "empty cells at the end": table().replace("1\n", "1,,\n").encode(),
}


@pytest.mark.parametrize("data", DIALECTS.values(), ids=DIALECTS)
def test_every_dialect_gives_the_same_answers(data: bytes) -> None:
    checked = graded(data)
    assert content(checked) == EXPECTED
    assert checked.kinds == {}


def test_json_lines_give_the_same_answers() -> None:
    lines = [
        {"learner": a, "item": b, "answer": c or None, "position": int(e)}
        | ({"seconds": float(d)} if d else {})
        for a, b, c, d, e in ROWS
    ]
    data = "\r\n".join(json.dumps(line) for line in lines).encode()
    assert content(graded(data)) == EXPECTED


def test_old_windows_text_is_read_and_said() -> None:
    read = read_answers("learner;item;answer\nJürgen;i1;A\n".encode("cp1252"), "a.csv")
    assert check_answers(read, ITEMS).learners == ["Jürgen"]
    assert "Windows-1252" in read.notes[0]


def test_two_ways_to_type_an_accent_are_one_learner() -> None:
    checked = check_answers(
        from_records(
            [
                {"learner": "Ame\u0301lie  Roy", "item": "i1", "answer": "A"},
                {"learner": " Am\u00e9lie Roy ", "item": "i2", "answer": "A"},
            ]
        ),
        ITEMS,
    )
    assert checked.learners == ["Am\u00e9lie Roy"]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "a.csv: this file is empty"),
        (b"  \n\n", "a.csv: this file is empty"),
        (b"item,answer\ni1,A\n", "a.csv, line 1, field learner: the header lacks this column"),
        (b"learner,item,item,answer\n", "a.csv, line 1, field item: the header has this column"),
        (b"learner,item,answer\nAd\xe9le,i1,\xc3\xa9\n", "a.csv, line 2: this is not UTF-8 text"),
        (b"\x89PNG\r\n\x1a\n\x00\x00", "a.csv"),
    ],
)
def test_what_cannot_be_read_is_one_clear_line(data: bytes, said: str) -> None:
    with pytest.raises(UnreadableFileError) as caught:
        read_answers(data, "a.csv")
    assert str(caught.value).startswith(said)
    assert "\n" not in str(caught.value)


BAD = """learner,item,answer,seconds,position
Ana,i1,A,10,1
,i1,A,10,1
Ana,i9,A,10,1
Ana,i2,D,10,1
Ana,i2,AB,10,1
Ana,i1,B,10,1
"Ana
Maria",open,A,10,1
Ana,i2,B,soon,first
Ana,i3,B,-4,1.5
Bo,i1,A,10,1,5
Bo
Bo,i3,C,nan,2.0
"""


def test_every_bad_line_is_named_counted_and_the_rest_graded() -> None:
    checked = graded(BAD.encode(), [*ITEMS, NO_KEY])
    said = {(p.line, p.field): p.kind for p in checked.problems}
    assert said == {
        (3, "learner"): "no_learner",
        (4, "item"): "unknown_item",
        (5, "answer"): "not_a_choice",
        (6, "answer"): "not_a_choice",
        (7, "item"): "duplicate",
        (8, "item"): "no_key",
        (10, "seconds"): "bad_seconds",
        (10, "position"): "bad_position",
        (11, "seconds"): "bad_seconds",
        (11, "position"): "bad_position",
        (12, None): "too_many_cells",
        (13, "item"): "unknown_item",
        (14, "seconds"): "bad_seconds",
    }
    assert sum(checked.kinds.values()) == 13
    assert content(checked) == [
        ("Ana", 0, 0, True, 10.0, 1),
        ("Ana", 1, 1, True, None, None),
        ("Ana", 2, 1, False, None, None),
        ("Bo", 2, 2, True, None, 2),
    ]
    duplicate = next(p for p in checked.problems if p.kind == "duplicate")
    assert "on line 2" in duplicate.why


def test_a_quotation_mark_left_open_costs_one_line() -> None:
    lines = ["learner,item,answer", *(f"L{n},i1,A" for n in range(40))]
    lines[5] = '"L4,i1,A'
    lines[20] = 'L"19,i1,A'
    checked = graded("\n".join(lines).encode())
    assert [(p.line, p.kind) for p in checked.problems] == [(6, "open_quote")]
    assert checked.frame.height == 39


def test_broken_json_lines_are_named() -> None:
    data = b'{"learner": "A", "item": "i1", "answer": "A"}\n{"learner": \n[1]\n\n' + (
        b'{"learner": ["A"], "item": "i1", "answer": "A"}\n'
        b'{"learner": 7, "item": "i1", "answer": 1}'
    )
    checked = graded(data)
    assert [(p.line, p.kind) for p in checked.problems] == [
        (2, "not_json"),
        (3, "not_json"),
        (6, "not_a_choice"),
    ]


def test_the_list_of_problems_stays_short_and_the_count_true() -> None:
    data = "learner,item,answer\n" + "A,i1,A\n" + "A,nowhere,A\n" * 5_000
    checked = graded(data.encode())
    assert len(checked.problems) == 1_000
    assert checked.kinds == {"unknown_item": 5_000}


names = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cs", "Cc", "Zs", "Zl", "Zp", "Cf"]),
    min_size=1,
    max_size=12,
)


@settings(max_examples=60, deadline=None)
@given(st.lists(names, min_size=1, max_size=6, unique=True), st.sampled_from(",;\t|"))
def test_whatever_a_csv_writer_writes_is_read_back(learners: list[str], separator: str) -> None:
    import csv
    import unicodedata

    stream = io.StringIO(newline="")
    writer = csv.writer(stream, delimiter=separator)
    writer.writerow(["learner", "item", "answer"])
    writer.writerows([learner, "i1", "A"] for learner in learners)
    checked = graded(stream.getvalue().encode())
    assert checked.learners == list(
        dict.fromkeys(unicodedata.normalize("NFC", learner) for learner in learners)
    )

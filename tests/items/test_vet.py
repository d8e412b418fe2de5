"""Vetting: each fault is found where it is planted, and good items pass."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

import rwtools
from rwtools.items.duplicates import Duplicates
from rwtools.items.model import Item
from rwtools.items.vet import _ALONE, CODES, vet_batch


def item(skill: str, passage: str, choices: list[str], answer: str = "A", **more) -> Item:
    more.setdefault("id", "x")
    return Item(skill=skill, passage=passage, question="?", choices=choices, answer=answer, **more)


def alone(one: Item) -> set[str]:
    """Codes of the problems that the item shows without being solved."""
    return {problem.code for check in _ALONE for problem in check(one)}


@pytest.mark.parametrize(
    ("code", "one"),
    [
        ("no-place", item("grammar", "The boats are late.", ["are", "is"])),
        (
            "giveaway-length",
            item("vocabulary", "He was ____.", ["kind to all, as the text shows", "sad", "shy"]),
        ),
        (
            "giveaway-words",
            item(
                "vocabulary", "A ____ man; his patience was known.", ["full of patience", "x", "y"]
            ),
        ),
        (
            "punctuation-words",
            item("punctuation", "The ____ late.", ["boat is", "boat, is", "boats, were"]),
        ),
        ("does-not-fit", item("grammar", "The boats ____ late.", ["are", "boats are", "is"])),
        ("does-not-fit", item("transition", "It rained. ____, we left.", ["So,", "Thus", "Yet"])),
        ("does-not-fit", item("vocabulary", "It was an ____ day.", ["odd", "cold", "icy"])),
        ("does-not-fit", item("grammar", "The boats____ late.", ["are", "is"])),
        ("does-not-fit", item("grammar", "The boats ____late.", ["are", "is"])),
        ("does-not-fit", item("punctuation", "It rained____we left.", [";", ":"])),
    ],
)
def test_a_fault_of_the_item_itself_is_found(code, one):
    assert code in CODES
    assert code in alone(one)


@pytest.mark.parametrize(
    ("passage", "choices"),
    [
        # A choice that begins with a mark follows the word before it, whether or not a space
        # stands before the blank.
        ("The baker ____ had sold bread closed her shop.", [", who", "; who", " who", ". Who"]),
        ("The baker____ had sold bread closed her shop.", [", who", "; who", " who", ". Who"]),
        ("She came late ____ however, she stayed.", [";", ",", ".", ":"]),
        ("She came late____ however, she stayed.", [";", ",", ".", ":"]),
    ],
)
def test_a_choice_may_begin_with_a_mark(passage, choices):
    assert alone(item("punctuation", passage, choices)) == set()


@pytest.mark.parametrize(
    ("passage", "choices", "why"),
    [
        ("It rained; ____ we left.", ["; so", "so", "and"], "two marks would meet in “d;; so"),
        ("It rained ____, we left.", ["so,", "so", "and"], "two marks would meet in “d so,,"),
        ("It rained ____ , so we left.", ["hard", "much", "all"], "a space would stand before"),
    ],
)
def test_what_is_wrong_with_marks_is_told_as_it_is(passage, choices, why):
    found = [p for check in _ALONE for p in check(item("transition", passage, choices))]
    assert found
    assert why in found[0].message


def test_two_to_six_choices_are_an_item():
    """The contract's numbers; most items have four."""
    for choices in (["are", "is"], ["are", "is", "was"], ["are", "is", "was", "be", "am", "been"]):
        assert alone(item("grammar", "The boats ____ late.", choices)) == set()


def test_good_items_show_no_such_fault(train_items):
    """Two in a hundred may: a writer may repeat a word of the passage in the key by chance."""
    assert len([one.id for one in train_items if alone(one)]) <= 0.02 * len(train_items)


def test_repetitions_are_named_with_their_first_line():
    seen = Duplicates()
    text = " ".join(f"word{n}" for n in range(60))
    first = item("grammar", text + " ____ end.", ["are", "is"], id="first")
    near = item("grammar", text.replace("word7 ", "other ") + " ____ end.", ["are", "is"], id="b")
    far = item("grammar", " ".join(f"else{n}" for n in range(60)) + " ____", ["are", "is"], id="c")
    assert seen.add(first, 1) is None
    assert seen.add(first.model_copy(update={"id": "copy"}), 2) == ("first", 1, 1.0)
    found = seen.add(near, 3)
    assert found is not None
    assert found[0] in ("first", "copy")
    assert 0.8 <= found[2] < 1
    assert seen.add(far, 4) is None


def test_ten_thousand_items_are_compared_in_seconds():
    seen = Duplicates()
    hits = 0
    for n in range(10_000):
        words = " ".join(f"w{(n * 7919 + k * 104729) % 5003}" for k in range(40))
        hits += seen.add(item("grammar", words + " ____", ["a", "b"], id=str(n)), n) is not None
    assert hits < 10_000


def test_a_key_against_the_evidence_and_a_twin_are_found(with_judge):
    passage = (
        "The well had been dry since June, and no rain was to be seen. ____, the villagers carried "
        "water from the river, four miles away."
    )
    choices = ["As a result", "Similarly", "For example", "Until then"]
    good = item("transition", passage, choices, "A")
    bad = item("transition", passage, choices, "B")
    twin = item("transition", passage, ["As a result", "Consequently", "For example", "Until then"])
    found = [{p.code for p in problems} for problems in vet_batch([good, bad, twin])]
    assert found[0] == set()
    assert "key-disagrees" in found[1]
    assert "second-choice" in found[2]


def test_a_passage_that_says_little_does_not_accuse_the_key(with_judge):
    choices = ["Afterward,", "For example,", "Similarly,", "In other words,"]
    after = (
        " the guests left early, since nobody had lit the stoves, and the band went home unpaid."
    )
    bare = item("transition", "____ the guests left at ...", choices, "C")
    whole = item("transition", "The concert ended at ten. ____" + after, choices, "C")
    word = item(
        "vocabulary", "The porter was ____ about ...", ["sad", "purple", "dry", "fast"], "B"
    )
    found = [{p.code for p in problems} for problems in vet_batch([bare, whole, word])]
    assert "nothing-decides" in found[0]
    assert "key-disagrees" not in found[0]
    assert "key-disagrees" in found[1]
    assert "nothing-decides" in found[2]


def test_what_moves_only_the_reader_decides_too(with_judge):
    passage = (
        "A scholar of ____ habits, she ate one meal a day, owned two dresses, and gave her salary "
        "to the library."
    )
    one = item("vocabulary", passage, ["lavish", "austere", "sociable", "erratic"], "B")
    (found,) = vet_batch([one])
    assert "nothing-decides" not in {p.code for p in found}


def test_reports_name_item_and_line(with_judge, train_items):
    reports = list(rwtools.vet([train_items[0], train_items[0].model_copy(update={"id": "again"})]))
    assert [r.line for r in reports] == [1, 2]
    assert [p.code for p in reports[1].problems if "duplicate" in p.code] == ["duplicate"]


def test_duplicates_do_not_depend_on_the_run():
    """Python salts `hash` anew in each process; what counts as rare must not change with it."""
    code = (
        "from rwtools.items.duplicates import Duplicates, _number;"
        "print(_number('lantern'), _number('Ünbekannt'))"
    )
    said = {
        subprocess.run(
            [sys.executable, "-c", code],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(said) == 1
    assert said.pop().strip()

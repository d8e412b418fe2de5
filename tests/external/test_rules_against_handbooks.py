"""Short examples of old handbooks (public domain), each with its place.

Strunk = W. Strunk, The Elements of Style (1918). G&J = G. Greever and E. S. Jones, The Century
Handbook of Writing (1918). Both are in the public domain in the USA (Project Gutenberg 37134 and
30294).
"""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from rwtools.rules import check
from rwtools.text import parse, parse_many

DATA = Path(os.environ.get("RWTOOLS_DATA", Path(__file__).parents[3] / "shared" / "data"))


def faults(text: str) -> set[str]:
    return {c.rule for c in check(parse(text)) if c.label == "fault"}


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        ("By writing rapidly, the work can be finished.", "dangling-modifier"),  # G&J
        ("In copying the exercise, a mistake was made.", "dangling-modifier"),  # G&J
        ("Each of my three friends were there.", "subject-verb-agreement"),  # G&J
        ("The increasing use of luxuries are a menace.", "subject-verb-agreement"),  # G&J
        ("He don't know his own relatives.", "subject-verb-agreement"),  # G&J
        ("The chauffeur told us, that the tank was empty.", "comma-between-subject-and-verb"),
        ("He was enthusiastic but, inexperienced.", "comma-after-conjunction"),  # G&J
        ("I am to say the least, provoked.", "unpaired-interruption"),  # G&J
        ("Such a man for example was Lincoln.", "unpaired-interruption"),  # G&J
        ("It doesnt make any difference.", "apostrophe-contraction"),  # G&J
        ("That seems incredible to you and I.", "pronoun-agreement"),  # G&J
        ("Riding is sometimes better exercise than to walk.", "parallel-structure"),  # G&J
    ],
)
def test_faults_that_handbooks_name(text, rule):
    assert rule in faults(text)


@pytest.mark.parametrize(
    "text",
    [
        "The mayor of the city, as well as several aldermen, has investigated the charges.",  # G&J
        "The boy, as well as his sisters, deserves praise.",  # G&J
        "A pair of gloves has been lost.",  # G&J
        "The crowd is waiting.",  # G&J
        "Muncy, Pennsylvania, is not spelled the same as Muncie, Indiana.",  # G&J
        "The difficulty is this: Where is the money to come from?",  # G&J
        "The soldiers' heads showed above the trenches.",  # G&J
        "She, hearing the voice, turned quickly.",  # G&J
        "She fell asleep--would you believe it?--in the middle of the lecture.",  # G&J
        "A soldier of proved valor, he was entrusted with the defence of the city.",  # Strunk
    ],
)
def test_sentences_that_handbooks_call_right(text):
    assert faults(text) == set()


def test_no_false_alarm_on_right_rows_of_the_collection():
    file = DATA / "handbook_dev.jsonl"
    if not file.exists():
        pytest.skip(f"no {file}: set RWTOOLS_DATA to the data folder")
    rows = [json.loads(line) for line in file.read_text(encoding="utf-8").splitlines()]
    right = [row["text"] for row in rows if row["verdict"] == "right"]
    alarms = [
        (clue.rule, text.passage)
        for text in parse_many(right)
        for clue in check(text)
        if clue.label == "fault"
    ]
    assert len(alarms) <= len(right) // 100, alarms

"""Sentences of published textbooks in which the authors give a word's meaning.

Source: OpenStax, "Microbiology" and "Introduction to Philosophy", CC BY 4.0, as kept in
``textbook_dev.jsonl.gz`` (folder ``RWTOOLS_DATA``). The authors' bold type says which words they
explain; the first words of each gloss below were read in the book. Skipped without the data.
"""

from __future__ import annotations

import gzip
import json
import os
import random
from pathlib import Path

import pytest

from rwtools.text import parse, parse_many
from rwtools.vocabulary import find

DATA = Path(os.environ.get("RWTOOLS_DATA", Path(__file__).parents[3] / "shared" / "data"))
BOOKS = DATA / "textbook_dev.jsonl.gz"
pytestmark = pytest.mark.skipif(not BOOKS.exists(), reason=f"no textbooks at {BOOKS}")

GLOSSED = [
    ("m58792", "glycocalyx", "a sugar coat"),
    ("m58792", "capsule", "an organized layer"),
    ("m58792", "slime layer", "a less tightly organized"),
    ("m00015", "Samkhya", "a dualistic school"),
    ("m00015", "prakriti", "matter"),
    ("m00003", "Predicates", "descriptive terms"),
    ("m58904", "fluorogen", "a fluorescent marker"),
    ("m58871", "etiology", "the study of the causes"),
    ("m58933", "peptic ulcers", "ulcers of the stomach"),
    ("m00047", "altruism", "the selfless care"),
    ("m58782", "binomial nomenclature", "a two-word naming system"),
    ("m58893", "endomysium", "a connective tissue"),
    ("m58854", "cavitation", "the formation of bubbles"),
    ("m58861", "allylamines", "a structurally different class"),
    ("m58828", "viable", "live"),
    ("m58848", "horizontal gene transfer", "the transfer of genetic material"),
]


@pytest.fixture(scope="module")
def paragraphs():
    with gzip.open(BOOKS, "rt", encoding="utf-8") as lines:
        return [json.loads(line) for line in lines]


def glosses(clues):
    return [e.quote for c in clues for e in c.evidence if e.role == "gloss"]


@pytest.mark.parametrize(("module", "term", "gloss"), GLOSSED)
def test_the_authors_gloss_is_found(paragraphs, module, term, gloss):
    rows = [
        row
        for row in paragraphs
        if row["module"] == module and gloss in row["text"] and term in row["text"]
    ]
    assert rows, "the paragraph is not in the data"
    found = [g for row in rows for g in glosses(find(parse(row["text"]), target=term))]
    assert any(g.startswith(gloss) for g in found), found


def test_bold_terms_are_often_found(paragraphs):
    """A floor under the recall that ``models/meaning/metrics.json`` reports in full."""
    rows = [row for row in paragraphs if row["terms"]]
    rows = random.Random(3).sample(rows, 120)
    asked = found = 0
    for row, text in zip(rows, parse_many(r["text"] for r in rows), strict=True):
        for start, end in row["terms"]:
            if not row["text"][start].isupper():
                asked += 1
                clues = find(text, target=(start, end))
                found += any(
                    c.label in ("definition", "restatement", "synonym")
                    and c.rule != "meaning-next-sentence"  # a neighbouring sentence always fits
                    for c in clues
                )
    assert asked > 150
    assert found / asked >= 0.25

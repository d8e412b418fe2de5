"""Make the training texts: allowed prose, and the same prose with wordings changed.

Reads `RWTOOLS_DATA` (default: ../shared/data) and writes one compressed NumPy file of token rows.
Only text that may be given back goes in: the textbooks (CC BY) and the CC BY, CC BY-SA and
public-domain documents of the discourse treebank. The development books are never read for
training; they and the treebank's development part only give evaluation cases.

    python models/judge/prepare.py TOKENIZER.json OUT_FOLDER
"""

from __future__ import annotations

import gzip
import json
import os
import random
import sys
from collections.abc import Sequence
from hashlib import sha256
from pathlib import Path

import cases
import numpy as np
from tokenizers import Tokenizer

DATA = Path(os.environ.get("RWTOOLS_DATA", Path(__file__).parents[2].parent / "shared" / "data"))
TAGGED = 9_000  # paragraphs that are tagged, for the lexicon and for the changed copies
MAY_TRAIN = ("CC BY 2.5", "CC BY 4.0", "CC BY-SA 3.0", "CC BY by source publishers")


def read(name: str) -> list[dict]:
    opener = gzip.open if name.endswith(".gz") else open
    with opener(DATA / name, "rt", encoding="utf-8") as lines:
        return [json.loads(line) for line in lines]


def pieces(document: dict, words: int = 160) -> list[tuple[str, str]]:
    """Cut a document at its sentence ends into stretches of about `words` words."""
    made, start, text = [], 0, document["text"]
    for _, b in document["sents"]:
        if len(text[start:b].split()) >= words:
            made.append((document["genre"], " ".join(text[start:b].split())))
            start = b
    return made


def may_train(document: dict) -> bool:
    """Whether a document's licence lets a model that could give text back learn from it."""
    return any(document["text_licence"].startswith(licence) for licence in MAY_TRAIN)


def is_kept_back(text: str) -> bool:
    """Whether a training paragraph (blanks normalised) or the passage of a written item is kept
    from the judge, a tenth of all: the solvers are fitted on items made from these, which the judge
    must not know better than others."""
    return int(sha256(text.encode()).hexdigest()[:8], 16) % 10 == 0


def training_texts() -> list[str]:
    """All prose that the judge learns from: textbook paragraphs and stretches of the treebank."""
    texts = [" ".join(p["text"].split()) for p in read("textbook_train.jsonl.gz")]
    texts = [text for text in texts if not is_kept_back(text)]
    for document in read("gdtb_train.jsonl.gz"):
        if may_train(document):
            texts += [text for _, text in pieces(document)]
    return texts


def tagged_texts(
    texts: Sequence[str],
) -> tuple[Sequence[str], list[list[cases.Word]], cases.Lexicon]:
    """The first `TAGGED` of the texts, their words with tags, and the lexicon of these."""
    some = texts[:TAGGED]
    tagged = list(cases.tag(some))
    lexicon = cases.Lexicon()
    for text, words in zip(some, tagged, strict=True):
        lexicon.add(text, words)
    lexicon.close()
    return some, tagged, lexicon


def development(
    count: int = 1_000,
) -> tuple[dict[str, list[cases.Case]], dict[str, list[cases.Case]]]:
    """Evaluation cases: of the two textbooks that training lacks, and of the other genres."""
    books = [("textbook", " ".join(p["text"].split())) for p in read("textbook_dev.jsonl.gz")]
    others = [piece for d in read("gdtb_dev.jsonl") for piece in pieces(d)]
    lexicon = cases.Lexicon()
    tagged = [cases.load_tagged(texts) for texts in (books, others)]
    for texts, tags in zip((books, others), tagged, strict=False):
        for (_, text), words in zip(texts, tags, strict=False):
            lexicon.add(text, words)
    lexicon.close()
    return (
        cases.make(books, tagged[0], lexicon, count),
        cases.make(others, tagged[1], lexicon, count, loose=True),
    )


def main(tokenizer_path: str, out: str) -> None:
    tokenizer = Tokenizer.from_file(tokenizer_path)
    folder = Path(out)
    folder.mkdir(parents=True, exist_ok=True)
    rng = random.Random(7)
    texts = training_texts()
    rng.shuffle(texts)
    some, tagged, lexicon = tagged_texts(texts)
    changed = [
        cases.perturbed(text, words, lexicon, rng)
        for _ in range(2)
        for text, words in zip(some, tagged, strict=False)
    ]
    for name, many in (("plain", texts), ("changed", changed)):
        ids = [e.ids for e in tokenizer.encode_batch(many, add_special_tokens=False)]
        np.savez_compressed(
            folder / f"{name}.npz",
            tokens=np.concatenate([np.array(i, np.uint16) for i in ids]),
            lengths=np.array([len(i) for i in ids], np.int32),
        )
        print(name, len(ids), "texts,", sum(map(len, ids)), "tokens")
    for name, made in zip(("textbook", "genres"), development(), strict=False):
        with (folder / f"cases-{name}.jsonl").open("w", encoding="utf-8") as lines:
            for kind in cases.KINDS:
                print(name, kind, len(made[kind]))
                for case in made[kind]:
                    lines.write(json.dumps(cases.as_dict(case), ensure_ascii=False) + "\n")


if __name__ == "__main__":
    main(*sys.argv[1:])

"""The rows that the teacher of relations learns from and labels, and the file of its labels.

``python models/connectives/material.py FOLDER`` writes ``rows.jsonl.gz`` and ``meta.json`` (in the
project's environment; about twenty minutes, since all training textbooks are parsed).
``python models/connectives/material.py FOLDER --collect LABELS.npz`` then makes ``soft.npz`` of
what `teach.py` answered. A row is a stretch of text with the place of one connective:

- ``train``: connectives of the treebank's training part with their senses, in five folds of
  documents;
- ``implicit``: places of the same documents where annotators put a connective in, with it put in;
- ``dev``: connectives of the development part (only to watch the teacher, never learnt from);
- ``book``: what the finder finds in the training textbooks, unlabelled.
"""

from __future__ import annotations

import argparse
import gzip
import json
import random
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from sklearn.model_selection import GroupKFold
from soft import PATH, SEED
from train import examples
from treebank import Spans, documents, level2, rows

from rwtools.text import Text, parse_many
from rwtools.transitions.candidates import Candidate, candidates, plausible
from rwtools.transitions.features import finder_features, manner_of_text
from rwtools.transitions.find import resolve, set_off
from rwtools.transitions.lexicon import connectives
from rwtools.transitions.model import load, sense_prior

FOLDS = 5
MOST = 75_000  # connectives of textbooks that the teacher labels
KEPT = 24_000  # of these, kept for the student: those with more than one possible relation
BEFORE, AFTER = 450, 300  # most characters of a row on both sides of its connective


def found(text: Text) -> list[Candidate]:
    """The candidates that the served finder keeps."""
    known, model = connectives(), load()
    all_of_them = [c for c in candidates(text) if plausible(text, c)]
    if not all_of_them:
        return []
    manner = manner_of_text(text)
    asked = [(known[c.form], finder_features(text, c, manner)) for c in all_of_them]
    raised = [
        max(chance, known[c.form].usage) if set_off(text, c) else chance
        for c, chance in zip(all_of_them, model.finding(asked).tolist(), strict=True)
    ]
    return [all_of_them[i] for i in resolve(all_of_them, raised, model.threshold)]


def spans_of(text: Text, candidate: Candidate) -> Spans:
    """Characters of a candidate's parts."""
    parts = [(candidate.first, candidate.last), *([candidate.second] if candidate.second else [])]
    return tuple((text.tokens[a].start, text.tokens[b - 1].end) for a, b in parts)


def window(text: Text, candidate: Candidate, spans: Spans) -> tuple[str, list[list[int]]]:
    """From the sentence before (at least 200 characters) to the end of the connective's own."""
    sentences = text.sentences
    last = candidate.second[1] if candidate.second else candidate.last
    first = at = text.tokens[candidate.first].sent
    while at > 0 and (at == first or spans[0][0] - sentences[at].start < 200):
        at -= 1
    end = text.tokens[last - 1].sent
    while end + 1 < len(sentences) and sentences[end].end - spans[-1][1] < 50:
        end += 1
    a = max(sentences[at].start, spans[0][0] - BEFORE)
    b = min(sentences[end].end, spans[-1][1] + AFTER)
    return text.passage[a:b], [[x - a, y - a] for x, y in spans]


def treebank_rows(part: str, name: str, senses: list[str], folds: dict[int, int]) -> Iterator[dict]:
    """A row for each gold connective that is a candidate."""
    docs = documents(name)
    for number, example in enumerate(examples(docs)):
        if example.gold is None:
            continue
        text = docs[example.doc].text
        passage, spans = window(text, example.candidate, example.spans)
        wanted = sorted({level2(s) for s in example.gold.senses} & set(senses))
        yield {
            "set": part,
            "key": [example.doc, *example.spans[0], number],
            "fold": folds.get(example.doc, -1),
            "text": passage,
            "spans": spans,
            "form": example.candidate.form,
            "gold": [senses.index(s) for s in wanted],
        }


def implicit_rows(name: str, senses: list[str], folds: dict[int, int]) -> Iterator[dict]:
    """Rows with the connective that annotators would put in, put in."""
    for number, (doc, raw) in enumerate(zip(documents(name), rows(name), strict=True)):
        text, sentences = doc.text.passage, doc.text.sentences
        for relation in raw["relations"]:
            word = relation.get("conn_norm")
            sense = level2(relation["sense"])
            if relation["type"] != "implicit" or not word or sense not in senses:
                continue
            if number not in folds:
                continue
            at = min(a for a, _ in relation["arg2"])
            rest = text[at:]
            opens = rest[:1].isupper() and any(s.start == at for s in sentences)
            first = next(iter(rest.split()), "")
            if opens:
                word = word[:1].upper() + word[1:]
                if first != "I" and not first.startswith("I'") and first[1:].islower():
                    rest = rest[:1].lower() + rest[1:]
            own = max((s.index for s in sentences if s.start <= at), default=0)
            a = max(sentences[max(own - 1, 0)].start, at - BEFORE)
            b = min(max(sentences[own].end, at + 50), at + AFTER)
            yield {
                "set": "implicit",
                "key": [number, at],
                "fold": folds[number],
                "text": f"{text[a:at]}{word} {rest[: b - at]}",
                "spans": [[at - a, at - a + len(word)]],
                "form": "",
                "gold": [senses.index(sense)],
            }


def book_rows() -> Iterator[dict]:
    """Connectives found in the training textbooks, paragraphs in a random order."""
    raw = list(rows("textbook_train.jsonl.gz"))
    order = list(range(len(raw)))
    random.Random(SEED).shuffle(order)
    count = 0
    for number, text in zip(order, parse_many(raw[i]["text"] for i in order), strict=True):
        for candidate in found(text):
            spans = spans_of(text, candidate)
            passage, own = window(text, candidate, spans)
            yield {
                "set": "book",
                "key": [number, *spans[0]],
                "fold": -1,
                "text": passage,
                "spans": own,
                "form": candidate.form,
                "gold": [],
            }
            count += 1
            if count == MOST:
                return


def folds_of(name: str) -> dict[int, int]:
    """Document -> fold, with about as many connectives in each."""
    docs = [e.doc for e in examples(documents(name)) if e.gold is not None]
    parts = GroupKFold(FOLDS).split(docs, docs, docs)
    return {docs[i]: fold for fold, (_, held) in enumerate(parts) for i in held}


def write(folder: Path) -> None:
    """The rows, and which senses each connective may have."""
    folder.mkdir(parents=True, exist_ok=True)
    senses = load().senses
    train, dev = "gdtb_train.jsonl.gz", "gdtb_dev.jsonl"
    folds = folds_of(train)
    allowed = {
        form: np.flatnonzero(sense_prior(known, senses)).tolist()
        for form, known in connectives().items()
    }
    meta = {"senses": senses, "allowed": allowed}
    (folder / "meta.json").write_text(json.dumps(meta), encoding="utf-8")
    with gzip.open(folder / "rows.jsonl.gz", "wt", encoding="utf-8") as out:
        for made in (
            treebank_rows("train", train, senses, folds),
            treebank_rows("dev", dev, senses, {}),
            implicit_rows(train, senses, folds),
            book_rows(),
        ):
            for row in made:
                out.write(json.dumps(row, ensure_ascii=False) + "\n")


def collect(folder: Path, labels: Path) -> None:
    """``soft.npz``: a treebank row's label is the mean over the runs that did not learn from its
    fold; a book row has one label for each fold, the mean over the runs that did not learn from
    that fold."""
    meta = json.loads((folder / "meta.json").read_text("utf-8"))
    with gzip.open(folder / "rows.jsonl.gz", "rt", encoding="utf-8") as lines:
        made = [json.loads(line) for line in lines]
    train = [r for r in made if r["set"] == "train"]
    book = [r for r in made if r["set"] == "book"]
    many = [i for i, r in enumerate(book) if len(meta["allowed"][r["form"]]) > 1][:KEPT]
    with np.load(labels) as data:
        held = np.array([r["fold"] for r in train])
        own = np.zeros((len(train), len(meta["senses"])))
        for fold in range(FOLDS):
            runs = [data[k] for k in data.files if k.startswith("train") and k.endswith(f"-{fold}")]
            own[held == fold] = np.mean([r.astype(float) for r in runs], axis=0)
        theirs = data["books"][:, many]
    forms = sorted({r["form"] for r in made if r["form"]})
    kept = [book[i] for i in many]
    np.savez_compressed(
        PATH,
        meta=np.frombuffer(
            json.dumps({"senses": meta["senses"], "forms": forms}).encode(), dtype=np.uint8
        ),
        train_place=np.array([r["key"][:2] for r in train], dtype=np.uint32),
        train_form=np.array([forms.index(r["form"]) for r in train], dtype=np.uint16),
        train_fold=held.astype(np.uint8),
        train_label=np.rint(255 * own).astype(np.uint8),
        book_place=np.array([r["key"][:2] for r in kept], dtype=np.uint32),
        book_form=np.array([forms.index(r["form"]) for r in kept], dtype=np.uint16),
        book_label=theirs,
    )
    print(f"{PATH.name}: {PATH.stat().st_size / 1e6:.2f} MB, {len(train)} + {len(kept)} rows")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--collect", type=Path, metavar="LABELS")
    options = parser.parse_args()
    if options.collect:
        collect(options.folder, options.collect)
    else:
        write(options.folder)


if __name__ == "__main__":
    main()

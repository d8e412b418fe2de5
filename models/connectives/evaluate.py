"""Measure the served finder on a part of the treebank; writes ``metrics.json``.

``python models/connectives/evaluate.py [--part gdtb_dev.jsonl] [--no-write]``

What counts as found:

- ``exact``: the predicted span equals the gold span; of a connective in several parts, the first.
- ``all_parts``: every part equals the gold's parts.
- ``overlap``: a predicted span shares a character with a gold connective that no other one took.

A gold connective with several senses is right when any of them is given. The sense scores are the
share of right senses among the connectives found (exact). Arguments: overlap (intersection over
union of the words, connective left out) between the spans given and the treebank's.
"""

from __future__ import annotations

import argparse
import json
import time
from collections import Counter, defaultdict
from pathlib import Path

import numpy as np
from treebank import Document, Gold, Spans, documents, level2

from rwtools.clue import Clue
from rwtools.text import Text, parse_many
from rwtools.transitions import connectives, find, relations

OUT = Path(__file__).with_name("metrics.json")
BINS = 10


def spans_of(clue: Clue) -> Spans:
    """The clue's span and, of a pair, that of its second half."""
    return ((clue.start, clue.end), *((e.start, e.end) for e in clue.evidence if e.role == "cue"))


def match(clues: list[Clue], gold: list[Gold], how: str) -> dict[int, Gold]:
    """Index of each clue that hits -> the gold connective it hits; each gold is hit once."""
    free = {g.spans: g for g in gold}
    hits: dict[int, Gold] = {}
    for index, clue in enumerate(clues):
        mine = spans_of(clue)
        for spans in free:
            if how == "all_parts":
                good = spans == mine
            elif how == "exact":
                good = spans[0] == mine[0]
            else:
                good = any(a < d and c < b for a, b in spans for c, d in mine)
            if good:
                hits[index] = free.pop(spans)
                break
    return hits


def f1(hits: int, predicted: int, total: int) -> dict[str, float]:
    precision, recall = hits / max(1, predicted), hits / max(1, total)
    return {
        "precision": round(precision, 4),
        "recall": round(recall, 4),
        "f1": round(2 * precision * recall / max(1e-9, precision + recall), 4),
    }


def words_in(doc: Document, spans: Spans, less: Spans) -> set[int]:
    """Token indices inside the spans, marks and the connective left out."""
    inside = {t.i for a, b in spans for t in doc.text.tokens_in(a, b) if not t.is_punct}
    return inside - {t.i for a, b in less for t in doc.text.tokens_in(a, b)}


def argument_overlap(doc: Document, clue: Clue, gold: Gold, role: str) -> float:
    """The best overlap with one of the gold rows' arguments."""
    mine = tuple((e.start, e.end) for e in clue.evidence if e.role == role)
    ours = words_in(doc, mine, gold.spans)
    best = 0.0
    for theirs in gold.arg1 if role == "arg1" else gold.arg2:
        other = words_in(doc, theirs, gold.spans)
        if ours | other:
            best = max(best, len(ours & other) / len(ours | other))
    return best


def calibration_error(confidence: np.ndarray, right: np.ndarray) -> float:
    """Expected calibration error with ten equal-width bins."""
    total = 0.0
    which = np.minimum((confidence * BINS).astype(int), BINS - 1)
    for b in range(BINS):
        chosen = which == b
        if chosen.any():
            total += chosen.mean() * abs(confidence[chosen].mean() - right[chosen].mean())
    return float(total)


def introduces(clue: Clue) -> str:
    """What the connective of a cause introduces: ``reason`` or ``result``."""
    arg2 = next(((e.start, e.end) for e in clue.evidence if e.role == "arg2"), None)
    roles = [e.role for e in clue.evidence if (e.start, e.end) == arg2]
    return next((role for role in roles if role in ("reason", "result")), "neither")


def evaluate(docs: list[Document]) -> dict:
    """All measures on these documents."""
    clues = [find(doc.text) for doc in docs]
    predicted = sum(map(len, clues))
    total = sum(len(d.gold) for d in docs)
    finding = {}
    for how in ("exact", "all_parts", "overlap"):
        hits = sum(len(match(c, d.gold, how)) for c, d in zip(clues, docs, strict=True))
        finding[how] = f1(hits, predicted, total)
    senses, classes, directions = [], [], []
    confidence, right = [], []
    overlaps: dict[str, list[float]] = defaultdict(list)
    majority = []
    confused: Counter[tuple[str, str, str]] = Counter()
    known = connectives()
    names = {s: r.name for r in relations() for s in r.senses}
    by_label: dict[str, list[int]] = defaultdict(lambda: [0, 0, 0])
    for doc, found in zip(docs, clues, strict=True):
        hits = match(found, doc.gold, "exact")
        for index, clue in enumerate(found):
            gold = hits.get(index)
            good = gold is not None and clue.sense in {level2(s) for s in gold.senses}
            confidence.append(clue.confidence)
            right.append(good)
            by_label[clue.label][1] += 1
            by_label[clue.label][0] += good
            if gold is None:
                continue
            wanted = {level2(s) for s in gold.senses}
            senses.append(good)
            classes.append(clue.sense.split(".")[0] in {s.split(".")[0] for s in gold.senses})
            if good and clue.label == "cause":
                directions.append(any(introduces(clue) in s for s in gold.senses))
            if not good:
                confused[clue.quote.lower(), sorted(wanted)[0], clue.sense] += 1
            form = " ... ".join(doc.text.quote(a, b).lower() for a, b in spans_of(clue))
            shares = known[form].shares() if form in known else {}
            majority.append(bool(shares) and max(shares, key=shares.__getitem__) in wanted)
            for role in ("arg1", "arg2"):
                overlaps[role].append(argument_overlap(doc, clue, gold, role))
        for gold in doc.gold:
            for name in {names[level2(s)] for s in gold.senses}:
                by_label[name][2] += 1
    c, r = np.array(confidence), np.array(right)
    return {
        "documents": len(docs),
        "gold": total,
        "predicted": predicted,
        "finding": finding,
        "sense_level2": round(float(np.mean(senses)), 4),
        "sense_level1": round(float(np.mean(classes)), 4),
        "sense_level2_most_frequent": round(float(np.mean(majority)), 4),
        "cause_direction": round(float(np.mean(directions)), 4),
        "right_place_and_sense": f1(int(r.sum()), predicted, total),
        "calibration_error": round(calibration_error(c, r), 4),
        "mean_confidence": round(float(c.mean()), 4),
        "arguments_overlap_at_least_half": {
            role: round(float(np.mean([v >= 0.5 for v in values])), 4)
            for role, values in overlaps.items()
        },
        "arguments_mean_overlap": {
            role: round(float(np.mean(values)), 4) for role, values in overlaps.items()
        },
        "by_relation": {
            name: {"right": a, "predicted": b, "gold": n}
            for name, (a, b, n) in sorted(by_label.items())
        },
    }


def milliseconds(docs: list[Document], words: int = 120, rounds: int = 5) -> float:
    """Median processor time of the room for about ``words`` words, parsing left out."""
    passages: list[str] = []
    for doc in docs:
        tokens = doc.text.tokens
        starts = range(0, len(tokens) - words, 4 * words)
        passages += [doc.text.quote(tokens[i].start, tokens[i + words - 1].end) for i in starts]
    times = []
    for text in parse_many(passages):
        best = float("inf")
        for _ in range(rounds):
            fresh = Text(text.passage, text.tokens, text.sentences)  # nothing cached
            begin = time.process_time()
            find(fresh)
            best = min(best, time.process_time() - begin)
        times.append(best * 1000)
    return round(float(np.median(times)), 3)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--part", default="gdtb_dev.jsonl", help="file of the data folder")
    parser.add_argument("--no-write", action="store_true", help="print only")
    options = parser.parse_args()
    docs = documents(options.part)
    found = {"part": options.part, **evaluate(docs)}
    found["milliseconds_per_120_words"] = milliseconds(docs)
    text = json.dumps(found, indent=2)
    print(text)
    if not options.no_write:
        OUT.write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()

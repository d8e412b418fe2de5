"""Measure the meaning clues on held-out textbooks; writes ``metrics.json``.

Usage: ``python models/meaning/evaluate.py [--limit N]`` with ``RWTOOLS_DATA`` set (default
``../shared/data``). Nothing is trained: the ways are written by hand, and their confidence comes
from the hand-judged counts in ``judgements.json``.
"""

from __future__ import annotations

import argparse
import gzip
import json
import os
import random
import time
from collections import Counter
from pathlib import Path
from typing import Any

from rwtools.clue import Clue, Span
from rwtools.text import Text, parse_many
from rwtools.vocabulary import find

HERE = Path(__file__).resolve().parent
DATA = Path(os.environ.get("RWTOOLS_DATA", HERE.parents[2] / "shared" / "data"))
SEED = 20


def rows(name: str) -> list[dict[str, Any]]:
    with gzip.open(DATA / name, "rt", encoding="utf-8") as lines:
        return [json.loads(line) for line in lines]


def gloss_of(clue: Clue) -> Span:
    found = next(e for e in clue.evidence if e.role == "gloss")
    return Span(found.start, found.end)


def is_name_like(text: Text, start: int, end: int) -> bool:
    """A bold term in capitals throughout: mostly people, places and titles, which have no gloss."""
    words = [w for w in text.quote(start, end).split() if w[:1].isalpha()]
    return bool(words) and all(w[0].isupper() for w in words)


def near(text: Text, clue: Clue, start: int) -> bool:
    """Whether the gloss lies in the sentence of the bold term or the next one."""
    sentence = text.token_at(start)
    gloss = text.token_at(gloss_of(clue).start)
    return sentence is not None and gloss is not None and 0 <= gloss.sent - sentence.sent <= 1


def recall(limit: int) -> dict[str, Any]:
    """Share of bold terms for which, given as target, a gloss is found beside or right after."""
    data = [row for row in rows("textbook_dev.jsonl.gz") if row["terms"]]
    random.Random(SEED).shuffle(data)
    data = data[:limit]
    totals: Counter[str] = Counter()
    by_rule: Counter[str] = Counter()
    for row, text in zip(data, parse_many(r["text"] for r in data), strict=True):
        for start, end in row["terms"]:
            kind = "names" if is_name_like(text, start, end) else "terms"
            clues = [c for c in find(text, target=(start, end)) if near(text, c, start)]
            clues = [c for c in clues if c.rule != "meaning-next-sentence"]  # mere neighbours
            strict = [c for c in clues if c.label in ("definition", "restatement", "synonym")]
            totals[kind] += 1
            totals[f"{kind}_found"] += bool(clues)
            totals[f"{kind}_defined"] += bool(strict)
            by_rule.update({c.rule for c in clues})
    every = totals["terms"] + totals["names"]
    return {
        "paragraphs": len(data),
        "bold_terms": every,
        "recall": round((totals["terms_found"] + totals["names_found"]) / every, 3),
        "bold_terms_without_names": totals["terms"],
        "recall_without_names": round(totals["terms_found"] / totals["terms"], 3),
        "recall_without_names_definition_restatement_synonym": round(
            totals["terms_defined"] / totals["terms"], 3
        ),
        "terms_found_by_rule": dict(sorted(by_rule.items())),
    }


def rate() -> dict[str, Any]:
    """How often clues fire unasked, on 1,000 sentences drawn from the two books."""
    data = rows("textbook_dev.jsonl.gz")
    random.Random(SEED).shuffle(data)
    words = clues = seconds = sentences = 0.0
    by_rule: Counter[str] = Counter()
    for text in parse_many(row["text"] for row in data):
        if sentences >= 1000:
            break
        sentences += len(text.sentences)
        words += sum(not t.is_punct for t in text.tokens)
        _ = text.children
        started = time.perf_counter()
        found = find(text)
        seconds += time.perf_counter() - started
        clues += len(found)
        by_rule.update(c.rule for c in found)
    return {
        "sentences": int(sentences),
        "words": int(words),
        "clues": int(clues),
        "clues_per_100_words": round(100 * clues / words, 2),
        "milliseconds_per_120_words": round(1000 * seconds / words * 120, 2),
        "by_rule": dict(sorted(by_rule.items())),
    }


def precision() -> dict[str, Any]:
    """The hand-judged counts, per rule and together (see ``judgements.json``)."""
    data = json.loads((HERE / "judgements.json").read_text(encoding="utf-8"))
    out: dict[str, Any] = {}
    for table in ("unasked", "asked"):
        rules = {
            rule: [sum(c[k] for c in variants.values()) for k in (0, 1)]
            for rule, variants in data[table].items()
        }
        rules["all"] = [sum(c[k] for c in rules.values()) for k in (0, 1)]
        out[table] = {
            rule: {
                "right": right,
                "judged": right + wrong,
                "share": round(right / (right + wrong), 3),
            }
            for rule, (right, wrong) in rules.items()
        }
    out["unasked_by_source"] = {
        source: {"right": right, "judged": judged, "share": round(right / judged, 3)}
        for source, (right, judged) in data["by_source"].items()
    }
    return out


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--limit", type=int, default=10_000, help="paragraphs for recall")
    limit = parser.parse_args().limit
    metrics = {"recall": recall(limit), "rate": rate(), "precision": precision()}
    (HERE / "metrics.json").write_text(json.dumps(metrics, indent=2) + "\n", encoding="utf-8")
    print(json.dumps(metrics, indent=2))


if __name__ == "__main__":
    main()

"""The judge as second witness: what if an alarm counts only when the judge prefers its mend?

For each alarm of a rule, the judge compares the passage as it stands with the passage as the rule
would mend it. The alarm stays where the mend gains at least a threshold (nats). The threshold is
the highest that keeps `KEPT` of the alarms on faults made by machine in training textbooks; the
development texts only tell what it does.

    python models/judge/witness.py [--train 1200] [--made 100] [--out witness.json]
"""

from __future__ import annotations

import argparse
import gzip
import json
import math
import os
import random
import sys
import time
from collections.abc import Iterable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from models.rules.evaluate import MAKERS, SPEAK_FOR
from rwtools.clue import Clue
from rwtools.rules import check, witness
from rwtools.text import Text, parse_many

ROOT = Path(__file__).resolve().parents[2]
DATA = Path(os.environ.get("RWTOOLS_DATA", ROOT.parent / "shared" / "data"))
RULES = witness.WITNESSED
KEPT = 1.0
THRESHOLDS = (-10.0, -8.0, -6.0, -5.0, -4.0, -2.0, 0.0, 2.0)


def alarms(text: Text) -> list[Clue]:
    return [c for c in check(text) if c.label == "fault" and c.rule in RULES]


def gains(found: Iterable[tuple[str, Clue]]) -> list[float]:
    return [gain for passage, clue in found for gain in witness.gains(passage, [clue])]


def paragraphs(name: str) -> list[str]:
    with gzip.open(DATA / name, "rt", encoding="utf-8") as lines:
        return [" ".join(json.loads(line)["text"].split()) for line in lines]


def on_prose(texts: Iterable[str]) -> dict[str, Any]:
    """Alarms in edited prose: nearly all are false."""
    sentences, found = 0, []
    for text in parse_many(texts):
        sentences += len(text.sentences)
        found += [(text.passage, clue) for clue in alarms(text)]
    values = gains(found)
    rows = [
        (clue.rule, round(g, 2), passage[max(clue.start - 60, 0) : clue.end + 60])
        for (passage, clue), g in zip(found, values, strict=True)
    ]
    return {"sentences": sentences, "alarms": rows}


def on_made(texts: list[str], wanted: int) -> list[tuple[str, float]]:
    """Alarms of the right rule on faults made by machine."""
    rng = random.Random(20)
    kinds = {k: (m, rules) for k, (m, rules) in MAKERS.items() if set(rules) & set(RULES)}
    cases: dict[str, list[tuple[str, int]]] = {kind: [] for kind in kinds}
    for text in parse_many(texts):
        if all(len(rows) >= wanted for rows in cases.values()):
            break
        for sentence in text.sentences:
            if 6 <= sentence.last - sentence.first <= 45:
                for kind, (maker, _) in kinds.items():
                    if len(cases[kind]) < wanted and (case := maker(text, sentence, rng)):
                        cases[kind].append(case)
    found = []
    for kind, rows in cases.items():
        for (damaged, at), text in zip(rows, parse_many(d for d, _ in rows), strict=True):
            near = [
                c for c in alarms(text)
                if c.rule in kinds[kind][1] and c.start - 3 <= at <= c.end + 3
            ]  # fmt: skip
            found += [(damaged, c) for c in near[:1]]
    return [(c.rule, g) for (_, c), g in zip(found, gains(found), strict=True)]


def on_handbooks() -> list[tuple[str, bool, list[float]]]:
    """Per worked example: wrong or right, whether it is of these rules, gains of its alarms."""
    with (DATA / "handbook_dev.jsonl").open(encoding="utf-8") as lines:
        rows = [json.loads(line) for line in lines]
    made = []
    for row, text in zip(rows, parse_many(r["text"] for r in rows), strict=True):
        wanted = SPEAK_FOR.get(row["fault"], ())
        if row["verdict"] == "wrong" and not set(wanted) & set(RULES):
            continue
        found = [c for c in alarms(text) if row["verdict"] == "right" or c.rule in wanted]
        made.append((row["verdict"], row["fault"], gains((text.passage, c) for c in found)))
    return made


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--train", type=int, default=1_200, help="paragraphs of the training books")
    parser.add_argument("--made", type=int, default=100, help="made faults of each kind")
    parser.add_argument("--out", type=Path, default=Path(__file__).with_name("witness.json"))
    args = parser.parse_args()
    began = time.perf_counter()

    def say(*words: object) -> None:
        print(f"[{time.perf_counter() - began:.0f} s]", *words, flush=True)

    train = paragraphs("textbook_train.jsonl.gz")
    random.Random(4).shuffle(train)
    hits = on_made(train[: args.train], args.made)
    values = sorted(g for _, g in hits)
    threshold = math.floor(10 * values[int((1 - KEPT) * len(values))]) / 10
    say("alarms on made faults:", len(hits), "threshold", threshold, "least", values[:8])
    books = on_prose(paragraphs("textbook_dev.jsonl.gz"))
    say("textbook_dev", books)
    clean = on_prose(
        p for f in sorted((ROOT / "corpus" / "clean").glob("*.txt"))
        for p in f.read_text(encoding="utf-8").split("\n\n") if p.strip()
    )  # fmt: skip
    say("clean", clean)
    examples = on_handbooks()
    wrong = [g for verdict, _, g in examples if verdict == "wrong"]
    right = [g for verdict, _, g in examples if verdict == "right"]
    table = []
    for least in (float("-inf"), *sorted({*THRESHOLDS, threshold})):
        table.append(
            {
                "threshold": "none" if least == float("-inf") else least,
                "chosen": least == threshold,
                "made_faults_kept": round(sum(g >= least for _, g in hits) / len(hits), 3),
                "textbook_dev_alarms": sum(g >= least for _, g, _ in books["alarms"]),
                "clean_alarms": sum(g >= least for _, g, _ in clean["alarms"]),
                "handbook_right_alarms": sum(any(x >= least for x in g) for g in right),
                "handbook_recall": round(
                    sum(any(x >= least for x in g) for g in wrong) / len(wrong), 3
                ),
            }
        )
        say(table[-1])
    result = {
        "rules": sorted(RULES),
        "textbook_dev_sentences": books["sentences"],
        "clean_sentences": clean["sentences"],
        "handbook_wrong": len(wrong),
        "handbook_right": len(right),
        "made_faults_alarmed": len(hits),
        "table": table,
    }
    args.out.write_text(json.dumps(result, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()

"""Measure the boundary rules and write ``metrics.json``.

Three views: prose of two unseen books with one spoilt boundary a passage (found, by kind of
fault), the same books as they are (false alarms for 1,000 sentences), and a handbook's own worked
examples. Usage: ``python models/boundary/evaluate.py`` from the project's root.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections import Counter, defaultdict
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parents[1])]

from train import UNSEEN, data, load_or_spoil, paragraphs  # noqa: E402

from rwtools.clue import Clue  # noqa: E402
from rwtools.rules.model import to_clue  # noqa: E402
from rwtools.rules.registry import RULES  # noqa: E402
from rwtools.text import Text, parse_many  # noqa: E402

OURS = {
    "comma-splice", "fused-sentence", "sentence-fragment", "semicolon-unequal-parts",
    "missing-comma-after-introduction", "comma-before-second-verb",
    "missing-comma-before-conjunction", "adverb-as-conjunction",
}  # fmt: skip
HANDBOOK = {
    "comma_splice": {"comma-splice", "adverb-as-conjunction"},
    "fused_sentence": {"fused-sentence"},
    "fragment": {"sentence-fragment"},
    "missing_comma_intro": {"missing-comma-after-introduction"},
    "missing_comma_compound": {"missing-comma-before-conjunction"},
    "semicolon_misuse": {"semicolon-unequal-parts"},
}


def faults(text: Text) -> list[Clue]:
    return [
        to_clue(rule.id, text, found)
        for rule in RULES
        if rule.id in OURS
        for found in rule.find(text)
        if found.label == "fault"
    ]


def on_spoilt(path: Path | None, show: int) -> dict[str, Any]:
    made = load_or_spoil(path, UNSEEN, 2)
    hits: Counter[str] = Counter()
    total: Counter[str] = Counter()
    sure: list[tuple[float, bool]] = []
    missed: dict[str, list[str]] = defaultdict(list)
    for text, spoilt in zip(parse_many(s.text for s in made), made, strict=True):
        total[spoilt.operation] += 1
        hit = False
        for clue in faults(text):
            here = clue.start - 2 <= spoilt.offset <= clue.end + 2
            hit = hit or here
            sure.append((clue.confidence, here))
        hits[spoilt.operation] += hit
        if not hit:
            o = spoilt.offset
            missed[spoilt.operation].append(f"{spoilt.text[max(0, o - 80) : o]} << >> "
                                            f"{spoilt.text[o : o + 60]}")  # fmt: skip
    for name, places in missed.items():
        for place in places[:show]:
            print("MISSED", name, "|", place)
    return {
        "recall": {k: round(hits[k] / total[k], 3) for k in sorted(total)},
        "cases": dict(sorted(total.items())),
        "calibration": reliability(sure),
    }


def reliability(sure: list[tuple[float, bool]], alarm_weight: float = 3.0) -> dict[str, Any]:
    """Expected calibration error at one fault in ten sentences (the spoilt passages have one in
    three: false alarms count three times)."""
    bins: dict[int, list[tuple[float, bool]]] = defaultdict(list)
    for confidence, right in sure:
        bins[min(9, int(confidence * 10))].append((confidence, right))
    error = weight_sum = 0.0
    table = {}
    for k, members in sorted(bins.items()):
        weights = [1.0 if right else alarm_weight for _, right in members]
        weight = sum(weights)
        mean = sum(w * c for w, (c, _) in zip(weights, members, strict=True)) / weight
        share = sum(right for _, right in members) / weight
        table[f"{k / 10:.1f}"] = {"said": round(mean, 3), "right": round(share, 3),
                                  "clues": len(members)}  # fmt: skip
        error += weight * abs(mean - share)
        weight_sum += weight
    return {"ece": round(error / max(weight_sum, 1), 4), "bins": table}


def on_clean(show: int) -> dict[str, Any]:
    alarms: Counter[str] = Counter()
    sentences = 0
    for text in parse_many(paragraphs(*UNSEEN)):
        sentences += len(text.sentences)
        for clue in faults(text):
            alarms[clue.rule] += 1
            if alarms[clue.rule] <= show:
                s, e = max(0, clue.start - 90), clue.end + 70
                print("ALARM", clue.rule, round(clue.confidence, 2), "|",
                      text.passage[s : clue.start], "<<", clue.quote, ">>",
                      text.passage[clue.end : e])  # fmt: skip
    return {
        "sentences": sentences,
        "alarms": dict(alarms),
        "alarms_per_1000": round(1000 * sum(alarms.values()) / sentences, 2),
    }


def on_handbook(show: int) -> dict[str, Any]:
    rows = [json.loads(line) for line in data("handbook_dev.jsonl").open(encoding="utf-8")]
    right = [0, 0]
    wrong: dict[str, list[int]] = {name: [0, 0] for name in HANDBOOK}
    loose: dict[str, int] = Counter()
    for text, row in zip(parse_many(r["text"] for r in rows), rows, strict=True):
        found = faults(text)
        rules = {clue.rule for clue in found}
        if row["verdict"] == "right":
            right[0] += bool(found)
            right[1] += 1
            if found and show:
                print("RIGHT ROW", sorted(rules), "|", row["text"])
        elif row["fault"] in HANDBOOK:
            hit = bool(rules & HANDBOOK[row["fault"]])
            wrong[row["fault"]][0] += hit
            wrong[row["fault"]][1] += 1
            loose[row["fault"]] += bool(found)
            if not hit and show:
                print("WRONG ROW", row["fault"], sorted(rules), "|", row["text"])
    return {
        "right_rows_with_alarm": right[0],
        "right_rows": right[1],
        "found": {k: {"found": a, "of": b, "any": loose[k]} for k, (a, b) in wrong.items() if b},
    }


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--spoilt", type=Path, help="reuse or keep the spoilt passages here")
    options.add_argument("--show", type=int, default=0, help="print this many misses a kind")
    options.add_argument("--no-write", action="store_true")
    options.add_argument("--only", choices=("handbook", "clean", "spoilt"))
    given = options.parse_args()
    metrics: dict[str, Any] = {}
    if given.only in (None, "handbook"):
        metrics["handbook_dev"] = on_handbook(given.show)
    if given.only in (None, "clean"):
        metrics["textbook_dev_clean"] = on_clean(given.show)
    if given.only in (None, "spoilt"):
        metrics["textbook_dev_spoilt"] = on_spoilt(given.spoilt, given.show)
    print(json.dumps(metrics, indent=2))
    if not given.no_write and given.only is None:
        (HERE / "metrics.json").write_text(json.dumps(metrics, indent=2) + "\n")


if __name__ == "__main__":
    main()

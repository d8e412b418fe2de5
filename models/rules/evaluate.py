"""Measure the rules of punctuation and grammar; write ``metrics.json`` and
``card.md`` beside this file.

    python models/rules/evaluate.py [--data FOLDER] [--made N]

Four measures: worked examples of old handbooks by kind of fault; false alarms on edited prose;
faults made by machine in edited sentences; and whether the suggested mends mend.
"""

from __future__ import annotations

import argparse
import gzip
import json
import os
import random
import sys
import time
from collections import Counter, defaultdict
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from models.rules.faults import MAKERS
from rwtools.clue import Clue
from rwtools.rules import RULES, check
from rwtools.text import parse, parse_many

SEED = 20
PRIOR = 0.01
HERE = Path(__file__).parent
# Which rules speak for which kind of handbook fault.
SPEAK_FOR = {
    "comma_splice": ("comma-splice", "adverb-as-conjunction"),
    "fused_sentence": ("fused-sentence",),
    "fragment": ("sentence-fragment",),
    "missing_comma_intro": ("missing-comma-after-introduction",),
    "missing_comma_compound": ("missing-comma-before-conjunction",),
    "semicolon_misuse": ("semicolon-unequal-parts",),
    "nonrestrictive_missing": ("unpaired-interruption",),
    "restrictive_commas": ("comma-before-restrictive-that",),
    "superfluous_comma": ("comma-between-subject-and-verb", "comma-after-conjunction",
                          "comma-before-restrictive-that", "comma-before-second-verb"),
    "apostrophe": ("apostrophe-possessive", "apostrophe-contraction", "its-and-it-is"),
    "subject_verb_agreement": ("subject-verb-agreement",),
    "dangling_modifier": ("dangling-modifier",),
    "pronoun": ("pronoun-agreement",),
    "parallelism": ("parallel-structure",),
    "tense": ("verb-form", "tense-shift"),
    "series_comma": ("series-comma",),
}  # fmt: skip


def faults(clues: list[Clue]) -> list[Clue]:
    return [c for c in clues if c.label == "fault"]


def mended(passage: str, clue: Clue) -> str:
    for fix in sorted(clue.fix, key=lambda f: -f.start):
        passage = passage[: fix.start] + fix.replacement + passage[fix.end :]
    return passage


def handbook(data: Path) -> dict[str, object]:
    rows = [json.loads(line) for line in (data / "handbook_dev.jsonl").open()]
    table: dict[str, Counter[str]] = defaultdict(Counter)
    alarms: Counter[str] = Counter()
    for row, text in zip(rows, parse_many(r["text"] for r in rows), strict=True):
        found = faults(check(text))
        kind, count = row["fault"], table[row["fault"]]
        if row["verdict"] == "wrong":
            count["wrong"] += 1
            count["any_rule"] += bool(found)
            count["right_rule"] += any(c.rule in SPEAK_FOR.get(kind, ()) for c in found)
        else:
            count["right"] += 1
            count["false_alarms"] += bool(found)
            alarms.update(c.rule for c in found)
    total = sum((c for c in table.values()), Counter())
    return {
        "by_fault": {k: dict(v) for k, v in sorted(table.items())},
        "total": dict(total),
        "false_alarms_by_rule": dict(alarms),
    }


def prose(passages: list[str]) -> dict[str, object]:
    sentences, alarms, sound = 0, Counter(), Counter()
    spent = words = 0.0
    for text in parse_many(passages):
        sentences += len(text.sentences)
        words += len(text.passage.split())
        _ = text.clauses
        started = time.process_time()
        clues = check(text)
        spent += time.process_time() - started
        alarms.update(c.rule for c in clues if c.label == "fault")
        sound.update(c.rule for c in clues if c.label == "sound")
    per = 1000 / max(1, sentences)
    return {
        "sentences": sentences,
        "faults_per_1000_sentences": round(sum(alarms.values()) * per, 2),
        "by_rule": {r: round(n * per, 2) for r, n in sorted(alarms.items())},
        "sound_per_1000_sentences": {r: round(n * per, 1) for r, n in sorted(sound.items())},
        "milliseconds_per_120_words": round(1000 * spent / max(1.0, words) * 120, 2),
    }


def made(passages: list[str], wanted: int) -> dict[str, object]:
    rng = random.Random(SEED)
    cases: dict[str, list[tuple[str, int]]] = {kind: [] for kind in MAKERS}
    for text in parse_many(passages):
        for sentence in text.sentences:
            if not 6 <= sentence.last - sentence.first <= 45:
                continue
            for kind, (maker, _) in MAKERS.items():
                if len(cases[kind]) < wanted:
                    case = maker(text, sentence, rng)
                    if case is not None:
                        cases[kind].append(case)
    table: dict[str, object] = {}
    for kind, (_, rules) in MAKERS.items():
        hits = any_rule = fixed = other = 0
        rows = cases[kind]
        for (damaged, at), text in zip(rows, parse_many(d for d, _ in rows), strict=True):
            found = faults(check(text))
            near = [c for c in found if c.rule in rules and c.start - 3 <= at <= c.end + 3]
            hits += bool(near)
            any_rule += any(c.start - 3 <= at <= c.end + 3 for c in found)
            other += any(not c.start - 3 <= at <= c.end + 3 for c in found)
            if near:
                again = faults(check(parse(mended(damaged, near[0]))))
                fixed += not any(c.rule == near[0].rule for c in again)
        n = max(1, len(rows))
        table[kind] = {
            "cases": len(rows),
            "recall": round(hits / n, 3),
            "recall_any_rule": round(any_rule / n, 3),
            "alarms_elsewhere": round(other / n, 3),
            "mends": round(fixed / max(1, hits), 3),
        }
    return table


def precision(metrics: dict[str, dict]) -> dict[str, dict[str, float]]:
    """For each rule, how many of its alarms are right in a text of learners, where one sentence in
    ``1 / PRIOR`` has a fault of this kind. Every alarm on edited prose counts as false, which is
    hard on the rules: some are real faults of the book."""
    wrong: dict[str, list[float]] = defaultdict(list)
    for kind, (_, rules) in MAKERS.items():
        wrong[rules[0]].append(metrics["made_from_textbook_dev"][kind]["recall"])
    for kind, rules in SPEAK_FOR.items():
        count = metrics["handbook_dev"]["by_fault"].get(kind, {})
        if not wrong.get(rules[0]) and count.get("wrong"):
            wrong[rules[0]].append(count.get("right_rule", 0) / count["wrong"])
    sentences = metrics["textbook_dev"]["sentences"]
    table = {}
    for rule in metrics["rules"]:
        rates = wrong.get(rule)
        if not rates:
            continue
        recall = sum(rates) / len(rates)
        alarms = metrics["textbook_dev"]["by_rule"].get(rule, 0.0) * sentences / 1000
        false = (alarms + 1) / (sentences + 2)  # no alarm seen is not no alarm ever
        hits = recall * PRIOR
        table[rule] = {"recall": round(recall, 3), "precision": round(hits / (hits + false), 3)}
    return table


CARD = """# The rules of punctuation and grammar

Written by `python models/rules/evaluate.py` from `metrics.json`; not by hand.

**What they are.** Hand-written rules over a dependency parse (the boundary rules also ask a small
trained model, see `models/boundary`). No list is made from a test set. Texts that were looked at
while the rules were written: `textbook_train` (a sample), `textbook_dev`, `gdtb_dev`, `gdtb_train`
(news, academic, fiction, biography) and `handbook_dev`. So the figures below are figures on seen
texts; unseen text will give somewhat lower recall and more false alarms.

**Confidence.** A rule's confidence follows the share of right alarms in a text of learners where
one sentence in 100 has a fault of the rule's kind. Every alarm on edited prose is counted as false
there, though about half of those that were read are slips of the books. In clean text, where faults
are rarer, fewer alarms are right than the confidence says.

**Word lists.** `things.json`: nouns that name no living thing, made by `things.py` from WordNet 3.0
(its licence: `models/solver/LICENSE-wordnet.txt`). Only the words are kept.

**Limits.** The parser errs on rare names, lists and long noun chains; there the rules keep silent.
A dangling modifier is found only where a thing stands as the doer of what a person does. A missing
apostrophe is found before nouns after words for persons, not in every noun chain. Collectives,
quantities, sums, titles and subjunctives give no agreement fault. Headings, verse, quotations and
blanks give no fault.

## False alarms on edited prose
{prose}

## Worked examples of old handbooks (`handbook_dev`)
{handbook}

## Faults made by machine in `textbook_dev` (seed {seed})
`recall`: found by the rule in question, at the place. `mends`: the suggested mend, put in, leaves
no fault of that rule.

{made}

## Precision at one fault in 100 sentences
{precision}
"""


def _table(head: str, rows: list[list[object]]) -> str:
    columns = head.split("|")
    lines = [f"| {' | '.join(columns)} |", "|" + "---|" * len(columns)]
    lines += [f"| {' | '.join(str(cell) for cell in row)} |" for row in rows]
    return "\n".join(lines)


def card(metrics: dict[str, dict]) -> str:
    """The card's text, from the metrics alone."""
    texts = {"textbook_dev": metrics["textbook_dev"]}
    texts |= {f"gdtb_dev, {genre}": one for genre, one in metrics["gdtb_dev"].items()}
    prose_rows = [
        [
            name,
            one["sentences"],
            one["faults_per_1000_sentences"],
            ", ".join(f"{rule} {rate}" for rule, rate in one["by_rule"].items()) or "none",
            one["milliseconds_per_120_words"],
        ]
        for name, one in texts.items()
    ]
    book_rows = [
        [
            kind,
            c.get("wrong", 0),
            c.get("right_rule", 0),
            c.get("right", 0),
            c.get("false_alarms", 0),
        ]
        for kind, c in metrics["handbook_dev"]["by_fault"].items()
    ]
    made_rows = [
        [kind, c["cases"], c["recall"], c["recall_any_rule"], c["mends"]]
        for kind, c in metrics["made_from_textbook_dev"].items()
    ]
    rates = metrics["precision_at_one_fault_in_100_sentences"]
    return CARD.format(
        seed=metrics["seed"],
        prose=_table(
            "text|sentences|faults per 1,000|by rule|CPU ms per 120 words after parsing", prose_rows
        ),
        handbook=_table("kind|wrong rows|found|right rows|false alarms", book_rows),
        made=_table("damage|cases|recall|recall, any rule|mends", made_rows),
        precision=_table(
            "rule|recall|precision", [[r, v["recall"], v["precision"]] for r, v in rates.items()]
        ),
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    default = os.environ.get("RWTOOLS_DATA", str(HERE.parents[1].parent / "shared" / "data"))
    parser.add_argument("--data", type=Path, default=Path(default))
    parser.add_argument("--made", type=int, default=200, help="faults to make of each kind")
    parser.add_argument("--card", action="store_true", help="only write the card anew")
    options = parser.parse_args()
    if options.card:
        metrics = json.loads((HERE / "metrics.json").read_text())
        (HERE / "card.md").write_text(card(metrics))
        return
    with gzip.open(options.data / "textbook_dev.jsonl.gz", "rt") as file:
        books = [json.loads(line)["text"] for line in file]
    documents = [json.loads(line) for line in (options.data / "gdtb_dev.jsonl").open()]
    genres = {
        genre: [d["text"] for d in documents if d["genre"] == genre]
        for genre in ("news", "academic", "bio", "essay")
    }
    metrics = {
        "seed": SEED,
        "rules": [rule.id for rule in RULES],
        "handbook_dev": handbook(options.data),
        "textbook_dev": prose(books),
        "gdtb_dev": {genre: prose(texts) for genre, texts in genres.items()},
        "made_from_textbook_dev": made(books, options.made),
    }
    metrics["precision_at_one_fault_in_100_sentences"] = precision(metrics)
    (HERE / "metrics.json").write_text(json.dumps(metrics, indent=2) + "\n")
    (HERE / "card.md").write_text(card(metrics))
    print(json.dumps(metrics, indent=1))


if __name__ == "__main__":
    main()

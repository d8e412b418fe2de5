"""Fill the counts and frequencies of ``shared/connectives.json`` from the training part.

Run it again after an entry was added: ``python models/connectives/lexicon.py``. The fields
``form``, ``pos``, ``reference`` and ``note`` are kept; ``seen``, ``used``, ``relations`` and
``provenance`` are computed. ``reference`` holds relations known from general reference works;
together they weigh as much as one training example, so that training decides wherever it has
something to say.
"""

from __future__ import annotations

import json
from collections import Counter, defaultdict

from treebank import ROOT, Document, documents, level2

from rwtools.transitions.candidates import candidates
from rwtools.transitions.lexicon import connectives, relation_names

PATH = ROOT / "shared" / "connectives.json"
TRAINING = "gdtb_train"


def counts(docs: list[Document]) -> tuple[Counter, Counter, dict[str, Counter]]:
    """For each form: places seen, places used as a connective, and its senses with direction."""
    seen: Counter[str] = Counter()
    used: Counter[str] = Counter()
    senses: dict[str, Counter[tuple[str, str | None]]] = defaultdict(Counter)
    for doc in docs:
        gold = {g.spans: g for g in doc.gold}
        tokens = doc.text.tokens
        for candidate in candidates(doc.text):
            seen[candidate.form] += 1
            spans = ((tokens[candidate.first].start, tokens[candidate.last - 1].end),)
            if candidate.second:
                a, b = candidate.second
                spans += ((tokens[a].start, tokens[b - 1].end),)
            match = gold.get(spans)
            if match:
                used[candidate.form] += 1
                for sense in match.senses:
                    senses[candidate.form][level2(sense), direction(sense)] += 1
    return seen, used, senses


# What arg2, the part that the connective introduces, is: by PDTB-3 level-3 sense.
_PART = {
    "reason": "reason",
    "result": "result",
    "precedence": "later",
    "succession": "earlier",
    "arg2-as-denier": "denial",
    "arg1-as-denier": "expectation",
    "arg2-as-cond": "condition",
    "arg1-as-cond": "consequence",
    "arg2-as-negcond": "condition",
    "arg1-as-negcond": "consequence",
    "arg2-as-goal": "goal",
    "arg1-as-goal": "action",
    "arg2-as-detail": "detail",
    "arg1-as-detail": "general",
    "arg2-as-instance": "example",
    "arg1-as-instance": "general",
    "arg2-as-except": "exception",
    "arg1-as-except": "rule",
    "arg2-as-manner": "manner",
    "arg1-as-manner": "action",
}


def direction(sense: str) -> str | None:
    """What arg2 is by the level-3 part of a sense (``...cause.reason`` -> ``reason``)."""
    parts = sense.split(".")
    return _PART.get(parts[2].split("+")[0]) if len(parts) > 2 else None


def directed(sense: str, way: str | None, pos: str) -> tuple[str, str | None]:
    """The direction of a substitution follows the part of speech, not the treebank, whose level-3
    labels for it contradict each other: what a preposition introduces (*instead of*) is not chosen,
    what an adverb introduces (*instead*) is."""
    if sense == "expansion.substitution":
        return sense, "rejected" if pos in ("preposition", "subordinator") else "chosen"
    return sense, way


def relations(entry: dict, found_in_training: Counter) -> list[dict]:
    """The relations of an entry, most frequent first; at a tie reference works come before a
    single use in training."""
    pos = entry["pos"]
    reference = sorted(
        {directed(r["sense"], r.get("direction"), pos) for r in entry["reference"]}, key=str
    )
    learnt: Counter[tuple[str, str | None]] = Counter()
    for (sense, way), count in found_in_training.items():
        learnt[directed(sense, way, pos)] += count
    total = sum(learnt.values()) + (1 if reference else 0)
    weights: Counter[tuple[str, str | None]] = Counter()
    weights.update(learnt)
    for key in reference:
        weights[key] += 1 / len(reference)
    names = relation_names()
    found = []
    for (sense, way), weight in sorted(
        weights.items(), key=lambda kv: (-kv[1], kv[0][0], kv[0] not in reference)
    ):
        row = {"relation": names[sense], "sense": sense, "count": learnt[sense, way]}
        row["frequency"] = round(weight / total, 4)
        if way:
            row["direction"] = way
        found.append(row)
    return found


def main() -> None:
    data = json.loads(PATH.read_text(encoding="utf-8"))
    seen, used, senses = counts(documents(f"{TRAINING}.jsonl.gz"))
    rows = []
    for entry in sorted(data["entries"], key=lambda e: e["form"]):
        form = entry["form"]
        learnt = senses.get(form, Counter())
        found = relations(entry, learnt)
        if not found:
            print(f"dropped, no relation known: {form}")
            continue
        if learnt and entry["reference"]:
            provenance = f"{TRAINING}, reference"
        else:
            provenance = TRAINING if learnt else "reference"
        rows.append(
            {
                "form": form,
                "pos": entry["pos"],
                "seen": seen[form],
                "used": used[form],
                "relations": found,
                "reference": entry["reference"],
                "note": entry["note"],
                "provenance": provenance,
            }
        )
    data["entries"] = rows
    lines = ",\n  ".join(json.dumps(row, ensure_ascii=False) for row in rows)
    head = json.dumps({k: v for k, v in data.items() if k != "entries"}, indent=1)
    PATH.write_text(f'{head[:-2]},\n "entries": [\n  {lines}\n ]\n}}\n', encoding="utf-8")
    connectives.cache_clear()
    print(f"{len(rows)} entries, {sum(used.values())} uses in training")


if __name__ == "__main__":
    main()

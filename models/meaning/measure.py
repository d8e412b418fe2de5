"""Measure the meaning clues on labelled study passages and on items.

Usage: ``python models/meaning/measure.py [--half train|dev|all] [--show]``.

``labels.jsonl`` lists, for the passages of ``corpus/passages`` and for short passages of its own,
each term whose meaning the text gives, the words that give it, and how. ``unasked`` is false where
only a reader who asks about the word can be expected to be told. Items of
``corpus/items/vocabulary.jsonl`` have their deciding words as ``evidence``. Both are split by the
hash that ``corpus/items/README.md`` documents: the train half is for mending, the other for
reporting. A row may name its half itself: ``own-43`` and later were added for mending alone.
"""

from __future__ import annotations

import argparse
import json
from collections import Counter, defaultdict
from collections.abc import Iterable
from hashlib import sha256
from pathlib import Path
from typing import Any

from rwtools.clue import Clue, Span
from rwtools.resources import corpus
from rwtools.text import Text, parse
from rwtools.vocabulary import find, signals

HERE = Path(__file__).resolve().parent


def half(name: str) -> str:
    """``train`` or ``dev``, from the name alone."""
    return "dev" if int(sha256(name.encode()).hexdigest()[:8], 16) % 2 else "train"


def gloss_of(clue: Clue) -> Span:
    found = next(e for e in clue.evidence if e.role == "gloss")
    return Span(found.start, found.end)


def variant(clue: Clue) -> str:
    """Rule and confidence: clues with one wording and one tie share both."""
    return f"{clue.rule} {clue.confidence:.3f}"


def labels(which: str) -> dict[str, tuple[str, list[dict[str, Any]]]]:
    """Per source: its passage and its labels."""
    found: dict[str, tuple[str, list[dict[str, Any]]]] = {}
    for line in (HERE / "labels.jsonl").read_text("utf-8").splitlines():
        row = json.loads(line)
        if which not in ("all", row.get("half") or half(row["source"])):
            continue
        passage = row.get("passage") or _stored(row["source"])
        found.setdefault(row["source"], (passage, []))[1].append(row)
    return found


def _stored(source: str) -> str:
    return corpus("passages", f"{source}.txt").read_text("utf-8")


def place(passage: str, quote: str) -> Span:
    start = passage.index(quote)
    return Span(start, start + len(quote))


def matches(clue: Clue, term: Span, gloss: Span) -> bool:
    """Whether a clue is about the term and its gloss is mostly the labelled one."""
    return clue.span.overlaps(term) and points_at(clue, [gloss])


def study(which: str, *, show: bool = False) -> dict[str, Any]:
    """Recall and precision on the labelled passages, unasked and for each term as target."""
    count: Counter[str] = Counter()
    for source, (passage, rows) in labels(which).items():
        text = parse(passage)
        clues = find(text)
        places = [(place(passage, r["term"]), place(passage, r["gloss"]), r) for r in rows]
        for clue in clues:
            right = any(matches(clue, t, g) for t, g, _ in places)
            count["shown"] += 1
            count["shown_right"] += right
            if show and not right:
                said = gloss_of(clue).of(passage)
                print(f"  EXTRA {source}: {clue.rule} {clue.quote!r} <- {said!r}")
        for term, gloss, row in places:
            if row["unasked"]:
                count["to_show"] += 1
                hit = any(matches(c, term, gloss) for c in clues)
                count["to_show_found"] += hit
                if show and not hit:
                    print(f"  SILENT {source}: {row['term']!r} <- {row['gloss']!r} ({row['way']})")
            asked = ranked(find(text, target=(term.start, term.end)))
            count["asked"] += 1
            good = [n for n, c in enumerate(asked) if points_at(c, [gloss])]
            count["asked_found"] += bool(good)
            count["asked_first"] += good[:1] == [0]
            count["asked_clues"] += len(asked)
            count["asked_clues_right"] += len(good)
            if show and not good:
                print(f"  ASKED {source}: {row['term']!r} <- {row['gloss']!r} ({row['way']})")
    return {
        "labels": count["asked"],
        "unasked_recall": ratio(count["to_show_found"], count["to_show"]),
        "unasked_precision": ratio(count["shown_right"], count["shown"]),
        "asked_recall": ratio(count["asked_found"], count["asked"]),
        "asked_first": ratio(count["asked_first"], count["asked"]),
        "asked_precision": ratio(count["asked_clues_right"], count["asked_clues"]),
    }


def ranked(clues: Iterable[Clue]) -> list[Clue]:
    return sorted(clues, key=lambda c: -c.confidence)


def ratio(part: int, whole: int) -> dict[str, Any]:
    return {"right": part, "of": whole, "share": round(part / whole, 3) if whole else None}


def points_at(clue: Clue, deciding: list[Span]) -> bool:
    """Whether a gloss holds deciding words: half of one of them, or lies inside one."""
    gloss = gloss_of(clue)
    for span in deciding:
        shared = min(gloss.end, span.end) - max(gloss.start, span.start)
        if shared > 0 and shared >= 0.5 * min(len(span), len(gloss)):
            return True
    return False


def item_places(which: str) -> Iterable[tuple[str, Text, Span, list[Span]]]:
    """Each item's passage, the place asked about, and its deciding words."""
    for line in corpus("items", "vocabulary.jsonl").read_text("utf-8").splitlines():
        item = json.loads(line)
        if which not in ("all", half(item["id"])):
            continue
        passage = item["passage"]
        spot = place(passage, item["target"] if item.get("target") else "____")
        yield (
            item["id"],
            parse(passage),
            spot,
            [Span(e["start"], e["end"]) for e in item["evidence"]],
        )


def items(which: str, *, show: bool = False) -> dict[str, Any]:
    """How often `signals` points at an item's deciding words, at all and first."""
    count: Counter[str] = Counter()
    for name, text, spot, deciding in item_places(which):
        clues = signals(text, spot.start, spot.end)
        good = [n for n, c in enumerate(clues) if points_at(c, deciding)]
        count["items"] += 1
        count["found"] += bool(good)
        count["first"] += good[:1] == [0]
        count["clues"] += len(clues)
        count["right"] += len(good)
        if show and good[:1] != [0]:
            print(f"  ITEM {name} {spot.of(text.passage)!r}: {len(clues)} clues, right {good}")
            for c in clues:
                print(f"      {c.confidence:.2f} {c.rule}: {gloss_of(c).of(text.passage)[:90]!r}")
    return {
        "found": ratio(count["found"], count["items"]),
        "first": ratio(count["first"], count["items"]),
        "precision": ratio(count["right"], count["clues"]),
    }


def calibration(which: str) -> dict[str, dict[str, list[int]]]:
    """Right and wrong per rule and variant of loose clues, at items and at labelled terms."""
    from rwtools.vocabulary.fallback import decided
    from rwtools.vocabulary.registry import ties

    table: dict[str, dict[str, list[int]]] = defaultdict(dict)

    def add(text: Text, spot: Span, deciding: list[Span]) -> None:
        found = ties(text, spot)
        beside = [g for g in decided(text, found, (spot,)) if g[1].variant == "beside"]
        for rule, gloss in found + beside:
            if gloss.loose:
                shared = any(
                    min(gloss.gloss.end, s.end) - max(gloss.gloss.start, s.start)
                    >= 0.5 * min(len(s), len(gloss.gloss))
                    for s in deciding
                )
                table[rule].setdefault(gloss.variant, [0, 0])[not shared] += 1

    for _, text, spot, deciding in item_places(which):
        add(text, spot, deciding)
    for passage, rows in labels(which).values():
        text = parse(passage)
        for row in rows:
            add(text, place(passage, row["term"]), [place(passage, row["gloss"])])
    return {rule: dict(sorted(v.items())) for rule, v in sorted(table.items())}


def main() -> None:
    arguments = argparse.ArgumentParser()
    arguments.add_argument("--half", default="train", choices=["train", "dev", "all"])
    arguments.add_argument("--show", action="store_true")
    arguments.add_argument("--count", action="store_true", help="counts for judgements.json")
    options = arguments.parse_args()
    if options.count:
        print(json.dumps(calibration(options.half), indent=2))
        return
    passages = study(options.half, show=options.show)
    print(json.dumps({"passages": passages, "items": items(options.half, show=options.show)}))


if __name__ == "__main__":
    main()

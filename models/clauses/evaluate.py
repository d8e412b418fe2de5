"""Measure who tells whole sentences from other stretches best, and write ``metrics.json``.

    python models/clauses/evaluate.py

The stretches come from the development textbooks and are labelled by marks and opening words alone
(no parse), so that the parser is not measured by itself; and from ``garden.jsonl``, sentences and
look-alikes written for this project in which a word can be noun and verb.
"""

from __future__ import annotations

import json
import random
import re
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

import stretches

from rwtools.items.seams import SURE
from rwtools.items.whole import chances_whole, parsed_whole
from rwtools.text import parse_many

HERE = Path(__file__).resolve().parent
Row = tuple[str, int, str]
_SENTENCE = re.compile(r"(?:^|(?<=[a-z]{3}[.?!] ))[A-Z][^.?!:()\[\]“”\"—–=/%$#]*\.(?= [A-Z]|$)")
_OPENS = re.compile(r"(When|Because|Although|If|While|Since|After|Unless|Whereas|Though|Once) ")
_BE = re.compile(r" (is|are|was|were|has|have|can|may|will|must|should|could) ")
_PRONOUN = re.compile(
    r"\b(it|they|he|she|we|you|I|that|there|this|these|and|or|wh\w+|how|if|because|others)\b", re.I
)
_RELATIVE = re.compile(r"(which|who|whose|whom|where) ")
_PARTICIPLE = re.compile(r"[a-z]{3,}ing ")
_NOT_PARTICIPLE = frozenset("during nothing something anything everything spring morning".split())


def found_in(paragraph: str) -> Iterator[Row]:
    """Stretches of a paragraph whose standing the marks and the opening words show."""
    for match in _SENTENCE.finditer(paragraph):
        body = match[0][:-1]
        if not 4 <= len(body.split()) <= 32 or len(re.findall(r"\d", body)) > 4:
            continue
        if "," not in body and ";" not in body:
            yield body, 1, "sentence"
        if body.count(";") == 1:
            left, right = body.split("; ") if "; " in body else (body, "")
            linked = re.match(r"(and|or|but) ", right) or left.count(",") > 1
            if len(left.split()) > 3 and len(right.split()) > 3 and not linked:
                yield left, 1, "left of semicolon"
                yield right, 1, "right of semicolon"
        elif body.count(",") == 1 and ", " in body:
            left, right = body.split(", ")
            opening = right.split(" ")[0]
            if _OPENS.match(left) and len(left.split()) > 2:
                yield left, 0, "subordinate clause"
                yield right, 1, "after a subordinate clause"
            elif _RELATIVE.match(right):
                yield right, 0, "relative clause"
                if len(left.split()) > 5:
                    yield left, 1, "before a relative clause"
            elif (
                _PARTICIPLE.match(right)
                and opening not in _NOT_PARTICIPLE
                and not _BE.search(right)
                and " means " not in right
            ):
                yield right, 0, "participle"
        elif "," not in body:
            verb = _BE.search(body)
            noun = body[: verb.start()] if verb else ""
            opens = _PRONOUN.search(noun) or _OPENS.match(body)
            if len(noun) > 8 and len(noun.split()) > 2 and not opens:
                yield noun, 0, "noun phrase"


def rows_of_books(name: str, first: int, end: int, most: int, seed: int = 4) -> list[Row]:
    """At most so many stretches of each kind, drawn from the paragraphs of a data file."""
    kinds: dict[str, list[Row]] = defaultdict(list)
    for paragraph in stretches.paragraphs(name, first, end):
        for row in found_in(paragraph):
            kinds[row[2]].append(row)
    rng = random.Random(seed)
    return [r for mine in kinds.values() for r in rng.sample(mine, min(most, len(mine)))]


def errors(rows: list[Row]) -> dict[str, dict[str, float | int]]:
    """By kind: share of stretches that the parser, the model and both together get wrong, and
    those that both together leave open (`SURE`) or are wrong about though sure."""
    texts = list(parse_many((stretches.upper(words) + "." for words, _, _ in rows), verse=False))
    counts: dict[str, list[tuple[bool, bool, bool, bool]]] = defaultdict(list)
    for (_, whole, kind), text, chance in zip(rows, texts, chances_whole(texts), strict=True):
        seen = (
            parsed_whole(text) != bool(whole),
            (chance >= 0.5) != bool(whole),
            not chance <= 1 - SURE and not chance >= SURE,
            chance <= 1 - SURE if whole else chance >= SURE,
        )
        counts[kind].append(seen)
        counts["all"].append(seen)
    return {
        kind: {
            "stretches": len(mine),
            **{
                name: round(sum(column) / len(mine), 4)
                for name, column in zip(
                    ("parser alone wrong", "wrong", "unsure", "wrong though sure"),
                    zip(*mine, strict=True),
                    strict=True,
                )
            },
        }
        for kind, mine in counts.items()
    }


def main() -> None:
    rows = rows_of_books("textbook_dev.jsonl.gz", 0, 10_000, 400)
    measured: dict[str, object] = {"development books": errors(rows)}
    garden = [json.loads(x) for x in (HERE / "garden.jsonl").read_text("utf-8").splitlines()]
    for part in ("tuning", "kept apart"):
        mine = [(r["words"], r["whole"], r["kind"]) for r in garden if r["part"] == part]
        measured[f"written, {part}"] = errors(mine)
    (HERE / "metrics.json").write_text(json.dumps(measured, indent=1) + "\n", encoding="utf-8")
    print(json.dumps(measured, indent=1))


if __name__ == "__main__":
    main()

"""Count which verbs want an object in edited prose: ``objects.json``.

*The treaty signed, the envoys ...* opens with a participle, *The guests arrived, the band ...* with
a past tense. What tells them apart is how often each verb goes without an object, and how often it
is passive. Usage: ``python models/boundary/objects.py``.
"""

from __future__ import annotations

import json
import sys
from collections import Counter
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parents[1])]

from train import paragraphs  # noqa: E402

from rwtools.text import Text, Token, parse_many  # noqa: E402

PARAGRAPHS = 15000
FINITE = ("VBD", "VBZ", "VBP", "VB")
COMPLEMENTS = frozenset("ccomp xcomp dative attr acomp oprd".split())
OFTEN, MOSTLY, AT_ALL = 0.6, 4.0, 0.15
LEAST = 3
SOURCE = (
    f"Verbs in {PARAGRAPHS:,} paragraphs of textbook_train (CC BY 4.0, OpenStax), written by "
    f"objects.py. taking: passive {OFTEN:g} times as often as active without object, or more; "
    f"strictly: {MOSTLY:g} times; able: with an object or passive in {AT_ALL:.0%} of these uses."
)


def use(text: Text, verb: Token) -> str:
    """How a verb is used: ``passive``, ``object``, ``alone``, or empty where that is not clear."""
    deps = {text.tokens[i].dep for i in text.children[verb.i]}
    if verb.tag == "VBN":
        described = verb.dep == "acl" and "aux" not in deps
        return "passive" if "auxpass" in deps or described else ""
    if verb.tag not in FINITE:
        return ""
    if "dobj" in deps:
        return "object"
    return "" if deps & COMPLEMENTS or verb.dep == "relcl" else "alone"


def sorted_out(seen: dict[str, Counter[str]]) -> dict[str, list[str]]:
    """The verbs of each kind, by how often each use was seen."""
    kept: dict[str, list[str]] = {"taking": [], "strictly": [], "able": []}
    for verb, uses in sorted(seen.items()):
        taken = uses["passive"] + uses["object"]
        ratio = (uses["passive"] + 1) / (uses["alone"] + 1)
        if taken >= LEAST and ratio >= OFTEN:
            kept["taking"].append(verb)
        if taken >= LEAST and ratio >= MOSTLY:
            kept["strictly"].append(verb)
        if taken and taken >= AT_ALL * uses.total():
            kept["able"].append(verb)
    return kept


def main() -> None:
    seen: dict[str, Counter[str]] = {}
    for text in parse_many(paragraphs("train", 0, PARAGRAPHS)):
        for token in text.tokens:
            if token.pos == "VERB" and token.text.isalpha() and (how := use(text, token)):
                seen.setdefault(token.lemma.lower(), Counter())[how] += 1
    kept = sorted_out(seen)
    (HERE / "objects.json").write_text(json.dumps({"source": SOURCE, **kept}, indent=0) + "\n")
    print({kind: len(verbs) for kind, verbs in kept.items()})


if __name__ == "__main__":
    main()

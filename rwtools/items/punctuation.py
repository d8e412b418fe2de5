"""Punctuation items: which mark, if any, belongs between the words on either side."""

from __future__ import annotations

import math
import re

from rwtools.items.case import Case
from rwtools.items.seams import COORDINATORS, LINKERS, Facts, Seam, split_words
from rwtools.items.weights import mark_scores, softmax

__all__ = ["features"]

_ASKING = frozenset(
    "is are was were do does did has have had can could will would should may might must am".split()
)
_QUESTION_WORDS = frozenset("who whom whose what which when where why how".split())
_IRREGULAR = frozenset("childrens mens womens peoples childrens's mices feets".split())
_UNKNOWN = -1.5


def features(case: Case) -> dict[str, list[float]]:
    """The named numbers that the choices are weighed by, one per choice."""
    found = {
        "judge": list(case.readings["full"].total),
        "judge anywhere": list(case.readings["bare"].total),
        "faults": [sum(f.confidence for f in faults) for faults in case.faults],
        "marks": [0.0] * len(case.choices),
        "splice": [0.0] * len(case.choices),
        "fragment": [0.0] * len(case.choices),
        "colon": [0.0] * len(case.choices),
        "question": [0.0] * len(case.choices),
        "apostrophe": [apostrophe_faults(c.words, c.passage[c.end :]) for c in case.choices],
    }
    for n, (seams, looked_up) in enumerate(zip(case.seams, case.facts, strict=True)):
        for seam, facts in zip(seams, looked_up, strict=True):
            found["marks"][n] += mark_fit(seam, facts)
            found["splice"][n] = max(found["splice"][n], float(is_splice(seam, facts)))
            found["fragment"][n] = max(found["fragment"][n], float(is_fragment(seam, facts)))
            found["colon"][n] += seam.mark == "colon" and not facts.left_complete
            found["question"][n] += misses_question(seam, facts)
    return found


def mark_fit(seam: Seam, facts: Facts) -> float:
    """Natural-log probability of the seam's mark, by the facts around it."""
    if seam.mark == "bracket":  # the textbooks' gaps hold none, so the model knows nothing of it
        return _UNKNOWN
    scores = mark_scores(facts.names)
    mark = "stop" if seam.mark == "question" else seam.mark
    return math.log(max(softmax(list(scores.values()))[list(scores).index(mark)], 1e-4))


def opens_with_coordinator(facts: Facts) -> bool:
    """Whether the right stretch begins with *and*, *but*, *so* ..."""
    return facts.cut < len(facts.joined.tokens) and (
        facts.joined.tokens[facts.cut].lower in COORDINATORS
    )


def is_splice(seam: Seam, facts: Facts) -> bool:
    """Two sentences with a comma, or nothing, between them."""
    both = facts.left_complete and facts.right_complete
    if not both or seam.mark not in ("comma", "none") or opens_with_coordinator(facts):
        return False
    words = [t for t in facts.left.tokens if not t.is_punct]
    return words[-1].lower not in LINKERS  # the break stands before such a word


def is_fragment(seam: Seam, facts: Facts) -> bool:
    """A mark that ends a sentence beside words that cannot be one."""
    if seam.mark not in ("stop", "semicolon", "question"):
        return False
    return not (facts.left_complete and facts.right_complete)


def is_question(facts: Facts) -> bool:
    """Whether the left stretch has the word order of a direct question."""
    words = [t for t in facts.left.tokens if not t.is_punct][:6]
    if not words:
        return False
    if words[0].lower in _ASKING:
        return True
    if words[0].lower not in _QUESTION_WORDS:
        return False
    return any(t.lower in _ASKING for t in words[1:4])


def misses_question(seam: Seam, facts: Facts) -> bool:
    """A question without its mark, or the mark without a question."""
    if seam.mark == "question":
        return not is_question(facts)
    return seam.mark == "stop" and is_question(facts)


def apostrophe_faults(words: str, after: str) -> float:
    """How many words of a choice have an apostrophe where none can be, or lack one."""
    wording = split_words(words)
    faults = 0.0
    for n, word in enumerate(wording.words):
        plain = word.lower().replace("’", "'")
        if plain.rstrip("'") in _IRREGULAR or plain in ("its'", "their's", "her's", "your's"):
            faults += 1
        following = wording.words[n + 1 :] or tuple(re.findall(r"[^\W_]+", after)[:1])
        if plain.endswith(("'s", "s'")) and wording.gaps[n + 1].strip(" \"”’'"):
            faults += 0.5 if following else 0
    return faults


def is_interchangeable(case: Case, one: int, two: int) -> bool:
    """Whether two choices are equally sound: a period and a semicolon between two sentences, and
    nothing else that sets them apart."""
    if len(case.seams[one]) != len(case.seams[two]):
        return False
    apart = [
        (a, b, facts)
        for a, b, facts in zip(case.seams[one], case.seams[two], case.facts[one], strict=True)
        if a.mark != b.mark or a.gap.strip() != b.gap.strip()
    ]
    if len(apart) != 1:
        return False
    a, b, facts = apart[0]
    right = facts.joined.tokens[facts.cut :]
    capital = case.choices[one if a.mark == "stop" else two].passage
    begins = capital[(a if a.mark == "stop" else b).right :][:1]
    return (
        {a.mark, b.mark} == {"stop", "semicolon"}
        and facts.left_complete
        and facts.right_complete
        and bool(right)
        and begins.isupper()
    )

"""Punctuation items: which mark, if any, belongs between the words on either side."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from rwtools.clue import Clue
from rwtools.items.case import Case
from rwtools.items.halves import lacks_comma
from rwtools.items.seams import COORDINATORS, LINKERS, SURE, Facts, Seam, split_words
from rwtools.items.weights import mark_scores, softmax
from rwtools.rules.nouns import IRREGULAR_PLURALS

__all__ = ["features", "judged"]

_ASKING = frozenset(
    "is are was were do does did has have had can could will would should may might must am".split()
)
_QUESTION_WORDS = frozenset("who whom whose what which when where why how".split())
_MANY = frozenset(
    "two three four five six seven eight nine ten twelve both many several these those".split()
)
_SINGLE = frozenset("a an each every one this that another".split())
_IRREGULAR = frozenset("childrens mens womens peoples childrens's mices feets".split())
_UNKNOWN = -1.5
_UNEVEN = 0.6
"""How far *some wanted a bridge, others a school* counts as a splice: books have it, but beside a
choice with a semicolon and a comma it is the weaker wording (common practice, no published
source)."""
ENDING = ("stop", "semicolon", "question")
"""Marks that need a sentence on both sides."""

NO_SENTENCE = frozenset({"sentence-fragment", "semicolon-unequal-parts"})
"""Rules that say a side of such a mark is no sentence."""


def judged(case: Case) -> dict[str, list[float]]:
    """What the judge says of each choice."""
    return {"judge": list(case.readings["full"].total)}


def features(case: Case) -> dict[str, list[float]]:
    """The named numbers that the choices are weighed by, one per choice, but for the judge's."""
    found = {
        "faults": [
            sum(fault_weight(f, seams, facts) for f in faults)
            for faults, seams, facts in zip(case.faults, case.seams, case.facts, strict=True)
        ],
        "marks": [0.0] * len(case.choices),
        "splice": [0.0] * len(case.choices),
        "fragment": [0.0] * len(case.choices),
        "colon": [0.0] * len(case.choices),
        "question": [0.0] * len(case.choices),
        "apostrophe": [
            apostrophe_faults(c.words, c.passage[c.end :], c.passage[: c.start])
            for c in case.choices
        ],
    }
    for n, (seams, looked_up) in enumerate(zip(case.seams, case.facts, strict=True)):
        for seam, facts in zip(seams, looked_up, strict=True):
            found["marks"][n] += mark_fit(seam, facts)
            found["splice"][n] = max(found["splice"][n], splice(seam, facts))
            found["fragment"][n] = max(found["fragment"][n], fragment(seam, facts))
            found["colon"][n] += (seam.mark == "colon") * (1 - facts.left_chance)
            found["question"][n] += misses_question(seam, facts)
    return found


def fault_weight(fault: Clue, seams: Sequence[Seam], looked_up: Sequence[Facts]) -> float:
    """How much a fault counts. A rule that misses a sentence beside a mark rests on one parse of
    the passage, so it counts as far as the witnesses of the seam agree with it."""
    pairs = list(zip(seams, looked_up, strict=True))
    agreed = 1.0
    if fault.rule in NO_SENTENCE and any(seam.mark in ENDING for seam, _ in pairs):
        agreed = max(fragment(seam, facts) for seam, facts in pairs)
    elif fault.rule == "colon-after-incomplete-clause" and pairs:
        agreed = max(1 - facts.left_chance for _, facts in pairs)
    return fault.confidence * agreed


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


def splice(seam: Seam, facts: Facts) -> float:
    """How likely two sentences have a comma, or nothing, between them."""
    if seam.mark not in ("comma", "none") or opens_with_coordinator(facts):
        return 0.0
    words = [t for t in facts.left.tokens if not t.is_punct]
    if words and words[-1].lower in LINKERS:  # the break stands before such a word
        return 0.0
    if facts.left_chance >= SURE and lacks_comma(facts.right):
        return _UNEVEN
    return facts.left_chance * facts.right_chance


def fragment(seam: Seam, facts: Facts) -> float:
    """How likely a mark that ends a sentence stands beside words that cannot be one. Semicolons
    between the parts of a list are left aside."""
    if seam.mark not in ENDING or parts_a_list(seam):
        return 0.0
    if facts.gapped and seam.mark != "semicolon":
        return 1.0  # in a sentence of its own, nothing tells which verb is left out
    return 1 - facts.left_chance * facts.right_chance


def parts_a_list(seam: Seam) -> bool:
    """Whether a semicolon has a partner in its sentence, and parts with commas inside: *Brenmoor,
    the old capital; Saint Ilde, a market town; and Kessy, a village*."""
    if seam.mark != "semicolon":
        return False
    passage = seam.placed.passage
    start = max(passage.rfind(stop, 0, seam.left) for stop in (". ", "? ", "! ", "\n\n"))
    stops = [at for stop in ".?!" if (at := passage.find(stop, seam.right)) >= 0]
    sentence = passage[start + 1 : min(stops, default=len(passage))]
    parts = sentence.split(";")
    return len(parts) > 2 and all("," in part for part in parts[1:])


def is_question(facts: Facts) -> bool:
    """Whether the left stretch has the word order of a direct question, and means one."""
    if facts.supposes:
        return False
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


def apostrophe_faults(words: str, after: str, before: str = "") -> float:
    """How many words of a choice have an apostrophe where none can be, or lack one. ``after`` and
    ``before``: the passage on either side, as far as it is to be looked at."""
    wording = split_words(words)
    faults = float(_owner_miscounted(wording.words, before))
    for n, word in enumerate(wording.words):
        plain = word.lower().replace("’", "'")
        if plain.rstrip("'") in _IRREGULAR or plain in ("its'", "their's", "her's", "your's"):
            faults += 1
        following = wording.words[n + 1 :] or tuple(re.findall(r"[^\W_]+", after)[:1])
        if plain.endswith(("'s", "s'")) and wording.gaps[n + 1].strip(" \"”’'"):
            faults += 0.5 if following else 0
    return faults


def _owner_miscounted(words: Sequence[str], before: str) -> bool:
    """Whether the first word is one owner after a word for many (*two sister's*), or many owners
    after a word for one (*each sisters'*)."""
    owner = words[0].lower().replace("’", "'") if words else ""
    counted = re.findall(r"[^\W_]+", before[-20:].lower())[-1:]
    if not counted or not before.endswith(" "):
        return False
    if counted[0] in _MANY:
        return owner.endswith("'s") and owner[:-2] not in IRREGULAR_PLURALS
    return counted[0] in _SINGLE and owner.endswith("s'")


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

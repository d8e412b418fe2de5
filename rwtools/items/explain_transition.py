"""The way to the answer of a transition item, in steps."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import takewhile

from rwtools.clue import Span
from rwtools.items.case import Case
from rwtools.items.cues import Cue
from rwtools.items.model import Quote
from rwtools.items.signs import signs
from rwtools.items.steps import (
    Explained,
    Path,
    best_of,
    quote,
    said,
    speaking_words,
    surprising_words,
)
from rwtools.items.transition import (
    Joined,
    direction_of,
    found_cues,
    joined,
    meaning_of,
    relation_shares,
    uses_of,
)
from rwtools.items.weights import relation_weights

__all__ = ["explain"]

_SAYS = {
    "contrast": "sets two different things against each other",
    "concession": "brings in something that you would not expect after the other part",
    "similarity": "says that two things are alike",
    "reason": "brings in a reason",
    "result": "brings in a result",
    "condition": "makes one part depend on the other",
    "purpose": "names a goal",
    "addition": "adds one more point of the same kind",
    "example": "brings in one case of a general statement",
    "detail": "makes a statement more exact, or puts it briefly",
    "restatement": "says the same thing again in other words",
    "substitution": "puts one thing in the place of another",
    "alternative": "offers a second possibility",
    "exception": "names the case where the statement is not true",
    "manner": "tells in what way something is done",
    "sequence": "says which thing comes earlier and which later",
    "simultaneity": "says that two things happen at the same time",
}
_NEEDS = {
    "contrast": "the passage would have to set two different things side by side",
    "concession": "the second part would have to come as a surprise after the first",
    "similarity": "the two parts would have to be alike",
    "reason": "the second part would have to give the reason for the first",
    "result": "the second part would have to follow from the first",
    "condition": "one part would have to depend on the other",
    "purpose": "one part would have to be a goal",
    "addition": "the second part would have to be one more point of the same kind",
    "example": "the second part would have to be one case of the first",
    "detail": "the second part would have to say the first more exactly, or in short",
    "restatement": "the second part would have to say the same as the first",
    "substitution": "the second part would have to take the place of the first",
    "alternative": "the parts would have to be two possibilities",
    "exception": "the second part would have to be a case that the first leaves out",
    "manner": "one part would have to tell how the other is done",
    "sequence": "the passage would have to tell what came earlier and what later",
    "simultaneity": "the two things would have to happen at the same time",
}
_INSTEAD = {
    "contrast": "the passage sets two different things side by side",
    "concession": "the second part is a surprise after the first",
    "similarity": "the two parts are alike",
    "reason": "the second part gives the reason for the first",
    "result": "the second part follows from the first",
    "condition": "one part depends on the other",
    "purpose": "one part is the goal of the other",
    "addition": "the second part is one more point of the same kind",
    "example": "the second part is one case of the first",
    "detail": "the second part makes the first more exact, or puts it briefly",
    "restatement": "the second part says the same as the first",
    "substitution": "one thing takes the place of the other",
    "alternative": "the parts are two possibilities",
    "exception": "the second part is the case that the first leaves out",
    "manner": "one part tells how the other is done",
    "sequence": "one thing comes after the other in time",
    "simultaneity": "the two things happen at the same time",
}
_SHOWN = {
    "contrast": "{two} is set against {one}",
    "concession": "{two} is not what {one} makes you expect",
    "similarity": "{two} is like {one}",
    "reason": "{two} is a reason for {one}",
    "result": "{two} follows from {one}",
    "condition": "one of {one} and {two} depends on the other",
    "purpose": "one of {one} and {two} is the goal of the other",
    "addition": "{two} is a further point beside {one}",
    "example": "{two} is one case of {one}",
    "detail": "{two} says more exactly or more briefly what {one} says",
    "restatement": "{two} says in other words what {one} says",
    "substitution": "{two} is true in place of {one}",
    "alternative": "{one} and {two} are two possibilities",
    "exception": "{two} is the case that {one} leaves out",
    "manner": "one of {one} and {two} tells how the other is done",
    "sequence": "{one} and {two} come one after the other in time",
    "simultaneity": "{one} and {two} go on at the same time",
}
_CUE = {
    "opposites": "{a} and {b} are opposites.",
    "praise then blame": "{a} is good news, and {b} is not.",
    "blame then praise": "{a} is bad news, and {b} is good.",
    "praise twice": "{a} and {b} are both words of praise.",
    "blame twice": "{a} and {b} are both bad news.",
    "denied before": "{a} says in the first part that something is not so.",
    "denied after": "{a} says in the second part that something is not so.",
    "denied twice": "Both parts deny something: {a}, {b}.",
    "word again": "Both parts speak of the same thing: {a}, {b}.",
    "many words again": "The second part takes up several words of the first, such as {b}.",
    "word again, denied once": "Both parts speak of {a}, but only one of them denies it.",
    "new name": "The second part names something particular: {a}.",
    "general, then a name": "The first part is general ({a}); the second names one case ({b}).",
    "later year": "{b} is later than {a}.",
    "earlier year": "{b} is earlier than {a}.",
    "year after": "The second part gives a date: {a}.",
    "figure after": "The second part gives a figure: {a}.",
    "second part much shorter": "The second part is much shorter: {a}.",
}
_SIGNAL = {
    "time-later": "is a word of later time",
    "time-earlier": "is a word of earlier time",
    "time-same": "is a word for one and the same time",
    "result": "often goes with a result",
    "reason": "speaks of a reason",
    "one-more": "counts or adds one more thing",
    "general": "is a general word",
    "surprise": "often goes with a surprise",
    "alike": "says that things are alike",
    "contrast-words": "sets things apart",
    "hedge": "says that something is only possible",
    "sum-up": "looks at the whole",
    "exact": "announces something exact",
}
_BELONGS = {
    "contrast": "opposites; then blame; then praise; denied after; contrast-words; word again",
    "concession": "surprise; opposites; then blame; then praise; denied after",
    "similarity": "alike; word; many; twice",
    "reason": "reason; result before",
    "result": "result; reason before",
    "condition": "hedge",
    "purpose": "result; hedge",
    "addition": "one-more; praise twice; blame twice",
    "example": "general before; general, then; new name; figure; year",
    "detail": "exact; figure; new name; year; general before; sum-up",
    "restatement": "word; many; sum-up; second; denied twice",
    "substitution": "denied before; contrast-words",
    "alternative": "hedge",
    "exception": "general before; denied",
    "sequence": "time-later; time-earlier; later; earlier; year",
    "simultaneity": "time-same; time-earlier after",
}
"""Parts of the names of the cues that can be told a learner as signs of a relation. Others may have
some weight too, but by company only: a year says nothing about likeness."""


_NEVER_TOLD = {
    "time-later": frozenset("following ended finished decades centuries".split()),
    "time-earlier": frozenset("had once already began beginning".split()),
    "time-same": frozenset("already still whole day night same".split()),
    "reason": frozenset("because since due owing".split()),
    "result": frozenset("had now able means need needs longer".split()),
    "surprise": frozenset("only never but expect expected".split()),
    "alike": frozenset("as just like".split()),
    "contrast-words": frozenset("only other others than".split()),
    "one-more": frozenset("more other neither nor".split()),
    "sum-up": frozenset("all always every simply clearly total".split()),
}
"""Words of a cue that have some weight by company, but show a learner nothing by themselves: *had*
is a word of earlier time in *had left*, not in *had a dog*, and *because* joins its own parts."""


def _name(choice: str, relation: str) -> str:
    """The relation, for a cause its direction."""
    return (direction_of(choice) or "result") if relation == "cause" else relation


def _relation(case: Case, choice: str) -> str | None:
    """The relation that a choice shows here: of its usual ones the one that the cues favour."""
    uses = [use for use in uses_of(choice) if use[1] >= 0.3] or uses_of(choice)[:1]
    if not uses:
        return None
    shares = relation_shares(found_cues(case))
    best = max(uses, key=lambda use: use[1] * shares.get(use[0], 0.0))
    return _name(choice, best[0])


def cue_text(case: Case, cue: Cue) -> str:
    """What a cue shows, in a sentence."""
    words = [said(case, span, 8) for span in cue.spans]
    if cue.name == "word again" and words[0].lower() == words[-1].lower():
        return f"Both parts have the word {words[0]}."
    if cue.name in _CUE:
        return _CUE[cue.name].format(a=words[0], b=words[-1])
    if cue.name.startswith("opens "):
        return f"{words[0]} points back to the first part."
    name = cue.name.rsplit(" ", 1)[0]
    return f"{words[0]} {_SIGNAL[name]}."


def telling(case: Case, relation: str, count: int = 2) -> list[Cue]:
    """The cues that speak most for a relation; the weakest are left out."""
    weights = relation_weights()["cues"]
    plain = "cause" if relation in ("reason", "result") else relation
    found: list[tuple[float, Cue]] = []
    for cue in found_cues(case):
        mine = weights.get(cue.name, {})
        rest = [w for r, w in mine.items() if r != plain]
        gain = mine.get(plain, 0.0) - sum(rest) / max(len(rest), 1)
        belongs = _BELONGS.get(relation, "").split("; ")
        name = cue.name.rsplit(" ", 1)[0]
        word = cue.spans[0].of(case.item.passage).lower()
        if word in _NEVER_TOLD.get(name, ()):
            continue
        if gain > 0 and any(part and part in cue.name for part in belongs):
            found.append((gain, cue))
    found.sort(key=lambda pair: -pair[0])
    return [cue for _, cue in found[:count]]


def _fact(case: Case, both: Joined, relation: str) -> str:
    one, two = said(case, both.first, 10), said(case, both.second, 10)
    return _SHOWN[relation].format(one=one, two=two)


def named(choice: str) -> str:
    """A connecting word in quotation marks, without the comma that a choice may bring along."""
    return f"“{choice.strip(' ,;')}”"


def explain(case: Case, chances: Sequence[float]) -> Explained:
    """Where to look, the deciding words, the relation they show, and what rules out the others."""
    best = best_of(chances)
    choices = [c.words for c in case.choices]
    both = joined(case)
    path = Path()
    sides = quote(case, both.first, "arg1") + quote(case, both.second, "arg2")
    where = "two sentences" if both.apart else "two parts"
    path.add(
        f"This question asks how {where} are linked. Read both before you look at the choices.",
        f"One part says {said(case, both.first, 16)}. "
        f"The other says {said(case, both.second, 16)}.",
        sides,
    )
    relation = _relation(case, choices[best])
    shown = _deciding(case, path, best, relation)
    if relation is None:
        path.add(
            "Ask what the blank has to say.",
            f"{named(choices[best])} makes the two parts read on most smoothly.",
            sides,
        )
    else:
        plain = "cause" if relation in ("reason", "result") else relation
        path.add(
            "Name the relation between the two parts.",
            (
                f"{_capital(_fact(case, both, relation))}. "
                if shown
                else f"With {named(choices[best])}, {_fact(case, both, relation)}. "
            )
            + meaning_of(plain),
            sides,
        )
        path.add(
            "Choose the word that shows this relation.",
            f"The blank needs a word that {_SAYS[relation]}. {named(choices[best])} does this.",
            sides,
        )
    reasons: list[tuple[str, list[Quote]]] = []
    for n, choice in enumerate(choices):
        if n == best:
            text = (
                f"{named(choice)} {_SAYS[relation]}{_AND[shown]} {_fact(case, both, relation)}."
                if relation
                else f"{named(choice)} fits the words on both sides best."
            )
            reasons.append((text, sides))
            continue
        text, evidence = _against(case, both, best, n, relation, shown)
        reasons.append((text, evidence or sides))
        path.add(f"Test {named(choice)}.", text, evidence or sides)
    told = "cause" if relation in ("reason", "result") else relation
    return Explained(path.steps, reasons, relation=told)


_AND = {True: ", and", False: ": with it,"}
_HERE = {True: "Here", False: "It is likelier that"}
"""Where no word of the passage shows the relation, it is only what the likeliest choice would
say."""


def _deciding(case: Case, path: Path, best: int, relation: str | None) -> bool:
    """Add the step with the words that decide; whether any of them shows the relation."""
    findings, evidence = [], []
    found = signs(case, best, relation)
    for told, spans in found:
        findings.append(told)
        for span in spans:
            evidence += quote(case, span, "cue")
    for cue in telling(case, relation, 2 - len(found)) if relation else []:
        findings.append(cue_text(case, cue))
        for span in cue.spans:
            evidence += quote(case, span, "cue")
    shown = bool(findings)
    speaking = None if findings else _speaking(case, best)
    if speaking is not None:
        findings.append(
            f"No single word shows it, but {said(case, speaking)} follows some of the choices more "
            "easily than others: it is a matter of how words usually go together."
        )
        evidence += quote(case, speaking, "cue")
    if findings:
        path.add("Look for the words that show the relation.", " ".join(findings), evidence)
    else:
        path.add(
            "Look for the words that show the relation.",
            "No single word shows it. You have to compare what the two parts say.",
        )
    return shown


def _speaking(case: Case, best: int) -> Span | None:
    """The phrase that follows the likeliest choice best; None where it is the whole second part."""
    words, second = speaking_words(case, best), joined(case).second
    if words is None or len(words.of(case.item.passage).split()) < 3:
        return None
    return words if words.start > second.start or words.end < second.end else None


def _against(
    case: Case, both: Joined, best: int, other: int, relation: str | None, shown: bool
) -> tuple[str, list[Quote]]:
    """What speaks against a choice in this passage."""
    choice, mine = case.choices[other].words, _relation(case, case.choices[other].words)
    evidence: list[Quote] = []
    verb = _verb_after_inverted(case, other)
    if verb is not None:
        return (
            f"After {named(choice)} in the sense of “if”, a plain verb must follow the subject, "
            f"but here “{verb.of(case.item.passage)}” does.",
            quote(case, verb, "verb"),
        )
    if mine is None:
        text = f"{named(choice)} does not join these two parts well."
    elif relation is None:
        text = f"{named(choice)} {_SAYS[mine]}. The passage gives no sign of that."
    elif mine == relation:
        text = f"{named(choice)} also {_SAYS[mine]}, but it fits these words less well."
    else:
        text = (
            f"{named(choice)} {_SAYS[mine]}, so {_NEEDS[mine]}. {_HERE[shown]} "
            f"{_INSTEAD[relation]}: {said(case, both.second, 10)}."
        )
        evidence += quote(case, both.first, "arg1") + quote(case, both.second, "arg2")
    if mine is not None and relation not in (None, mine):
        return text, evidence
    words = surprising_words(case, best, other)
    if words is not None and words.start <= case.gap[1] + 2:
        text += (
            f" {named(choice)} is seldom followed by words such as {said(case, words)}; it is a "
            "matter of how words usually go together."
        )
        evidence += quote(case, words, "cue")
    return text, evidence


def _verb_after_inverted(case: Case, other: int) -> Span | None:
    """The finite verb that cannot follow *should*: *Should | a captain must drop anchor*. It is
    read from another choice's parse, in which the clause has its usual order."""
    if case.choices[other].words.strip(" ,").lower() != "should":
        return None
    n = next((n for n in range(len(case.choices)) if n != other), other)
    text, where = case.texts[n], case.choices[n]
    after = [t for t in text.tokens if t.start >= where.end]
    clause = list(takewhile(lambda t: not t.is_punct, after))
    verb = next((t for t in clause if t.tag in ("VBD", "VBZ", "MD", "VBP")), None)
    if verb is None or (verb.tag == "VBP" and verb.lemma != "be"):
        return None  # a captain drop anchor: taken for a present
    return Span(*where.back(verb.start, verb.end))


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]

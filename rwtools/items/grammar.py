"""Grammar items: which form agrees with the words that govern it."""

from __future__ import annotations

from collections import Counter

from rwtools.items.case import Case
from rwtools.items.forms import (
    Form,
    complete_with,
    form_of,
    is_open_after_there,
    kind_of,
    other_tenses,
    sentence_at,
    subject_at,
    time_words,
)
from rwtools.items.openings import by_judge, by_reader, evened
from rwtools.items.patterns import broken, is_plain_form, is_unreal

__all__ = ["features", "forms", "governing_number", "judged", "kind", "wanted_tenses"]


def _tags(case: Case) -> list[str]:
    tags = []
    for text, where in zip(case.texts, case.choices, strict=True):
        token = next((t for t in text.tokens if t.end > where.start), None)
        tags.append(token.tag if token is not None else "")
    return tags


def forms(case: Case) -> list[Form | None]:
    """The verb form of each choice. A plain form that the parser takes for a noun (*who train*) is
    known by its partner with an ending (*trains*)."""
    words = [c.words.strip().lower() for c in case.choices]
    found = [form_of(c.words, tag) for c, tag in zip(case.choices, _tags(case), strict=True)]
    for n, word in enumerate(words):
        partners = {f"{word}s", f"{word}es", f"{word[:-1]}ies"}
        if found[n] is None and not partners.isdisjoint(words):
            found[n] = Form("finite", "plural", "present")
    return found


def kind(case: Case) -> str:
    """What the choices differ in."""
    return kind_of(case.item.choices, _tags(case))


def governing_number(case: Case) -> tuple[str, float] | None:
    """Number of the subject, as most parses of the filled passages have it, and how many agree."""
    votes: Counter[str] = Counter()
    for text, where in zip(case.texts, case.choices, strict=True):
        subject = subject_at(text, where)
        if subject is not None:
            votes[subject.number] += 1
    if not votes:
        return None
    number, count = votes.most_common(1)[0]
    return number, count / len(case.choices)


def _is_open(case: Case) -> bool:
    """Whether usage is divided over the number: *there was* (or *were*) *a lamp and two picks*."""
    return any(
        subject is not None and is_open_after_there(text, subject)
        for text, subject in (
            (text, subject_at(text, where))
            for text, where in zip(case.texts, case.choices, strict=True)
        )
    )


def wanted_tenses(case: Case) -> Counter[str]:
    """Votes for each tense: of time words in the sentence and of the other verbs."""
    votes: Counter[str] = Counter()
    text, where = case.texts[0], case.choices[0]
    first, last = sentence_at(text, where)
    start, end = text.tokens[first].start, text.tokens[last - 1].end
    for span, tense, _ in time_words(text.passage, start, end):
        if not where.touches(span.start, span.end):
            votes[tense] += 3
    votes.update(other_tenses(text, where))
    return votes


def judged(case: Case) -> dict[str, list[float]]:
    """What the judge says of each choice."""
    whole = evened(case, case.readings["full"].total)
    return {"judge": whole, "judge opening": by_judge(case)}


def features(case: Case) -> dict[str, list[float]]:
    """The named numbers that the choices are weighed by, one per choice, but for the judge's."""
    shapes = forms(case)
    number = None if is_plain_form(case) else governing_number(case)
    unreal = is_unreal(case) is not None
    verbs = kind(case) == "verb"
    either = verbs and _is_open(case)
    disagree = [
        number[1] / (2 if either else 1)
        if verbs
        and number
        and shape
        and shape.number
        and shape.number != number[0]
        and not (unreal and choice.words.lower().startswith("were"))
        else 0.0
        for shape, choice in zip(shapes, case.choices, strict=True)
    ]
    votes = wanted_tenses(case) if verbs else Counter()
    total = sum(votes.values())
    tense = [
        votes[shape.tense] / total if total and shape and shape.tense else 0.0 for shape in shapes
    ]
    whole = complete_with(case.texts, case.choices)
    some = any(whole) and not all(whole)
    return {
        "reader": list(case.weighed.chances),
        "reader opening": by_reader(case),
        "faults": [sum(f.confidence for f in faults) for faults in case.faults],
        "breaks pattern": [float(b is not None) for b in broken(case)],
        "disagrees": disagree,
        "tense around": tense,
        "no sentence": [float(some and verbs and not ok) for ok in whole],
    }

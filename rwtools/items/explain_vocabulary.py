"""The way to the answer of a vocabulary item, in steps."""

from __future__ import annotations

from collections.abc import Sequence

from rwtools.clue import Clue, Span
from rwtools.items.case import Case
from rwtools.items.denial import Denial, find_denial, is_set_against
from rwtools.items.model import Quote
from rwtools.items.steps import (
    Explained,
    Path,
    best_of,
    named,
    quote,
    said,
    surprising_words,
)
from rwtools.items.vocabulary import gloss_likeness, meaning_clues, sense_fit

__all__ = ["explain"]

_LEAST = 0.1
_SECOND = 0.5
_WORTH = 0.02
_SURE = 0.5
_OTHER_SENSE = 0.3


def explain(case: Case, chances: Sequence[float]) -> Explained:
    """Where to look, the words that show the meaning, and what they make of each choice."""
    best = best_of(chances)
    path = Path()
    own = _own_sentence(case)
    asked = case.item.blank is None
    path.add(
        f"The question asks what {named(case.item.target or '')} means here. A word can have "
        "several meanings, so look at the sentence and the ones beside it."
        if asked
        else "Cover the choices. Read the sentence with the blank, and think of a word for it.",
        f"The sentence is {said(case, own, 20)}.",
        quote(case, own, "clause"),
    )
    clues = meaning_clues(case)
    shown = _telling(case, clues, best)
    denial = find_denial(case)
    deciding = _deciding(case, best, turned=denial is not None and shown is None)
    findings: list[str] = []
    evidence: list[Quote] = []
    if shown is not None:
        for e in shown.evidence:
            if e.role == "gloss":
                evidence += quote(case, Span(e.start, e.end), "gloss")
        findings.append(_about_blank(case, shown, denial, evidence))
    fresh = [p for p in deciding if not any(p.overlaps(Span(q.start, q.end)) for q in evidence)]
    for n, part in enumerate(fresh):
        first = n == 0 and shown is None
        findings.append(
            f"{said(case, part, 16)} {'points' if first else 'also points'} to the meaning."
        )
        evidence += quote(case, part, "cue")
    if findings:
        path.add(
            "Look for words in the passage that show the meaning.", " ".join(findings), evidence
        )
    else:
        path.add(
            "Look for words in the passage that show the meaning.",
            "No single part of the passage decides. Read all of it with each choice.",
        )
        evidence = quote(case, own, "clause")
    if denial is not None:
        path.add("Mind the words that turn the meaning round.", *denial.told(case, best))
    agrees, action = _agreement(case, best, denial, shown, evidence)
    path.add(action, agrees, evidence)
    reasons: list[tuple[str, list[Quote]]] = []
    for n, choice in enumerate(case.item.choices):
        if n == best:
            reasons.append((agrees, evidence))
            continue
        text, mine = _against(case, best, n, denial, shown, evidence)
        reasons.append((text, mine))
        path.add(f"Test {named(choice)}.", text, mine)
    return Explained(path.steps, reasons, [shown] if shown is not None else [])


def _agreement(
    case: Case, best: int, denial: Denial | None, shown: Clue | None, evidence: list[Quote]
) -> tuple[str, str]:
    """How the likeliest choice goes with the words that decide, and what to do therefore."""
    name = named(case.item.choices[best])
    against = [q for q in evidence if is_set_against(case, Span(q.start, q.end))]
    by_itself = denial is not None and _speaks_of(case, shown, denial)
    if shown is not None and shown.label == "contrast" and not by_itself:
        against += [q for q in evidence if q.role == "gloss" and q not in against]
    rest = [q for q in evidence if q not in against]
    if denial is not None:
        if against or not evidence:
            said_ = f"{denial.with_word(case, best)} is what the passage needs here."
            return said_, "Choose the word that gives sense together with these words."
        return denial.fits(case, best, _list(case, evidence), len(evidence[:2])), (
            "Choose the word whose opposite the passage shows."
            if denial.kind == "turned"
            else "Choose the word that gives sense together with these words."
        )
    if against:
        more = f" It agrees with {_list(case, rest)}." if rest else ""
        return (
            f"{name} makes the contrast with {_list(case, against)}.{more}",
            "Choose the meaning that makes this contrast.",
        )
    return (
        f"{name} agrees with {_list(case, evidence)}.",
        "Choose the meaning that agrees with these words.",
    )


def _about_blank(case: Case, shown: Clue, denial: Denial | None, evidence: Sequence[Quote]) -> str:
    """What a clue says; but not that it gives the meaning where it stands in contrast to the blank,
    or where a denial turns the meaning."""
    told = shown.explanation.replace('"____"', "the blank").replace("____", "the blank")
    if shown.label == "contrast" or not evidence:
        return told
    words = _list(case, evidence[:1])
    if is_set_against(case, Span(evidence[0].start, evidence[0].end)):
        return f"{words} stands in contrast to the part that we ask about."
    return f"{words} points to the meaning." if denial is not None else told


def _list(case: Case, evidence: Sequence[Quote]) -> str:
    quotes = [said(case, Span(q.start, q.end)) for q in evidence[:2]]
    return " and ".join(quotes) if quotes else "the sentence"


def _own_sentence(case: Case) -> Span:
    text, (start, _) = case.open, case.gap
    token = text.token_at(start)
    if token is None:
        return Span(0, len(text.passage))
    sentence = text.sentences[token.sent]
    return Span(sentence.start, sentence.end)


def _speaks_of(case: Case, shown: Clue | None, denial: Denial) -> bool:
    """Whether a clue's contrast is the denial itself (*far from*)."""
    return shown is not None and denial.words.of(case.item.passage) in shown.explanation


def _telling(case: Case, clues: Sequence[Clue], best: int) -> Clue | None:
    """The clue that speaks most for the likeliest choice and against the others; where none
    does, a sure one."""
    if not clues:
        return None

    def worth(clue: Clue) -> float:
        near = [gloss_likeness(clue, choice) for choice in case.item.choices]
        others = [value for n, value in enumerate(near) if n != best]
        return clue.confidence * (near[best] - sum(others) / len(others))

    top = max(clues, key=worth)
    if worth(top) >= _WORTH:
        return top
    surest = max(clues, key=lambda clue: clue.confidence)
    return surest if surest.confidence >= _SURE else None


def _deciding(case: Case, best: int, *, turned: bool) -> list[Span]:
    """The parts of the passage, at most two, that the likeliest choice owes most to, best first.

    The reader weighs the choices again without each part; what counts is how far the choice's
    advantage over the others shrinks. Where the blank is denied, the best part is taken though it
    counts little: the denial decides too.
    """
    found = case.weighed if case.item.blank is not None else case.in_place
    whole = _ahead(found.chances, best)
    gains = [whole - _ahead(chances, best) for chances in found.without]
    ranked = sorted(zip(gains, case.parts, strict=True), key=lambda pair: -pair[0])
    return [
        _without_and(case, part)
        for n, (gain, part) in enumerate(ranked[:2])
        if gain >= (0.0 if turned and n == 0 else _LEAST)
        and (n == 0 or gain >= _SECOND * ranked[0][0])
    ]


def _misfit(case: Case, best: int, other: int) -> Span | None:
    """The part of the passage without which the other choice comes nearest to the likeliest."""
    found = case.weighed if case.item.blank is not None else case.in_place
    whole = found.chances[best] - found.chances[other]
    gains = [whole - (chances[best] - chances[other]) for chances in found.without]
    if not gains or max(gains) < _LEAST:
        return None
    return _without_and(case, case.parts[gains.index(max(gains))])


def _without_and(case: Case, part: Span) -> Span:
    """A part of a sentence without the *and* that ties it on."""
    ahead = part.of(case.item.passage).startswith("and ")
    return Span(part.start + 4, part.end) if ahead else part


def _ahead(totals: Sequence[float], best: int) -> float:
    """How far the likeliest choice is ahead of the mean of the others."""
    others = [t for n, t in enumerate(totals) if n != best]
    return totals[best] - sum(others) / len(others)


def _against(
    case: Case,
    best: int,
    n: int,
    denial: Denial | None,
    shown: Clue | None,
    evidence: list[Quote],
) -> tuple[str, list[Quote]]:
    choice = named(case.item.choices[n])
    part = _misfit(case, best, n)
    if denial is not None and denial.tempting == n:
        return denial.tempts(case, n, _list(case, evidence)), evidence + denial.quotes(case)
    if denial is not None and denial.kind == "turned":
        where = said(case, part, 16) if part is not None else _list(case, evidence[:1])
        mine = quote(case, part, "cue") if part is not None else evidence
        told = (
            f"After {said(case, denial.words)}, {choice} would need signs of its opposite. {where} "
            "gives none."
        )
        return told, mine + denial.quotes(case)
    target = case.item.target
    if target is not None and sense_fit(target, case.item.choices[n]) >= _OTHER_SENSE:
        where = said(case, part, 16) if part is not None else _list(case, evidence[:1])
        return (
            f"{named(target)} can mean {choice} in other texts, but {where} does not go with that "
            "meaning.",
            quote(case, part, "cue") if part is not None else evidence,
        )
    if part is not None:
        set_against = is_set_against(case, part) or (
            denial is None
            and shown is not None
            and shown.label == "contrast"
            and any(part.overlaps(Span(e.start, e.end)) for e in shown.evidence)
        )
        if denial is not None:
            choice = denial.with_word(case, n)
        verb = "makes no contrast with" if set_against and denial is None else "does not go with"
        return f"{choice} {verb} {said(case, part, 16)}.", quote(case, part, "cue")
    elif denial is not None:
        choice = denial.with_word(case, n)
    if shown is not None and shown.label == "contrast" and denial is None:
        return f"{choice} does not make the contrast that the passage makes.", evidence
    words = surprising_words(case, best, n) if case.is_heard else None
    if words is not None and words.start <= case.gap[1] + 2:
        return (
            f"{choice} is seldom used with words such as {said(case, words)}; it is a matter of "
            "which words usually go together.",
            quote(case, words, "cue"),
        )
    if denial is None and any(is_set_against(case, Span(q.start, q.end)) for q in evidence):
        return f"{choice} makes no contrast with {_list(case, evidence)}.", evidence
    return f"{choice} does not go with {_list(case, evidence)}.", evidence

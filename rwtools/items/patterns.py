"""Set patterns that ask for one form: *of whom*, *between her and me*, *demand that he go*, and an
opening phrase that describes the subject.

Each check looks at the words beside the gap and says which choices break the pattern, and why.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from rwtools.clue import Span
from rwtools.items.case import Case
from rwtools.items.forms import form_of, sentence_at
from rwtools.text import Token

__all__ = ["Broken", "broken", "is_plain_form", "is_unreal"]

Broken = tuple[str, Span | None]
"""Why a choice breaks a pattern, and the words of the item's passage that ask for it."""

_PREPOSITIONS = frozenset(
    "of to for with from by in on at among amongst between about behind without under over against "
    "through during after before near beside except like".split()
)
_SUBJECTS = frozenset("i he she we they".split())
_OBJECTS = frozenset("me him her us them".split())
_FINITE = ("VBD", "VBZ", "VBP", "MD")
_DEMAND = re.compile(
    r"\b((?:demand|insist|recommend|suggest|propos|requir|request|order|urg|ask)\w*|vital|essential|"
    r"important|necessary|crucial)\s+that\b[^.;:?!]*$",
    re.IGNORECASE,
)
_UNREAL = re.compile(r"\b(if|as if|as though|wish(?:es|ed)?)\b[^.;:?!,]*$", re.IGNORECASE)
_WOULD = re.compile(r"\b(would|could|might|'d)\b", re.IGNORECASE)
_EACH = re.compile(
    r"\b(each|one|neither|either|every one) of (?:the|these|those|his|her|its) \w+", re.I
)
_PASSIVE = re.compile(
    r"\b(?:is|are|was|were|been|be|being)\s+(?:\w+ly\s+)?\w+(?:ed|en|wn|lt|ght|ung|orn|ade|id|eard)\b"
)
_ING_OPENING = re.compile(
    r"^\W*(?:(?:while|when|after|before|by|without|on|in|since|although|though)\s+)?"
    r"(?:having\s+\w+|being\s+\w+|not\s+\w+ing|\w+ing)\b|^\W*(?:in order )?to\s+\w+",
    re.IGNORECASE,
)
_NO_DOER = re.compile(r"(?i)(?:it|there|this|that)\s+(?:is|was|were|are|had|has|seemed|would)\b")


def _before(case: Case) -> str:
    """The words of the gap's sentence before the gap."""
    text, where = case.texts[0], case.choices[0]
    first, _ = sentence_at(text, where)
    return text.passage[text.tokens[first].start : where.start]


def is_plain_form(case: Case) -> Span | None:
    """The word such as *demanded* after whose *that* the verb stays in its plain form."""
    before = _before(case)
    found = _DEMAND.search(before)
    if found is None:
        return None
    at = case.gap[0] - len(before) + found.start(1)
    return Span(at, at + len(found[1]))


def is_unreal(case: Case) -> Span | None:
    """The *if* (or *wish*) of an unreal case, where *were* goes with any subject."""
    before = _before(case)
    found = _UNREAL.search(before)
    if found is None:
        return None
    if found[1].lower() == "if" and not _WOULD.search(case.item.passage, case.gap[1]):
        return None
    at = case.gap[0] - len(before) + found.start(1)
    return Span(at, at + len(found[1]))


def broken(case: Case) -> list[Broken | None]:
    """For each choice the pattern that it breaks, if any."""
    found: list[Broken | None] = [None] * len(case.choices)
    for check in (_relative, _pronoun, _plain, _opening):
        for n, why in check(case):
            found[n] = found[n] or why
    return found


def _plain_words(case: Case) -> list[str]:
    return [c.words.strip().lower().replace("’", "'") for c in case.choices]


def _beside(case: Case) -> tuple[Token | None, list[Token]]:
    """The word before the gap, and the words after it in the same sentence."""
    text, where = case.texts[0], case.choices[0]
    before = [t for t in text.tokens if t.end <= where.start and not t.is_punct]
    token = text.token_at(where.start)
    sent = token.sent if token is not None else -1
    after = [t for t in text.tokens if t.start >= where.end and t.sent == sent]
    return before[-1] if before else None, after


def _at(case: Case, token: Token) -> Span:
    return Span(*case.choices[0].back(token.start, token.end))


def _relative(case: Case) -> Iterator[tuple[int, Broken]]:
    words = _plain_words(case)
    if not {"who", "whom"} & set(words):
        return
    last, after = _beside(case)
    clause = []
    for token in after:
        if token.is_punct:
            break
        clause.append(token)
    finite = [k for k, t in enumerate(clause) if t.tag in _FINITE]
    subject_needed = object_needed = False
    if last is not None and last.lower in _PREPOSITIONS:
        for n, word in enumerate(words):
            if word in ("who", "that", "they", "them", "he"):
                why = f"After “{last.text}” the clause begins with “whom”, not “{word}”."
                if word in ("they", "them", "he"):
                    why = f"“{word}” cannot tie the clause to the noun before it; “whom” can."
                yield n, (why, _at(case, last))
        return
    if clause and finite:
        lead = [t for t in clause[: finite[0]] if t.pos not in ("ADV", "PART")]
        if not lead:
            subject_needed = True
        else:
            follow = [t for t in clause[finite[0] + 1 :] if t.pos != "ADV"]
            subject_needed = bool(follow) and follow[0].tag in _FINITE
            object_needed = not subject_needed and clause[0].tag in ("DT", "PRP", "NNP", "PRP$")
    verb = clause[finite[-1] if len(finite) > 1 else finite[0]] if finite else None
    for n, word in enumerate(words):
        if verb is None:
            continue
        if subject_needed and word in ("whom", "whose"):
            yield (
                n,
                (f"“{verb.text}” needs a subject, and “{word}” cannot be one.", _at(case, verb)),
            )
        if object_needed and word in ("who", "whose"):
            why = (
                f"“{verb.text}” has its subject already, so “{word}” has nothing to do in the "
                "clause; the object form is needed."
            )
            yield n, (why, _at(case, verb))


def _pronoun(case: Case) -> Iterator[tuple[int, Broken]]:
    words = _plain_words(case)
    yield from _each(case, words)
    if not (set(words) & _SUBJECTS and set(words) & _OBJECTS):
        return
    last, after = _beside(case)
    verb = after[0] if after and after[0].tag in _FINITE else None
    before = _before(case).split()
    ruler = None
    if last is not None and last.lower in _PREPOSITIONS:
        ruler = last.text
    elif last is not None and last.lower in ("and", "or"):
        ruler = next((w for w in reversed(before[-5:-1]) if w.lower() in _PREPOSITIONS), None)
    for n, word in enumerate(words):
        if ruler and verb is None and word in _SUBJECTS:
            yield (
                n,
                (
                    f"After “{ruler}” the object form is needed, so “{word}” is wrong.".replace(
                        "“i”", "“I”"
                    ),
                    _last_place(case, ruler),
                ),
            )
        if verb is not None and not ruler and word in _OBJECTS:
            yield n, (f"“{verb.text}” needs a subject form, not “{word}”.", _at(case, verb))


def _each(case: Case, words: list[str]) -> Iterator[tuple[int, Broken]]:
    """*Each of the sisters kept her letters*: one at a time."""
    found = _EACH.search(_before(case))
    if found is None or not set(words) & {"their", "them", "themselves"}:
        return
    if not set(words) & {"his", "her", "its", "it", "him", "himself", "herself", "itself"}:
        return
    at = case.gap[0] - len(_before(case)) + found.start()
    for n, word in enumerate(words):
        if word in ("their", "them", "themselves"):
            yield n, (f"“{found[1]}” means one at a time, but “{word}” means more than one.",
                      Span(at, at + len(found[0])))  # fmt: skip


def _last_place(case: Case, word: str) -> Span | None:
    at = case.item.passage.rfind(word, 0, case.gap[0])
    return None if at < 0 else Span(at, at + len(word))


def _plain(case: Case) -> Iterator[tuple[int, Broken]]:
    ruler = is_plain_form(case)
    if ruler is None:
        return
    for n, choice in enumerate(case.choices):
        token = next((t for t in case.texts[n].tokens if t.end > choice.start), None)
        form = form_of(choice.words, token.tag if token else "")
        if form is None or form.kind not in ("finite", "ing"):
            continue
        if form.number == "singular" or form.tense in ("past", "future") or form.kind == "ing":
            why = (
                f"After “{ruler.of(case.item.passage)} that”, the verb stays in its plain form; "
                f"“{choice.words}” is not plain."
            )
            yield n, (why, ruler)


def _opening(case: Case) -> Iterator[tuple[int, Broken]]:
    before = _before(case)
    if not before.rstrip().endswith(",") or not all(
        len(c.words.split()) >= 3 for c in case.choices
    ):
        return
    start = case.gap[0] - len(before)
    opening = Span(start, start + len(before.rstrip(" ,")))
    doer = bool(_ING_OPENING.match(before))
    for n, choice in enumerate(case.choices):
        words = choice.words.strip()
        main = re.split(r"\b(?:because|after|before|when|while|until|which|that|who)\b", words)[0]
        first = words.split()[0].lower()
        if _NO_DOER.match(words) or first.endswith("ing"):
            yield (
                n,
                (
                    f"The opening words describe somebody or something, and “{first}” is not it.",
                    opening,
                ),
            )
        elif doer and _PASSIVE.search(main):
            yield (
                n,
                (
                    "The opening words tell what somebody does, but here the subject does "
                    "nothing; something is done to it.",
                    opening,
                ),
            )

"""A colon follows a complete clause; it does not part a verb or a preposition from its object."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.clue import Span
from rwtools.rules.model import Finding, Rule
from rwtools.rules.phrases import BE, clear, cut_mark, neighbours, short
from rwtools.text import Clause, Text, Token

__all__ = ["RULE", "find"]

# Verbs that need an object to be complete and that often announce a list.
_NEED_OBJECT = frozenset(
    "include contain comprise require need involve have want bring buy carry use make give offer "
    "sell take get choose visit love like hate prefer enjoy see hold grow produce consider "
    "mean become seem feature provide collect own lack demand expect possess hire".split()
)
_LINKERS = frozenset({"such as", "for example", "for instance", "that is", "as"})
_AWAITING = frozenset({"that", "and", "or", "but", "to", "than", "whether", "because", "although"})
_RELATIVE_TAGS = frozenset({"WDT", "WP", "WP$", "WRB"})


def find(text: Text) -> list[Finding]:
    """Fault span: the colon. Fix: take it away. Sound: the colon after a complete clause."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    for token in text.tokens:
        if token.text != ":":
            continue
        before, after = neighbours(text, token.i)
        if before is None or after is None or before.is_punct or before.end != token.start:
            continue
        if "\n" in text.passage[token.end : after.start] or token.end == after.start:
            continue  # a displayed list, or a time, ratio or address
        fault = _fault(text, token, before, after)
        if fault is not None:
            yield fault
        else:
            yield from _sound(text, token)


def _fault(text: Text, colon: Token, before: Token, after: Token) -> Finding | None:
    first = text.sentences[colon.sent].first
    if after.text[:1] in "\"“‘'«" or (after.text[:1].isupper() and not _names(after)):
        return None  # what follows is a quotation or a sentence of its own
    variant = ""
    if _such_as(text, before):
        variant = "fault-linker"
    elif before.lower in BE and before.tag in ("VBP", "VBZ", "VBD", "VB", "VBN"):
        back = {t.lower for t in text.tokens[max(first, before.i - 3) : before.i]}
        if back & {"what", "who", "where", "how", "there", "here"}:
            return None  # "how it is: ...", "there they were: ..."
        variant = "fault-be"
    elif (
        before.tag.startswith("VB") and before.lemma in _NEED_OBJECT and _wants_object(text, before)
    ):
        variant = "fault-verb"
    elif before.tag == "IN" and before.dep == "prep" and not _stranded(text, before, first):
        variant = "fault-preposition"
    elif before.lower in _AWAITING and before.tag in ("IN", "CC", "TO"):
        variant = "fault-linker"
    if not variant or not (variant == "fault-linker" or _has_finite(text, first, colon.i)):
        return None
    start = before.i - 1 if before.lower in ("as", "example", "instance") else before.i
    cue = text.span(start if variant == "fault-linker" else before.i, before.i)
    left = short(text, text.tokens[first].start, before.end)
    return Finding(
        colon.start,
        colon.end,
        "fault",
        0.9,
        {"left": left, "word": cue.of(text.passage)},
        (text.evidence(cue, "cue"),),
        (cut_mark(text, colon.i),),
        variant,
    )


def _names(token: Token) -> bool:
    return token.tag in ("NNP", "NNPS") or token.text == "I"


def _such_as(text: Text, before: Token) -> bool:
    if before.lower == "including":
        return True
    if before.i == 0:
        return False
    return f"{text.tokens[before.i - 1].lower} {before.lower}" == "such as"


def _wants_object(text: Text, verb: Token) -> bool:
    if text.child(verb.i, "auxpass", "ccomp", "xcomp") is not None:
        return False
    taken = text.child(verb.i, "dobj", "attr")  # the parser may find it behind the colon
    if taken is not None and taken.i < verb.i:
        return False
    if any(text.tokens[i].lower in ("as", "than") for i in text.children[verb.i]):
        return False  # as much as they need
    return verb.dep not in ("relcl", "acl", "amod") and not any(
        text.tokens[i].tag in _RELATIVE_TAGS and text.tokens[i].dep in ("dobj", "pobj", "attr")
        for i in range(max(0, verb.i - 6), verb.i)
    )


def _stranded(text: Text, preposition: Token, first: int) -> bool:
    """Whether the preposition's object stands before it (``the thing he was afraid of:``)."""
    if any(t.tag in _RELATIVE_TAGS for t in text.tokens[first : preposition.i]):
        return True
    return any(
        a.dep in ("relcl", "acl", "advcl", "xcomp") for a in text.ancestors(preposition.i)
    ) or (
        text.tokens[preposition.i - 1].tag in ("VBN", "RP", "JJ")
        and text.tokens[preposition.i - 1].lower not in ("composed", "made")
    )


def _has_finite(text: Text, first: int, last: int) -> bool:
    return any(c.finite and first <= c.head < last for c in text.clauses)


def _main_before(text: Text, first: int, colon: int) -> Clause | None:
    for clause in text.clauses:
        if first <= clause.head < colon and clause.finite and clause.kind == "independent":
            return clause
    return None


def _sound(text: Text, colon: Token) -> Iterator[Finding]:
    sentence = text.sentences[colon.sent]
    clause = _main_before(text, sentence.first, colon.i)
    if clause is None or clause.subject is None or colon.i + 1 >= sentence.last:
        return
    left = text.span(sentence.first, colon.i - 1)
    before, after = text.tokens[colon.i - 1], text.tokens[colon.i + 1]
    if before.pos == "PROPN" and after.text[:1].isupper():
        return  # a title with its subtitle
    if clause.subject.start >= before.end:
        return  # the subject lies beyond the colon: a wrong parse
    last = sentence.last - 1
    while last > colon.i + 1 and text.tokens[last].text in (".", "?", "!", ";"):
        last -= 1
    right = text.span(colon.i + 1, last)
    subject = Span(clause.subject.start, min(clause.subject.end, before.end))
    explains = any(
        colon.i < c.head < sentence.last and c.finite and c.kind == "independent"
        for c in text.clauses
    )
    parts = [i for i in range(colon.i, last) if text.tokens[i].text in (",", ";")]
    variant = "sound-clause" if explains else "sound-list" if parts else "sound"
    if after.text[:1] in "\"“‘'«":
        variant = "sound-quotation"
    yield Finding(
        colon.start,
        colon.end,
        "sound",
        0.9,
        {
            "left": short(text, left.start, left.end),
            "right": short(text, right.start, right.end),
            "subject": short(text, subject.start, subject.end),
            "verb": clause.verb.of(text.passage),
        },
        (
            text.evidence(left, "clause"),
            text.evidence(subject, "subject"),
            text.evidence(clause.verb, "verb"),
            text.evidence(right, "arg2"),
        ),
        (),
        variant,
    )


RULE = Rule("colon-after-incomplete-clause", find)

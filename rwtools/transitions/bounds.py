"""Where phrases and clauses of a parsed sentence begin and end, corrected by the marks."""

from __future__ import annotations

from itertools import pairwise

from rwtools.clue import Span
from rwtools.text import Text
from rwtools.transitions.edges import trimmed

__all__ = [
    "CUTS",
    "DEPENDENT",
    "FINITE",
    "OPENERS",
    "SUBJECTS",
    "VERBAL",
    "clause_head",
    "clause_start",
    "free_verbs",
    "holds_verb",
    "joint",
    "main_verb",
    "only_marks",
    "own_bounds",
    "phrase_bounds",
    "previous_sentence",
    "stretch",
]

VERBAL = frozenset({"VERB", "AUX"})
SUBJECTS = ("nsubj", "nsubjpass", "expl", "csubj")
CUTS = frozenset({";", "—", "--", ":"})
FINITE = frozenset({"VBD", "VBZ", "VBP", "MD"})
DEPENDENT = frozenset("although because since though unless until whereas which while".split())
OPENERS = frozenset({"cc", "punct", "preconj", "intj"})
_RELATIVE = frozenset({"WDT", "WP", "WP$", "WRB"})


def phrase_bounds(text: Text, index: int) -> tuple[int, int]:
    """The first token of what a word heads, and the one past its last."""
    members = text.subtree(index)
    return members[0], members[-1] + 1


def clause_head(text: Text, index: int) -> int:
    """The nearest word at or above ``index`` that heads a clause (a verb, or the root)."""
    at = index
    while text.tokens[at].pos not in VERBAL and text.tokens[at].head != at:
        at = text.tokens[at].head
    return at


def own_bounds(text: Text, head: int) -> tuple[int, int]:
    """The stretch of a clause around its head, up to clauses coordinated with it."""
    first, last = phrase_bounds(text, head)
    for child in text.children[head]:
        token = text.tokens[child]
        if token.dep == "conj" and token.pos in VERBAL and child > head:
            link = phrase_bounds(text, child)[0]
            while link > head + 1 and text.tokens[link - 1].dep in OPENERS:
                link -= 1
            last = min(last, link)
        elif token.dep in ("ccomp", "parataxis") and child < head:
            end = phrase_bounds(text, child)[1]
            if end < head and text.tokens[end].is_punct:
                first = max(first, end)
    return first, last


def previous_sentence(text: Text, index: int) -> Span | None:
    """The sentence before the one of token ``index``."""
    number = text.tokens[index].sent - 1
    while number >= 0:
        sentence = text.sentences[number]
        span = trimmed(text, sentence.first, sentence.last)
        if span is not None:
            return span
        number -= 1
    return None


def main_verb(text: Text, verb: int) -> int:
    """The verb that an auxiliary serves, or the verb itself."""
    while text.tokens[verb].dep in ("aux", "auxpass") and text.tokens[verb].head != verb:
        verb = text.tokens[verb].head
    return verb


def free_verbs(text: Text, first: int, last: int) -> tuple[list[int], int]:
    """The finite verbs of a stretch that no word before them makes dependent, and how many such
    words (*that*, *when*, *who*) still wait for their verb."""
    free: list[int] = []
    waiting = 0
    for token in text.tokens[first:last]:
        opens = token.tag == "IN" and (token.dep == "mark" or token.lower in DEPENDENT)
        if opens or token.tag in _RELATIVE:
            waiting += 1
        elif token.text == ",":
            waiting = 0
        elif token.tag in FINITE and waiting:
            waiting -= 1
        elif token.tag in FINITE:
            free.append(token.i)
    return free, waiting


def stretch(text: Text, start: int, end: int, step: int) -> int:
    """Where the next stronger mark or edge of the brackets around a word stands, ``start`` and
    ``end`` included (else the place past the end)."""
    into, out = ("([", ")]") if step > 0 else (")]", "([")
    depth = 0
    for i in range(start, end + step, step):
        mark = text.tokens[i].text
        if mark in CUTS or (mark in out and not depth):
            return i
        depth += (mark in into) - (mark in out)
    return end + step


def joint(text: Text, first: int, last: int) -> int:
    """Where a clause joined by a comma with *and* or a subordinator begins (else ``last``). In
    *owls, bats, and moths | sleep* the comma stands in a series that is the subject."""
    tokens = text.tokens
    commas = [i for i in range(first, last - 1) if tokens[i].text == ","]
    for comma, stop in pairwise([*commas, last]):
        after, verbs = tokens[comma + 1], free_verbs(text, comma, stop)[0]
        if after.tag == "IN" and after.lower in DEPENDENT:
            return comma
        if after.tag != "CC" or not verbs:
            continue
        series = comma > commas[0] and not free_verbs(text, first, comma)[0]
        if not series or tokens[comma + 2].tag == "PRP" or comma + 2 == verbs[0]:
            return comma
    return last


def clause_start(text: Text, verb: int, start: int) -> int:
    """Where the clause of a finite verb begins, not before ``start``."""
    head = main_verb(text, verb)
    dep, own = text.tokens[head].dep, text.child(head, *SUBJECTS) is not None
    if dep == "conj" or (own and dep not in ("relcl", "acl")):
        first = own_bounds(text, head)[0]
        start = first if start < first <= verb else start
    while text.tokens[start].tag == "CC":
        start += 1
    return start


def only_marks(text: Text, first: int, last: int) -> bool:
    """Whether a stretch holds only marks and links."""
    return all(text.tokens[i].dep in OPENERS for i in range(first, last))


def holds_verb(text: Text, first: int, last: int) -> bool:
    """Whether a stretch holds a verb of any form."""
    return any(text.tokens[i].pos in VERBAL for i in range(first, last))

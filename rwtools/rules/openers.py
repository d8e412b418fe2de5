"""Linking words and phrases that open a sentence, and the comma that keeps them apart.

*However*, *for instance*, *as a result* link a sentence to what was said before and belong to no
part of it.
"""

from __future__ import annotations

from itertools import takewhile

from rwtools.rules.links import link_length
from rwtools.rules.places import FINITE
from rwtools.text import Text, Token

__all__ = ["bare_link"]

# Words that can only begin a new phrase, the subject: "in addition problems" is one phrase.
_OPENS_SUBJECT = frozenset({"DT", "PRP", "PRP$", "EX", "NNP"})
_NOBODY = frozenset("nobody nothing everybody everyone everything somebody someone".split())
_MARKERS = frozenset({"WDT", "WP", "WP$", "WRB", "CC"})
_STRONG = frozenset({";", ":", "—", "–", "--"})


def bare_link(text: Text, first: int, last: int) -> int | None:
    """The last word of a linking phrase that opens the tokens ``first..last`` (both included) and
    has no comma, though a subject with its verb follows at once."""
    length = link_length(text.tokens[first : first + 4])
    start = first + length
    if not length or start + 2 > last:
        return None
    stop = next((i for i in range(start, last + 1) if text.tokens[i].text in _STRONG), last + 1)
    rest = text.tokens[start:stop]
    if not rest or not _has_subject(text, rest):
        return None
    if rest[0].tag not in _OPENS_SUBJECT and rest[0].lower not in _NOBODY:
        return None
    opener = text.tokens[first].lower
    if opener == "however" and not _is_one_clause(rest):
        return None  # however you do it, it is hard
    part = tuple(takewhile(lambda t: t.text != ",", rest))
    if opener == "as" and not _is_one_clause(part):
        return None  # as a result everybody hoped for was near, the town rejoiced
    return start - 1


def _has_subject(text: Text, rest: tuple[Token, ...]) -> bool:
    """Whether the words are a noun phrase and then its finite verb, the sentence's own."""
    verb = next((t for t in rest if t.tag in FINITE), None)
    if verb is None or verb is rest[0]:
        return False
    head = verb if verb.dep not in ("aux", "auxpass") else text.tokens[verb.head]
    subject = text.child(head.i, "nsubj", "nsubjpass", "expl")
    return subject is not None and text.subtree(subject.i)[0] == rest[0].i and subject.i < verb.i


def _is_one_clause(rest: tuple[Token, ...]) -> bool:
    """Whether every finite verb after the first has a word that joins it or makes it dependent,
    so that the first cannot belong to a clause of the kind *however you do it*."""
    verbs, waiting = 0, False
    for token in rest:
        if token.tag in _MARKERS or (token.tag == "IN" and token.dep == "mark"):
            waiting = True
        elif token.tag in FINITE:
            if verbs and not waiting:
                return False
            verbs, waiting = verbs + 1, False
    return True

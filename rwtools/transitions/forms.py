"""Connectives that are known by the order of words and marks around them.

The treebank has too few of them, or never marks them, so no model could learn them from it.
"""

from __future__ import annotations

from rwtools.text import Text
from rwtools.transitions.candidates import Candidate

__all__ = ["DEGREES", "fronts_degree", "renames", "threatens"]

DEGREES = frozenset({"so ... that", "such ... that"})
_FINITE = frozenset({"VBD", "VBZ", "VBP", "MD"})
_NOMINAL = frozenset({"ADJ", "DET", "NOUN", "NUM", "PRON", "PROPN"})
_MARKS = frozenset({",", ";", ":", "—", "–", "--", "("})
_INVERTING = frozenset({"be", "do", "have"})
_LONGEST_DEGREE = 5
_RELATIVE = frozenset("that what when where which who whom whose".split())


def fronts_degree(text: Text, candidate: Candidate) -> bool:
    """Whether a degree stands before its verb, and the verb before its subject, with what came of
    it after *that*: *So loud was the bell that nobody slept*, *Such was the noise that ...*.

    Quirk, Greenbaum, Leech and Svartvik (1985), "A Comprehensive Grammar of the English Language",
    15.74 and 18.24 (the sections from memory).
    """
    if candidate.form not in DEGREES or candidate.second is None:
        return False
    tokens, that = text.tokens, candidate.second[0]
    sentence = text.sentences[tokens[candidate.first].sent]
    before = tokens[sentence.first : candidate.first]
    if any(not t.is_punct and t.tag != "CC" for t in before[-1:]):
        return False
    verb = next((i for i in range(candidate.last, that) if tokens[i].tag in _FINITE), None)
    if verb is None or not (tokens[verb].lemma in _INVERTING or tokens[verb].tag == "MD"):
        return False
    degree = tokens[candidate.last : verb]
    if len(degree) > _LONGEST_DEGREE or any(t.is_punct for t in degree):
        return False
    if candidate.form == "so ... that":
        if not degree or degree[0].pos not in ("ADJ", "ADV", "VERB") or degree[0].is_blank:
            return False
        if degree[0].lower == "too":
            return False  # *So too was it*: likewise
    elif degree or tokens[verb].lemma != "be" or tokens[that].dep != "mark":
        return False
    subject = tokens[verb + 1 : that]
    if not subject or subject[0].pos not in _NOMINAL or tokens[that - 1].is_punct:
        return False
    if any(t.lower == "that" and t.tag == "IN" for t in tokens[that + 1 : sentence.last]):
        return False  # *So great was the belief that they would win that ...*: which one is it?
    return _clause_follows(text, that + 1, sentence.last)


_RENAMING = frozenset(
    {
        "i.e.", "in other words", "namely", "or rather", "put another way", "put differently",
        "that is", "that is to say", "to be exact", "to be precise", "to put it another way",
        "to put it differently",
    }
)  # fmt: skip
_NEEDS_COMMA = frozenset({"that is", "to be exact", "to be precise"})


def renames(text: Text, candidate: Candidate) -> bool:
    """Whether a word such as *that is* says a statement again, as another one, behind a mark: *The
    dam is sound; that is, it holds water*. Where only a phrase follows, a term is explained, and
    the vocabulary room says so.

    Markers of reformulation: Quirk, Greenbaum, Leech and Svartvik (1985), 17.73 and 17.80 (the
    sections from memory).
    """
    if candidate.form not in _RENAMING or candidate.first == 0:
        return False
    tokens, body = text.tokens, candidate.last
    sentence = text.sentences[tokens[candidate.first].sent]
    if tokens[candidate.first - 1].text not in _MARKS or candidate.first - 1 < sentence.first:
        return False
    comma = body < sentence.last and tokens[body].text == ","
    if candidate.form in _NEEDS_COMMA and not comma:
        return False
    body += comma
    if candidate.form == "or rather" and comma:
        return body < sentence.last
    if body < sentence.last and tokens[body].lower == "that" and tokens[body].tag == "IN":
        body += 1
    return _clause_follows(text, body, sentence.last)


def threatens(text: Text, candidate: Candidate) -> bool:
    """Whether *or else* brings in a clause: *Come early, or else the seats will be gone*."""
    last = text.sentences[text.tokens[candidate.first].sent].last
    return candidate.form == "or else" and _clause_follows(text, candidate.last, last)


def _clause_follows(text: Text, first: int, last: int) -> bool:
    """Whether a subject and its finite verb come next, no mark between."""
    tokens = text.tokens
    verb = next((i for i in range(first, last) if tokens[i].tag in _FINITE), None)
    if verb is None or verb == first:
        return False
    subject = tokens[first:verb]
    if any(t.is_punct or t.lower in _RELATIVE for t in subject):
        return False
    return any(t.pos in _NOMINAL - {"ADJ"} for t in subject)

"""Connectives that are known by the order of words and marks around them.

The treebank has too few of them, or never marks them, so no model could learn them from it.
"""

from __future__ import annotations

from rwtools.text import Text, Token
from rwtools.transitions.candidates import Candidate

__all__ = [
    "BARELY",
    "DEGREES",
    "concedes",
    "follows_at_once",
    "front_of",
    "fronts_degree",
    "renames",
    "threatens",
    "unclear_front",
]

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


# ---------------------------------------------------------------- hardly ... when

BARELY = frozenset({"hardly ... when", "scarcely ... when"})


def follows_at_once(text: Text, candidate: Candidate) -> bool:
    """Whether *hardly* and *when* put two events in order: *had* and a participle stand in the
    first part (*Hardly had the bell stopped when the children ran out*). *He could hardly speak
    when they came* is no such pair.

    Quirk, Greenbaum, Leech and Svartvik (1985), 14.13 (the section from memory).
    """
    if candidate.form not in BARELY or candidate.second is None:
        return False
    tokens, first, last = text.tokens, candidate.first, candidate.last
    beside = tokens[max(0, first - 1) : last + 1]
    had = next((t for t in beside if t.lower in ("had", "'d", "’d")), None)
    part = tokens[last : candidate.second[0]]
    # a past form behind the inverted *had* and its subject is the participle: *had it stopped*
    forms = ("VBN", "VBD") if had is not None and had.i >= last else ("VBN",)
    return had is not None and any(t.tag in forms and t.i != had.i for t in part)


# ---------------------------------------------------------------- young as she was

_LINKING = frozenset({"appear", "be", "become", "look", "seem"})
_CONCEDING = frozenset({"may", "might", "will", "would"})
_OTHER_AS = frozenset("as even exactly far just long same so soon such well".split())
_LONGEST_FRONT, _LONGEST_CLAUSE = 3, 8


def concedes(text: Text, candidate: Candidate) -> int | None:
    """The comma that closes a concession in which *as* or *though* stands behind its first words:
    *Young as she was | , she ruled well*; *Try as he might | , he failed* (None: it is none).

    Quirk, Greenbaum, Leech and Svartvik (1985), 15.39 (the section from memory). A participle is
    left out, since it more often gives a reason: *Standing as it does on a hill, ...*.
    """
    if candidate.form not in ("as", "though") or candidate.second is not None:
        return None
    front, clause = _fronted(text, candidate)
    if not clause or any(t.tag in ("DT", "IN") or t.lower in _OTHER_AS for t in front):
        return None
    word, verb, subject = front[-1], clause[-1], clause[0]
    if verb.tag == "MD":
        shown = len(front) == 1 and word.tag in ("VB", "VBP", "NN", "NNP")
        shown = shown and verb.lower in _CONCEDING
    elif verb.lemma in _LINKING and (verb.tag in _FINITE or clause[-2].tag == "MD"):
        shown = word.tag in ("JJ", "NN", "NNP") and not word.lower.endswith(("ed", "ing", "much"))
        shown = shown or (word.pos == "ADV" and subject.lower == "it")  # *Late as it was*
    else:
        shown = verb.lemma == "try" and subject.tag == "PRP" and word.pos in ("ADJ", "ADV")
    return clause[-1].i + 1 if shown else None


def unclear_front(text: Text, candidate: Candidate) -> bool:
    """Whether *as* stands behind the first words of a clause that ends in *be* or *do*, and no form
    tells a concession from a reason or a likeness: *Tired as he was, he slept*; *Standing as it
    does on a hill, the church is seen from afar*."""
    if candidate.form != "as" or candidate.second is not None:
        return False
    _, clause = _fronted(text, candidate)
    if not clause or concedes(text, candidate) is not None:
        return False
    ends = clause[-1].lemma in _LINKING or clause[-1].lemma == "do" or clause[1].lemma == "do"
    return ends and clause[-1].tag not in ("VBG", "VBN")


def _fronted(text: Text, candidate: Candidate) -> tuple[tuple[Token, ...], tuple[Token, ...]]:
    """The few words before a link in its sentence, and those after it up to a comma, where these
    open with a subject and a main clause may follow (both empty: not so)."""
    tokens = text.tokens
    last = text.sentences[tokens[candidate.first].sent].last
    front = tokens[front_of(text, candidate) : candidate.first]
    comma = next((i for i in range(candidate.last, last) if tokens[i].is_punct), last)
    clause = tokens[candidate.last : comma]
    if comma + 2 >= last or tokens[comma].text != "," or any(t.is_punct for t in front):
        return (), ()
    if not 1 <= len(front) <= _LONGEST_FRONT or not 2 <= len(clause) <= _LONGEST_CLAUSE:
        return (), ()
    if tokens[comma + 1].tag == "CC" or any(t.tag == "PRP" for t in clause[1:]):
        return (), ()  # *Wise as an owl she was, and kind*
    return (front, clause) if clause[0].pos in _NOMINAL - {"ADJ"} else ((), ())


def front_of(text: Text, candidate: Candidate) -> int:
    """Where the words before a link begin in its sentence, marks and *and* or *but* left out."""
    start = text.sentences[text.tokens[candidate.first].sent].first
    while start < candidate.first and (
        text.tokens[start].is_punct or text.tokens[start].tag == "CC"
    ):
        start += 1
    return start

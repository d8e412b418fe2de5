"""*Who* is a subject, *whom* an object: *who they say is alive*, *to whom we wrote*."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from rwtools.clue import Fix
from rwtools.rules.model import Finding, Rule
from rwtools.rules.phrases import CLAUSE_TAKERS, clear
from rwtools.rules.places import FINITE
from rwtools.text import Text, Token

__all__ = ["RULE", "find"]

# Verbs that take a clause and no person: what stands between "who" and its verb with them.
_SAYING = frozenset("argue assume claim conclude insist predict say suppose swear think".split())
# Verbs that may take a person too: "the man whom they believed was asleep" is open.
_TRUSTING = frozenset("believe expect fear feel know suspect".split())
_PREPOSITIONS = frozenset("to for with from by about against".split())
_PARTS = frozenset("all both few half many most much none several some two three each".split())
# Two objects may follow, or *who* may say what somebody is; or a clause may.
_CALLING = frozenset(
    "call name make become remain give be look sound appear report state announce allege declare "
    "maintain confirm acknowledge deny recall write reveal".split()
)
_SUBJECTS = frozenset({"i", "he", "she", "we", "they", "you"})
_INSIDE = frozenset({"ADJ", "ADP", "ADV", "DET", "NOUN", "NUM", "PART", "PRON", "PROPN"})
_LONGEST = 7  # words of the subject of an inserted clause


def find(text: Text) -> list[Finding]:
    """Fault span: the word. Fix: the other form."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    for token in text.tokens:
        before = text.tokens[token.i - 1] if token.i else None
        if before is not None and before.sent != token.sent:
            before = None
        last = text.sentences[token.sent].last
        if token.lower == "whom" and not _is_held(before):
            verb = _own_verb(text, token, last)
            if verb is not None:
                yield _fault(text, token, verb, "who", "fault-who")
        elif token.lower == "who" and before is not None and _takes_whom(text, token, before):
            yield _fault(text, token, before, "whom", "fault-whom")
        elif token.lower == "who":
            verb = _objects_verb(text, token, last)
            if verb is not None:
                yield replace(_fault(text, token, verb, "whom", "fault-formal"), confidence=0.6)


def _is_held(before: Token | None) -> bool:
    return before is not None and (before.tag in ("IN", "TO") or before.lower == "than")


def _own_verb(text: Text, token: Token, last: int) -> Token | None:
    """The verb that *whom* would be the subject of: right behind it, or behind a clause of saying
    or thinking: *whom | the judges believed | had won*."""
    words = list(text.tokens[token.i + 1 : last])
    apart = bool(words) and words[0].text == ","
    words = words[1:] if apart else words
    first = next((k for k, t in enumerate(words) if t.pos != "ADV"), None)
    if first is None:
        return None
    if words[first].tag in FINITE:
        return words[first] if not apart and _is_verb(words[first:]) else None
    verb = next((k for k, t in enumerate(words) if t.pos in ("VERB", "AUX")), None)
    if verb is None or verb > _LONGEST or any(t.pos not in _INSIDE for t in words[:verb]):
        return None
    if words[verb].tag not in FINITE | {"VBN"} or words[verb].lemma not in _SAYING | _TRUSTING:
        return None
    rest = words[verb + 1 :]
    if apart and rest and rest[0].text == ",":
        rest = rest[1:]
    elif words[verb].lemma in _TRUSTING and not _is_aside(text, token):
        return None
    follow = next((t for t in rest if t.pos not in ("ADV", "PART")), None)
    return follow if follow is not None and follow.tag in FINITE else None


def _is_verb(words: list[Token]) -> bool:
    """Whether a stretch opens with a verb in sure form that asks no question: not *do we meet*."""
    if words[0].pos == "AUX":
        return len(words) > 1 and words[1].pos not in ("DET", "NOUN", "PRON", "PROPN")
    return words[0].lower != words[0].lemma


def _is_aside(text: Text, token: Token) -> bool:
    """Whether a comma or dash opens the clause, so that the next verb belongs to it."""
    return token.i > 0 and text.tokens[token.i - 1].text in (",", "—", "--")


def _takes_whom(text: Text, token: Token, before: Token) -> bool:
    """*the man to who I spoke*, *most of who came*: a preposition holds the word itself, not a
    whole question (*a quarrel about who pays*)."""
    noun = text.tokens[before.i - 1] if before.i else before
    if before.lower == "of":
        return noun.lower in _PARTS
    if before.lower not in _PREPOSITIONS or noun.pos not in ("NOUN", "PROPN", "PUNCT"):
        return False
    clause = text.tokens[token.i + 1 : min(token.i + 3, text.sentences[token.sent].last)]
    if len(clause) < 2:
        return False
    subject, verb = clause
    held = noun.pos == "PUNCT" or before.lower in ("to", "with", "from")
    return held and subject.lower in _SUBJECTS and verb.tag in FINITE and verb.lemma != "be"


def _objects_verb(text: Text, token: Token, last: int) -> Token | None:
    """The verb whose object *who* is: *researchers who the state pays*, *Who should I ask?*

    Nothing may follow that could be a clause with *who* as subject (*who you say won*) or an object
    of its own; and a verb that takes clauses leaves it open.
    """
    verb = text.tokens[token.head]
    if token.dep != "dobj" or not token.i < verb.i < last or verb.lemma in CLAUSE_TAKERS | _CALLING:
        return None
    subject = text.child(verb.i, "nsubj")
    if subject is None or not token.i < subject.i < verb.i or text.child(verb.i, "xcomp", "ccomp"):
        return None
    if verb.dep == "relcl":
        noun = text.tokens[verb.head]
        if noun.pos not in ("NOUN", "PROPN") or not 0 < token.i - noun.i <= 2:
            return None
        between = text.tokens[token.i + 1 : verb.i]
        if verb.tag not in FINITE | {"VB", "VBN"} or any(t.is_punct for t in between):
            return None
    elif token.i > text.sentences[token.sent].first or text.tokens[last - 1].text != "?":
        return None
    if verb.dep == "relcl":
        last = text.subtree(verb.i)[-1] + 1
    rest = text.tokens[verb.i + 1 : last]
    end = next((k for k, t in enumerate(rest) if t.is_punct), len(rest))
    if any(t.pos in ("VERB", "AUX", "PRON") for t in rest[:end]):
        return None
    open_end = not rest or rest[0].is_punct or rest[0].pos == "ADP" or rest[0].dep == "npadvmod"
    stranded = end > 0 and rest[end - 1].pos == "ADP"
    return verb if open_end and not stranded else None


def _fault(text: Text, token: Token, cue: Token, new: str, variant: str) -> Finding:
    new = new.capitalize() if token.text[:1].isupper() else new
    return Finding(
        token.start,
        token.end,
        "fault",
        0.9,
        {"word": token.text, "form": new, "cue": cue.text},
        (text.evidence(text.span(cue.i, cue.i), "cue"),),
        (Fix(token.start, token.end, new),),
        variant,
    )


RULE = Rule("who-and-whom", find)

"""A pronoun takes the form of its place: *to you and me*, *we campers went*, *himself*."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from rwtools.clue import Fix
from rwtools.rules.model import Finding, Rule
from rwtools.rules.phrases import CLAUSE_TAKERS, clear
from rwtools.rules.verbs import of_number, verb_number
from rwtools.text import Text, Token

__all__ = ["RULE", "find"]

_OBJECT = {"i": "me", "he": "him", "she": "her", "we": "us", "they": "them"}
_SUBJECT = {"me": "I", "him": "he", "us": "we", "them": "they"}
_PREPOSITIONS = frozenset(
    "to for with between from of by at on about against without behind beside near toward "
    "towards among around over under after before".split()
)
# May also link clauses, so that a subject may follow.
_LINK_CLAUSES = frozenset({"after", "before", "for", "than", "as", "but"})
_NO_WORDS = {
    "hisself": "himself",
    "theirself": "themselves",
    "theirselves": "themselves",
    "themselfs": "themselves",
    "ourselfs": "ourselves",
    "yourselfs": "yourselves",
}
# Take a person and a thing: "gave Ana and I a book".
_GIVING = frozenset("give tell show send offer lend teach bring buy hand sell wish".split())
_FINITE = frozenset({"VBZ", "VBP", "VBD", "MD"})


def find(text: Text) -> list[Finding]:
    """Fault span: the pronoun. Fix: the form that fits its place."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    for token in text.tokens:
        word = token.lower
        sentence = text.sentences[token.sent]
        if word in _NO_WORDS:
            yield _fault(text, token, token, _NO_WORDS[word], "fault-word")
        if token.text == "I." and token.i - sentence.first >= 2:
            yield from _after_and(text, token)  # the parser's "I.", as in "Charles I."
        if token.i + 1 >= sentence.last:
            continue
        if word in _OBJECT and token.i - sentence.first >= 2:
            yield from _after_and(text, token)
        if word == "we" and token.i > sentence.first:
            yield from _we_nouns(text, token)
        if word in _SUBJECT and (token.i == sentence.first or _opens_clause(text, token)):
            yield from _as_subject(text, token)
        elif word in _SUBJECT and text.tokens[token.i - 1].lower == "and":
            yield from _second_subject(text, token)
        elif word in _OBJECT and text.tokens[token.i + 1].lower == "and":
            cue = text.tokens[token.i - 1]
            held = cue.lower in _PREPOSITIONS - _LINK_CLAUSES - {"on", "of"}
            if held and cue.tag in ("IN", "TO"):
                yield _fault(text, token, cue, _OBJECT[word], "fault-object")


def _second_subject(text: Text, token: Token) -> Iterator[Finding]:
    """``My brother and me went``: the verb comes right after the pronoun."""
    noun, verb = text.tokens[token.head], text.tokens[token.i + 1]
    if noun.lower in _SUBJECT:
        return  # *him and me went*: told at the first of the two
    if token.dep != "conj" or noun.dep != "nsubj" or verb.tag not in _FINITE:
        return
    start = text.subtree(noun.i)[0]
    first = text.sentences[token.sent].first
    opens = start == first or text.tokens[start - 1].text in (",", ";", ":")
    opens = opens or text.tokens[start - 1].tag in ("WRB", "CC", "RB") or start == first + 1
    if opens and noun.i == token.i - 2 and noun.head in (verb.i, verb.head):
        found = _fault(text, token, verb, _SUBJECT[token.lower], "fault-subject")
        yield replace(found, fix=(*found.fix, *_verb_of_two(verb)))


def _verb_of_two(verb: Token) -> tuple[Fix, ...]:
    """*Him and his brother plays*: two persons take the verb for more than one."""
    new = of_number(verb, "many") if verb_number(verb) == "one" else None
    return () if new is None else (Fix(verb.start, verb.end, new),)


def _after_and(text: Text, token: Token) -> Iterator[Finding]:
    """``to you and I``, ``invited my sister and I``: an object in the form of a subject."""
    link = text.tokens[token.i - 1]
    ends = token.text == "I."
    after = token if ends else text.tokens[token.i + 1]
    if link.lower not in ("and", "or") or after.tag in _FINITE or after.pos in ("AUX", "VERB"):
        return
    if (
        after.text == "-"
        or after.pos in ("ADV", "PART")
        or after.lower in ("both", "all", "together", "alone", "who")
    ):
        return
    first = text.sentences[token.sent].first
    partner = text.tokens[link.i - 1]
    start = partner.i
    while start > first and text.tokens[start - 1].pos in ("DET", "ADJ", "PROPN", "NOUN"):
        start -= 1
    if start > first and text.tokens[start - 1].tag == "PRP$":
        start -= 1
    if partner.pos not in ("NOUN", "PROPN", "PRON") or start == first:
        return
    if partner.lower in ("i", "he", "she", "we", "they"):
        return
    cue = text.tokens[start - 1]
    after_preposition = cue.tag in ("IN", "TO") and cue.lower in _PREPOSITIONS
    if after_preposition and cue.lower in _LINK_CLAUSES and not (ends or after.is_punct):
        return
    after_verb = (
        cue.pos == "VERB"
        and cue.tag != "VBN"
        and cue.lemma not in CLAUSE_TAKERS
        and (ends or after.text in (".", "!", ";") or after.pos == "ADP")
    ) or (cue.lemma in _GIVING and (after.pos == "DET" or after.tag == "PRP$"))
    if after_preposition or after_verb:
        new = _OBJECT[token.lower.rstrip(".")]
        yield _fault(text, token, cue, new, "fault-object")


def _we_nouns(text: Text, token: Token) -> Iterator[Finding]:
    """``of we campers``."""
    cue, noun = text.tokens[token.i - 1], text.tokens[token.i + 1]
    if cue.tag not in ("IN", "TO") or cue.lower not in _PREPOSITIONS - _LINK_CLAUSES:
        return
    if noun.tag != "NNS" or not noun.text.islower():
        return
    third = text.tokens[noun.i + 1] if noun.i + 1 < len(text.tokens) else noun
    if third.tag not in _FINITE:
        yield _fault(text, token, cue, "us", "fault-object")


def _opens_clause(text: Text, token: Token) -> bool:
    """Whether a clause begins here: after a mark, or a word that joins clauses."""
    before = text.tokens[token.i - 1]
    joins = before.text in (",", ";", ":", "—") or before.dep in ("mark", "cc")
    joins = joins or before.tag == "WRB" or before.lower == "so"
    return token.dep == "nsubj" and joins and text.tokens[token.head].i > token.i + 2


def _as_subject(text: Text, token: Token) -> Iterator[Finding]:
    """``Us campers went``, ``Me and him went``: a subject in the form of an object."""
    after = text.tokens[token.i + 1]
    last = text.sentences[token.sent].last
    if token.i + 2 >= last:
        return
    third = text.tokens[token.i + 2]
    if token.lower == "us" and after.tag == "NNS" and (third.tag in _FINITE or third.pos == "ADV"):
        yield _fault(text, token, third, "We", "fault-subject")
    elif after.lower == "and" and token.lower in _SUBJECT:
        verb = next(
            (t for t in text.tokens[token.i + 2 : min(last, token.i + 7)] if t.tag in _FINITE), None
        )
        between = text.tokens[token.i + 2 : verb.i] if verb is not None else ()
        if verb is not None and not any(t.is_punct for t in between):
            yield _two(text, token, between, verb)


_IN_NAME = frozenset({"DET", "ADJ", "ADP", "NOUN", "PROPN", "PRON"})
_RELATIVE = frozenset({"WP", "WDT", "WP$"})


def _two(text: Text, token: Token, partner: tuple[Token, ...], verb: Token) -> Finding:
    """*Me and my friends has* is mended as *My friends and I have*: the speaker comes last, the
    partner is a subject too, and the verb goes with two."""
    new = _SUBJECT[token.lower]
    plain = bool(partner) and all(t.pos in _IN_NAME and t.tag not in _RELATIVE for t in partner)
    both = len(partner) == 1 and partner[0].lower in (*_SUBJECT, "her")
    verbs = _verb_of_two(verb) if plain else ()
    if not plain or (new != "I" and not both):
        found = _fault(text, token, verb, _like(token, new), "fault-subject")
        return replace(found, fix=(*found.fix, *verbs))
    name = text.quote(partner[0].start, partner[-1].end)
    name = _SUBJECT.get(name.lower(), "she" if name.lower() == "her" else name)
    first, second = (name, "I") if new == "I" else (new, name)
    pair = f"{_like(token, first)} and {second}"
    found = _fault(text, token, verb, new, "fault-subject")
    if both:
        whole = text.quote(token.start, partner[0].end)
        found = replace(
            found, values={"word": whole, "form": pair, "cue": verb.text}, variant="fault-both"
        )
    return replace(found, fix=(Fix(token.start, partner[-1].end, pair), *verbs))


def _like(token: Token, new: str) -> str:
    return new[0].upper() + new[1:] if token.text[0].isupper() else new


def _fault(text: Text, token: Token, cue: Token, new: str, variant: str) -> Finding:
    evidence = (text.evidence(text.span(cue.i, cue.i), "cue"),)
    end = token.end - token.text.endswith(".")
    return Finding(
        token.start,
        end,
        "fault",
        0.95,
        {"word": text.quote(token.start, end), "form": new, "cue": cue.text},
        evidence,
        (Fix(token.start, end, new),),
        variant,
    )


RULE = Rule("pronoun-agreement", find)

"""Nouns that are not counted, used as if they were: how the words around them change with them.

*Many advices are* becomes *much advice is*, *three furnitures* becomes *three pieces of furniture*.
"""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.clue import Fix
from rwtools.rules.nouns import UNCOUNTED
from rwtools.rules.phrases import verb_group
from rwtools.rules.verbs import of_number, verb_number
from rwtools.text import Text, Token

__all__ = ["PIECES", "determiner", "mend"]

PIECES = UNCOUNTED - {"knowledge", "scenery", "traffic", "housework", "progress"}
"""Of the nouns that are not counted those of which there are pieces."""
_POINTING = {"these": "this", "those": "that"}
_ONE = frozenset("a an one each every another either neither".split())
_COUNT = frozenset("several few both various numerous".split())
_MARKS = frozenset({"DET", "NUM", "ADJ", "PRON"})


def determiner(text: Text, noun: Token) -> Token | None:
    """The word before a noun (and before its adjectives) that tells how many are meant."""
    words = [text.tokens[i] for i in text.children[noun.i] if i < noun.i]
    words = [w for w in words if w.pos in _MARKS]
    known = _POINTING.keys() | _ONE | _COUNT | {"many"}
    return next((w for w in reversed(words) if w.lower in known or w.tag == "CD"), None)


def mend(text: Text, noun: Token, form: str) -> tuple[tuple[Fix, ...], str]:
    """The fixes that make good English of a noun that is not counted, and the wording that they
    give to the noun with its determiner; no fixes where only a new sentence would help."""
    marker = determiner(text, noun)
    word = "" if marker is None else marker.lower
    if marker is not None and (word in _COUNT or (marker.tag == "CD" and word not in _ONE)):
        many = f"pieces of {form}"
        return ((Fix(noun.start, noun.end, many),), many) if form.lower() in PIECES else ((), form)
    if marker is not None and word in _ONE:
        if form not in PIECES:
            return (), form
        own = "a" if word in ("a", "an") else word
        new = _like(marker, f"{own} piece of")
        fixes = (Fix(marker.start, marker.end, new), *_noun(noun, form), *_verbs(text, noun))
        return fixes, f"{new.lower()} {form}"
    first: tuple[Fix, ...] = ()
    told = form
    if marker is not None and word != "many":
        first, told = (_swap(marker, _POINTING[word]),), f"{_POINTING[word]} {form}"
    elif marker is not None:
        first, told = (_swap(marker, "much"),), f"much {form}"
    return (*first, *_noun(noun, form), *_verbs(text, noun)), told


def _like(word: Token, new: str) -> str:
    return new[0].upper() + new[1:] if word.text[0].isupper() else new


def _swap(word: Token, new: str) -> Fix:
    return Fix(word.start, word.end, _like(word, new))


def _noun(noun: Token, form: str) -> tuple[Fix, ...]:
    return () if noun.text == form else (Fix(noun.start, noun.end, form),)


def _verbs(text: Text, noun: Token) -> tuple[Fix, ...]:
    """The verbs of which the noun is the subject, in the form for one: *are*, *that were*."""
    if noun.dep == "conj" or text.child(noun.i, "conj") is not None:
        return ()
    found = []
    head = text.tokens[noun.head]
    there = noun.dep == "attr" and text.child(head.i, "expl") is not None
    if noun.dep in ("nsubj", "nsubjpass") or there:
        found.append(text.tokens[verb_group(text, head.i)[0]])
    for i in text.children[noun.i]:
        subject = text.child(i, "nsubj", "nsubjpass") if text.tokens[i].dep == "relcl" else None
        if subject is not None and subject.tag in ("WDT", "WP"):
            found.append(text.tokens[verb_group(text, i)[0]])
    fixes = []
    for verb in [*found, *(v for head in found for v in _second_verbs(text, head))]:
        new = of_number(verb, "one") if verb_number(verb) == "many" else None
        if new is not None:
            fixes.append(Fix(verb.start, verb.end, new))
    return tuple(fixes)


def _second_verbs(text: Text, verb: Token) -> Iterator[Token]:
    """The finite verbs that share a verb's subject: *were cheap and | are lost*."""
    head = verb if verb.dep not in ("aux", "auxpass") else text.tokens[verb.head]
    for i in text.children[head.i]:
        own = text.child(i, "nsubj", "nsubjpass", "expl", "csubj")
        if text.tokens[i].dep == "conj" and own is None:
            yield text.tokens[verb_group(text, i)[0]]

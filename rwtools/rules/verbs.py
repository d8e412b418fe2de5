"""Which number a finite verb shows, its form for the other number, and phrases that only look as if
they had a finite verb."""

from __future__ import annotations

from rwtools.rules.nouns import plural
from rwtools.rules.number import Number
from rwtools.text import Text, Token
from rwtools.text.forms import is_past, lemmas

__all__ = ["PLURAL_FORM", "SINGULAR_FORM", "describes_part", "of_number", "verb_number"]

PLURAL_FORM = {"is": "are", "was": "were", "has": "have", "does": "do", "'s": "are"}
SINGULAR_FORM = {"are": "is", "were": "was", "have": "has", "do": "does"}
_SHARES = frozenset("one each some all both none most many two three four five several".split())
_HELPERS = frozenset("am is are was were has have had do does did".split())
_OBJECT_TAGS = frozenset({"DT", "PRP", "PRP$"})


def verb_number(token: Token) -> Number:
    """The number that a finite form shows: ``one``, ``many`` or neither (empty)."""
    if token.lower in PLURAL_FORM and token.lower != "'s":
        return "one"
    if token.lower in SINGULAR_FORM:
        return "many"
    if token.tag == "VBZ" and token.lower.endswith("s"):
        return "one"
    if token.tag == "VBP" and token.lower in lemmas("VERB") and token.lower != "am":
        return "" if is_past(token.lower) else "many"  # the tagger takes *wound* for a present form
    return ""


def of_number(verb: Token, number: Number) -> str | None:
    """The finite verb in the form for one or for many; None where there is no other form."""
    table = SINGULAR_FORM if number == "one" else PLURAL_FORM
    new = table.get(verb.lower)
    if new is None:
        if number == "many":
            new = verb.lemma if verb.lemma != verb.lower else None
        else:
            new = plural(verb.lower)  # a verb takes -s as a noun does
            if verb.lower.endswith("o"):
                new = verb.lower + "es"
    if new is None:
        return None
    return new[0].upper() + new[1:] if verb.text[0].isupper() else new


def describes_part(text: Text, start: int) -> bool:
    """Whether *one of them* (and the like) at a token, after a comma, has an adjective or phrase
    behind it and no verb that is surely finite: *two barns, | one of them derelict*. (Of past forms
    `rwtools.rules.absolutes` decides.)"""
    if start == 0 or text.tokens[start - 1].text != ",":
        return False
    words = text.tokens[start : text.sentences[text.tokens[start].sent].last]
    if len(words) < 4 or words[0].lower not in _SHARES or words[1].lower != "of":
        return False
    if words[2].lower not in ("them", "us", "which", "whom"):
        return False
    rest = [t for t in words[3:] if t.pos != "ADV"]
    if len(rest) < 2:
        return False
    word, after = rest[0], rest[1]
    if word.lower in _HELPERS or word.tag in ("VBZ", "MD") or after.tag in _OBJECT_TAGS:
        return False
    return word.tag in ("JJ", "VBG", "IN") or word.lower in lemmas("ADJ")

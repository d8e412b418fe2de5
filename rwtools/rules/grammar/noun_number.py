"""A word before a noun fits its number: *every student*, *these books*; *advice* has no plural."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.clue import Fix
from rwtools.rules.doers import is_thing
from rwtools.rules.model import Finding, Rule
from rwtools.rules.nouns import (
    IRREGULAR_PLURALS,
    UNCOUNTED,
    is_human,
    is_person,
    plural,
    singular,
)
from rwtools.rules.number import is_collective
from rwtools.rules.phrases import clear
from rwtools.rules.places import FINITE
from rwtools.rules.uncounted import PIECES, determiner, mend
from rwtools.text import Text, Token
from rwtools.text.forms import lemmas

__all__ = ["RULE", "find"]

_ONE = frozenset({"every", "each", "another"})
_MANY = frozenset({"these", "those", "many", "several"})
# Plurals that are not counted.
_NO_NUMBER = frozenset(
    "thanks goods clothes funds savings earnings troops arms means series species damages "
    "supplies resources costs wages taxes sales profits odds".split()
)
_MASS = {
    "less": "fewer",
    "much": "many",
}  # words of quantity, and their partners for what is counted
_OTHER_PLURAL = {"man": "men", "woman": "women", "child": "children", "foot": "feet"}
_OTHER_PLURAL |= {"tooth": "teeth", "mouse": "mice", "goose": "geese"}
_OTHER_SINGULAR = {many: one for one, many in _OTHER_PLURAL.items()}
_GO_ON = frozenset({"-", "‑", "/", "'s", "’s", "'", "’", "and", "or"})
_ROLES = frozenset("nsubj nsubjpass attr dobj pobj conj".split())
_COMMON = 3.5  # on the Zipf scale


def find(text: Text) -> list[Finding]:
    """Fault span: the noun in the wrong number. Fix: its other number."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    for token in text.tokens:
        opens = token.i == text.sentences[token.sent].first
        word = token.text[1:] if opens else token.text
        if token.pos != "NOUN" or not word.islower() or not word.isalpha():
            continue
        if token.tag == "NNS" and token.lower.endswith("s") and token.lower[:-1] in UNCOUNTED:
            yield _uncounted(text, token, token.text[:-1])
            continue
        if token.tag == "NN" and token.lower in PIECES and _ends(text, token):
            if _is_counted(text, token):
                yield _uncounted(text, token, token.text)
            continue
        best = _one_of(text, token)
        if best is not None:
            yield _fault(token, best, _plural(token), "fault-of", text)
            continue
        before = text.tokens[token.i - 1] if token.i else token
        if before.lower in _MASS and _counts(text, before, token):
            yield _mass(before, token, text)
            continue
        if before.head != token.i or before.dep not in ("det", "amod") or not _ends(text, token):
            continue
        if not _is_noun(text, before, token):
            continue
        if before.lower not in _ONE | _MANY or is_collective(token) or not _common(token.lemma):
            continue
        if before.lower in _ONE and token.tag == "NNS":
            one = _OTHER_SINGULAR.get(token.lower, singular(token.lower))
            if _is_plural(token, one):
                yield _fault(token, before, one, "fault-one", text)
        elif (
            before.lower in _MANY
            and token.tag == "NN"
            and _takes_plural(token)
            and _common(_plural(token))
        ):
            yield _fault(token, before, _plural(token), "fault-many", text)


def _plural(noun: Token) -> str:
    return _OTHER_PLURAL.get(noun.lower, plural(noun.lower))


def _uncounted(text: Text, noun: Token, form: str) -> Finding:
    """*Many advices are*, *an information*: the noun, its determiner, its verb."""
    marker = determiner(text, noun)
    fixes, told = mend(text, noun, form)
    cue = noun if marker is None else marker
    variant = "fault-uncounted"
    if noun.tag == "NN":
        variant = "fault-counted"
    elif form.lower() not in PIECES:
        variant = "fault-no-plural"
    return Finding(
        noun.start,
        noun.end,
        "fault",
        0.85,
        {"word": noun.text, "cue": cue.text, "form": form.lower(), "told": told},
        (text.evidence(text.span(cue.i, cue.i), "cue"),),
        fixes,
        variant,
    )


def _is_counted(text: Text, noun: Token) -> bool:
    """Whether a noun that is not counted, in its own form, has a word before it that counts: *an
    information*, *many equipment*. Not *an information desk*, nor *the one information*."""
    marker = determiner(text, noun)
    if marker is None or noun.dep == "compound" or noun.lower == "housework":
        return False
    words = text.tokens[marker.i + 1 : noun.i]
    plain = all(t.pos == "ADJ" and t.head == noun.i for t in words)
    return plain and marker.lower in _ONE | _MANY | {"a", "an"} and marker.head == noun.i


def _one_of(text: Text, noun: Token) -> Token | None:
    """The *one* of *one of my friend*, *one of the best player*: *of* after it needs a plural."""
    of = text.tokens[noun.head]
    one = text.tokens[of.head]
    if noun.tag != "NN" or noun.dep != "pobj" or of.lower != "of" or one.lower != "one":
        return None
    if one.i + 1 != of.i or one.dep not in _ROLES or is_collective(noun):
        return None
    before = text.tokens[one.i - 1] if one.i > text.sentences[one.sent].first else None
    if before is not None and (before.pos in ("NOUN", "PROPN", "ADJ", "NUM", "DET")):
        return None  # chapter one of the book
    words = text.tokens[of.i + 1 : noun.i]
    if not words or words[0].tag not in ("DT", "PRP$") or words[0].head != noun.i:
        return None
    if any(t.pos not in ("ADJ", "ADV") or t.tag == "CD" for t in words[1:]):
        return None
    if words[-1].pos == "ADV" or words[-1].lower in ("most", "least"):
        return None  # one of the most patient
    if text.child(noun.i, "conj", "cc", "appos") is not None or not _ends(text, noun):
        return None
    best = any(t.tag in ("JJS", "RBS") for t in words)
    fits = (is_thing(noun) or is_person(noun)) if best else is_human(noun)
    known = fits and _takes_plural(noun) and _common(noun.lemma) and _common(_plural(noun))
    return one if known else None


def _counts(text: Text, word: Token, noun: Token) -> bool:
    """Whether *less* or *much* tells the number of a noun: *less birds*, *much people*. Not *no
    less*, and no plural that is not counted (*less clothes*, *much thanks*, *less politics*); and
    *how much* may ask what is done (*how much people save*)."""
    counted = _common(noun.lemma) and noun.lower not in _NO_NUMBER
    one = _OTHER_SINGULAR.get(noun.lower, singular(noun.lower))
    plain = noun.tag == "NNS" and (noun.lower == "people" or _is_plural(noun, one))
    before = text.tokens[word.i - 1].lower if word.i else ""
    return (
        plain
        and (counted or noun.lower == "people")
        and not noun.lower.endswith("ics")
        and before not in ("no", "more", "or")
        and not (word.lower == "much" and before in ("as", "how", "however", "so"))
        and _ends(text, noun)
    )


def _mass(word: Token, noun: Token, text: Text) -> Finding:
    new = _MASS[word.lower]
    new = new.capitalize() if word.text[0].isupper() else new
    return Finding(
        word.start,
        word.end,
        "fault",
        0.85,
        {"word": word.text, "cue": noun.text, "form": new},
        (text.evidence(text.span(noun.i, noun.i), "cue"),),
        (Fix(word.start, word.end, new),),
        "fault-mass",
    )


def _common(word: str) -> bool:
    from wordfreq import zipf_frequency  # only where a fault is suspected: it loads a word list

    return bool(zipf_frequency(word, "en") >= _COMMON)


def _ends(text: Text, noun: Token) -> bool:
    """Whether the group of nouns ends here: no *student groups*, *sports-minded*, *three-day*."""
    if noun.i + 1 >= len(text.tokens):
        return True
    after = text.tokens[noun.i + 1]
    if after.tag in ("VBG", "VBN") or after.pos in ("NOUN", "PROPN", "ADJ", "NUM"):
        return False
    return after.lower not in _GO_ON


def _is_noun(text: Text, before: Token, word: Token) -> bool:
    """Whether the word is no verb after a pronoun: *these consist of*, *the distance each moves*. A
    word that may be either is a noun as an object, or where a verb follows."""
    if before.i and text.tokens[before.i - 1].pos in ("NOUN", "NUM"):
        return False  # *ten cents each*
    if word.lemma not in lemmas("VERB"):
        return True
    after = text.tokens[word.i + 1] if word.i + 1 < len(text.tokens) else word
    return after.tag in FINITE or word.dep in ("dobj", "pobj")


def _is_plural(noun: Token, one: str) -> bool:
    regular = noun.lower == plural(one) and noun.lemma == one
    return regular or noun.lower in IRREGULAR_PLURALS & _OTHER_SINGULAR.keys()


def _takes_plural(noun: Token) -> bool:
    """Whether it is a noun at all (*these consist of ...* is none) and has a plural in -s."""
    return (is_thing(noun) or is_person(noun)) and not noun.lower.endswith(
        ("s", "ese", "ish", "men", "people", "ing", "a", "i")
    )


def _fault(noun: Token, cue: Token, new: str, variant: str, text: Text) -> Finding:
    return Finding(
        noun.start,
        noun.end,
        "fault",
        0.85,
        {"word": noun.text, "cue": cue.text, "form": new},
        (text.evidence(text.span(cue.i, cue.i), "cue"),),
        (Fix(noun.start, noun.end, new),),
        variant,
    )


RULE = Rule("noun-number", find)

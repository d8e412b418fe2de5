"""A statement whose subject stands after its verb: *In the corner stood a clock*.

Such a statement looks like a long introductory phrase, so what counts clauses by their subjects
passes over it.
"""

from __future__ import annotations

from rwtools.rules.places import FINITE
from rwtools.text import Text

__all__ = ["is_inverted"]

_BEFORE = frozenset({"nsubj", "nsubjpass", "csubj", "expl"})
_AFTER = frozenset({"nsubj", "nsubjpass", "attr", "dobj", "npadvmod"})
_DEPENDENT = frozenset({"WDT", "WP", "WP$", "WRB"})


def is_inverted(text: Text, first: int, last: int) -> bool:
    """Whether the tokens ``first..last`` (both included) are a phrase with a preposition, a finite
    verb and then its subject, without a word that makes the verb dependent."""
    tokens = text.tokens
    if tokens[first].tag != "IN" or tokens[first].dep != "prep":
        return False
    verb = next((i for i in range(first, last) if tokens[i].tag in FINITE), None)
    if verb is None or tokens[verb - 1].dep != "pobj":
        return False
    for i in range(first, verb):
        token = tokens[i]
        if token.text == "," or token.tag in _DEPENDENT or token.dep == "mark":
            return False
        if token.head == verb and token.dep in _BEFORE:
            return False
    return any(
        tokens[i].head == verb and tokens[i].dep in _AFTER and tokens[i].pos in ("NOUN", "PROPN")
        for i in range(verb + 1, last + 1)
    )

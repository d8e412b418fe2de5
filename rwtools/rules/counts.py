"""A list that was announced by its number: *three things; a pump, a bell and a horse*."""

from __future__ import annotations

from rwtools.rules.places import FINITE, Place
from rwtools.text import Text, Token

__all__ = ["counted_list"]

_NUMBERS = {
    word: n
    for n, word in enumerate("one two three four five six seven eight nine ten".split(), start=1)
}
_OF_NAME = frozenset({"ADJ", "DET", "NOUN", "NUM", "PROPN", "PRON", "PART", "ADP"})


def counted_list(text: Text, place: Place) -> Token | None:
    """The number before a semicolon (*three* in *three things; ...*), where as many names, and no
    verb, come after it. Names alone might have lost their verb (*Ada took three; Ben, two*), but
    not just as many."""
    count = _number(text, place)
    if count is None:
        return None
    right = text.tokens[place.right : place.last + 1]
    members: list[list[Token]] = [[]]
    for token in right:
        if token.text == "," or token.lower in ("and", "or"):
            if members[-1]:
                members.append([])
        else:
            members[-1].append(token)
    if len(members) != _NUMBERS[count.lower]:
        return None
    if len(members) == 2 and not any(t.lower in ("and", "or") for t in right):
        return None  # "Some took two horses; others, a cart"
    return count if all(_is_name(member) for member in members) else None


def _number(text: Text, place: Place) -> Token | None:
    """The number of a noun that ends the left side: *three things*, *two good reasons*."""
    noun, at = text.tokens[place.left], place.left - 1
    while at > place.first and text.tokens[at].pos == "ADJ":
        at -= 1
    word = text.tokens[at]
    if noun.tag not in ("NN", "NNS") or word.lower not in _NUMBERS or at == place.first:
        return None
    before = text.tokens[place.first : at]
    return word if any(t.tag in FINITE for t in before) and word.pos == "NUM" else None


def _is_name(words: list[Token]) -> bool:
    noun = next((t for t in words if t.pos in ("NOUN", "PROPN")), None)
    return noun is not None and all(t.pos in _OF_NAME for t in words) and words[0].tag != "IN"

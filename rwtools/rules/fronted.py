"""Splices before a phrase of time: *She planted new ones, | within three years the harvest was
large*.

After a comma the models take such a phrase for the end of the statement before it. But a subject
with its verb right behind the phrase begins a sentence of its own (common practice, no published
source).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from rwtools.rules.asides import TIMES
from rwtools.rules.doubts import Suspect
from rwtools.rules.places import FINITE, Place
from rwtools.text import Text, Token

__all__ = ["before_time"]

_SURE = 0.85
_BEFORE_TIME = frozenset("after at before by during for from in on since until within".split())
_WHICH_TIME = frozenset("every each one that this last next the".split())
_SUBJECTS = frozenset("i he she we they it".split())
_DEPENDENT = frozenset({"WDT", "WP", "WP$", "WRB"})
_LONGEST = 5  # words of the phrase


def before_time(text: Text, places: Iterable[Place]) -> Iterator[Suspect]:
    """The commas between a whole statement and one that opens with a phrase of time."""
    for place in places:
        if place.kind == "comma" and _is_statement(text, place) and _opens_with_time(text, place):
            yield Suspect(place, "strong", _SURE, _SURE)


def _is_statement(text: Text, place: Place) -> bool:
    """Whether the left side is one plain clause from the head of its sentence on."""
    words = text.tokens[place.first : place.left + 1]
    if place.first != text.sentences[words[0].sent].first or any(t.is_punct for t in words):
        return False
    if words[0].tag not in ("DT", "PRP", "PRP$", "NN", "NNS", "NNP") or _waits(words):
        return False
    verb = next((t for t in words if t.tag in FINITE), None)
    return verb is not None and verb.i > place.first


def _opens_with_time(text: Text, place: Place) -> bool:
    """Whether the right side is a phrase of time, a pronoun or *the*, *her* ... with a noun, and a
    finite verb with more to say; and no third part follows."""
    words = text.tokens[place.right : place.last + 1]
    end = _time(words)
    if not end or any(t.is_punct for t in words):
        return False
    rest = words[end:]
    size = _subject(rest)
    return bool(size) and len(rest) > size + 1 and rest[size].tag in FINITE


def _time(words: tuple[Token, ...]) -> int:
    """How many words at the head are a phrase of time: *within three years*, *every spring*."""
    opener = words[0].lower
    if opener not in _BEFORE_TIME | _WHICH_TIME or opener == "the":
        return 0
    for n, word in enumerate(words[1:_LONGEST], 1):
        if word.lemma in TIMES or (word.tag == "CD" and len(word.text) == 4 and opener == "in"):
            return n + 1
        if word.pos not in ("DET", "NUM", "ADJ") or word.lower == "the":
            return 0  # *from the time he wakes*: a clause that says which time
    return 0


def _subject(words: tuple[Token, ...]) -> int:
    """How many words at the head are a plain subject."""
    if words and words[0].lower in _SUBJECTS:
        return 1
    if not words or words[0].tag not in ("DT", "PRP$"):
        return 0
    for n, word in enumerate(words[1:4], 1):
        if word.pos == "NOUN" and (n + 1 >= len(words) or words[n + 1].pos != "NOUN"):
            return n + 1
        if word.pos not in ("ADJ", "NOUN"):
            return 0
    return 0


def _waits(words: Iterable[Token]) -> bool:
    """Whether a word makes a part of the stretch dependent."""
    return any(t.tag in _DEPENDENT or t.dep == "mark" or t.lower == "that" for t in words)

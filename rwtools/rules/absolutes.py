"""Absolute phrases: a noun and what is said of it, without a finite verb (*the treaty signed, ...*;
*..., one of them cracked*; *..., its roof a torch*).

*Signed* and *cracked* may be past tenses too, and the tagger often takes them for such. So the verb
is asked whether it stands without an object in edited prose: *sign* hardly does, so that *the
treaty signed* with no object can only have a participle; *arrive* does, so *the guests arrived* is
a statement.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from itertools import takewhile

from rwtools.resources import artifact, load_json
from rwtools.rules.nouns import is_person
from rwtools.rules.places import FINITE
from rwtools.text import Token

__all__ = ["is_absolute", "is_part_described", "may_be_absolute", "says_of_noun"]

_LONGEST = 6
_IN_NOUN = frozenset({"ADJ", "ADV", "DET", "NOUN", "NUM", "PROPN", "PART"})
_SAID = frozenset({"DT", "PRP$", "JJ", "VBN", "VBG", "RB"})
_PARTS = frozenset(
    "one two three some most all each both none many several few half neither either any".split()
)
# past tenses that differ from their participles (closed class), and *left*, which as a participle
# means what remains (*the money left*), so that *the train left* has the past tense
_PAST_ONLY = frozenset(
    "arose ate awoke bade became began bit blew bore broke came chose did drank drew drove fell "
    "flew forbade forgave forgot forsook froze gave grew hid knew lay left ran rang rode rose sang "
    "sank saw shook shrank slew smote spoke sprang stank stole strode strove swam swore took "
    "threw tore trod undertook was went were withdrew woke wore wove wrote".split()
)


def is_absolute(words: Sequence[Token]) -> bool:
    """Whether words are a short noun phrase and a participle: *her lamp extinguished*, *the bridge
    destroyed by the flood*, *his hands tied behind his back*; or two such phrases or participles
    with *and* between them."""
    at = next((k for k, t in enumerate(words) if t.lower == "and"), 0)
    first, second = words[:at], words[at + 1 :]
    if not (at and second):
        return _is_one(words)
    another = _is_one(second) or (len(second) == 1 and _is_participle_of(second[0], "taking"))
    return (_is_one(first) and another) or _is_one(words)


def _is_one(words: Sequence[Token]) -> bool:
    """Whether words are one absolute phrase."""
    at = next((k for k, t in enumerate(words) if t.tag in ("VBD", "VBN")), 0)
    if not 1 <= at < _LONGEST:
        return False
    noun, verb, rest = words[:at], words[at], words[at + 1 :]
    described = noun[1:] if noun[0].tag == "PRP$" else noun
    if not all(t.pos in _IN_NOUN or t.lower == "of" for t in described):
        return False
    head = _head(described)
    if head is None or any(t.tag in FINITE for t in rest):
        return False
    after = next((t for t in rest if t.tag != "RP"), None)
    if after is not None and after.tag != "IN":
        return False  # the storm wiped out the harvest
    does = head.pos == "PROPN" or is_person(head)  # whoever acts more often leaves the object out
    goes_on = bool(rest) and rest[0].lower != "by"  # *attacked at dawn* may be a past tense
    return _is_participle_of(verb, "strictly" if does or goes_on else "taking")


def _head(noun: Sequence[Token]) -> Token | None:
    """The head of a noun phrase: the last noun before *of*."""
    front = takewhile(lambda t: t.lower != "of", noun)
    return next((t for t in reversed(list(front)) if t.pos in ("NOUN", "PROPN")), None)


def is_part_described(left: Sequence[Token], right: Sequence[Token]) -> bool:
    """Whether the right side only says of one or some of the things before it what they are:
    *The church has two bells, | one of them cracked*. A past tense would hardly go with *has*;
    after *had* it is one where the verb hardly takes an object (*one of them died*)."""
    verb = next((t for t in left if t.tag in FINITE), None)
    shows = verb is not None and (verb.lemma in ("have", "be") or verb.tag in ("VBZ", "VBP"))
    return _describes_part(right, "able" if shows else "taking")


def may_be_absolute(words: Sequence[Token]) -> bool:
    """Whether words that stand alone may be an absolute phrase of either kind."""
    return is_absolute(words) or _describes_part(words, "able")


def _describes_part(words: Sequence[Token], kind: str) -> bool:
    if len(words) < 4 or words[0].lower not in _PARTS or words[1].lower != "of":
        return False
    if words[2].lower not in ("them", "these", "those", "which", "whom"):
        return False
    rest = [t for t in words[3:] if t.tag != "RB"]
    if not rest or rest[0].tag not in ("VBD", "VBN"):
        return False
    if any(t.tag in FINITE for t in rest[1:]) or _takes_more(rest):
        return False
    return _is_participle_of(rest[0], kind)


def _takes_more(words: Sequence[Token]) -> bool:
    """Whether an object follows a verb at once."""
    return len(words) > 1 and words[1].tag in ("DT", "PRP", "PRP$", "NN", "NNS", "NNP", "CD")


def _is_participle_of(token: Token, kind: str) -> bool:
    return token.lower not in _PAST_ONLY and token.lemma in _verbs()[kind]


def says_of_noun(noun: Token, after: Token | None) -> bool:
    """Whether a word after a noun can only be said of it: *its roof | a torch*, *her hat | gone*,
    *his hand | in the air* (but not *the key | of the house*)."""
    if after is None or after.i != noun.i + 1:
        return False
    return after.tag in _SAID or (after.tag == "IN" and after.lower != "of")


@cache
def _verbs() -> dict[str, frozenset[str]]:
    """Verbs that hardly stand alone (``taking``; ``strictly``: almost never), and those that may
    have an object (``able``)."""
    found = load_json(artifact("boundary", "objects.json"))
    return {kind: frozenset(found[kind]) for kind in ("taking", "strictly", "able")}

"""Whether a subject is one or many, as far as words and parse tell."""

from __future__ import annotations

from typing import Literal

from rwtools.rules.nouns import IRREGULAR_PLURALS, plural
from rwtools.text import Text, Token

__all__ = ["Number", "is_collective", "number_of"]

Number = Literal["one", "many", ""]

_ALWAYS_ONE = frozenset(
    "everyone everybody everything anyone anybody anything someone somebody something nobody "
    "nothing each either neither he she it this one another much".split()
)
_ALWAYS_MANY = frozenset("they we these those both many few several others".split())
# The number of these is that of the noun after "of".
_PARTS = frozenset(
    "some all most any half more none rest part portion percent percentage proportion fraction "
    "bulk share third quarter two-thirds plenty lot lots majority minority remainder loads "
    "rest bit".split()
)
# One word for many: either number may follow.
_COLLECTIVE = frozenset(
    "team staff family committee government group crowd audience class jury couple number "
    "pair variety range series set host handful majority minority public press crew band army "
    "police population generation people faculty board council company party club union "
    "congress parliament senate court enemy management leadership opposition youth elite cast "
    "choir collection combination array multitude dozen score trio duo species offspring fish "
    "sheep deer aircraft data media means headquarters statistics politics economics ethics "
    "mathematics physics athletics acoustics dynamics genetics linguistics electronics news "
    "measles mumps diabetes gallows crossroads works barracks clergy nobility cattle swine "
    "poultry livestock gentry folk folks kind type sort amount quantity total bunch cluster "
    "flock herd swarm string succession stream wealth spate assortment selection "
    "sequence flurry mass bacteria criteria phenomena strata algae fungi alumni stimuli "
    "nuclei larvae antennae graffiti body fleet homo sapiens logos ethos pathos mythos chaos "
    "cosmos telos pons rabies scabies savings relations supply sperm progeny segment sick "
    "elderly dead living young unemployed homeless wounded wealthy agenda trivia insignia "
    "plankton bison moose salmon trout shrimp squid craft hundred thousand million billion "
    "trillion world rich poor other nation quartet network following mob force forces corps "
    "firm department administration".split()
)
# Before *people* these leave no doubt that more than one person is meant.
_COUNTS = frozenset("many most some few several these those all other".split())
_OWNED = frozenset({"mine", "ours", "yours", "hers", "theirs"})
_UNITS = frozenset(
    "dollar cent euro pound mile kilometer kilometre meter metre foot inch yard hour minute second "
    "day week month year percent degree gallon liter litre ton tonne gram kilogram ounce acre "
    "point time step calorie mole volt watt joule newton unit decade century".split()
)
_ONE_MARKERS = frozenset(
    {"each", "every", "either", "neither", "a", "an", "another", "this", "one"}
)


def is_collective(noun: Token) -> bool:
    """Whether a noun may be one or many in the same form (*team*, *fish*, *data*)."""
    return noun.lemma in _COLLECTIVE or noun.lower in _COLLECTIVE


def number_of(
    text: Text, subject: Token, verb: Token, *, alone: bool = False
) -> tuple[Number, Token, str]:
    """The number of a subject, the word that decides it, and a reason where one is worth naming
    (``each``, ``and``, ``nearest``). With ``alone`` the noun is taken without its partners."""
    unsure: tuple[Number, Token, str] = ("", subject, "")
    if subject.is_blank or any(text.tokens[i].is_blank for i in text.children[subject.i]):
        return unsure
    if not alone:
        joined = _joined(text, subject, verb)
        if joined is not None:
            return joined
    word = subject.lower
    if word in _ALWAYS_ONE and subject.tag in ("NN", "DT", "PRP", "CD", "CC"):
        after = text.tokens[subject.i + 1] if subject.i + 1 < len(text.tokens) else subject
        if word in ("one", "another"):
            before = text.tokens[subject.i - 1].lower if subject.i else ""
            known = after.lower == "of" and (word == "one") and before != "-"
            return ("one", subject, "each") if known else unsure
        if word in ("each", "either", "neither", "everyone", "everybody"):
            return "one", subject, "each"
        if word in ("this", "much"):
            return ("one", subject, "") if word == "this" and subject.i < verb.i else unsure
        return "one", subject, ""
    if word in _ALWAYS_MANY and subject.tag in ("PRP", "DT", "JJ", "NNS", "NN"):
        known = word in ("they", "we", "these", "those", "others")
        return ("many", subject, "") if known else unsure
    if word in _PARTS or subject.lemma in _PARTS or word in _OWNED:
        return unsure
    return _of_noun(text, subject)


def _of_noun(text: Text, noun: Token) -> tuple[Number, Token, str]:
    unsure: tuple[Number, Token, str] = ("", noun, "")
    markers = [text.tokens[i] for i in text.children[noun.i] if i < noun.i]
    first = markers[0].lower if markers else ""
    if noun.lemma == "number" and noun.tag == "NN" and first == "the":
        after = text.tokens[noun.i + 1] if noun.i + 1 < len(text.tokens) else noun
        return ("one", noun, "") if after.lower == "of" else unsure
    if noun.lower == "news" and noun.pos == "NOUN":
        return "one", noun, ""
    if noun.lower == "police" and noun.pos == "NOUN" and [m.lower for m in markers] == ["the"]:
        return "many", noun, ""
    if noun.lower == "people" and noun.pos == "NOUN" and not _is_nation(text, markers):
        return "many", noun, ""
    if is_collective(noun) or not noun.text.isalpha():
        return unsure
    if not noun.text[1:].islower():
        return unsure
    if noun.tag == "NNS" and noun.pos == "NOUN":
        counted = any(m.pos == "NUM" for m in markers)
        if counted and noun.lemma in _UNITS:
            return unsure
        if first in ("each", "every", "a", "an", "another", "this", "that"):
            return unsure
        if noun.lower != plural(noun.lemma) and noun.lower not in IRREGULAR_PLURALS:
            return unsure  # a name, or a singular that looks like a plural
        if noun.lower.endswith("ics"):
            return unsure
        return "many", noun, ""
    if noun.tag == "NN" and noun.pos == "NOUN":
        if noun.lower.endswith(("s", "a", "i", "ae", "ese", "ish", "men", "people")):
            return unsure
        if any(m.pos == "NUM" and m.lower not in ("one", "1") for m in markers):
            return unsure
        if any(m.lower in ("these", "those", "many", "several", "few", "both") for m in markers):
            return unsure
        return "one", noun, "each" if first in ("each", "every", "either", "neither") else ""
    return unsure


def _is_nation(text: Text, markers: list[Token]) -> bool:
    """Whether *people* may be a nation, which is one: *a people*, *the Basque people*."""
    return any(m.lower not in _COUNTS and m.tag not in ("JJ", "CD") for m in markers) or any(
        m.text[0].isupper() and m.lower not in _COUNTS for m in markers
    )


def _joined(text: Text, subject: Token, verb: Token) -> tuple[Number, Token, str] | None:
    """The number of subjects joined by and, or, nor; None where nothing is joined."""
    partner = text.child(subject.i, "conj")
    linkers = [text.tokens[i] for i in text.children[subject.i] if text.tokens[i].dep == "cc"]
    if partner is None:
        return ("", subject, "") if linkers or text.child(subject.i, "appos") else None
    if partner.i > verb.i > subject.i:
        return None
    words = {t.lower for t in linkers}
    linker = next((t for t in linkers if subject.i < t.i < partner.i), None)
    if linker is None or text.child(partner.i, "conj") is not None:
        return "", subject, ""
    if linker.lower in ("or", "nor"):
        nearest = partner if partner.i < verb.i else subject
        number, key, _ = number_of(text, nearest, verb, alone=True)
        first, _, _ = number_of(text, subject, verb, alone=True)
        paired = any(
            t.lower in ("either", "neither") for t in text.tokens[max(0, subject.i - 4) : subject.i]
        )
        return (number, key, "nearest") if paired or first == number else ("", subject, "")
    if linker.lower == "and" and not words - {"and"}:
        both = any(text.tokens[i].lower == "both" for i in text.children[subject.i])
        ambiguous = not both and any(
            text.tokens[i].dep == "prep" and i < linker.i for i in text.children[subject.i]
        )
        if both or (not ambiguous and _both_marked(text, subject, partner)):
            return "many", partner, "and"
        return "", subject, ""
    return "", subject, ""


def _both_marked(text: Text, one: Token, other: Token) -> bool:
    """Whether two joined nouns each have an article or owner of their own (``the boy and his
    dog``), so that they are two things and no set phrase (``bread and butter``)."""
    for noun in (one, other):
        if noun.tag not in ("NN", "NNS") or noun.pos != "NOUN":
            return False
        marks = [text.tokens[i] for i in text.children[noun.i] if i < noun.i]
        if not any(m.tag in ("DT", "PRP$") for m in marks):
            return False
        if any(m.lower in ("each", "every", "no") for m in marks):
            return False
    return True

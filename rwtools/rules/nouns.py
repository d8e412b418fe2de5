"""Nouns for the rules: plural forms, and which nouns name persons."""

from __future__ import annotations

from rwtools.text import Text, Token

__all__ = [
    "IRREGULAR_PLURALS",
    "UNCOUNTED",
    "is_human",
    "is_person",
    "owned_after",
    "plural",
    "singular",
]

UNCOUNTED = frozenset(
    "information advice furniture homework luggage equipment knowledge baggage scenery traffic "
    "machinery housework progress".split()
)
IRREGULAR_PLURALS = frozenset(
    "men women children people mice geese teeth feet oxen police cattle".split()
)
_TAKE_ES = frozenset("tomato potato hero echo veto torpedo mosquito volcano cargo".split())
_TO_VES = frozenset("leaf knife life wife half wolf shelf loaf thief calf elf self".split())
_PERSON_ENDINGS = ("er", "or", "ist", "ian", "eer", "ee", "man", "woman", "ster", "ess")
# Nouns with such an ending that are no persons.
_NO_PERSONS = frozenset(
    "paper water number order letter river winter summer center centre computer power matter "
    "corner computer weather chapter border container shoulder finger flower tower counter factor "
    "color colour door floor vector sector motor error mirror mist list cyst wrist coffee "
    "tree degree committee fee bee knee employee's human process access success business address "
    "dress stress press loss mass gas lens virus cluster layer cover fiber fibre timber ladder "
    "leather feather anchor poster roller printer copper silver theater theatre fever liver cancer "
    "user's quarter character parameter diameter filter register polymer monomer meter liter litre "
    "metre buffer barrier carrier receptor sensor transistor resistor conductor tumor "
    "tumour reactor tractor elevator refrigerator generator indicator calculator "
    "semiconductor capacitor inhibitor promoter enhancer transporter starter burner cooler heater "
    "boiler ledger counter screwdriver fastener marker ester ether laser transformer amplifier "
    "fuel".split()
)
_PERSONS = frozenset(
    "boy girl man woman child king queen uncle aunt brother sister mother father son daughter "
    "cousin friend guest student patient parent citizen scientist soldier captain nurse dog cat "
    "horse bird cow sheep hog pig bear lion author poet chief clerk lawyer tenant client "
    "customer neighbour neighbor widow judge priest monk nun pilot athlete critic mechanic "
    "president merchant servant immigrant agent expert hostess host adult infant baby "
    "individual husband wife spouse kid chef sibling chemist tourist voter reader buyer seller "
    "firm group government team empire town village parliament "
    "enemy ally lady spy secretary family country nation company city".split()
)


_NOT_ONE_HUMAN = frozenset(
    "dog cat horse bird cow sheep hog pig bear lion firm group government team empire town village "
    "parliament family country nation company city".split()
)


def plural(noun: str) -> str:
    """The regular plural of a noun (``tomato`` -> ``tomatoes``, ``city`` -> ``cities``)."""
    lower = noun.lower()
    if lower in _TAKE_ES or lower.endswith(("s", "x", "z", "ch", "sh")):
        return noun + "es"
    if lower in _TO_VES:
        return noun[:-2] + "ves" if lower.endswith("fe") else noun[:-1] + "ves"
    if lower.endswith("y") and lower[-2:-1] not in "aeiou":
        return noun[:-1] + "ies"
    return noun + "s"


def singular(noun: str) -> str:
    """The singular of a regular plural (``cities`` -> ``city``)."""
    lower = noun.lower()
    if lower.endswith("ies") and len(noun) > 4:
        return noun[:-3] + "y"
    if lower.endswith("ves") and (lower[:-3] + "f" in _TO_VES or lower[:-3] + "fe" in _TO_VES):
        return noun[:-3] + ("fe" if lower[:-3] + "fe" in _TO_VES else "f")
    if lower.endswith(("ses", "xes", "zes", "ches", "shes")) or lower[:-2] in _TAKE_ES:
        return noun[:-2]
    return noun[:-1] if lower.endswith("s") else noun


def is_human(token: Token) -> bool:
    """Whether a noun names persons, not animals or groups of persons."""
    return is_person(token) and token.lemma not in _NOT_ONE_HUMAN


def is_person(token: Token) -> bool:
    """Whether a noun names persons or animals, which own things, as far as its form tells."""
    lemma = token.lemma
    if token.pos != "NOUN" or lemma in _NO_PERSONS:
        return False
    return lemma in _PERSONS or (lemma.endswith(_PERSON_ENDINGS) and len(lemma) > 4)


def owned_after(text: Text, offset: int) -> Token | None:
    """The bare noun with its own verb or subject that follows a place of the passage, as one does
    after *whose*: *whose | idea was that*, *whose | lamp you took*."""
    near = [t for t in text.tokens if t.start >= offset][:2]
    fits = (
        len(near) == 2
        and near[0].tag in ("NN", "NNS")
        and near[1].tag in ("VBZ", "VBP", "VBD", "MD", "PRP")
        and near[0].sent == near[1].sent
    )
    return near[0] if fits else None

"""Who can do what an opening phrase tells: what only persons do, and which nouns name things."""

from __future__ import annotations

from functools import cache

from rwtools.resources import artifact, load_json
from rwtools.rules.nouns import is_person
from rwtools.text import Text, Token

__all__ = ["HUMAN", "STATES", "can_do", "is_outside", "is_state", "is_thing", "needs_person"]

# What only persons (or animals) do. Verbs of reasoning that scientific prose uses without a doer
# (using, considering, comparing, measuring ...) are left out.
_PERSONAL = frozenset(
    "read write walk hike swim cook eat sleep talk speak say tell ask hear listen look notice sail "
    "paddle cycle stroll shop study think remember forget decide hope wish want believe worry plan "
    "choose select copy finish graduate paint wait try practise practice wash clean unpack pack "
    "board unlock bake fry jog ski camp admire stare gaze glance sew knit weed visit drive fish "
    "hunt explore learn open enter leave cross turn approach close climb watch see taste".split()
)
# Of these, what no animal or thing does: "it" cannot be the doer either.
HUMAN = frozenset(
    "read write cook talk speak say tell ask visit shop study decide choose select copy finish "
    "graduate paint bake fry knit sew pack plan practise practice".split()
)
# A person does these to something; alone they are said of things too (*Cooking slowly, the soup*).
_WITH_OBJECT = frozenset(
    "cook bake fry wash clean finish open enter leave cross turn approach close climb paint pack "
    "sew knit watch see taste select copy".split()
)
# These a thing that stays where it is cannot do, but a road, a river or a ship can.
_MOTION = frozenset("enter leave cross turn approach climb open close watch see taste".split())
# Words do these: *Telling of a lost war, the poem ...*.
_OF_WORDS = frozenset(
    "talk speak say tell ask explore study choose hope remember look read hear admire".split()
)
_WORDS = frozenset(
    "book song story film movie play poem novel essay report article paper letter question music "
    "picture painting photograph photo map statue newspaper news law rule theory text speech scene "
    "chapter verse passage sign message headline".split()
)
# A helper of the verb's meaning: *looking at*, not *looking new*; *waiting for*, not *waiting*.
_PARTICLES = {
    "look": frozenset("at for through up back into down".split()),
    "wait": frozenset({"for", "in", "at", "on", "to"}),
    "worry": frozenset({"about"}),
    "listen": frozenset({"to"}),
    "arrive": frozenset({"home", "at", "in"}),
}
_ROOMS = frozenset(
    "house home library room door window castle museum hotel shop store barn kitchen".split()
)
_STILL = _ROOMS | frozenset(
    "lamp chair bed desk table box key bag suitcase hat coat candle clock phone telephone letter "
    "book dinner breakfast lunch meal cake".split()
)
# A thing may do these as well, but not one that only the mind knows.
_LOOSE = frozenset("sit stand wander ride travel arrive run hurry rush".split())
_IN_MIND = frozenset("view sight idea thought mistake accident tear decision".split())
_ABSENT = _IN_MIND | frozenset(
    "question problem answer time day night morning evening pain fear joy anger surprise "
    "attention mind price cost reason error result weather".split()
)
_VEHICLES = frozenset("ship boat train car bus bicycle".split())
_WEATHER = frozenset("rain snow wind storm".split())
# States of mind and the like, which only persons are in.
STATES = frozenset(
    "tired exhausted hungry thirsty excited worried frightened scared surprised bored confused "
    "determined eager anxious afraid proud dressed asked told annoyed delighted disappointed "
    "embarrassed puzzled ashamed curious unsure uncertain convinced married homesick "
    "sleepy nervous furious".split()
)
# Participles that are also said of things; only with these words do they tell a state of mind.
_STATE_BEFORE = {
    "exhausted": frozenset({"after", "from", "and", "but"}),
    "excited": frozenset({"about", "at", "to"}),
    "determined": frozenset({"to"}),
    "bored": frozenset({"with", "of", "at"}),
    "asked": frozenset({"whether", "why", "how", "to", "about"}),
    "told": frozenset({"that", "to"}),
    "married": frozenset({"to", "at", "with"}),
    "confused": frozenset({"about", "by"}),
    "curious": frozenset({"about", "to"}),
    "uncertain": frozenset({"whether", "about", "what"}),
}
_THINGS = frozenset(
    "house home road street library work letter book switch mistake plan car train bus boat ship "
    "bicycle city town village room door table window bridge tree forest mountain hill river lake "
    "sea sun moon star sky rain snow wind storm weather song story film movie play question "
    "problem answer idea thought food dinner breakfast lunch meal cake bread soup exam test game "
    "match music phone telephone bell clock key bag suitcase hat coat shoe boot glasses map "
    "picture painting photograph photo statue tower castle church museum school station hotel "
    "shop store market garden field farm barn fence wall roof floor stairs path trail cave beach "
    "island valley view scene sight sound noise smell light lamp fire candle chair bed desk drawer "
    "box paper page essay report article poem novel newspaper news screen tool hammer pain fear "
    "joy anger surprise attention eye hand foot leg "
    "arm head heart mind face voice stomach back knee day night morning evening time year hour "
    "job task project exercise homework lesson class course price cost money ticket bill result "
    "decision reason error fault accident law rule harbour harbor lighthouse flower rose".split()
)
_ABSTRACT = ("tion", "ment", "ness", "ity", "ance", "ence", "ism")


@cache
def _listed() -> frozenset[str]:
    """Nouns that name nothing which lives or acts (``models/rules/things.py`` writes the list)."""
    return frozenset(load_json(artifact("rules", "things.json"))["words"])


@cache
def _outside() -> frozenset[str]:
    return frozenset(load_json(artifact("rules", "things.json"))["outside"])


def is_outside(noun: Token) -> bool:
    """Whether a noun names what is there without anybody who thinks or feels it (*storm*)."""
    return noun.lemma in _outside()


def is_state(text: Text, word: Token) -> bool:
    """Whether an adjective or participle tells a state that only persons (or animals) are in."""
    if word.lower not in STATES or word.pos not in ("ADJ", "VERB"):
        return False
    needed = _STATE_BEFORE.get(word.lower)
    after = text.tokens[word.i + 1]
    if needed is None:
        return True
    return after.lower in needed and (
        after.tag != "TO" or word.lower == "married" or text.tokens[after.i + 1].tag == "VB"
    )


def needs_person(text: Text, doing: Token, phrase: tuple[Token, ...]) -> bool:
    """Whether only a person can do it, or be it (``being a skilled dancer``)."""
    if doing.lemma == "be" or doing.lower == "being":
        return any(
            (is_person(t) and t.dep == "attr") or (t.dep == "acomp" and is_state(text, t))
            for t in phrase
        )
    if doing.lemma not in _PERSONAL | _LOOSE:
        return False
    after = text.tokens[doing.i + 1]
    if doing.lemma in _WITH_OBJECT:
        return text.child(doing.i, "dobj") is not None
    needed = _PARTICLES.get(doing.lemma)
    if doing.lemma == "eat":
        return after.lower not in ("into", "away", "through", "at")
    return needed is None or after.lower in needed


def can_do(text: Text, doing: Token, subject: Token) -> bool:
    """Whether a thing can do what persons do too: a road climbs a hill, a poem tells of war."""
    thing = subject.lemma
    aim = text.tokens[doing.i + 1 : doing.i + 3]
    if doing.lemma in _LOOSE and len(aim) == 2 and (aim[0].tag, aim[1].tag) == ("TO", "VB"):
        return False  # *running to catch the bus*: what has an aim has a mind
    if doing.lemma in _LOOSE:
        return thing not in (_IN_MIND | _ROOMS if doing.lemma == "arrive" else _IN_MIND)
    if doing.lemma in _MOTION:
        return thing not in _STILL and thing not in _ABSENT and not thing.endswith(_ABSTRACT)
    if doing.lemma in _OF_WORDS and thing in _WORDS:
        return True
    if doing.lemma == "wait":
        return thing in _VEHICLES
    return doing.lemma in ("drive", "sail", "fish", "hunt") and thing in _VEHICLES | _WEATHER


def is_thing(subject: Token) -> bool:
    """Whether a noun can only name a thing."""
    if subject.pos != "NOUN" or is_person(subject):
        return False
    word = subject.lemma
    return word in _THINGS or word.endswith(_ABSTRACT) or word in _listed()

"""Who does what an opening phrase says? The subject right after its comma."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.clue import Fix, Span
from rwtools.rules.model import Finding, Rule
from rwtools.rules.nouns import is_person
from rwtools.rules.phrases import clear, prose, short, verb_group
from rwtools.text import Sentence, Text, Token

__all__ = ["RULE", "find"]

_LINKS = frozenset({"in", "on", "upon", "by", "after", "while", "when"})
# What only persons (or animals) do. Verbs of reasoning that scientific prose uses without a doer
# (using, considering, comparing, measuring ...) are left out.
_PERSONAL = frozenset(
    "read write walk run hike drive swim cook eat sleep wake talk speak say tell ask hear listen "
    "watch see look notice sit stand arrive enter leave climb sail paddle row ride cycle travel "
    "visit wander stroll hurry rush search hunt fish shop study learn think remember forget decide "
    "hope wish want believe worry plan choose select copy finish graduate play sing dance paint "
    "wear carry hold hide wait try work train practise practice wash clean unpack pack board open "
    "unlock close bake fry taste drink smell laugh smile cry shiver swing jog skate ski camp "
    "explore admire enjoy stare gaze glance peer approach turn cross pass sew knit weed plant "
    "water pick gather".split()
)
# Of these, what no animal or thing does: "it" cannot be the doer either.
_HUMAN = frozenset(
    "read write cook talk speak say tell ask visit shop study decide choose select copy finish "
    "graduate paint bake fry knit sew pack plan practise practice train".split()
)
# States of mind and the like, which only persons are in.
_STATES = frozenset(
    "tired exhausted hungry thirsty excited worried frightened scared surprised bored confused "
    "determined eager anxious afraid proud dressed asked told annoyed delighted disappointed "
    "embarrassed puzzled ashamed curious unsure uncertain convinced married homesick "
    "sleepy nervous furious".split()
)
_ABSOLUTE = frozenset(
    "accord consider assume regard give include follow depend speak concern judge base compare "
    "owe bar allow grant provide see".split()
)
_THINGS = frozenset(
    "house home road street library work letter book switch mistake plan car train bus boat ship "
    "bicycle city town village room door table window bridge tree forest mountain hill river lake "
    "sea sun moon star sky rain snow wind storm weather song story film movie play question "
    "problem answer idea thought food dinner breakfast lunch meal cake bread soup exam test game "
    "match music phone telephone bell clock key bag suitcase hat coat shoe boot glasses map "
    "picture painting photograph photo statue tower castle church museum school station hotel "
    "shop store market garden field farm barn fence wall roof floor stairs path trail cave beach "
    "island valley view scene sight sound noise smell light lamp fire candle chair bed desk drawer "
    "box paper page essay report article poem novel newspaper news computer screen machine engine "
    "tool hammer camera radio television pain fear joy anger surprise attention eye hand foot leg "
    "arm head heart mind face voice stomach back knee day night morning evening time year hour "
    "job task project exercise homework lesson class course price cost money ticket bill result "
    "decision reason error fault accident law rule harbour harbor lighthouse flower rose".split()
)
_ABSTRACT = ("tion", "ment", "ness", "ity", "ance", "ence", "ism")
_SUBJECTS = ("nsubj", "nsubjpass", "expl")
_OWNERS = {"my": "I", "our": "we", "his": "he", "her": "she", "their": "they", "your": "you"}
_OBJECTS = {"me": "I", "us": "we", "him": "he", "them": "they"}
_PERSON_WORDS = frozenset({"i", "we", "he", "she", "they", "you", "one", "someone", "everyone"})


def find(text: Text) -> list[Finding]:
    """Fault span: the opening phrase. Fix: make it a clause with a doer. Sound: the phrase."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    for sentence in prose(text):
        found = _opening(text, sentence)
        if found is not None:
            yield found


def _opening(text: Text, sentence: Sentence) -> Finding | None:
    first = text.tokens[sentence.first]
    at = first.i
    if first.lower == "not":
        at += 1
    if first.lower in _LINKS:
        at += 1
    if at + 3 >= sentence.last:
        return None
    action = text.tokens[at]
    state = action.lower in _STATES and action.pos in ("ADJ", "VERB") and at == first.i
    if not state and (action.tag != "VBG" or not action.lower.endswith("ing")):
        return None
    comma = next(
        (
            t.i
            for t in text.tokens[at : sentence.last]
            if t.text == "," or t.text in (";", ":", "—")
        ),
        None,
    )
    if comma is None or text.tokens[comma].text != "," or comma + 2 >= sentence.last:
        return None
    phrase = text.tokens[at + 1 : comma]
    if any(t.tag in ("VBZ", "VBP", "VBD", "MD") for t in phrase):
        return None
    head = _main_verb(text, sentence, comma)
    if head is None:
        return None
    subject = text.child(head.i, *_SUBJECTS)
    if subject is None or not comma < subject.i < head.i:
        return None
    start = text.subtree(subject.i)[0]
    if start != comma + 1:
        return None
    doing = action
    if action.lower == "having":
        doing = next((t for t in phrase[:3] if t.tag in ("VBN", "VBD")), action)
    whole = text.span(first.i, comma - 1)
    named = text.span(start, subject.i)
    if _person(subject):
        if subject.dep == "nsubjpass" and subject.pos == "NOUN":
            return None  # its form alone makes it a person (*his ledger*), and it does nothing
        return None if doing.lemma in _ABSOLUTE else _sound(text, whole, named, doing)
    if not state and not _needs_person(text, doing, phrase):
        return None
    if not (_thing(text, subject, start) or _suffers(text, subject, head)) and not (
        doing.lemma in _HUMAN and subject.lower == "it" and not _announces(text, subject, head)
    ):
        return None
    return _fault(text, sentence, whole, named, action, doing, head, start)


def _main_verb(text: Text, sentence: Sentence, comma: int) -> Token | None:
    """The main verb, if it comes after the comma."""
    for token in text.tokens[comma + 1 : sentence.last]:
        if token.dep == "ROOT" and token.pos in ("VERB", "AUX"):
            return token
    return None


def _announces(text: Text, subject: Token, head: Token) -> bool:
    """Whether *it* only announces what follows: ``it is wise to ...``, ``it seems that ...``."""
    if subject.dep == "expl":
        return True
    after = text.tokens[head.i + 1 : text.sentences[head.sent].last]
    return any(t.lower in ("to", "that", "if", "how", "what", "whether") for t in after)


def _person(subject: Token) -> bool:
    return subject.lower in _PERSON_WORDS or (subject.pos == "NOUN" and is_person(subject))


def _needs_person(text: Text, doing: Token, phrase: tuple[Token, ...]) -> bool:
    """Whether only a person can do it, or be it (``being a skilled dancer``)."""
    if doing.lemma in _PERSONAL:
        return True
    if doing.lemma == "be" or doing.lower == "being":
        return any(is_person(t) and t.dep == "attr" for t in phrase)
    return False


def _thing(text: Text, subject: Token, start: int) -> bool:
    """Whether the subject can only be a thing, or only says that something is there."""
    if subject.dep == "expl" and subject.lower == "there":
        return True
    if subject.pos == "PROPN" and text.tokens[start].lower == "the":
        return subject.lower in _THINGS
    if subject.pos != "NOUN" or is_person(subject):
        return False
    return subject.lemma in _THINGS or subject.lemma.endswith(_ABSTRACT)


def _suffers(text: Text, subject: Token, head: Token) -> bool:
    """Whether persons named after *by* do to the subject what the main clause tells (*a pattern was
    noticed by the team*): they are the doers of the opening phrase too, and the subject is not."""
    agent = text.child(head.i, "agent")
    by = None if agent is None else text.child(agent.i, "pobj")
    if by is None or subject.dep != "nsubjpass" or subject.pos != "NOUN" or is_person(subject):
        return False
    return by.lower in _OBJECTS or by.lower == "her" or by.pos == "PROPN" or is_person(by)


def _fault(
    text: Text,
    sentence: Sentence,
    whole: Span,
    named: Span,
    action: Token,
    doing: Token,
    head: Token,
    start: int,
) -> Finding:
    doer = _doer(text, sentence, start)
    past = text.tokens[verb_group(text, head.i)[0]].tag in ("VBD",)
    be = {"I": "was" if past else "am", "he": "was" if past else "is"}
    be |= {"she": be["he"], "someone": be["he"]}
    helper = be.get(doer, "were" if past else "are")
    opener = text.tokens[sentence.first].lower
    if action.lower == "having" and doing.i != action.i:
        have = "had" if past else "has" if doer in ("he", "she", "someone") else "have"
        new = f"After {doer} {have}"
        end = action.end
    elif opener == "not":
        being = action.lower == "being"
        end = action.end if being else text.tokens[sentence.first].end
        new = f"As {doer} {helper} not"
    elif opener == "after":
        new, end = f"When {doer} {helper} done", text.tokens[sentence.first].end
    elif opener in _LINKS:
        new, end = f"While {doer} {helper}", text.tokens[sentence.first].end
    elif action.lower in _STATES:
        word = action.text[0].lower() + action.text[1:]
        new, end = f"As {doer} {helper} {word}", action.end
    else:
        verb = action.text[0].lower() + action.text[1:]
        new, end = f"While {doer} {helper} {verb}", action.end
    return Finding(
        whole.start,
        whole.end,
        "fault",
        0.9,
        {
            "phrase": short(text, whole.start, whole.end),
            "subject": short(text, named.start, named.end),
            "verb": doing.text.lower(),
        },
        (
            text.evidence(named, "subject"),
            text.evidence(text.span(doing.i, doing.i), "verb"),
        ),
        (Fix(text.tokens[sentence.first].start, end, new),),
    )


def _doer(text: Text, sentence: Sentence, start: int) -> str:
    """The person that the main clause hints at, by an owner word or an object."""
    owner = _OWNERS.get(text.tokens[start].lower)
    if owner is not None:
        return owner
    rest = text.tokens[start : sentence.last]
    return next((_OBJECTS[t.lower] for t in rest if t.lower in _OBJECTS), "someone")


def _sound(text: Text, whole: Span, named: Span, doing: Token) -> Finding:
    return Finding(
        whole.start,
        whole.end,
        "sound",
        0.9,
        {
            "phrase": short(text, whole.start, whole.end),
            "subject": short(text, named.start, named.end),
            "verb": doing.text.lower(),
        },
        (
            text.evidence(named, "subject"),
            text.evidence(text.span(doing.i, doing.i), "verb"),
        ),
    )


RULE = Rule("dangling-modifier", find)

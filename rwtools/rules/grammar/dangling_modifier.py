"""Who does what an opening phrase says? The subject right after its comma."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.clue import Fix, Span
from rwtools.rules.doers import HUMAN, STATES, can_do, is_state, is_thing, needs_person
from rwtools.rules.model import Finding, Rule
from rwtools.rules.nouns import is_human, is_person
from rwtools.rules.phrases import clear, prose, short, verb_group
from rwtools.text import Sentence, Text, Token

__all__ = ["RULE", "find"]

_LINKS = frozenset({"in", "on", "upon", "by", "after", "while", "when"})
_ABSOLUTE = frozenset(
    "accord consider assume regard give include follow depend speak concern judge base compare "
    "owe bar allow grant provide see".split()
)
_MINDS = frozenset(
    "think believe hope want wish remember forget feel learn decide choose say ask".split()
)
_SUBJECTS = ("nsubj", "nsubjpass", "expl")
_OWNERS = {"my": "I", "our": "we", "his": "he", "her": "she", "their": "they", "your": "you"}
_OBJECTS = {"me": "I", "us": "we", "him": "he", "them": "they", "her": "she"}
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
    state = at == first.i and is_state(text, action)
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
    if at == first.i and action.lower in ("speaking", "talking") and phrase[0].lower == "of":
        return None  # a set opening that names a subject of talk: *Speaking of bread*
    head = _main_verb(text, sentence, comma)
    if head is None:
        return None
    subject = text.child(head.i, *_SUBJECTS)
    if subject is None or not comma < subject.i < head.i:
        return None
    start = text.subtree(subject.i)[0]
    if start != comma + 1 or text.tokens[verb_group(text, head.i)[0] - 1].text == ",":
        return None  # *Trying hard, a plain virtue, was ...*: the opening is the subject
    doing = action
    if action.lower == "having":
        doing = next((t for t in phrase[:3] if t.tag in ("VBN", "VBD")), action)
    whole = text.span(first.i, comma - 1)
    named = text.span(start, subject.i)
    if _person(subject):
        if subject.dep == "nsubjpass" and subject.pos == "NOUN":
            return None  # its form alone makes it a person (*his ledger*), and it does nothing
        if doing.lemma in _ABSOLUTE or (subject.pos == "NOUN" and not is_human(subject)):
            return None  # *Walking through the wood, the birds sang*: they may, or somebody else
        return _sound(text, whole, named, doing)
    if not state and not needs_person(text, doing, phrase):
        return None
    if subject.dep == "nsubj" and head.lemma in _MINDS:
        return None  # a subject that decides or thinks is no thing, whatever its form
    if not state and can_do(text, doing, subject):
        return None
    if not (_thing(text, subject, start) or _suffers(text, subject, head)) and not (
        doing.lemma in HUMAN and subject.lower == "it" and not _announces(text, subject, head)
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


def _thing(text: Text, subject: Token, start: int) -> bool:
    """Whether the subject can only be a thing, or only says that something is there."""
    if subject.dep == "expl" and subject.lower == "there":
        return True
    return is_thing(subject)


def _suffers(text: Text, subject: Token, head: Token) -> bool:
    """Whether persons named after *by* do to the subject what the main clause tells (*a pattern was
    noticed by the team*): they are the doers of the opening phrase too, and the subject is not."""
    agent = text.child(head.i, "agent")
    by = None if agent is None else text.child(agent.i, "pobj")
    if by is None or subject.dep != "nsubjpass" or subject.pos != "NOUN" or is_person(subject):
        return False
    return by.lower in _OBJECTS or by.pos == "PROPN" or is_person(by)


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
    first = text.tokens[sentence.first]
    past = text.tokens[verb_group(text, head.i)[0]].tag == "VBD"
    end, new = _clause(first, action, doing, _doer(text, sentence, start), past)
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
        (Fix(first.start, end, new),),
    )


def _clause(first: Token, action: Token, doing: Token, doer: str, past: bool) -> tuple[int, str]:
    """The opening of a clause with a doer, and where the words end whose place it takes."""
    many = doer in ("we", "they", "you")
    if past:
        helper, have = ("were" if many else "was"), "had"
    else:
        helper = "am" if doer == "I" else "are" if many else "is"
        have = "have" if many or doer == "I" else "has"
    verb = action.text[0].lower() + action.text[1:]
    opener = first.lower
    if action.lower == "having" and doing.i != action.i:
        return action.end, f"After {doer} {have}"
    if opener == "not":
        end = action.end if action.lower == "being" else first.end
        return end, f"As {doer} {helper} not"
    if action.lower == "being" and opener == "being":
        return action.end, f"As {doer} {helper}"
    if opener == "after":
        return first.end, f"After {doer} {have} finished"
    if opener in _LINKS:
        return first.end, f"While {doer} {helper}"
    return action.end, f"{'As' if action.lower in STATES else 'While'} {doer} {helper} {verb}"


def _doer(text: Text, sentence: Sentence, start: int) -> str:
    """The person that the main clause (else the opening) hints at, by owner words and objects; or
    by the one name that stands after *to* at the end."""
    rest = text.tokens[start : sentence.last]
    named = [t for t in rest if t.tag == "NNP"]
    for part in (rest, text.tokens[sentence.first : start]):
        hinted = {(_OWNERS if t.tag == "PRP$" else _OBJECTS).get(t.lower, "") for t in part} - {""}
        if hinted and not named:
            return hinted.pop() if len(hinted) == 1 else "someone"
    if len(named) == 1 and not hinted and named[0].i + 1 < len(text.tokens):
        name, after = named[0], text.tokens[named[0].i + 1]
        if text.tokens[name.i - 1].lower == "to" and after.text == "." and name.dep == "pobj":
            return name.text
    return "someone"


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

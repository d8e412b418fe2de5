"""One story keeps one time: *she opened the door and saw a cat*, not *and sees*."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.clue import Fix
from rwtools.rules.model import Finding, Rule
from rwtools.rules.nouns import is_person
from rwtools.rules.phrases import clear, prose
from rwtools.text import Text, Token

__all__ = ["RULE", "find"]

# What is over in a moment. Told of one time in the past, the next step is past too; *she studied
# law and works in Oslo* tells of a state that lasts, and is right. The simple past beside each.
_MOMENTS = dict(
    row.split("/")
    for row in (
        "see/saw hear/heard notice/noticed open/opened close/closed fall/fell jump/jumped "
        "shout/shouted scream/screamed whisper/whispered smile/smiled nod/nodded turn/turned "
        "enter/entered arrive/arrived leave/left knock/knocked grab/grabbed drop/dropped "
        "sit/sat stand/stood wake/woke look/looked ask/asked answer/answered reply/replied "
        "walk/walked run/ran go/went come/came take/took pick/picked put/put find/found "
        "start/started begin/began stop/stopped pull/pulled push/pushed catch/caught "
        "throw/threw break/broke kick/kicked kiss/kissed hug/hugged cry/cried laugh/laughed"
    ).split()
)
# These are said of habits and of trades as well: *he left the army and runs a shop*.
_HABITS = frozenset("run go take come walk stand sit put find start begin leave".split())
_OPENERS = frozenset({"when", "after", "before", "as"})
_NOW = frozenset(
    "now today still nowadays always often usually sometimes never every since currently daily "
    "each once already presently there".split()
)
_PERSONS = frozenset({"i", "he", "she", "we", "they", "you", "someone", "everyone", "nobody"})


def find(text: Text) -> list[Finding]:
    """Fault span: the verb in the present. Fix: its past."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    for sentence in prose(text):
        words = text.sentence_tokens(sentence)
        if any(t.lower in _NOW for t in words):
            continue
        for token in words:
            if token.tag != "VBZ" or token.lemma not in _MOMENTS or token.lower == token.lemma:
                continue
            first = _joined(text, token) or _opening(text, token)
            if first is not None:
                yield _fault(text, first, token)


def _joined(text: Text, second: Token) -> Token | None:
    """The past verb that *and* joins to this one, with one person as subject of both."""
    first = text.tokens[second.head]
    if second.dep != "conj" or first.tag != "VBD" or not first.i < second.i:
        return None
    if first.lemma not in _MOMENTS or first.lower != _MOMENTS[first.lemma]:
        return None
    if first.lower == first.lemma or second.lemma in _HABITS or not _person(text, first):
        return None
    if text.child(second.i, "nsubj", "nsubjpass", "expl") is not None:
        return None
    between = text.tokens[first.i + 1 : second.i]
    links = [t for t in between if t.tag == "CC"]
    plain = all(t.tag not in ("WDT", "WP", "VBZ", "VBP", "MD") for t in between)
    thing = text.child(second.i, "dobj")
    many = thing is not None and thing.tag in ("NNS", "NNPS")
    return first if links and links[-1].lower == "and" and plain and not many else None


def _opening(text: Text, main: Token) -> Token | None:
    """The past verb of a time clause that opens the sentence: *When she arrived, he leaves*."""
    sentence = text.sentences[main.sent]
    opener = text.tokens[sentence.first]
    if opener.lower not in _OPENERS or main.dep != "ROOT" or not _person(text, main):
        return None
    first = next(
        (text.tokens[i] for i in text.children[main.i] if text.tokens[i].dep == "advcl"), None
    )
    if first is None or first.i > main.i or first.tag != "VBD" or first.lemma not in _MOMENTS:
        return None
    if first.lower != _MOMENTS[first.lemma] or first.lower == first.lemma:
        return None
    inside = text.tokens[opener.i : first.i]
    if not _person(text, first) or any(t.is_punct or t.pos in ("AUX", "VERB") for t in inside):
        return None
    subject = text.child(main.i, "nsubj")
    commas = [t.i for t in text.tokens[first.i : main.i] if t.text == ","]
    return first if subject is not None and len(commas) == 1 and commas[0] < subject.i else None


def _person(text: Text, verb: Token) -> bool:
    subject = text.child(verb.i, "nsubj")
    if subject is None or subject.i > verb.i:
        return False
    return subject.lower in _PERSONS or subject.tag == "NNP" or is_person(subject)


def _fault(text: Text, first: Token, second: Token) -> Finding:
    new = _MOMENTS[second.lemma]
    return Finding(
        second.start,
        second.end,
        "fault",
        0.8,
        {"word": second.text, "first": first.text, "form": new},
        (
            text.evidence(text.span(first.i, first.i), "verb"),
            text.evidence(text.span(second.i, second.i), "verb"),
        ),
        (Fix(second.start, second.end, new),),
    )


RULE = Rule("tense-shift", find)

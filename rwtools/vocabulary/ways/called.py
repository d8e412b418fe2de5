"""A description and then the name for it: *called*, *known as*, *referred to as*, *so-called*."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.clue import Span
from rwtools.text import Text, Token
from rwtools.vocabulary.by_words import AGENTS, PERSONS
from rwtools.vocabulary.familiarity import is_name
from rwtools.vocabulary.model import Gloss
from rwtools.vocabulary.phrases import (
    QUOTES,
    core,
    has_content,
    nominal_after,
    noun_phrase,
    phrase_before,
    span,
    whole_phrase,
    words_in,
)
from rwtools.vocabulary.view import View

# Verbs of naming that take the name at once, and those that take "as" or "to as" before it.
BARE = frozenset({"called", "termed", "named", "dubbed", "labeled", "labelled", "nicknamed"})
_AS = frozenset({"known", "described", "designated"})
_ALSO = frozenset({"also", "sometimes", "often", "otherwise", "commonly", "formerly", "simply"})
_LINKING = frozenset("that which is are was were became come came to be has been now".split())
_POINTERS = frozenset({"this", "these", "it", "they", "such", "that", "those"})
# Nouns too general to be a meaning without more words beside them.
_GENERAL = frozenset(
    "thing something one group process technique method type kind form part concept term condition "
    "approach system phenomenon way state situation practice idea area region people person man "
    "woman place model theory program strategy test structure organization company party "
    "document quantity series topic whole final stage outside major new special certain "
    "particular related different similar strong simple common traditional basic modern good "
    "very type".split()
)


def find(view: View) -> Iterator[Gloss]:
    """A verb of naming in the passive, or beside its noun, with the name after it."""
    text = view.text
    for verb, cue_last in _cues(view):
        term = nominal_after(text, cue_last + 1)
        if term is not None and _cut_short(text, term) and not view.asked:
            continue
        if term is None or not view.wants(*term):
            if verb.lower in BARE or cue_last > verb.i:
                yield from _second_name(view, verb, cue_last, term)
            continue
        if text.child(verb.i, "nsubj") is not None and verb.tag in ("VBP", "VBD", "VBZ", "VB"):
            yield from _we_call(view, verb, term)
        elif _is_active(text, verb) or text.child(verb.i, "neg") is not None:
            continue
        elif text.child(verb.i, "auxpass") is not None or verb.dep in ("ROOT", "conj", "relcl"):
            yield from _passive(view, verb, term)
        elif not (second := list(_second_name(view, verb, cue_last, term))):
            yield from _beside_noun(view, verb, term)
        else:
            yield from second


def _cues(view: View) -> Iterator[tuple[Token, int]]:
    """Each verb of naming with the last token before the name."""
    tokens = view.text.tokens
    for at in view.at("called", "termed", "named", "dubbed", "labeled", "labelled", "nicknamed"):
        if tokens[at].pos in ("VERB", "ADJ", "AUX"):
            yield tokens[at], at
    for at in view.at("call"):
        yield tokens[at], at
    for at in view.at(*_AS):
        if at + 1 < len(tokens) and tokens[at + 1].lower == "as":
            yield tokens[at], at + 1
    for at in view.at("referred"):
        if [t.lower for t in tokens[at + 1 : at + 3]] == ["to", "as"]:
            yield tokens[at], at + 2


def _cut_short(text: Text, term: tuple[int, int]) -> bool:
    """Whether a bracket stands before the name's noun ("medial (internal) rotation")."""
    after = text.tokens[term[1] + 1 : term[1] + 2]
    return text.tokens[term[1]].pos == "ADJ" and bool(after) and after[0].text == "("


def _is_active(text: Text, verb: Token) -> bool:
    """Whether the verb of naming is in the active voice ("critics have called it dull")."""
    helper = text.child(verb.i, "aux")
    return helper is not None and helper.lemma == "have" and not text.child(verb.i, "auxpass")


def _is_thin(text: Text, first: int, last: int) -> bool:
    """Whether a phrase says nothing but "a thing"."""
    words = [
        t
        for t in words_in(text, first, last)
        if t.pos in ("NOUN", "VERB", "ADJ", "PROPN", "ADV") and t.lemma not in _GENERAL
    ]
    return not words or (len(words) == 1 and first == last)


def _passive(view: View, verb: Token, term: tuple[int, int]) -> Iterator[Gloss]:
    """ "The tissues lining the tract are known as endothelia"; "This swelling is called edema"."""
    text = view.text
    here, mark = span(text, *term), text.span(verb.i, term[0] - 1)
    if verb.dep == "relcl" and verb.head < verb.i:
        yield from _beside_noun(view, verb, term)
        return
    subject = text.child(verb.i, "nsubjpass", "nsubj")
    if subject is None and verb.dep == "conj":
        subject = text.child(verb.head, "nsubjpass", "nsubj")
    if subject is None or subject.i > verb.i or _is_repute(text, term):
        return
    first, last = noun_phrase(text, subject.i)
    last = min(last, verb.i - 1)
    opening = text.tokens[first]
    pointer = opening.lower in _POINTERS
    if not pointer or (len(words_in(text, first, last)) >= 3):
        points = any(t.lower in ("this", "these") for t in text.tokens[first : last + 1])
        named = text.tokens[term[1]].lemma
        if not view.asked and not _begins(text, first):
            return
        again = any(t.lemma == named for t in text.tokens[first : last + 1])
        if again or (points and not pointer and not view.asked):
            return
        sure = view.asked or not (pointer or text.tokens[term[1]].pos == "ADJ")
        if sure and not _is_thin(text, first, last) and subject.pos not in ("PRON", "DET"):
            yield Gloss(here, span(text, first, last), "definition", "called", cue=mark)
        elif not pointer and view.asked and subject.pos == "NOUN":
            gloss = span(text, first, last)
            yield Gloss(here, gloss, "definition", "kind", cue=mark, loose=True)
        if not pointer:
            return
    if not _earlier(text, text.sentences[verb.sent].first, first):
        yield from _sentence_before(view, subject, here, mark)


def _is_repute(text: Text, term: tuple[int, int]) -> bool:
    """Whether what follows is what somebody is said to be: "known as a laconic man"."""
    before, noun = text.tokens[term[0] - 1], text.tokens[term[1]]
    person = noun.lemma in PERSONS or noun.lemma.endswith(AGENTS)
    qualified = any(t.pos == "ADJ" for t in text.tokens[term[0] : term[1]])
    return before.lower in ("a", "an") and person and qualified


def _sentence_before(view: View, subject: Token, here: Span, mark: Span) -> Iterator[Gloss]:
    """ "This is called ...": the sentence before describes it, unless that one points back too."""
    text = view.text
    sentence = text.sentences[subject.sent]
    if subject.sent == 0 or subject.i - sentence.first > 6:
        return
    before = text.sentences[subject.sent - 1]
    if not has_content(text, before.first, before.last - 1):
        return
    named = text.token_at(here.start)
    if not view.asked and ("(" in here.of(text.passage) or (named and named.pos == "ADJ")):
        return
    pointing = text.tokens[before.first].lower in _POINTERS
    such = text.tokens[sentence.first].lower == "such"
    gloss = span(text, before.first, before.last - 1)
    yield Gloss(here, gloss, "definition", "sentence-before", cue=mark, loose=pointing or such)


def _earlier(text: Text, first: int, last: int) -> bool:
    """Whether a noun stands before the pointer in its sentence, so that it may point there."""
    return any(t.pos in ("NOUN", "PROPN") for t in text.tokens[first:last])


def _we_call(view: View, verb: Token, term: tuple[int, int]) -> Iterator[Gloss]:
    """ "... this build-up is what doctors call pus"."""
    text = view.text
    what = next((t for t in text.tokens[max(0, verb.i - 6) : verb.i] if t.lower == "what"), None)
    here, mark = span(text, *term), text.span(verb.i, term[0] - 1)
    if what is None:
        return
    be = text.tokens[what.i - 1] if what.i and view.asked else None
    if be is None or be.lemma != "be":
        return
    subject = text.child(be.i, "nsubj")
    if subject is None:
        return
    first, last = noun_phrase(text, subject.i)
    if text.tokens[first].lower in _POINTERS:
        yield from _sentence_before(view, subject, here, mark)
    elif not _is_thin(text, first, last):
        yield Gloss(here, span(text, first, last), "definition", "called", cue=mark)


def _beside_noun(view: View, verb: Token, term: tuple[int, int]) -> Iterator[Gloss]:
    """ "acellular infectious agents called prions"."""
    text = view.text
    noun = text.tokens[verb.head]
    if noun.i >= verb.i or noun.pos not in ("NOUN", "PROPN") or noun.sent != verb.sent:
        return
    if is_name(text, noun):
        return
    first, last = core(text, noun.i)
    plural = text.tokens[term[1]].tag == "NNS"
    longer = whole_phrase(text, (first, noun.i))
    if longer[0] < first and plural != (noun.tag == "NNS"):
        first = longer[0]  # "rapid movements of the eye called saccades"
    last = verb.i - 1
    while last > noun.i and (
        text.tokens[last].is_punct or text.tokens[last].lower in (*_ALSO, *_LINKING)
    ):
        last -= 1
    if text.tokens[first].tag == "PRP$" or last - first > 25:
        return
    here, mark = span(text, *term), text.span(verb.i, term[0] - 1)
    gloss = span(text, first, last)
    if text.tokens[first].lower in _POINTERS and last - first <= 1:
        yield from _sentence_before(view, noun, here, mark)
        return
    between = {t.lower for t in text.tokens[noun.i + 1 : verb.i]}
    if not view.asked and (between & {"some", "one", "many", "most"} or "which" in between):
        return
    if not view.asked and noun.lemma in {t.lemma for t in text.tokens[term[0] : term[1] + 1]}:
        return
    bare = view.asked or _tells(text, first, noun.i, last)
    if bare and not _is_thin(text, first, last):
        yield Gloss(here, gloss, "definition", "called", cue=mark)
        return
    after = _after(text, term[1])
    if after is not None and (view.asked or _defines(text, after[0])):
        yield Gloss(here, span(text, *after), "definition", "kind-which", cue=mark)
    elif view.asked:
        yield Gloss(here, gloss, "definition", "kind", cue=mark, loose=True)


def _defines(text: Text, at: int) -> bool:
    """Whether a relative clause says what the thing is or where it happens, not what it does."""
    words = [t.lower for t in text.tokens[at : at + 2]]
    return words[0] not in ("which", "who") or words[-1] in ("is", "are", "means")


def _begins(text: Text, first: int) -> bool:
    """Whether nothing stands before a subject in its clause that it may belong to."""
    before = text.tokens[first - 1] if first else None
    if before is None or before.sent != text.tokens[first].sent or before.is_punct:
        return True
    return before.pos in ("CCONJ", "SCONJ", "ADV")


def _tells(text: Text, first: int, noun: int, last: int) -> bool:
    """Whether a description has two telling words, or more words behind a general noun."""
    telling = [t for t in words_in(text, first, last) if t.pos in ("NOUN", "ADJ", "VERB", "PROPN")]
    plain = [t for t in telling if t.lemma not in _GENERAL]
    return len(plain) > 1 and (last > noun or text.tokens[noun].lemma not in _GENERAL)


def _after(text: Text, last: int) -> tuple[int, int] | None:
    """The relative clause right behind the name ("a process called X, in which ...")."""
    tokens = text.tokens
    at = last + 1
    while at < len(tokens) and tokens[at].text in (",", *QUOTES):
        at += 1
    window = tokens[at : at + 2]
    if (
        not any(t.tag in ("WDT", "WRB", "WP$") for t in window)
        or tokens[at].sent != tokens[last].sent
    ):
        return None
    end = at
    sentence = text.sentences[tokens[at].sent]
    while end + 1 < sentence.last and tokens[end + 1].text not in (";", ".", "\u2014", "--", ":"):
        end += 1
    return at, end


def _second_name(
    view: View, verb: Token, cue_last: int, term: tuple[int, int] | None
) -> Iterator[Gloss]:
    """ "the transition reaction, also called the bridge reaction": one thing, two names."""
    text, tokens = view.text, view.text.tokens
    start = verb.i
    while start > 0 and (tokens[start - 1].lower in _ALSO or tokens[start - 1].pos == "ADV"):
        start -= 1
    if start == verb.i or start < 1 or tokens[start - 1].text not in (",", "("):
        return
    if term is None:
        return
    first = phrase_before(text, start - 1)
    if first is None or tokens[first[1]].pos not in ("NOUN", "PROPN", "X"):
        return
    if not view.asked and first != whole_phrase(text, first):
        return
    if not view.asked and any(is_name(text, t) for t in tokens[term[0] : term[1] + 1]):
        return
    mark = text.span(start, cue_last)
    if view.wants(*first):
        yield Gloss(span(text, *first), span(text, *term), "synonym", "second-name", cue=mark)
    if view.wants(*term):
        yield Gloss(span(text, *term), span(text, *first), "synonym", "second-name", cue=mark)

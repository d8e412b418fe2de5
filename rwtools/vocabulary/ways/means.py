"""A sentence that defines: *means*, *refers to*, *is defined as*, "a stoma is a pore that ..."."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.clue import Span
from rwtools.text import Text, Token
from rwtools.vocabulary.by_words import AGENTS, PERSONS
from rwtools.vocabulary.familiarity import is_name
from rwtools.vocabulary.model import Gloss
from rwtools.vocabulary.phrases import (
    NAMED,
    QUOTES,
    VAGUE,
    closing,
    core,
    has_content,
    is_clause,
    noun_phrase,
    span,
    term_of,
    words_in,
)
from rwtools.vocabulary.view import View

_WORD_FOR = frozenset({"term", "word", "phrase", "name", "expression", "concept", "verb", "noun"})
_PEOPLE = frozenset(
    "author writer speaker narrator poet critic scholar he she they we i you who someone "
    "critics scholars people".split()
)
# After *is*, these say how a thing is used or placed; between commas they can define.
_LOOSE = VAGUE | frozenset(
    "part way thing one source step kind type form member component element aspect feature tool "
    "resource area force key symbol means".split()
)
_PRAISE = frozenset(
    "important good great key common major critical essential powerful useful vital crucial "
    "valuable popular significant central necessary frequent familiar bad better best "
    "wonderful".split()
)
_STOPS = frozenset({";", "\u2014", "--", "\u2013"})


_NOT_DEFINING = frozenset("not no also often still now just only about usually same longer".split())


def find(view: View) -> Iterator[Gloss]:
    """A verb of meaning with the term as its subject, or *is* with a noun that is spelt out."""
    text = view.text
    for at in view.at("means", "mean", "meant", "denotes", "denote", "signifies", "signify"):
        yield from _means(view, text.tokens[at], at)
    for at in view.at("refers", "refer"):
        if at + 1 < len(text.tokens) and text.tokens[at + 1].lower == "to":
            yield from _means(view, text.tokens[at], at + 1)
    for at in view.at("defined", "understood"):
        yield from _defined_as(view, text.tokens[at])
    for at in view.at("meaning", "meant"):
        yield from _meaning(view, text.tokens[at])
    for at in view.at("is", "are"):
        yield from _is_a(view, text.tokens[at])


def _subject(text: Text, verb: Token) -> tuple[tuple[int, int], bool, Token] | None:
    """Term, whether it is named as a word ("the term X"), and the subject's head."""
    subject = text.child(verb.i, "nsubj", "nsubjpass", "csubj")
    if subject is None or subject.i > verb.i:
        return None
    first, _ = core(text, subject.i)
    if subject.lemma in _WORD_FOR:
        after = text.tokens[subject.i + 1 : verb.i]
        words = [t for t in after if not t.is_punct and t.pos != "DET"]
        if words:
            first, last = words[0].i, words[-1].i
            if text.tokens[first - 1].text in QUOTES:  # only what stands in quotation marks
                ends = [t.i for t in after if t.i > first and t.text in QUOTES]
                last = ends[0] - 1 if ends else last
            return (first, last), True, subject
        return None
    before = text.tokens[first : subject.i]
    word = next((t for t in before if t.lemma in _WORD_FOR), None)
    if word is not None:  # "the word darshana": the parser may make the term the head
        return term_of(text, word.i + 1, subject.i), True, subject
    quoted = first > 0 and text.tokens[first - 1].text in QUOTES
    return term_of(text, first, subject.i), quoted, subject


def _means(view: View, verb: Token, cue_last: int) -> Iterator[Gloss]:
    text = view.text
    if verb.pos != "VERB" or verb.tag not in ("VBZ", "VBP", "VB", "VBD"):
        return
    found = _subject(text, verb)
    if found is None:
        return
    term, named, subject = found
    if subject.lower in _PEOPLE or subject.pos in ("PRON", "DET") or not view.wants(*term):
        return
    opening = text.tokens[core(text, subject.i)[0]]
    if text.child(verb.i, "neg") is not None:
        return
    if verb.tag == "VB" and text.child(verb.i, "aux") is None:
        return
    if (
        not named
        and not view.asked
        and is_clause(text, cue_last + 1, closing(text, cue_last + 1, _STOPS) - 1)
        and verb.lemma == "mean"
    ):
        return
    if verb.lemma in ("signify", "denote") and not named and not view.asked:
        return
    if not named:
        plain = text.child(subject.i, "amod", "det", "poss", "nummod") is None
        if verb.lemma == "mean" and not plain and not view.asked:
            return  # "a high multiplier means a more volatile economy": a result, no meaning
        if opening.tag == "PRP$" or (opening.lower == "the" and not view.asked):
            return
        if subject.dep == "csubj":
            return
        if any(
            text.tokens[i].lower in ("may", "would", "could", "might", "will")
            for i in text.children[verb.i]
        ):
            return
        if text.child(subject.i, "prep", "relcl", "acl") is not None and not view.asked:
            return
    begin = cue_last + 1
    end = closing(text, begin, _STOPS)
    if end <= begin or not has_content(text, begin, end - 1):
        return
    if (
        verb.lemma == "mean"
        and text.tokens[begin].lower
        in (
            "that",
            "nothing",
            "little",
            "much",
            "more",
            "less",
            "to",
        )
        and text.tokens[begin].lower != "to"
        and not (named or view.asked)
    ):
        return
    if not named and verb.tag == "VBD":
        return
    yield Gloss(
        span(text, *term),
        span(text, begin, end - 1),
        "definition",
        "means",
        cue=text.span(verb.i, cue_last),
    )


def _defined_as(view: View, verb: Token) -> Iterator[Gloss]:
    """ "Torque is defined as ...", "We can define torque as ..." in the passive."""
    text, tokens = view.text, view.text.tokens
    at = next((t.i for t in tokens[verb.i + 1 : verb.i + 3] if t.lower == "as"), None)
    if at is None or tokens[at].sent != verb.sent:
        return
    if text.child(verb.i, "auxpass") is not None:
        found = _subject(text, verb)
        if found is None:
            return
        term = found[0]
    elif verb.dep == "acl" and tokens[verb.head].pos in ("NOUN", "PROPN"):
        term = term_of(text, *core(text, verb.head))
    else:
        return
    end = closing(text, at + 1, _STOPS)
    pointer = tokens[term[0] - 1].lower in ("this", "that", "these") if term[0] else False
    if tokens[at + 1].text in QUOTES or pointer:
        return  # the quotation marks hold the name, not the meaning
    if view.wants(*term) and end > at + 1 and has_content(text, at + 1, end - 1):
        yield Gloss(
            span(text, *term),
            span(text, at + 1, end - 1),
            "definition",
            "means",
            cue=text.span(verb.i, at),
        )


def _meaning(view: View, word: Token) -> Iterator[Gloss]:
    """ "hepatitis, meaning inflammation of the liver"; "a Sanskrit word meaning 'to view'"."""
    text, tokens = view.text, view.text.tokens
    if word.lower != "meaning" or word.i < 2 or word.tag not in ("VBG", "NN"):
        return
    before = tokens[word.i - 1]
    end = closing(text, word.i + 1, frozenset({";", ",", "\u2014", "--", "\u2013"}))
    if end <= word.i + 1 or not has_content(text, word.i + 1, end - 1):
        return
    if word.dep == "nsubj" or tokens[word.i + 1].lower in ("of", "that", "is", "for"):
        return
    gloss, cue = span(text, word.i + 1, end - 1), text.span(word.i, word.i)
    if before.text in (",", "("):
        last = word.i - 2
        if tokens[last].pos in ("NOUN", "PROPN", "X") or tokens[last].is_blank:
            term = term_of(text, *core(text, last))
            owned = text.child(last, "poss") is not None
            if view.wants(*term) and word.i - 2 == term[1] and not owned:
                yield Gloss(span(text, *term), gloss, "definition", "means", cue=cue)
    elif before.lemma in _WORD_FOR:
        be = next(
            (a for a in text.ancestors(before.i) if a.lemma in ("be", "derive", "come")), None
        )
        found = _subject(text, be) if be is not None else None
        if found is not None and found[2].pos not in ("PRON", "DET") and view.wants(*found[0]):
            yield Gloss(span(text, *found[0]), gloss, "definition", "means", cue=cue)


def _is_a(view: View, verb: Token) -> Iterator[Gloss]:
    """ "A stoma is a tiny pore that lets air into a leaf": the sentence says what it is."""
    text = view.text
    subject, noun = text.child(verb.i, "nsubj"), text.child(verb.i, "attr")
    if subject is None or noun is None or not subject.i < verb.i < noun.i:
        return
    if noun.pos != "NOUN" or subject.pos in ("PRON", "DET") or noun.lemma in _LOOSE:
        return
    if text.child(verb.i, "neg") is not None or text.child(verb.i, "expl") is not None:
        return
    if any(text.tokens[i].lower in _NOT_DEFINING for i in range(verb.i + 1, noun.i)) or is_name(
        text, subject
    ):
        return
    first, _ = core(text, subject.i)
    term = term_of(text, first, subject.i)
    opening = text.tokens[first]
    if not view.wants(*term) or opening.tag == "PRP$":
        return
    if any(
        text.tokens[i].dep in ("prep", "relcl", "acl", "conj", "poss", "cc")
        for i in text.children[subject.i]
    ):
        return
    gloss_first, gloss_last = noun_phrase(text, noun.i)
    article = text.tokens[gloss_first].lower
    if text.tokens[verb.i + 1].lower in ("less", "more"):
        return
    personal = noun.lemma in PERSONS or noun.lemma.endswith(AGENTS)
    if personal and opening.text[:1].isupper() and opening.pos != "DET" and not view.asked:
        return
    if noun.lemma in NAMED and subject.tag == "NNP" and not view.asked:
        return
    if any(t.lower in _PRAISE for t in text.tokens[gloss_first : noun.i]):
        return
    plural = verb.lower == "are" and noun.tag == "NNS"
    if article not in ("a", "an", "the", "any") and not plural:
        return
    if article == "the" and any(
        t.tag == "JJS" or t.lower in ("most", "first", "last")
        for t in text.tokens[gloss_first : noun.i]
    ):
        return
    told = text.child(noun.i, "relcl", "acl", "prep", "appos")
    if told is None or told.i < noun.i or len(words_in(text, gloss_first, gloss_last)) < 4:
        return
    loose = opening.lower not in ("a", "an") and opening.pos in ("DET",)
    yield Gloss(
        span(text, *term),
        _to_clause_end(text, gloss_first, gloss_last),
        "definition",
        "is-a",
        cue=text.span(verb.i, verb.i),
        loose=loose,
    )


def _to_clause_end(text: Text, first: int, last: int) -> Span:
    return span(text, first, last)

"""Examples show what a general word covers: "citrus fruits such as lemons and limes"."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.text import Text, Token
from rwtools.vocabulary.by_words import opens_sentence
from rwtools.vocabulary.familiarity import is_name, rarity
from rwtools.vocabulary.model import Gloss
from rwtools.vocabulary.phrases import (
    closing,
    core,
    has_content,
    is_clause,
    noun_phrase,
    phrase_before,
    span,
    term_of,
)
from rwtools.vocabulary.view import View

_STOPS = frozenset({";", ":", "\u2014", "--", "\u2013"})


def find(view: View) -> Iterator[Gloss]:
    """*such as*, *including*, *like*, *for example* after a noun; *and other* before it."""
    yield from _after(view)
    yield from _and_other(view)
    yield from _next_sentence(view)


def _after(view: View) -> Iterator[Gloss]:
    text, tokens = view.text, view.text.tokens
    for first, last in _cues(view):
        before = first - 1 if first and tokens[first - 1].text == "," else first
        term = phrase_before(text, before)
        if term is None or (
            tokens[term[1]].pos not in ("NOUN", "X") and not (tokens[term[1]].is_blank)
        ):
            continue
        if tokens[term[1]].tag not in ("NNS", "NN") and not tokens[term[1]].is_blank:
            continue
        lower = tokens[first].lower
        if lower == "like" and not view.asked and not opens_sentence(text, term[0]):
            continue
        if lower == "like" and (tokens[term[1]].tag != "NNS" or before == first):
            continue
        end = _list_end(text, last + 1)
        if end is None or not view.wants(*term):
            continue
        if tokens[last + 1].pos in ("AUX", "VERB", "ADP") and tokens[last + 1].tag != "VBG":
            continue
        if lower == "including" and tokens[term[1]].tag != "NNS" and before == first:
            continue
        if is_clause(text, last + 1, end) or _unhelpful(view, term, last + 1, end):
            continue
        yield Gloss(
            span(text, *term),
            span(text, last + 1, end),
            "example",
            "list",
            cue=text.span(first, last),
        )


def _unhelpful(view: View, term: tuple[int, int], first: int, last: int) -> bool:
    """Whether the examples are only names, or the general word is a counted group."""
    if view.asked:
        return False
    tokens = view.text.tokens
    words = tokens[term[0] : term[1] + 1]
    noun = words[-1]
    if not any(t.text == "," or t.dep == "cc" for t in tokens[first : last + 1]):
        return True  # one example alone seldom shows what the word covers
    if any(t.pos in ("NUM", "CCONJ") or t.text == "," for t in words):
        return True
    if noun.tag != "NNS":
        return True  # "the large intestine, including ...": parts, no examples
    if any(t.lower in ("one", "ones", "those", "this", "these") for t in tokens[first : last + 1]):
        return True
    if not view.wants(noun.i, noun.i):
        return True  # examples show what the noun covers, not each word before it
    if any(t.lemma == noun.lemma for t in tokens[first : last + 1]):
        return True
    items = [t for t in tokens[first : last + 1] if t.dep in ("pobj", "conj", "dobj", "appos")]
    items = items or list(tokens[first : last + 1])
    common = [t for t in items if t.pos in ("NOUN", "VERB") and not is_name(view.text, t)]
    plain = [t for t in common if rarity(view.text, t.i, t.i) > rarity(view.text, noun.i, noun.i)]
    return len(plain) * 2 < len(items) or not plain


def _cues(view: View) -> Iterator[tuple[int, int]]:
    tokens = view.text.tokens
    for at in view.at("such"):
        if at + 2 < len(tokens) and tokens[at + 1].lower == "as":
            yield at, at + 1
    for at in view.at("including", "like"):
        if tokens[at].pos in ("VERB", "ADP", "SCONJ") and at + 1 < len(tokens):
            yield at, at
    for at in view.at("for"):
        if [t.lower for t in tokens[at + 1 : at + 2]] in (["example"], ["instance"]):
            comma = at + 2 < len(tokens) and tokens[at + 2].text == ","
            if comma and at and tokens[at - 1].text in (",", "\u2014", "--"):
                yield at, at + 2
    for at in view.at("e.g."):
        yield at, at


def _list_end(text: Text, first: int) -> int | None:
    """Last token of the list of nouns that begins at ``first``."""
    tokens = text.tokens
    while first < len(tokens) and tokens[first].text == ",":
        first += 1
    if first >= len(tokens):
        return None
    limit = closing(text, first, _STOPS)
    head = next((t for t in tokens[first:limit] if t.pos in ("NOUN", "PROPN", "X")), None)
    if head is None or head.i - first > 6:
        return None
    head = _up(text, head, limit)
    while head.i + 1 < limit and tokens[head.i + 1].text == "-":  # "ride-sharing services"
        after = next((t for t in tokens[head.i + 2 : limit] if t.pos == "NOUN"), None)
        if after is None:
            return None
        head = _up(text, after, limit)
    last = noun_phrase(text, head.i)[1]
    return min(last, limit - 1) if last >= first else None


def _up(text: Text, noun: Token, limit: int) -> Token:
    """The noun that a modifying noun belongs to, if it stands further on."""
    while noun.dep in ("compound", "amod", "poss", "nmod") and noun.i < noun.head < limit:
        noun = text.tokens[noun.head]
    return noun


def _and_other(view: View) -> Iterator[Gloss]:
    """ "lemons, limes and other citrus fruits"."""
    text, tokens = view.text, view.text.tokens
    for at in view.at("other"):
        if at < 2 or tokens[at - 1].lower not in ("and", "or"):
            continue
        noun = tokens[tokens[at].head]
        if noun.i <= at or noun.pos != "NOUN" or noun.tag != "NNS":
            continue
        term = term_of(text, *core(text, noun.i))
        term = (max(term[0], at + 1), term[1])
        if not view.wants(*term):
            continue
        first_item = _first_item(text, noun)
        if first_item is None or first_item >= at - 1:
            continue
        if _unhelpful(view, term, first_item, at - 2):
            continue
        yield Gloss(
            span(text, *term),
            span(text, first_item, at - 2),
            "example",
            "and-other",
            cue=text.span(at - 1, at),
        )


def _first_item(text: Text, noun: Token) -> int | None:
    """Where the list that a noun closes begins."""
    head = noun
    while (
        head.dep == "conj"
        and head.head < head.i
        and text.tokens[head.head].pos in ("NOUN", "PROPN", "X")
    ):
        head = text.tokens[head.head]
    return None if head is noun else core(text, head.i)[0]


def _next_sentence(view: View) -> Iterator[Gloss]:
    """*For example* at the head of the next sentence: only where a word is asked about."""
    if not view.asked:
        return
    text, tokens = view.text, view.text.tokens
    for sentence in text.sentences[1:]:
        opening = [t.lower for t in tokens[sentence.first : sentence.first + 2]]
        if opening not in (["for", "example"], ["for", "instance"]):
            continue
        first, last = sentence.first + 2, sentence.last - 1
        before = text.sentences[sentence.index - 1]
        if last <= first or not has_content(text, first, last):
            continue
        for token in text.tokens[before.first : before.last]:
            if (token.pos in ("NOUN", "ADJ", "VERB", "ADV") or token.is_blank) and view.wants(
                token.i, token.i
            ):
                yield Gloss(
                    text.span(token.i, token.i),
                    span(text, first, last),
                    "example",
                    "sentence",
                    cue=text.span(sentence.first, sentence.first + 1),
                    loose=True,
                )

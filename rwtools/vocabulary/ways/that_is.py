"""The same again after *that is*, *namely*, *i.e.* or *in other words*."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.text import Text
from rwtools.vocabulary.by_words import rare_word
from rwtools.vocabulary.familiarity import CONTENT, is_name, rarity
from rwtools.vocabulary.model import Gloss
from rwtools.vocabulary.phrases import (
    SUBJECTS,
    best_phrase,
    closing,
    has_content,
    head_of,
    is_clause,
    noun_phrase,
    phrase_before,
    span,
)
from rwtools.vocabulary.view import View

_FENCES = frozenset({",", ";", ":", "(", "\u2014", "--", "\u2013"})
_STOPS = frozenset({";", ")", "\u2014", "--", "\u2013"})


def find(view: View) -> Iterator[Gloss]:
    """One of these cues after a comma, dash or bracket, or at the head of the next sentence."""
    text = view.text
    for first, last in _cues(view):
        sentence = text.sentences[text.tokens[first].sent]
        begin = last + 1
        while begin < sentence.last and text.tokens[begin].text in (",", ":"):
            begin += 1
        if begin >= sentence.last:
            continue
        if first == sentence.first:
            yield from _whole_sentence(view, first, last, begin)
            continue
        if text.tokens[first - 1].text not in _FENCES:
            continue
        end = _end(text, begin, text.tokens[first - 1].text)
        if text.tokens[first - 1].text in (",", ";"):
            end = _before_colon(text, begin, _aside_closes(text, begin, end))
        term = phrase_before(text, first - 1)
        if end <= begin or not has_content(text, begin, end - 1):
            continue
        head = head_of(text, begin, end - 1)
        if text.tokens[first - 1].text == "," and head is not None and head.pos == "NOUN":
            end = min(end, max(noun_phrase(text, head.i)[1], begin) + 1)
        verb = _infinitive(view, sentence.first, first - 1, begin)
        if verb is not None:
            yield Gloss(
                text.span(verb, verb),
                span(text, begin, end - 1),
                "restatement",
                "beside",
                cue=text.span(first, last),
            )
            continue
        if text.tokens[begin].lower in ("not", "as", "in", "by", "to") and not view.asked:
            continue
        gloss = span(text, begin, end - 1)
        cue = text.span(first, last)
        if term is not None:
            term = best_phrase(text, term, (begin, end - 1))
        clause = is_clause(text, begin, end - 1)
        if not view.asked and any(
            t.text[0].isdigit() or t.text[0].isupper() for t in text.tokens[begin : begin + 2]
        ):
            continue
        if term is not None and view.wants(*term) and not clause:
            yield Gloss(span(text, *term), gloss, "restatement", "beside", cue=cue)
            continue
        said = text.tokens[sentence.first : first - 1]
        words = [t for t in said if t.pos in CONTENT and view.wants(t.i, t.i)]
        if not view.asked and words:
            words = words[-1:]
        for token in words:
            near = first - 1 - token.i <= 4 and clause and rare_word(token)
            near = near and text.tokens[first].lower in ("that", "in")
            near = near and not any(t.dep == "neg" for t in said)
            here = text.span(token.i, token.i)
            yield Gloss(here, gloss, "restatement", "sentence", cue=cue, loose=not near)


def _infinitive(view: View, first: int, last: int, begin: int) -> int | None:
    """The rare verb that *to* and a verb say again ("to defray the cost, that is, to pay it")."""
    tokens = view.text.tokens
    if tokens[begin].lower != "to":
        return None
    verbs = [
        t.i
        for t in tokens[first + 1 : last]
        if t.tag == "VB" and tokens[t.i - 1].lower == "to" and view.wants(t.i, t.i)
    ]
    return verbs[-1] if verbs else None


def _end(text: Text, begin: int, opened_by: str) -> int:
    """Where the second wording ends: at the mark that pairs with the one before the cue."""
    if opened_by == "(":
        return closing(text, begin, frozenset({")"}))
    if opened_by in ("\u2014", "--", "\u2013"):
        return closing(text, begin, frozenset({opened_by, ";"}))
    return closing(text, begin, _STOPS)


def _before_colon(text: Text, begin: int, end: int) -> int:
    """The colon that ends a second wording which is no clause: what follows explains the whole
    sentence ("munificent, that is, generous: he gave ...")."""
    colon = next((i for i in range(begin + 1, end) if text.tokens[i].text == ":"), end)
    return end if is_clause(text, begin, colon - 1) else colon


def _names_nothing(text: Text, first: int, last: int) -> bool:
    return all(t.pos not in ("NOUN", "PROPN", "PRON") for t in text.tokens[first:last])


def _aside_closes(text: Text, begin: int, end: int) -> int:
    """The comma before ``end`` behind which the sentence goes on, if there is one.

    It goes on with its own verb ("Arduous, that is, hard, was the word"), or with a conjunction
    and a clause of its own ("laconic, that is, sparing with words, and they ..."). Where the second
    wording is a clause too, the next may still belong to it; the first alone is true either way.
    """
    tokens = text.tokens
    for at in range(begin + 1, end - 1):
        if tokens[at].text != ",":
            continue
        after = tokens[at + 1]
        subject = text.child(after.i, *SUBJECTS)
        own_verb = after.tag in ("VBZ", "VBD", "VBP", "MD")
        if own_verb and (subject is None or subject.i < begin):
            return at
        if after.pos == "NOUN" and at + 2 == end and _names_nothing(text, begin, at):
            return at  # a methodical, that is, carefully ordered, | search
        if after.tag == "CC" and is_clause(text, after.i + 1, end - 1):
            return at
    return end


def _cues(view: View) -> Iterator[tuple[int, int]]:
    tokens = view.text.tokens
    for at in view.at("that"):
        if at + 2 < len(tokens) and tokens[at + 1].lower == "is" and tokens[at + 1].tag != "NN":
            if tokens[at + 2].text in (",", ":"):
                yield at, at + 1
            elif tokens[at + 2].lower == "to" and [t.lower for t in tokens[at + 3 : at + 4]] == [
                "say"
            ]:
                yield at, at + 3
    for at in view.at("other"):
        if 0 < at < len(tokens) - 1 and (tokens[at - 1].lower, tokens[at + 1].lower) == (
            "in",
            "words",
        ):
            yield at - 1, at + 1
    for at in view.at("namely", "i.e.", "viz."):
        yield at, at
    for at in view.at("i.e"):
        yield at, at + 1 if at + 1 < len(tokens) and tokens[at + 1].text == "." else at


def _whole_sentence(view: View, first: int, last: int, begin: int) -> Iterator[Gloss]:
    """*In other words, ...*: the sentence says the one before it again, in plainer words."""
    text = view.text
    index = text.tokens[first].sent
    if index == 0 or text.tokens[begin - 1].i < last:
        return
    before = text.sentences[index - 1]
    words = [
        t
        for t in text.sentence_tokens(before)
        if t.pos in CONTENT and view.wants(t.i, t.i) and not is_name(text, t)
    ]
    if not words:
        return
    if not view.asked:
        words = [min(words, key=lambda t: (rarity(text, t.i, t.i), t.i))]
    gloss = span(text, begin, text.sentences[index].last - 1)
    cue = text.span(first, last)
    for token in words:
        if any(t.lemma == token.lemma for t in text.tokens[begin : text.sentences[index].last]):
            continue
        here = text.span(token.i, token.i)
        yield Gloss(here, gloss, "restatement", "sentence", cue=cue, loose=True)

"""The same again after *that is*, *namely*, *i.e.* or *in other words*."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.text import Text, Token
from rwtools.vocabulary.by_words import MEASURES, TENSED, after_be, rare_word
from rwtools.vocabulary.familiarity import CONTENT, is_name, rarity
from rwtools.vocabulary.model import Gloss
from rwtools.vocabulary.phrases import (
    NOMINAL,
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

_ARTICLES = frozenset({"a", "an", "the"})
_PLAINLY_TOLD_BELOW = 4.8  # a word this common is told too, where the text itself stops to tell it


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
        begin = _after_preposition(text, term, begin)
        verb = _infinitive(view, sentence.first, first - 1, begin)
        if verb is not None:
            end = _before_main(text, begin, end)
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
        if term is not None and not clause and _wants(view, term, first, begin):
            yield Gloss(span(text, *term), gloss, "restatement", "beside", cue=cue)
            continue
        yield from _statement(view, (first, last), (begin, end - 1), clause=clause)


def _statement(
    view: View, cue: tuple[int, int], gloss: tuple[int, int], *, clause: bool
) -> Iterator[Gloss]:
    """The second wording says the statement again: for the words that state it ("The judges were
    sceptical of the log; that is, they doubted it")."""
    text, fence = view.text, cue[0] - 1
    opening = text.tokens[cue[0]].lower
    said = text.tokens[text.sentences[text.tokens[fence].sent].first : fence]
    words = [t for t in said if t.pos in CONTENT and view.wants(t.i, t.i)]
    points = [t for t in words if _is_point(text, t, fence)]
    if not view.asked and words:
        words = points[-1:] or words[-1:]
    denied = any(t.dep == "neg" for t in said)
    for token in words:
        point = token in points
        near = clause and (rare_word(token) or (view.all_words and point))
        near = near and (point or fence - token.i <= 4)
        yield Gloss(
            text.span(token.i, token.i),
            span(text, *gloss),
            "restatement",
            "sentence",
            cue=text.span(*cue),
            loose=not near or denied or opening not in ("that", "in"),
        )


def _after_preposition(text: Text, term: tuple[int, int] | None, begin: int) -> int:
    """The first word after a preposition that stands before the term too: "to a simmer, that is,
    to | the point"."""
    tokens = text.tokens
    if term is None or tokens[begin].pos not in ("ADP", "PART"):
        return begin
    link = tokens[tokens[term[1]].head]
    again = link.lower == tokens[begin].lower and link.i < term[0]
    opened = tokens[begin + 1].pos in ("DET", "PRON", "ADJ", "NOUN", "NUM")
    return begin + 1 if again and opened else begin


def _wants(view: View, term: tuple[int, int], cue: int, begin: int) -> bool:
    """Whether a term is asked about, or an article after *that is* opens a phrase which plainly
    says what it is: then it may be a commoner word."""
    tokens = view.text.tokens
    if view.wants(*term):
        return True
    noun = tokens[term[1]]
    link = tokens[noun.head]
    if noun.dep == "pobj" and tokens[link.head].pos in NOMINAL:
        return False  # "a lender on the right side, that is, a bank": it may rename the first noun
    plain = tokens[cue].lower in ("that", "in") and tokens[begin].lower in _ARTICLES
    plain = plain and noun.pos == "NOUN" and term[0] == term[1]
    told = next((t for t in tokens[begin : begin + 6] if t.pos == "NOUN"), None)
    plain = plain and told is not None and told.lemma not in MEASURES | {"whole"}
    return plain and view.wants(*term, below=_PLAINLY_TOLD_BELOW)


def _is_point(text: Text, token: Token, fence: int) -> bool:
    """Whether a clause states this quality; only what it is about follows ("wary of it")."""
    tokens = text.tokens
    behind = tokens[token.i + 1 : fence]
    if any(t.is_punct for t in behind) or (behind and behind[0].pos != "ADP"):
        return False
    if any(t.tag in TENSED for t in behind):
        return False
    at = token.i - 1
    if tokens[at].lower in ("first", "last", "once", "times") and tokens[at - 1].lower == "at":
        at -= 2
    return after_be(text, at + 1)


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


def _before_main(text: Text, begin: int, end: int) -> int:
    """The comma before the main clause, where a phrase opens the sentence ("To placate them, that
    is, to calm them, | he paid")."""
    comma = next((i for i in range(begin + 1, end) if text.tokens[i].text == ","), end)
    return comma if comma < end and is_clause(text, comma + 1, end - 1) else end


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
        sure = rare_word(token) and _is_point(text, token, before.last - 1)
        sure = sure and text.tokens[begin].lower in ("he", "she", "it", "they", "nobody", "no")
        sure = sure and not any(t.dep == "neg" for t in text.sentence_tokens(before))
        here = text.span(token.i, token.i)
        yield Gloss(here, gloss, "restatement", "sentence", cue=cue, loose=not sure)

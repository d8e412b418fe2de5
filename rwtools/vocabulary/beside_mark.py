"""What a colon or a dash says about the words before it."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.text import Text, Token
from rwtools.vocabulary.by_words import TENSED, after_be, described, is_plural, rare_word
from rwtools.vocabulary.familiarity import CONTENT, is_name, rarity
from rwtools.vocabulary.model import Gloss
from rwtools.vocabulary.phrases import (
    NOMINAL,
    QUOTES,
    VAGUE,
    agree,
    best_phrase,
    fits_class,
    has_content,
    head_of,
    is_clause,
    is_list,
    is_quality,
    phrase_before,
    span,
    whole_phrase,
    words_in,
)
from rwtools.vocabulary.view import View

__all__ = ["after_mark", "spelt_out"]

_NOT_GLOSS = frozenset(
    "and but or so because which who whose where when while although though if as in on at for "
    "with by from to especially particularly even including such like not perhaps until since "
    "whether what how why then even".split()
)


def after_mark(view: View, at: int, end: int) -> Iterator[Gloss]:
    """Meanings in tokens ``at+1..end-1`` for words before the mark ``at``."""
    text = view.text
    first, last = at + 1, end - 1
    if last < first or not has_content(text, first, last):
        return
    mark = text.span(at, at)
    clause = is_clause(text, first, last)
    term = phrase_before(text, at)
    if term is not None and (view.asked or text.tokens[at].text != ":"):
        term = best_phrase(text, term, (first, last))
    if not clause and term is not None and view.wants(*term) and _renames(text, term, first, last):
        yield Gloss(span(text, *term), span(text, first, last), "definition", "term", cue=mark)
        return
    if view.asked and not clause and term is not None and view.wants(*term):
        listed = is_list(text, first, last) and text.tokens[term[1]].tag in ("NNS", "NN")
        if listed and text.tokens[term[1]].pos == "NOUN":
            yield Gloss(
                span(text, *term),
                span(text, first, last),
                "example",
                "listed",
                cue=mark,
                loose=True,
            )
            return
    if (
        view.asked
        and clause
        and _is_heading(text, at, term)
        and term is not None
        and view.wants(*term)
    ):
        yield Gloss(span(text, *term), span(text, first, last), "definition", "term", cue=mark)
        return
    if text.tokens[first].lower in _NOT_GLOSS and not view.asked:
        return
    if text.tokens[text.sentences[text.tokens[at].sent].last - 1].text == "?" and not view.asked:
        return
    if view.asked or clause:
        yield from spelt_out(view, at, first, last, clause=clause)


def _is_heading(text: Text, at: int, term: tuple[int, int] | None) -> bool:
    """Whether the term is all that stands before the mark ("Stoma: ...")."""
    if term is None:
        return False
    start = text.sentences[text.tokens[at].sent].first
    return (
        all(t.is_punct or t.pos in ("DET", "NUM") for t in text.tokens[start : term[0]])
        and text.tokens[term[1]].pos in NOMINAL
    )


def _renames(text: Text, term: tuple[int, int], first: int, last: int) -> bool:
    """Whether a phrase of the same class as the term follows, and is no list of parts."""
    tokens = text.tokens
    head, opening = head_of(text, first, last), tokens[first]
    if tokens[first - 1].text == ":" and opening.text[:1].isupper():
        return False  # a title or a heading
    if head is None or opening.lower in _NOT_GLOSS or is_list(text, first, last):
        return False
    named = tokens[term[1]]
    if named.dep == "conj" and head.tag == "NNS":
        return False  # "theft and robbery—the aims of ...": of both
    if named.is_blank:
        return len(words_in(text, first, last)) >= 2
    if head.pos == "NOUN" and fits_class(named, head):
        told = described(text, first, last + 1)
        clause = told is not None and told[1]
        if not agree(named, head, opening) and not clause:
            return False
        if head.lemma in VAGUE or _counted(text, term):
            return False
        if any(is_name(text, t) for t in tokens[first : head.i + 1]):
            return False
        if opening.pos in ("PRON", "NUM"):
            return False
        if opening.lower == "the" and tokens[first + 1].lower in ("one", "first", "following"):
            return False
        if any(t.text == ";" for t in tokens[last : last + 2]):
            return False
        plural = is_plural(head)
        if opening.lower not in ("a", "an", "the", "any") and not plural and not clause:
            return False
        return len(words_in(text, first, last)) >= 2
    plain = named.pos in ("ADJ", "VERB", "ADV") and named.dep != "conj" and fits_class(named, head)
    return plain and len(words_in(text, first, last)) <= 6


def _counted(text: Text, term: tuple[int, int]) -> bool:
    """Whether a number stands before the term ("two types of cues"): then its members follow."""
    start = whole_phrase(text, term)[0]
    return any(t.pos == "NUM" for t in text.tokens[max(0, start - 2) : term[1]])


def spelt_out(
    view: View, at: int, first: int, last: int, *, clause: bool = True
) -> Iterator[Gloss]:
    """The part after the mark spells out the statement before it: for the words that state it."""
    text, tokens = view.text, view.text.tokens
    sentence = text.sentences[tokens[at].sent]
    if (is_list(text, first, last) and not clause) or tokens[first].text in QUOTES:
        return
    if not is_clause(text, sentence.first, at - 1):
        return
    words = [t for t in tokens[sentence.first : at] if _states(text, t) and view.wants(t.i, t.i)]
    words = [t for t in words if not _denied(text, t.i, at)]
    if not view.asked and words:
        words = [min(words, key=lambda t: (rarity(text, t.i, t.i), -t.i))]
        words = [t for t in words if _is_spelt_out(text, t, at, first, clause=clause)]
    for token in words:
        yield Gloss(
            text.span(token.i, token.i),
            span(text, first, last),
            "restatement",
            "statement",
            cue=text.span(at, at),
            loose=not _is_spelt_out(text, token, at, first, clause=clause),
        )


def _denied(text: Text, at: int, mark: int) -> bool:
    """Whether *not* stands before a word and *but* behind it: the statement says the opposite."""
    before = [t.lower for t in text.tokens[max(at - 3, 0) : at]]
    denied = "not" in before and not {"only", "just", "merely", "simply"} & set(before)
    return denied and any(t.lower == "but" for t in text.tokens[at + 1 : min(at + 3, mark)])


_PRONOUNS = frozenset({"he", "she", "it", "they", "i"})


def _is_spelt_out(text: Text, token: Token, at: int, first: int, *, clause: bool) -> bool:
    """Whether the statement before the mark turns on this word, which stands close to the mark."""
    tokens = text.tokens
    words = [t for t in tokens[token.i + 1 : at] if not t.is_punct]
    sentence = text.sentences[token.sent]
    lower = [t.lower for t in tokens[sentence.first : at]]
    if "only" in lower and "not" in lower:
        return False  # "not only ...": the second statement adds, it does not explain
    if not clause or token.pos == "PROPN" or len(words) > 3:
        return False
    aside = len(words) == 2 and tokens[at - 1].lower == "course"
    if after_be(text, token.i) and (not words or aside or _is_predicate(text, token)):
        return True
    opening = tokens[first]
    said = opening.lower in _PRONOUNS
    if opening.lower in ("i", "we", "you"):
        return False
    one = token.tag != "NNS" and rare_word(token)
    if said and not words and one and tokens[at].text == ":":
        return True  # whatever its tag: "dismissed it as vapid: it had no life"
    if token.pos == "VERB" and token.dep in ("ROOT", "ccomp", "conj", "relcl", "advcl"):
        return said and len(words) <= 2 and token.tag in TENSED | {"VBN", "VB"}
    if token.pos == "NOUN" and tokens[at].text == ":" and not words:
        article = text.child(token.i, "det")
        return article is not None and article.lower in ("a", "an") and token.dep == "dobj"
    if token.pos == "ADJ" and len(words) == 1 and words[0].i == token.head:
        return said
    return _is_predicate(text, token) and (said or len(words) <= 2)


def _is_predicate(text: Text, token: Token) -> bool:
    """Whether a statement's point is this quality ("Her replies were laconic")."""
    return is_quality(text, token) and token.dep not in ("amod", "conj")


def _states(text: Text, token: Token) -> bool:
    """Whether a word carries the statement: no name, no bare helper."""
    if token.is_blank:
        return True
    return token.pos in CONTENT and not is_name(text, token) and token.lemma not in ("be", "have")

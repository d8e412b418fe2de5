"""A clause with *which* or *who* after a term: "a stoma, which is a tiny pore, ..."."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.text import Text, Token
from rwtools.vocabulary.by_words import rare_word
from rwtools.vocabulary.model import Gloss
from rwtools.vocabulary.phrases import VAGUE, closing, core, has_content, span, term_of
from rwtools.vocabulary.view import View

_STOPS = frozenset({";", "\u2014", "--", "\u2013", ":"})
_DEFINERS = frozenset({"be", "mean", "refer", "denote"})


def find(view: View) -> Iterator[Gloss]:
    """A relative clause after a comma, in the present tense, right behind the noun."""
    text, tokens = view.text, view.text.tokens
    for at in view.at("which", "who", "whose"):
        if at < 2 or tokens[at - 1].text != ",":
            continue
        noun = tokens[at - 2]
        if noun.pos not in ("NOUN", "X", "PROPN") and not noun.is_blank:
            continue
        verb = _verb(text, at)
        if verb is None:
            continue
        term = term_of(text, *core(text, noun.i))
        beside = rare_word(noun) and verb.i == at + 1 and verb.lower in ("is", "are", "means")
        if not view.wants(*term) or not (_hangs_on(text, verb, noun) or beside):
            continue
        yield from _quality(view, at, verb, term)
        if not view.asked and any(t.tag == "POS" for t in tokens[term[0] : term[1] + 1]):
            continue
        if not view.asked and verb.lemma == "be" and not _is_noun_phrase(text, verb):
            continue
        if not view.asked and not _plain(text, at, verb, term):
            continue
        end = _end(text, at, verb)
        if end <= at + 1 or not has_content(text, at + 1, end - 1):
            continue
        is_definition = verb.lemma in _DEFINERS and (verb.lemma != "be" or _has_noun(text, verb))
        if is_definition and (
            tokens[at].dep not in ("nsubj", "nsubjpass")
            or (noun.tag == "NNS" and verb.tag == "VBZ")
        ):
            continue
        begin = at
        if is_definition:
            begin = verb.i + 1 if verb.lemma == "be" and verb.i == at + 1 else at + 1
        yield Gloss(
            span(text, *term),
            span(text, begin, end - 1),
            "definition" if is_definition else "restatement",
            "is" if is_definition else "does",
            cue=text.span(at, at),
            loose=not is_definition,
        )


def _quality(view: View, at: int, verb: Token, term: tuple[int, int]) -> Iterator[Gloss]:
    """ "Unlike pristine artworks, which are kept from every touch": for the adjective."""
    text, tokens = view.text, view.text.tokens
    contrast = any(t.lower in ("unlike", "whereas") for t in tokens[max(0, term[0] - 3) : term[0]])
    for token in tokens[term[0] : term[1]]:
        if token.pos not in ("ADJ", "VERB") or not view.wants(token.i, token.i):
            continue
        end = _end(text, at, verb)
        if end > at + 1 and has_content(text, at + 1, end - 1):
            yield Gloss(
                text.span(token.i, token.i),
                span(text, at, end - 1),
                "restatement",
                "does",
                cue=text.span(at, at),
                loose=not (contrast and rare_word(token)),
            )


def _verb(text: Text, at: int) -> Token | None:
    """The present-tense verb of the clause that the relative word opens."""
    for token in text.ancestors(at):
        if token.pos in ("VERB", "AUX"):
            group = [token, *(text.tokens[i] for i in text.children[token.i])]
            present = any(t.tag in ("VBZ", "VBP") and at < t.i for t in group)
            return token if present and token.i > at else None
        if token.i < at:
            return None
    return None


def _has_noun(text: Text, verb: Token) -> bool:
    """Whether *is* goes on with a noun that says what the thing is."""
    noun = text.child(verb.i, "attr")
    return noun is not None and noun.pos == "NOUN" and noun.lemma not in VAGUE | {"part"}


def _is_noun_phrase(text: Text, verb: Token) -> bool:
    """Whether what *is* goes on with is a phrase that can define, not a bare noun or *kind of*."""
    if verb.i + 1 >= len(text.tokens):
        return False
    noun, opening = text.child(verb.i, "attr"), text.tokens[verb.i + 1]
    if opening.lower in ("kind", "sort", "why", "what", "how"):
        return False
    if opening.lower in ("a", "an", "the", "any"):
        return True
    return noun is not None and text.child(noun.i, "acl", "relcl", "prep") is not None


def _plain(text: Text, at: int, verb: Token, term: tuple[int, int]) -> bool:
    """Whether the clause defines: no *always* or *not*, no *means that*, no counted group."""
    after = text.tokens[at + 1 : verb.i + 3]
    opening = [t for t in text.tokens[verb.i + 1 : verb.i + 2] if verb.lemma == "be"]
    if verb.i != at + 1:
        return False
    if any(t.lower in ("another", "one", "also") or t.pos == "NUM" for t in opening):
        return False
    if text.tokens[term[1]].tag == "NN" and verb.tag == "VBP":
        return False
    if text.tokens[at + 1].pos == "ADV" or any(t.dep == "neg" for t in after):
        return False
    if verb.lemma == "mean" and [t.lower for t in text.tokens[verb.i + 1 : verb.i + 2]] == ["that"]:
        return False
    return not any(t.pos == "NUM" for t in text.tokens[term[0] : term[1] + 1])


def _hangs_on(text: Text, verb: Token, noun: Token) -> bool:
    """Whether the parser ties the clause to this noun, not to the whole statement."""
    if verb.dep not in ("relcl", "acl", "ccomp", "advcl"):
        return False
    head = text.tokens[verb.head]
    if head.i == noun.i:
        return True
    return (
        head.pos in ("NOUN", "PROPN", "X")
        and head.i < noun.i
        and head.i in [a.i for a in text.ancestors(noun.i)]
        and verb.dep == "relcl"
    )


def _end(text: Text, at: int, verb: Token) -> int:
    limit = closing(text, at, _STOPS)
    last = verb.i
    members = set(text.subtree(verb.i))
    while last + 1 < limit and last + 1 in members:
        last += 1
    return last + 1

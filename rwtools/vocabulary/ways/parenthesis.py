"""A meaning in brackets, "sessile (fixed in one place)", or a name in brackets after it."""

from __future__ import annotations

import re
from collections.abc import Iterator

from rwtools.text import Text, Token
from rwtools.vocabulary.familiarity import is_name, rarity, zipf
from rwtools.vocabulary.model import Gloss
from rwtools.vocabulary.phrases import (
    NOMINAL,
    QUOTES,
    best_phrase,
    core,
    fits_class,
    has_content,
    head_of,
    is_clause,
    is_list,
    phrase_before,
    span,
    term_of,
    whole_phrase,
    words_in,
)
from rwtools.vocabulary.view import View

_SAID = frozenset({"or", "meaning"})
_EXAMPLES = frozenset({"e.g.", "such", "like", "including"})
_NOT_GLOSS = frozenset(
    "see cf. cf compare figure fig. table chapter section appendix born died circa c. ca. and but "
    "if when where although though because from in at on by with for as to not note which who "
    "hereafter sometimes often usually most some even especially about up more less except "
    "excluding recall shown now formerly then later today left right top bottom pronounced "
    "optional plural singular called known termed named also literally".split()
)
_DIGIT = re.compile(r"\d")


def find(view: View) -> Iterator[Gloss]:
    """Brackets right after a word: what is in them says what it means, or names it."""
    text, tokens = view.text, view.text.tokens
    for at in view.at("("):
        if at < 1:
            continue
        end = next(
            (i for i in range(at + 1, min(at + 40, len(tokens))) if tokens[i].text == ")"), 0
        )
        if end <= at + 1 or (tokens[at - 1].is_punct and tokens[at - 1].text not in QUOTES):
            continue
        first, last = at + 1, end - 1
        mark = text.span(at, at)
        short = _short_form(text, at, first, last)
        if short is not None:
            term = (first, last)
            named = all(is_name(text, t) for t in tokens[short[0] : at] if t.pos in NOMINAL)
            if view.wants_short_form(first) and (view.asked or not named):
                gloss = text.span(*short)
                yield Gloss(text.span(*term), gloss, "restatement", "short-form", cue=mark)
            elif view.asked and view.wants(*short):
                here = span(text, *term_of(text, *short))
                yield Gloss(
                    here, text.span(*term), "restatement", "short-form-of", cue=mark, loose=True
                )
            continue
        yield from _gloss(view, at, first, last)
        yield from _name(view, at, first, last)


def _short_form(text: Text, at: int, first: int, last: int) -> tuple[int, int] | None:
    """The words whose initials the brackets give ("central nervous system (CNS)")."""
    letters = list(text.passage[text.tokens[first].start : text.tokens[last].end])
    if last != first or not 2 <= len(letters) <= 7 or sum(c.isupper() for c in letters) < 2:
        return None
    initials = [c.lower() for c in letters if c.isalpha()]
    if initials and letters[-1] == "s":
        initials.pop()
    start = at - 1
    wanted = list(initials)
    while wanted and start >= 0 and text.tokens[start].sent == text.tokens[at].sent:
        token = text.tokens[start]
        if token.lower[:1] == wanted[-1]:
            wanted.pop()
            if not wanted:
                return start, at - 1
        elif token.text != "-" and token.pos not in ("ADP", "DET", "CCONJ", "ADJ"):
            return None
        start -= 1
    return None


def _gloss(view: View, at: int, first: int, last: int) -> Iterator[Gloss]:
    text, tokens = view.text, view.text.tokens
    term = phrase_before(text, at)
    if term is None or not view.wants(*term):
        return
    opening = tokens[first]
    mark = text.span(at, at)
    here = span(text, *term)
    if opening.lower in _EXAMPLES or [t.lower for t in tokens[first : first + 2]] == [
        "for",
        "example",
    ]:
        begin = first + (2 if opening.lower in ("such", "for") else 1)
        while begin <= last and tokens[begin].text == ",":
            begin += 1
        known = not view.wants(term[1], term[1]) and not view.asked
        if (
            begin <= last
            and tokens[term[1]].pos == "NOUN"
            and not known
            and has_content(text, begin, last)
        ):
            yield Gloss(here, span(text, begin, last), "example", "examples", cue=mark)
        return
    term = best_phrase(text, term, (first, last))
    here = span(text, *term)
    if any(t.lower == "being" for t in tokens[first : first + 4]):
        return
    if opening.lower in _SAID:
        said = {t.lemma for t in tokens[first + 1 : last + 1]}
        if any(t.lemma in said for t in tokens[term[0] : term[1] + 1]):
            return  # "a participant (or participants)"
        first += 1
        if first > last:
            return
    elif not _looks_like_gloss(text, term, first, last):
        return
    if has_content(text, first, last):
        yield Gloss(here, span(text, first, last), "definition", "gloss", cue=mark)


def _looks_like_gloss(text: Text, term: tuple[int, int], first: int, last: int) -> bool:
    """Same class of word, plainer than the term, and no date, reference, list or remark."""
    tokens = text.tokens
    opening, head = tokens[first], head_of(text, first, last)
    words = words_in(text, first, last)
    lemmas = {t.lemma for t in words}
    known = {t.lower[:6] for t in tokens[term[0] : term[1] + 1] if len(t.lower) > 6}
    if any(t.lower[:6] in known for t in words) or "example" in lemmas:
        return False  # it explains the word by itself, or gives examples
    if opening.pos == "AUX" or (opening.tag == "JJ" and len(words) == 1 and _adjective(text, term)):
        return False
    if tokens[term[1]].lemma in lemmas or opening.tag == "PRP$":
        return False
    if head is None or opening.lower in _NOT_GLOSS or opening.text[:1].isupper():
        return False
    if any(_DIGIT.search(t.text) for t in words) or is_clause(text, first, last):
        return False
    if is_list(text, first, last) or any(t.pos == "PROPN" and t.text[0].isupper() for t in words):
        return False
    if sum(zipf(t.lower) == 0 for t in words) * 2 > len(words):
        return False  # in another language, or as rare as the term
    quoted = opening.text in QUOTES
    named = tokens[term[1]]
    if opening.lower == "the" and tokens[first + 1].lower in ("only", "first", "last", "other"):
        return False
    if opening.pos == "NUM" or not (quoted or fits_class(named, head)):
        return False
    if len(words) <= 2 and not named.is_blank:
        return rarity(text, first, last) > rarity(text, *term)
    return not any(t.text == "," for t in tokens[first : first + 2])


def _adjective(text: Text, term: tuple[int, int]) -> bool:
    """Whether the term is an adjective that stands before its noun ("anterior (...) surface")."""
    token = text.tokens[term[1]]
    return token.pos == "ADJ" and token.dep == "amod"


def _name(view: View, at: int, first: int, last: int) -> Iterator[Gloss]:
    """ "small swellings (nodules)": the brackets hold the rarer word."""
    text, tokens = view.text, view.text.tokens
    if [t.lower for t in tokens[first : first + 2]] in (["also", "known"], ["also", "called"]):
        return  # the way of naming finds these
    words = words_in(text, first, last)
    if any(t.text == "," for t in tokens[first : last + 1]) and not view.asked:
        return
    if not 1 <= len(words) <= 3 or not view.wants(first, last):
        return
    if any(_DIGIT.search(t.text) for t in words) or tokens[first].lower in _NOT_GLOSS:
        return
    head = tokens[last]
    noun = tokens[at - 1]
    if head.pos not in ("NOUN", "X", "PROPN") or noun.pos != "NOUN" or is_name(text, head):
        return
    if head.text[:1].isupper() or tokens[first].pos in ("ADV", "ADP", "VERB"):
        return
    outer = core(text, at - 1)
    if len(words_in(text, *outer)) < 2 or rarity(text, first, last) >= rarity(text, *outer):
        return
    if _number(noun) != _number(head) or tokens[outer[0]].pos == "NUM":
        return
    yield Gloss(
        span(text, *term_of(text, first, last)),
        span(text, min(outer[0], whole_phrase(text, outer)[0]), outer[1]),
        "definition",
        "name",
        cue=text.span(at, at),
    )


def _number(token: Token) -> bool:
    return token.tag in ("NNS", "NNPS") or token.lower.endswith(("s", "ae", "i"))

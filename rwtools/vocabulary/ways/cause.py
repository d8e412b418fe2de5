"""A cause or an effect that shows a meaning: "so arid that nothing grows"."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.text import Text
from rwtools.vocabulary.by_words import TENSED, after_be
from rwtools.vocabulary.familiarity import CONTENT, is_name
from rwtools.vocabulary.model import Gloss
from rwtools.vocabulary.phrases import closing, has_content, is_clause, span
from rwtools.vocabulary.view import View

_STOPS = frozenset({";", ":", "\u2014", "--", "\u2013"})
_BE = frozenset({"is", "are", "was", "were", "became", "seemed", "grew"})
_CLAUSE_OPENERS = frozenset(
    "i you he she it we they nobody no one everyone everybody nothing his her its their my our "
    "your the a an even not no hardly".split()
)
_CONTENT_NOUNS = frozenset(
    "idea fact claim belief notion view thought hope fear news theory possibility feeling "
    "suspicion conviction rumor rumour argument chance evidence assumption".split()
)
_OF_CONTENT = frozenset("proud glad happy sure certain afraid sorry aware confident".split())
_RESULT = frozenset({"therefore", "consequently", "thus", "hence", "accordingly"})


def find(view: View) -> Iterator[Gloss]:
    """*so ... that*, *too ... to*, *because*; *as a result* where a word is asked about."""
    yield from _so_that(view)
    yield from _too_to(view)
    yield from _for(view)
    yield from _because(view)
    yield from _result(view)


def _so_that(view: View) -> Iterator[Gloss]:
    """The effect after *that* shows how strong the quality is."""
    text, tokens = view.text, view.text.tokens
    for at in view.at("so", "such"):
        word = next(
            (
                t
                for t in tokens[at + 1 : at + 5]
                if (t.pos in ("ADJ", "ADV", "VERB", "NOUN") or t.is_blank)
                and t.sent == tokens[at].sent
                and view.wants(t.i, t.i)
            ),
            None,
        )
        if word is None or (tokens[at].lower == "so" and word.i != at + 1):
            continue
        turned = _is_turned(text, at, word.i)
        limit = min(text.sentences[word.sent].last, word.i + (14 if turned else 8))
        that = next((i for i in range(word.i + 1, limit) if tokens[i].lower == "that"), None)
        if that is None or (tokens[that].tag in ("WDT", "DT") and not _own_subject(text, that)):
            continue
        inside = tokens[word.i + 1 + turned : that]
        of_it = turned or not inside or inside[0].pos == "ADP" or tokens[at].lower == "such"
        if not view.asked and not of_it:
            continue
        if any(t.is_punct or t.pos in ("VERB", "AUX") for t in inside):
            continue
        if inside and (inside[-1].lemma in _CONTENT_NOUNS or word.lemma in _OF_CONTENT):
            continue  # "so fond of the idea that ...", "so proud of her that ...": no effect
        end = _effect_end(text, that + 1)
        told = end > that + 1 and (
            is_clause(text, that + 1, end - 1) or _own_subject(text, that, end)
        )
        if told:
            yield Gloss(
                text.span(word.i, word.i),
                span(text, that + 1, end - 1),
                "cause",
                "so-that",
                cue=text.span(at, at),
            )


def _is_turned(text: Text, at: int, word: int) -> bool:
    """Whether the verb stands before its subject: "So frugal was she that ..."."""
    tokens = text.tokens
    if word + 1 >= len(tokens) or tokens[at].lower != "so":
        return False
    opens = at == text.sentences[tokens[at].sent].first or tokens[at - 1].is_punct
    return opens and tokens[word + 1].lower in _BE


def _own_subject(text: Text, that: int, end: int | None = None) -> bool:
    """Whether *that* opens a clause with a subject of its own, by its words: it is no *which*."""
    tokens = text.tokens
    last = text.sentences[tokens[that].sent].last if end is None else end
    after = tokens[that + 1 : last]
    if not after or after[0].lower not in _CLAUSE_OPENERS:
        return False
    return any(t.tag in TENSED for t in after[1:8])


def _effect_end(text: Text, first: int) -> int:
    """The end of the effect: a comma with *and*, *but* or *yet* and a new subject closes it too."""
    tokens = text.tokens
    end = closing(text, first, _STOPS)
    for at in range(first + 2, end - 2):
        if tokens[at].text == "," and tokens[at + 1].lower in ("but", "yet"):
            return at
    return end


def _for(view: View) -> Iterator[Gloss]:
    """ "it was impartial, for it treated all alike": the reason says the quality again."""
    text, tokens = view.text, view.text.tokens
    for at in view.at("for"):
        if at < 3 or at + 2 >= len(tokens) or tokens[at - 1].text != ",":
            continue
        word = tokens[at - 2]
        if tokens[at + 1].lower not in ("it", "they", "he", "she") or not after_be(text, word.i):
            continue
        end = closing(text, at + 1, _STOPS)
        if view.wants(word.i, word.i) and is_clause(text, at + 1, end - 1):
            here = text.span(word.i, word.i)
            gloss = span(text, at + 1, end - 1)
            cue = text.span(at, at)
            yield Gloss(here, gloss, "restatement", "for", cue=cue)


def _too_to(view: View) -> Iterator[Gloss]:
    text, tokens = view.text, view.text.tokens
    for at in view.at("too"):
        if at + 2 >= len(tokens):
            continue
        word = tokens[at + 1]
        if word.pos not in ("ADJ", "ADV") and not word.is_blank:
            continue
        limit = min(text.sentences[word.sent].last, word.i + 4)
        to = next((i for i in range(word.i + 1, limit) if tokens[i].tag == "TO"), None)
        if to is None or not view.wants(word.i, word.i):
            continue
        end = closing(text, to + 1, _STOPS | {","})
        if end > to + 1 and has_content(text, to + 1, end - 1):
            yield Gloss(
                text.span(word.i, word.i),
                span(text, to, end - 1),
                "cause",
                "too-to",
                cue=text.span(at, at),
                loose=True,
            )


def _because(view: View) -> Iterator[Gloss]:
    """The reason after *because* for a quality or an act: only where asked."""
    if not view.asked:
        return
    text, tokens = view.text, view.text.tokens
    for at in view.at("because", "since"):
        if tokens[at].dep != "mark" or _next_is(view, at, "of"):
            continue
        verb = tokens[tokens[at].head]
        main = tokens[verb.head]
        if verb.dep != "advcl" or main.i == verb.i:
            continue
        sentence = text.sentences[tokens[at].sent]
        if at <= sentence.first + 1:  # "Because ..., ..."
            comma = next((i for i in range(at, main.i) if tokens[i].text == ","), None)
            if comma is None:
                continue
            reason = (at + 1, comma - 1)
            told = (comma + 1, closing(text, comma + 1, _STOPS) - 1)
        else:
            reason = (at + 1, closing(text, at + 1, _STOPS) - 1)
            start = at
            while start > sentence.first and tokens[start - 1].text not in _STOPS:
                start -= 1
            told = (start, at - 1)
        yield from _both(view, reason, told, (at, at), "because")


def _next_is(view: View, at: int, word: str) -> bool:
    return at + 1 < len(view.text.tokens) and view.text.tokens[at + 1].lower == word


def _result(view: View) -> Iterator[Gloss]:
    """*As a result*, *so*, *therefore* at the head of the next clause: only where asked."""
    if not view.asked:
        return
    text, tokens = view.text, view.text.tokens
    for sentence in text.sentences:
        opening = [t.lower for t in tokens[sentence.first : sentence.first + 3]]
        if sentence.index and (opening[0] in _RESULT or opening == ["as", "a", "result"]):
            last = sentence.first + (2 if opening[0] == "as" else 0)
            before = text.sentences[sentence.index - 1]
            yield from _both(
                view,
                (before.first, before.last - 1),
                (last + 1, sentence.last - 1),
                (sentence.first, last),
            )
        for at in range(sentence.first + 2, sentence.last - 1):
            joined = tokens[at - 1].text in (",", ";") or tokens[at - 1].lower == "and"
            so = tokens[at].lower == "so" and tokens[at + 1].pos not in ("ADJ", "ADV")
            if joined and (so or tokens[at].lower in _RESULT):
                end = closing(text, at + 1, _STOPS)
                if is_clause(text, at + 1, end - 1):
                    yield from _both(view, (sentence.first, at - 2), (at + 1, end - 1), (at, at))


def _both(
    view: View,
    cause: tuple[int, int],
    effect: tuple[int, int],
    cue: tuple[int, int],
    variant: str = "result",
) -> Iterator[Gloss]:
    text = view.text
    reason = "reason" if variant == "because" else variant
    for side, other, name in ((cause, effect, reason), (effect, cause, variant)):
        if other[1] < other[0] or not has_content(text, *other):
            continue
        for token in text.tokens[side[0] : side[1] + 1]:
            content = token.pos in CONTENT or token.is_blank
            if content and view.wants(token.i, token.i) and not is_name(text, token):
                yield Gloss(
                    text.span(token.i, token.i),
                    span(text, *other),
                    "cause",
                    name,
                    cue=text.span(*cue),
                    loose=True,
                )

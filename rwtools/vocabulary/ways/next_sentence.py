"""The next sentence takes the word up again: "... stomata. These tiny pores ..."."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.clue import Span
from rwtools.text import Sentence, Text, Token
from rwtools.vocabulary.by_words import TENSED, after_be, announces, turn
from rwtools.vocabulary.familiarity import is_name, zipf
from rwtools.vocabulary.model import Gloss
from rwtools.vocabulary.phrases import (
    core,
    has_content,
    is_quality,
    noun_phrase,
    span,
    term_of,
    words_in,
)
from rwtools.vocabulary.view import View

_POINTERS = {"this": False, "that": False, "these": True, "those": True, "such": None}
# Nouns that point back at a whole statement, not at a thing named in it.
_SHELLS = frozenset(
    "idea fact reason way result process change case point problem view approach example question "
    "kind type sort time period year event situation development practice process effort decision "
    "issue argument claim belief theory trend system difference relationship experience action "
    "information number figure factor step question section chapter data finding study policy "
    "attitude behavior statement answer".split()
)


_NOT_NOW = frozenset("now also still no not only often".split())
_TURNS = frozenset("however but yet instead still nevertheless conversely otherwise".split())
_POINTING = frozenset(
    "he she it they his her its their him them this that these those such one none both "
    "others rest neither either each".split()
)
_MARKS = frozenset({",", ":", ";", "\u2014", "--", "\u2013"})
_AGAIN = frozenset("and for so because since as which who where when with but until".split())
_GOES_ON = TENSED | {"VBG", "VBN", "PRP"}
_CAUSES = frozenset("because since when until unless".split())
_NOT_DESCRIBING = frozenset("same very last first other new one two three latter former".split())


def find(view: View) -> Iterator[Gloss]:
    """A pointing word with a description, or *it is* / *they are*, at the head of a sentence."""
    text = view.text
    if view.asked:
        yield from _neighbours(view)
    for sentence in text.sentences[1:]:
        opening = text.tokens[sentence.first]
        before = text.sentences[sentence.index - 1]
        if view.asked:
            yield from _points_back(view, sentence, before, opening)
        if opening.lower in _POINTERS:
            yield from _described(view, sentence, before, opening)
        elif opening.lower in ("it", "they"):
            yield from _pronoun(view, sentence, before, opening)


def _described(view: View, sentence: Sentence, before: Sentence, opening: Token) -> Iterator[Gloss]:
    """ "These tiny pores ...": adjective and noun after a pointing word."""
    text = view.text
    noun = text.tokens[opening.head]
    plural_verb = noun.tag == "VBZ" and opening.lower in ("these", "those")  # a misread noun
    if (
        noun.i <= opening.i
        or not (noun.pos == "NOUN" or noun.text.islower() or plural_verb)
        or opening.dep not in ("det", "amod", "predet")
    ):
        return
    first, last = core(text, noun.i)
    first = min(first, opening.i)
    first = min(first, opening.i)
    described = words_in(text, first + 1, last)
    if noun.lemma in _SHELLS or len(described) < 2 or described[0].lower in _NOT_DESCRIBING:
        return
    earlier = text.tokens[before.first : before.last]
    if any(t.lemma == noun.lemma for t in earlier):
        return
    wanted = _POINTERS[opening.lower]
    plural = noun.tag == "NNS" if wanted is None else wanted
    for term, sure in _antecedents(view, before, plural, pronoun=False):
        yield Gloss(
            span(text, *term),
            span(text, first + 1, last),
            "restatement",
            "pointer",
            cue=text.span(opening.i, opening.i),
            loose=not sure,
        )


def _points_back(
    view: View, sentence: Sentence, before: Sentence, opening: Token
) -> Iterator[Gloss]:
    """ "Such obstinacy ...", asked from the noun's side: the sentence before shows what it is."""
    text = view.text
    if opening.lower not in _POINTERS:
        return
    end = sentence.first + 1
    while end < sentence.last and (
        text.tokens[end].pos in ("ADJ", "NOUN", "PROPN", "X") or text.tokens[end].is_blank
    ):
        end += 1
    for token in text.tokens[sentence.first + 1 : end]:
        if view.wants(token.i, token.i):
            yield Gloss(
                text.span(token.i, token.i),
                span(text, before.first, before.last - 1),
                "restatement",
                "points-back",
                cue=text.span(opening.i, opening.i),
                loose=True,
            )


def _neighbours(view: View) -> Iterator[Gloss]:
    """What stands beside the place asked about may say the same again: only where asked.

    The rest of its sentence, the next sentence, and, at the passage's end, the one before.
    """
    text = view.text
    for target in view.targets or ():
        token = next((t for t in text.tokens_in(target.start, target.end) if not t.is_punct), None)
        if token is None:
            continue
        here = text.span(token.i, token.i)
        sentence = text.sentences[token.sent]
        for first, last, variant, cue in _around(text, sentence, token):
            if last - first >= 2 and has_content(text, first, last):
                gloss = span(text, first, last)
                if not here.overlaps(gloss):
                    yield Gloss(here, gloss, "restatement", variant, cue=cue, loose=True)


def _around(
    text: Text, sentence: Sentence, token: Token
) -> Iterator[tuple[int, int, str, Span | None]]:
    """First and last token of each neighbour, how it is tied, and the word that ties it."""
    rest = _rest(text, sentence, token)
    if rest is not None:
        yield rest, sentence.last - 1, "rest", text.span(rest, rest)
    alone = sentence.index + 1 == len(text.sentences)
    if alone and sentence.index:
        before = text.sentences[sentence.index - 1]
        yield before.first, before.last - 1, "lead-up", None
    if alone:
        return
    after = text.sentences[sentence.index + 1]
    turns = turn(text, after.first, after.last) or text.tokens[after.first].lower in _TURNS
    if turns or announces(text, after.first):
        return  # a turn helps as a contrast only; another way finds what is announced
    tie = _tie(text, sentence, after)
    quality = after_be(text, token.i) or is_quality(text, token)
    if tie is None:
        yield after.first, after.last - 1, "next", None
    else:
        yield after.first, after.last - 1, "goes-on" if quality else "same-thing", tie
    if after.index + 1 < len(text.sentences) and tie is not None:
        third = text.sentences[after.index + 1]
        again = _tie(text, after, third)
        if again is not None and text.tokens[third.first].lower not in _TURNS:
            yield third.first, third.last - 1, "further", again


def _rest(text: Text, sentence: Sentence, token: Token) -> int | None:
    """Where a part of the sentence begins that goes on from the word: after a mark or *and*."""
    tokens = text.tokens
    for at in range(token.i + 1, min(token.i + 12, sentence.last - 3)):
        if tokens[at].text in _MARKS:
            first = at + 1
            if announces(text, first):
                return None
            if tokens[first].lower == "and" and not _goes_on(text, first, sentence.last):
                continue
            if tokens[first].lower in _AGAIN or tokens[first].tag in _GOES_ON:
                return first
            if tokens[at].text != ",":
                return first
        elif tokens[at].lower in _CAUSES:
            return at
        elif tokens[at].lower == "and" and tokens[at + 1].tag in TENSED:
            return at + 1
    return None


def _goes_on(text: Text, at: int, limit: int) -> bool:
    """Whether *and* opens a statement, not the last item of a list."""
    end = next((i for i in range(at + 1, limit) if text.tokens[i].text in _MARKS), limit)
    return end - at > 3 and any(t.tag in TENSED for t in text.tokens[at + 1 : end])


def _tie(text: Text, before: Sentence, after: Sentence) -> Span | None:
    """A pronoun or a word taken up again near the head of the second sentence."""
    tokens = text.tokens
    lemmas = {
        t.lemma
        for t in text.sentence_tokens(before)
        if t.pos in ("NOUN", "PROPN", "ADJ", "VERB") and t.lemma not in ("be", "have", "do")
    }
    for token in tokens[after.first : min(after.last, after.first + 8)]:
        if token.lower in _POINTING or (token.lemma in lemmas and token.pos != "VERB"):
            return text.span(token.i, token.i)
    return None


def _pronoun(view: View, sentence: Sentence, before: Sentence, opening: Token) -> Iterator[Gloss]:
    """ "It is a tiny pore ...": the pronoun stands for the subject of the sentence before."""
    text = view.text
    verb = text.tokens[opening.head]
    if text.tokens[verb.i + 1 : verb.i + 2] and text.tokens[verb.i + 1].lower in _NOT_NOW:
        return
    if opening.dep != "nsubj" or verb.lemma != "be" or verb.tag not in ("VBZ", "VBP"):
        return
    noun = text.child(verb.i, "attr")
    if noun is None or noun.pos != "NOUN" or text.child(verb.i, "neg") is not None:
        return
    first, last = noun_phrase(text, noun.i)
    if len(words_in(text, first, last)) < 2 or (
        text.child(noun.i, "ccomp", "relcl") is None
        and (text.tokens[first].lower not in ("a", "an", "the") and noun.tag != "NNS")
    ):
        return
    for term, sure in _antecedents(view, before, opening.lower == "they", pronoun=True):
        yield Gloss(
            span(text, *term),
            span(text, first, last),
            "definition",
            "pronoun",
            cue=text.span(opening.i, verb.i),
            loose=not sure,
        )


def _antecedents(
    view: View, before: Sentence, plural: bool, *, pronoun: bool
) -> Iterator[tuple[tuple[int, int], bool]]:
    """Nouns of the sentence before that agree in number: (term, whether it is the only one)."""
    text = view.text
    nouns = [
        t
        for t in text.tokens[before.first : before.last]
        if ((t.pos in ("NOUN", "X", "PROPN") and t.dep != "compound") or t.is_blank)
        and (t.is_blank or _agrees(t, plural))
        and not is_name(text, t)
    ]
    fitting = [(term_of(text, *core(text, t.i)), t) for t in nouns]
    unfamiliar = [f for f in fitting if view.wants(*f[0])]
    if not unfamiliar:
        return
    last = fitting[-1][1]
    for term, token in unfamiliar:
        coordinated = token.dep == "conj" or text.child(token.i, "conj") is not None
        place = token.dep in ("nsubj", "nsubjpass", "dobj")
        alone = token is last and len(fitting) == 1 and not coordinated
        yield term, alone and pronoun and place


def _agrees(token: Token, plural: bool) -> bool:
    """Whether a noun is plural, or singular; rare words in Latin endings pass as both."""
    if (token.tag in ("NNS", "NNPS")) == plural:
        return True
    return token.lower.endswith(("a", "ae", "i")) and zipf(token.lower) == 0.0

"""The next sentence takes the word up again: "... stomata. These tiny pores ..."."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.text import Sentence, Token
from rwtools.vocabulary.familiarity import is_name, zipf
from rwtools.vocabulary.model import Gloss
from rwtools.vocabulary.phrases import core, is_quality, noun_phrase, span, term_of, words_in
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
_NOT_DESCRIBING = frozenset("same very last first other new one two three latter former".split())


def find(view: View) -> Iterator[Gloss]:
    """A pointing word with a description, or *it is* / *they are*, at the head of a sentence."""
    text = view.text
    for sentence in text.sentences[1:]:
        opening = text.tokens[sentence.first]
        before = text.sentences[sentence.index - 1]
        if view.asked:
            yield from _points_back(view, sentence, before, opening)
            yield from _goes_on(view, sentence, before)
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


def _goes_on(view: View, sentence: Sentence, before: Sentence) -> Iterator[Gloss]:
    """Two sentences about one subject: the second may spell out the quality in the first."""
    text = view.text
    subject = next(
        (t for t in text.sentence_tokens(sentence) if t.dep in ("nsubj", "nsubjpass")), None
    )
    if subject is None or subject.i - sentence.first > 4:
        return
    if text.tokens[sentence.first].lower in _TURNS:
        return
    lemmas = {t.lemma for t in text.sentence_tokens(before) if t.dep in ("nsubj", "nsubjpass")}
    if subject.lower not in ("he", "she", "they", "it") and subject.lemma not in lemmas:
        return
    for token in text.sentence_tokens(before):
        quality = is_quality(text, token) and token.dep != "amod"
        if quality and view.wants(token.i, token.i):
            yield Gloss(
                text.span(token.i, token.i),
                span(text, sentence.first, sentence.last - 1),
                "restatement",
                "goes-on",
                cue=text.span(subject.i, subject.i),
                loose=True,
            )


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

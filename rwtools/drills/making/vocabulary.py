"""Vocabulary drafts: a word whose meaning the passage gives, left out or asked about."""

from __future__ import annotations

import random
from collections.abc import Iterator
from typing import cast

from rwtools import vocabulary
from rwtools.clue import Clue, Evidence, Span
from rwtools.drills.making.draft import Draft, Option
from rwtools.drills.making.lexical import Pos, alike, stem, zipf
from rwtools.text import Text, Token
from rwtools.text.forms import lemmas

__all__ = ["POOL", "drafts"]

POOL = 48
"""How many wrong words a blank's draft offers, for a judge to choose from."""

_ASKED = ("definition", "restatement", "synonym")
_BLANKED = (*_ASKED, "contrast", "cause")
_TAGS = frozenset({"NN", "NNS", "JJ", "VB", "VBZ", "VBP", "VBD", "VBN", "VBG"})
# Heads of set phrases such as *as a result*: no meaning to choose from.
_EMPTY = frozenset(
    "result hand time contrary meantime end fact example instance way addition case number "
    "kind sort lot word other".split()
)
_RAREST, _COMMONEST, _EASY = 1.8, 4.7, 4.2
_LONGEST_GLOSS = 16
# A gloss that ends in one of these tags was cut too early.
_OPEN_ENDS = frozenset({"CC", "IN", "DT", "TO", "PRP$", "WDT"})
_POINTING = frozenset(
    "primary main chief only first second third last next former latter same other following "
    "resulting above preceding usual common".split()
)


def drafts(text: Text, rng: random.Random) -> Iterator[Draft]:
    """All vocabulary drafts of a passage: blanks first, then words asked about."""
    clues = [c for c in vocabulary.find(text, all_words=True) if c.label in _BLANKED]
    seen: set[int] = set()
    for clue in clues:
        draft = _blank(text, clue, rng)
        if draft is not None and draft.place.start not in seen:
            seen.add(draft.place.start)
            yield draft
    for clue in clues:
        if clue.label in _ASKED:
            draft = _asked(text, clue, rng)
            if draft is not None:
                yield draft


def _gloss(clue: Clue) -> Evidence | None:
    return next((e for e in clue.evidence if e.role == "gloss"), None)


def _term(text: Text, clue: Clue) -> Token | None:
    """The one word that is asked about, if it is a word that a list of English words has."""
    tokens = [t for t in text.tokens_in(clue.start, clue.end) if not t.is_punct]
    if len(tokens) != 1:
        return None
    token = tokens[0]
    plain = token.text.isalpha() and token.text.isascii() and token.tag in _TAGS
    if token.pos not in ("NOUN", "ADJ", "VERB"):
        return None
    plain = plain and token.lemma in lemmas(cast("Pos", token.pos))
    return token if plain and _RAREST <= zipf(token.lemma) <= _COMMONEST else None


def _short_gloss(text: Text, clue: Clue) -> Evidence | None:
    """The gloss without the clause that a comma adds to it (``, which limits ...``)."""
    gloss = _gloss(clue)
    if gloss is None:
        return None
    for mark in (", which ", ", who ", ", where ", ", whose "):
        at = gloss.quote.find(mark)
        if at > 0:
            gloss = Evidence.at(text.passage, gloss.start, gloss.start + at, gloss.role)
    return gloss


def _picks_out(inside: tuple[Token, ...]) -> bool:
    """Whether words only point at one thing among others: *the primary method* defines nothing."""
    return inside[0].lower == "the" and any(
        t.lower in _POINTING or t.tag in ("JJS", "RBS") for t in inside[1:3]
    )


def _clause_between(text: Text, clue: Clue, gloss: Evidence) -> bool:
    """Whether what stands between commas is a sentence part with its own subject and verb."""
    return clue.rule == "meaning-apposition" and any(
        clause.finite
        and clause.kind == "independent"
        and gloss.start <= clause.verb.start < gloss.end
        for clause in text.clauses
    )


def _telling(text: Text, gloss: Evidence) -> bool:
    """Whether a gloss says enough: two content words, or one that learners know."""
    inside = text.tokens_in(gloss.start, gloss.end)
    if inside and (inside[-1].tag in _OPEN_ENDS or _picks_out(inside)):
        return False
    content = [t for t in inside if t.pos in ("NOUN", "ADJ", "VERB", "ADV") and len(t.text) > 2]
    if not inside or inside[0].lower in ("this", "these", "that", "those", "it", "they"):
        return False
    return len(content) > 1 or (len(inside) == 1 and zipf(inside[0].lemma) >= 3.5)


def _mere_list(clue: Clue, gloss: Evidence) -> bool:
    """Whether words between commas may be one more member of a list."""
    return clue.rule == "meaning-apposition" and any(
        f", {word} " in gloss.quote for word in ("and", "or")
    )


def _hardness(lemma: str) -> int:
    """Rarer words are harder: 1 from Zipf 4.3, 2 from 3.6, 3 from 2.8, else 4."""
    value = zipf(lemma)
    return 1 if value >= 4.3 else 2 if value >= 3.6 else 3 if value >= 2.8 else 4


def _blank(text: Text, clue: Clue, rng: random.Random) -> Draft | None:
    token, gloss = _term(text, clue), _gloss(clue)
    if token is None or gloss is None or token.pos not in ("NOUN", "ADJ", "VERB"):
        return None
    if sum(stem(t.lower) == stem(token.lower) for t in text.tokens) > 1:
        return None  # the passage says the word or its kin again, so the blank would be copied
    if not _telling(text, gloss) or _mere_list(clue, gloss) or _clause_between(text, clue, gloss):
        return None
    if gloss.quote.count("“") != gloss.quote.count("”") or gloss.quote.count('"') % 2:
        return None
    if clue.rule in ("meaning-means", "meaning-called") and token.pos != "NOUN":
        return None  # "has been called austere" praises or blames; it explains nothing
    avoid = frozenset(t.lemma for t in text.tokens if t.text.isalpha())
    wrong = alike(token.text, token.lemma, cast("Pos", token.pos), token.tag, avoid, rng, POOL)
    article = text.tokens[token.i - 1].lower if token.i else ""
    if article in ("a", "an"):
        vowel = token.lower[0] in "aeiou"
        wrong = [w for w in wrong if (w[0].lower() in "aeiou") == vowel]
    why = f'The text does not speak of this: "{gloss.quote}" explains the missing word.'
    if len(wrong) < 3:
        return None
    return Draft(
        skill="vocabulary",
        point=clue.label,
        place=Span(token.start, token.end),
        key=token.text,
        options=tuple(Option(w, "meaning", why, w) for w in wrong),
        question="Which word fits the blank?",
        rationale=clue.explanation,
        evidence=((Span(gloss.start, gloss.end), "gloss"),),
        hardness=_hardness(token.lemma),
    )


def _asked(text: Text, clue: Clue, rng: random.Random) -> Draft | None:
    gloss = _short_gloss(text, clue)
    term = [t for t in text.tokens_in(clue.start, clue.end) if not t.is_punct]
    if gloss is None or not _may_be_asked(text, term) or not _telling(text, gloss):
        return None
    inside = text.tokens_in(gloss.start, gloss.end)
    size = len(gloss.quote.split())
    if any(c in gloss.quote for c in '\n()[]"“”;') or not 1 <= size <= _LONGEST_GLOSS:
        return None
    if clue.rule == "meaning-colon" and size < 4:
        return None  # "one more class of molecules: nucleic acids" names one, and explains nothing
    if _mere_list(clue, gloss) or not inside or _clause_between(text, clue, gloss):
        return None
    head = _head(text, inside)
    if size == 1 and len(term) == 1:
        wrong = _single(text, inside[0], term[0], rng)
    elif size > 1 and head.pos == "NOUN" and term[-1].pos in ("NOUN", "PROPN"):
        wrong = _phrases(text, clue, gloss, head, rng)
    else:
        return None
    key = gloss.quote if inside[0].pos == "PROPN" else gloss.quote[0].lower() + gloss.quote[1:]
    options = tuple(
        Option(w, "meaning", "The text says this of something else.", w) for w in wrong if w != key
    )
    if len(options) < 3:
        return None
    asked = text.quote(clue.start, clue.end)
    return Draft(
        skill="vocabulary",
        point=clue.label,
        place=Span(clue.start, clue.end),
        key=key,
        options=options,
        question=f'What does "{asked}" mean in this text?',
        rationale=clue.explanation,
        evidence=((Span(gloss.start, gloss.end), "gloss"),),
        hardness=max(1, _hardness(min((t.lemma for t in term), key=zipf)) - 1),
        target=True,
    )


def _may_be_asked(text: Text, term: list[Token]) -> bool:
    """Whether a learner may be asked about a term: one to three words, no name, not too easy."""
    if not 1 <= len(term) <= 3 or min(zipf(t.lemma) for t in term) > _EASY:
        return False
    if not all(t.text.replace("-", "").isalpha() and t.text.isascii() for t in term):
        return False
    opening = text.sentences[term[0].sent].first
    if (
        term[0].pos == "PROPN"
        and term[0].text[0].isupper()
        and not any(t.text == term[0].lower for t in text.tokens)
    ):
        return False  # a name, for all that the passage shows
    return not any(t.text[1:] != t.text[1:].lower() for t in term) and not any(
        t.text[0].isupper() and t.i != opening for t in term
    )


def _head(text: Text, inside: tuple[Token, ...]) -> Token:
    """The word of a phrase that hangs on a word outside it."""
    first, last = inside[0].i, inside[-1].i
    for token in inside:
        if token.head == token.i or not first <= token.head <= last:
            return token
    return inside[0]


def _single(text: Text, gloss: Token, term: Token, rng: random.Random) -> list[str]:
    if gloss.pos not in ("NOUN", "ADJ", "VERB") or gloss.tag not in _TAGS:
        return []
    avoid = frozenset({term.lemma, gloss.lemma})
    return alike(gloss.text, gloss.lemma, cast("Pos", gloss.pos), gloss.tag, avoid, rng, 12)


def _phrases(text: Text, clue: Clue, gloss: Evidence, head: Token, rng: random.Random) -> list[str]:
    """Other noun phrases of the passage, built and sized alike: they are true of something else."""
    size = len(gloss.quote.split())
    article = text.tokens_in(gloss.start, gloss.end)[0].pos == "DET"
    own = {t.lemma for t in text.tokens_in(gloss.start, gloss.end) if t.pos == "NOUN"}
    own |= {t.lemma for t in text.tokens_in(clue.start, clue.end)}
    found = set()
    for token in text.tokens:
        if token.tag not in ("NN", "NNS") or token.dep in ("poss", "compound"):
            continue
        if (
            token.lemma in own
            or token.lemma in _EMPTY
            or (token.tag == "NNS") != (head.tag == "NNS")
        ):
            continue
        span = text.phrase(token.i)
        words = text.tokens_in(span.start, span.end)
        if not words or not 2 <= len(words) <= size + 5 or words[-1].tag in ("POS", "IN", "CC"):
            continue
        if (words[0].lower in ("a", "an", "the")) != article or words[0].tag in ("PRP$", "CC"):
            continue
        quote = text.quote(span.start, span.end)
        marked = any(c in quote for c in ',;:()[]"“”—\n') or "____" in quote
        if marked or span.overlaps(Span(gloss.start, gloss.end)) or span.overlaps(clue.span):
            continue
        found.add(quote if words[0].pos == "PROPN" else quote[0].lower() + quote[1:])
    ranked = sorted(found, key=lambda quote: (abs(len(quote.split()) - size), quote))
    ranked = list({_bare(quote): quote for quote in reversed(ranked)}.values())[::-1][:6]
    rng.shuffle(ranked)
    return ranked


def _bare(quote: str) -> str:
    """A phrase without its article: two choices must differ by more than that."""
    first, _, rest = quote.lower().partition(" ")
    return rest if first in ("a", "an", "the") else quote.lower()

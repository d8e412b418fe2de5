"""Vocabulary drafts: a word whose meaning the passage gives, left out or asked about."""

from __future__ import annotations

import random
from collections.abc import Iterator
from typing import cast

from rwtools import vocabulary
from rwtools.clue import Clue, Evidence, Span
from rwtools.drills.making.draft import Draft, Option
from rwtools.drills.making.lexical import Pos, alike, zipf
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
_RAREST, _COMMONEST = 1.8, 4.7


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


def _telling(text: Text, gloss: Evidence) -> bool:
    """Whether a gloss says enough: two content words, or one that learners know."""
    inside = text.tokens_in(gloss.start, gloss.end)
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
    if sum(t.lemma == token.lemma for t in text.tokens) > 1:
        return None  # the passage says the word again, so the blank would be copied
    if not _telling(text, gloss) or _mere_list(clue, gloss):
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
    token, gloss = _term(text, clue), _gloss(clue)
    if token is None or gloss is None or zipf(token.lemma) > 4.5:
        return None
    inside = text.tokens_in(gloss.start, gloss.end)
    size = len(gloss.quote.split())
    if not inside or not _telling(text, gloss) or "\n" in gloss.quote or not 1 <= size <= 12:
        return None
    if _mere_list(clue, gloss):
        return None
    if size == 1:
        wrong = _single(text, inside[0], token, rng)
    elif inside[0].pos == "DET" and token.pos == "NOUN":
        wrong = _phrases(text, clue, gloss, rng)
    else:
        return None
    key = gloss.quote
    options = tuple(
        Option(w, "meaning", "The text says this of something else.", w) for w in wrong if w != key
    )
    if len(options) < 3:
        return None
    return Draft(
        skill="vocabulary",
        point=clue.label,
        place=Span(token.start, token.end),
        key=key,
        options=options,
        question=f'What does "{token.text}" mean in this text?',
        rationale=clue.explanation,
        evidence=((Span(gloss.start, gloss.end), "gloss"),),
        hardness=max(1, _hardness(token.lemma) - 1),
        target=True,
    )


def _single(text: Text, gloss: Token, term: Token, rng: random.Random) -> list[str]:
    if gloss.pos not in ("NOUN", "ADJ", "VERB") or gloss.tag not in _TAGS:
        return []
    avoid = frozenset({term.lemma, gloss.lemma})
    return alike(gloss.text, gloss.lemma, cast("Pos", gloss.pos), gloss.tag, avoid, rng, 12)


def _phrases(text: Text, clue: Clue, gloss: Evidence, rng: random.Random) -> list[str]:
    """Other noun phrases of the passage, of like length: true of something else."""
    size = len(gloss.quote.split())
    found = []
    for token in text.tokens:
        if token.pos != "NOUN" or token.tag not in ("NN", "NNS"):
            continue
        span = text.phrase(token.i)
        quote = text.quote(span.start, span.end)
        words = len(quote.split())
        if not max(2, size - 4) <= words <= size + 4 or "\n" in quote:
            continue
        first, last = text.token_at(span.start), text.token_at(span.end - 1)
        if first is None or last is None or first.lower not in ("a", "an", "the"):
            continue
        if (
            last.tag == "POS"
            or token.dep in ("pobj", "poss")
            or any(c in quote for c in ',;:()"“”—____')
        ):
            continue
        near = span.overlaps(Span(gloss.start, gloss.end)) or span.overlaps(clue.span)
        if near or any(i.lemma == token.lemma for i in text.tokens_in(gloss.start, gloss.end)):
            continue
        found.append(quote[0].lower() + quote[1:])
    ranked = sorted(set(found), key=lambda quote: (abs(len(quote.split()) - size), quote))[:6]
    rng.shuffle(ranked)
    return ranked

"""Which words a learner is likely not to know, by how often English uses them.

The scale is Zipf's: log10 of a word's uses in a billion words (van Heuven, Mandera, Keuleers and
Brysbaert 2014, "SUBTLEX-UK", Quarterly Journal of Experimental Psychology 67(6), 1176-1190), read
from wordfreq's word list.
"""

from __future__ import annotations

import math
from functools import cache

from rwtools.text import Text, Token

__all__ = ["CONTENT", "UNFAMILIAR_BELOW", "is_name", "rarity", "zipf"]

UNFAMILIAR_BELOW = 4.0
"""Below this Zipf value a word counts as one that a learner may not know.

The authors of the scale call 1 to 3 low frequency and 4 to 7 high frequency. 7,223 word forms of
wordfreq's list reach 4.0, which is between 4,000 and 5,000 words with their inflections: a little
more than the 3,250 to 3,750 of the 5,000 most frequent words that learners at CEFR level B2 know
(Milton and Alexiou 2009, in "Vocabulary Studies in First and Second Language Acquisition").
"""

CONTENT = frozenset({"NOUN", "VERB", "ADJ", "ADV", "PROPN", "X"})
_COMMON = "small"  # the list of words at Zipf 3 and above: enough to decide, and quick to load


@cache
def _frequencies() -> dict[str, float]:
    import wordfreq

    return wordfreq.get_frequency_dict("en", wordlist=_COMMON)  # type: ignore[no-any-return]


@cache
def zipf(word: str) -> float:
    """Zipf value of a lower-case word; 0 for one rarer than 3 or not in the list."""
    frequency = _frequencies().get(word, 0.0)
    return math.log10(frequency) + 9 if frequency else 0.0


@cache
def _known(lower: str, lemma: str) -> float:
    """A learner who knows a word knows its inflections and its most regular derivations.

    The commoner form counts. The affixes are the plainest of level 3 in Bauer and Nation 1993,
    "Word Families", International Journal of Lexicography 6(4), 253-279.
    """
    forms = {lower, lemma}
    for form in (lower, lemma):
        forms.update(form[len(p) :] for p in ("un", "non") if form.startswith(p))
        forms.update(form[: -len(s)] for s in ("ly", "ness") if form.endswith(s))
    return max(zipf(form) for form in forms if form in (lower, lemma) or len(form) >= 4)


def rarity(text: Text, first: int, last: int) -> float:
    """Zipf value of the rarest content word in tokens ``first..last``; 9 where there is none."""
    values = [
        _known(token.lower, token.lemma)
        for token in text.tokens[first : last + 1]
        if token.pos in CONTENT and not token.is_punct
    ]
    return min(values, default=9.0)


def is_name(text: Text, token: Token) -> bool:
    """Whether a token is a proper name: a capital where no sentence begins, read as a name.

    The parser takes many rare common words for names, so the capital has to agree. At the head of
    a sentence a lone one counts only as the subject of a past-tense verb.
    """
    if token.pos not in ("PROPN", "NOUN", "ADJ", "X") or not token.text[:1].isupper():
        return False
    sentence = text.sentences[token.sent]
    opening = sentence.first + (not text.tokens[sentence.first].text[:1].isalnum())
    if token.i > opening:
        return True
    if token.pos != "PROPN":
        return False
    after = text.tokens[token.i + 1 : token.i + 2]
    if after and after[0].pos == "PROPN" and after[0].text[:1].isupper():
        return True
    return token.tag == "NNP" and text.tokens[token.head].tag == "VBD"  # "Odo carried ..."

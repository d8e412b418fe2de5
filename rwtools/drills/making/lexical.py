"""Wrong words for a vocabulary blank: like the right one in kind, form and frequency."""

from __future__ import annotations

import math
import random
from bisect import bisect_left, bisect_right
from functools import cache
from typing import Literal

from rwtools.text.forms import frequency, lemmas, plural, verb_forms

__all__ = ["alike", "inflected", "stem", "zipf"]

Pos = Literal["NOUN", "VERB", "ADJ"]

# Endings of learned words. They keep names, slang and swear words out of learners' sight, because
# the word lists themselves don't tell such words apart (list of endings: general knowledge).
_ENDINGS: dict[Pos, tuple[str, ...]] = {
    "NOUN": tuple("tion sion ment ness ity ance ence ancy ency ship ure hood dom itude".split()),
    "ADJ": tuple("al ive ous ic ent ant ible able ary ory ful less ate ile id".split()),
    "VERB": tuple(
        "ate ify ize en ain uce ect ess ine ulge ibit ort end ide ume ure ieve ove ade ute ulse "
        "ose ict ract ish lude olve ine cede erve".split()
    ),
}
# Words that a teacher would not put before a class, by their beginnings (general knowledge).
_UNFIT = tuple(
    "abort adulter bastard bestial carnal castrat circumcis constipa contracept copulat defecat "
    "ejacul erect erotic excre fecal fertili flatul fornic geni homo hetero immora impot incest "
    "incontinen insemin lesbian libid masturb menstru molest obscen orgas pedophil perver porn "
    "promiscu prostitut seduc sex suicid titill urin vagin viril vulgar".split()
)
_WIDTH = 0.5
"""How far, in Zipf units, a wrong word's frequency may lie from the right one's."""


@cache
def zipf(word: str) -> float:
    """Zipf value of a word (log10 of its uses in a billion words); 0 where it isn't listed."""
    share = frequency(word)
    return math.log10(share) + 9 if share else 0.0


def stem(word: str) -> str:
    """A rough stem: enough to keep relatives of the right word away."""
    return word[: max(4, len(word) - 4)]


@cache
def _pool(pos: Pos) -> tuple[list[float], list[str]]:
    """Lemmas of one part of speech only, with a learned ending, sorted by frequency."""
    others: dict[Pos, tuple[Pos, ...]] = {
        "NOUN": ("VERB", "ADJ"),
        "ADJ": ("NOUN", "VERB"),
        "VERB": ("NOUN", "ADJ"),
    }
    taken = frozenset().union(*(lemmas(other) for other in others[pos]))
    rows = []
    for lemma in lemmas(pos) - taken:
        if not (lemma.isalpha() and lemma.isascii() and len(lemma) > 4):
            continue
        if not lemma.endswith(_ENDINGS[pos]) or lemma.startswith(_UNFIT):
            continue
        value = zipf(lemma)
        if value < 1.5:
            continue
        if pos == "NOUN" and not _derived(lemma):
            continue
        rows.append((value, lemma))
    rows.sort()
    return [value for value, _ in rows], [lemma for _, lemma in rows]


def _derived(noun: str) -> bool:
    """Whether a noun in *-nce* or *-ncy* comes from a verb or adjective: *Provence* doesn't."""
    if not noun.endswith(("nce", "ncy")):
        return True
    root = noun[:-4]
    verbs = lemmas("VERB")
    return noun[:-2] + "t" in lemmas("ADJ") or root in verbs or root + "e" in verbs


def inflected(lemma: str, tag: str) -> str | None:
    """A lemma in the form that a Penn tag names (None for forms that we don't make)."""
    if tag in ("NN", "JJ", "VB", "VBP"):
        return lemma
    if tag == "NNS":
        return plural(lemma)
    forms = verb_forms(lemma)
    if forms is None:
        return None
    return {
        "VBZ": forms.third,
        "VBD": forms.past,
        "VBN": forms.participle,
        "VBG": forms.ing,
    }.get(tag)


def alike(
    word: str, lemma: str, pos: Pos, tag: str, avoid: frozenset[str], rng: random.Random, count: int
) -> list[str]:
    """Up to ``count`` other words, in the same form, with a frequency within 0.5 Zipf.

    ``avoid`` holds lemmas that must not be used (words of the passage); words with the stem of one
    of them, or of the word itself, are left out too.
    """
    values, words = _pool(pos)
    at = min(max(zipf(lemma), 2.0), 5.5)
    near = words[bisect_left(values, at - _WIDTH) : bisect_right(values, at + _WIDTH)]
    stems = {stem(other) for other in avoid} | {stem(lemma)}
    found: list[str] = []
    for candidate in rng.sample(near, min(len(near), 6 * count)):
        form = inflected(candidate, tag)
        if form is None or candidate in avoid or stem(candidate) in stems:
            continue
        if not frequency(form):
            continue
        stems.add(stem(candidate))
        found.append(form[0].upper() + form[1:] if word[:1].isupper() else form)
        if len(found) == count:
            break
    return found

"""Choices in one place of a text, made from prose: the author's own wording and three others.

Four kinds: connective, boundary punctuation, inflection, and content word (against words of the
same part of speech and about the same frequency). The same code serves the evaluation (seeded, so
that teacher and student meet the same cases) and, through `perturbed`, the training texts.
"""

from __future__ import annotations

import random
import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

KINDS = ("connective", "punctuation", "inflection", "content word")
PASSAGE_WORDS = 110
CHOICES = 4

ADVERBIALS = (
    "accordingly|additionally|afterward|also|as a result|besides|by contrast|consequently|"
    "conversely|even so|eventually|finally|for example|for instance|furthermore|hence|however|"
    "in addition|in contrast|in fact|in other words|in particular|in short|indeed|instead|later|"
    "likewise|meanwhile|moreover|nevertheless|nonetheless|on the other hand|rather|similarly|"
    "specifically|still|subsequently|that is|that said|then|therefore|thus|to that end"
).split("|")
CONJUNCTIONS = (
    "after|although|and|as soon as|because|before|but|even though|if|or|since|so|so that|"
    "though|unless|until|when|whereas|while|yet"
).split("|")
ADVERBIAL = re.compile(
    r"(?<=[.;] )(" + "|".join(sorted(ADVERBIALS, key=len, reverse=True)) + r")(?=,? )", re.I
)
CONJUNCTION = re.compile(
    r"(?<=[a-z,;] )(" + "|".join(sorted(CONJUNCTIONS, key=len, reverse=True)) + r")(?= [a-z])"
)
MARK = re.compile(r"[,;:.](?= \w)")
MARKS = ("", ",", ";", ":", ".")
CONTENT_TAGS = {"NN", "NNS", "VB", "VBD", "VBG", "VBN", "VBP", "VBZ", "JJ", "RB"}
INFLECTED = {"NOUN", "VERB", "AUX", "PRON", "DET"}
LIKE = {  # closed-class words whose forms are easily taken for each other
    "its": ("it's", "their", "his"), "their": ("its", "there", "his"), "they": ("it", "them"),
    "it": ("they", "them"), "this": ("these", "those"), "these": ("this", "that"),
    "that": ("those", "which"), "which": ("who", "whom"), "who": ("whom", "which"),
    "than": ("then",), "fewer": ("less",), "less": ("fewer",), "them": ("they", "it"),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Case:
    """One place of one text; the author's own wording is `choices[answer]`."""

    kind: str
    genre: str
    prefix: str
    choices: tuple[str, ...]
    suffix: str
    answer: int


@dataclass(frozen=True, slots=True)
class Word:
    """A tagged word: offsets in its text, fine tag, coarse part of speech, lemma."""

    start: int
    end: int
    tag: str
    pos: str
    lemma: str


def tag(texts: Iterable[str]) -> Iterator[list[Word]]:
    """Tag texts with the project's parser (tags and lemmas only)."""
    from rwtools.text.load import pipeline

    for doc in pipeline().pipe(texts, disable=["parser", "ner"], batch_size=64):
        yield [
            Word(t.idx, t.idx + len(t), t.tag_, t.pos_, t.lemma_.lower())
            for t in doc
            if t.text.isalpha() and t.text.isascii()
        ]


class Lexicon:
    """Which forms a lemma has and which words share a tag, read off tagged prose."""

    def __init__(self) -> None:
        self.forms: dict[tuple[str, str], dict[str, str]] = defaultdict(dict)
        self.by_tag: dict[str, list[tuple[float, str]]] = {}
        self._seen: dict[tuple[str, str], int] = defaultdict(int)

    def add(self, text: str, words: Sequence[Word]) -> None:
        for word in words:
            form = text[word.start : word.end]
            if not form.islower():
                continue
            if word.pos in INFLECTED:
                self.forms[word.lemma, word.pos][form] = word.tag
            if word.tag in CONTENT_TAGS and len(form) >= 4:
                self._seen[form, word.tag] += 1

    def close(self) -> None:
        """Sort words by tag and frequency; a tag seen once may be a slip of the tagger."""
        from wordfreq import zipf_frequency

        grouped = defaultdict(list)
        for (form, label), count in self._seen.items():
            if count >= 2:
                grouped[label].append((zipf_frequency(form, "en"), form))
        self.by_tag = {label: sorted(words) for label, words in grouped.items()}

    def other_forms(self, form: str, word: Word) -> list[str]:
        """Other forms of the same word, or words easily taken for it."""
        if form in LIKE:
            return list(LIKE[form])
        if word.pos not in ("NOUN", "VERB", "AUX"):
            return []
        return sorted(f for f in self.forms.get((word.lemma, word.pos), {}) if f != form)

    def alike(self, form: str, label: str, spread: float = 0.25) -> list[str]:
        """Words of the same tag within `spread` on the Zipf scale (powers of ten of frequency)."""
        from bisect import bisect_left

        from wordfreq import zipf_frequency

        words = self.by_tag.get(label, [])
        zipf = zipf_frequency(form, "en")
        low = bisect_left(words, (zipf - spread, ""))
        high = bisect_left(words, (zipf + spread, "\U0010ffff"))
        return [word for _, word in words[low:high] if word != form]


def _cased(word: str, model: str) -> str:
    return word[0].upper() + word[1:] if model[0].isupper() else word


def _case(
    kind: str, genre: str, prefix: str, own: str, others: Sequence[str], suffix: str,
    rng: random.Random,
) -> Case:  # fmt: skip
    choices = [own, *others]
    rng.shuffle(choices)
    return Case(kind, genre, prefix, tuple(choices), suffix, choices.index(own))


def _clip(text: str, rng: random.Random) -> tuple[str, int]:
    """A stretch of about 110 words that begins with a sentence, and where it begins."""
    starts = [0, *(m.end() for m in re.finditer(r"[.?!][”\"]? (?=[A-Z“])", text))]
    words = [m.start() for m in re.finditer(r"\S+", text)]
    late = words[-PASSAGE_WORDS] if len(words) > PASSAGE_WORDS else 0
    start = rng.choice([s for s in starts if s <= late] or [0])
    ends = [m.end() for m in re.finditer(r"\S+", text[start:])][:PASSAGE_WORDS]
    return (text[start : start + ends[-1]] if ends else ""), start


def _with_mark(text: str, at: int, mark: str) -> tuple[str, str]:
    """The mark and the first letter after it, changed where a sentence ends or no longer ends."""
    old, after = text[at], text[at + 1 : at + 3]
    if mark == "." and old != ".":
        after = after[0] + after[1].upper()
    elif old == "." and mark != ".":
        after = after[0] + after[1].lower()
    return mark, after


def connective(text: str, genre: str, rng: random.Random, loose: bool = False) -> Case | None:
    found = [(m, ADVERBIALS) for m in ADVERBIAL.finditer(text)]
    if loose:
        found += [(m, CONJUNCTIONS) for m in CONJUNCTION.finditer(text)]
    if not found:
        return None
    match, family = rng.choice(found)
    own = match.group(1)
    others = rng.sample([c for c in family if c != own.lower()], CHOICES - 1)
    return _case(
        "connective", genre, text[: match.start()], own, [_cased(c, own) for c in others],
        text[match.end() :], rng,
    )  # fmt: skip


def punctuation(text: str, genre: str, rng: random.Random) -> Case | None:
    found = list(MARK.finditer(text))
    if not found:
        return None
    at = rng.choice(found).start()
    own = text[at : at + 3]
    others = rng.sample([m for m in MARKS if m != text[at]], CHOICES - 1)
    return _case(
        "punctuation", genre, text[:at], own, ["".join(_with_mark(text, at, m)) for m in others],
        text[at + 3 :], rng,
    )  # fmt: skip


def _word_case(
    kind: str, text: str, words: Sequence[Word], genre: str, lexicon: Lexicon, rng: random.Random
) -> Case | None:
    for word in rng.sample(words, len(words)):
        form = text[word.start : word.end]
        if not form.islower() or word.start < 20:
            continue
        if kind == "inflection":
            others = lexicon.other_forms(form, word)
            if not others:
                continue
        else:
            if word.tag not in CONTENT_TAGS or len(form) < 4 or word.pos == "AUX":
                continue
            related = lexicon.forms.get((word.lemma, word.pos), {})
            others = [w for w in lexicon.alike(form, word.tag) if w not in related]
            if len(others) < CHOICES - 1:
                continue
        others = rng.sample(others, min(CHOICES - 1, len(others)))
        return _case(kind, genre, text[: word.start], form, others, text[word.end :], rng)
    return None


def make(
    texts: Sequence[tuple[str, str]], tagged: Sequence[Sequence[Word]], lexicon: Lexicon,
    count: int, seed: int = 1, loose: bool = False,
) -> dict[str, list[Case]]:  # fmt: skip
    """Up to `count` cases of each kind from (genre, text) pairs; several clips of one text serve.

    `loose` adds conjunctions to the connectives (speech and fiction have few of the adverbs).
    """
    made: dict[str, list[Case]] = {kind: [] for kind in KINDS}
    seen: set[tuple[str, str, str]] = set()
    for turn in range(8):
        for n, (genre, text) in enumerate(texts):
            rng = random.Random(f"{seed}/{turn}/{n}")
            clip, start = _clip(text, rng)
            if len(clip.split()) < 12:
                continue
            inside = [
                Word(w.start - start, w.end - start, w.tag, w.pos, w.lemma)
                for w in tagged[n]
                if w.start >= start and w.end <= start + len(clip)
            ]
            for kind in KINDS:
                if len(made[kind]) >= count:
                    continue
                if kind == "connective":
                    case = connective(clip, genre, rng, loose)
                elif kind == "punctuation":
                    case = punctuation(clip, genre, rng)
                else:
                    case = _word_case(kind, clip, inside, genre, lexicon, rng)
                if case is None:
                    continue
                place = (kind, case.prefix[-60:], case.suffix[:60])
                if place not in seen:
                    seen.add(place)
                    made[kind].append(case)
    return made


def perturbed(text: str, words: Sequence[Word], lexicon: Lexicon, rng: random.Random) -> str:
    """The text with one to three wordings changed: the student must judge these likewise."""
    for _ in range(rng.randint(1, 3)):
        kind = rng.choice(KINDS)
        case: Case | None
        if kind == "connective":
            case = connective(text, "", rng, loose=True)
        elif kind == "punctuation":
            case = punctuation(text, "", rng)
        else:
            case = _word_case(kind, text, words, "", lexicon, rng)
        if case is None:
            continue
        wrong = rng.choice([c for n, c in enumerate(case.choices) if n != case.answer])
        shift = len(wrong) - len(case.choices[case.answer])
        at = len(case.prefix)
        text = case.prefix + wrong + case.suffix
        words = [
            w if w.end <= at else Word(w.start + shift, w.end + shift, w.tag, w.pos, w.lemma)
            for w in words
            if w.end <= at or w.start >= at + len(case.choices[case.answer])
        ]
    return text


def load_tagged(texts: Sequence[tuple[str, str]]) -> list[list[Word]]:
    """Tag (genre, text) pairs."""
    return list(tag(text for _, text in texts))


def as_dict(case: Case) -> dict[str, Any]:
    """A case for a JSON line."""
    return {name: getattr(case, name) for name in Case.__slots__}

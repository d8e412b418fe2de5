"""What grammar choices differ in, and what the passage asks of the form: subject, tense, pattern.

Form and number are read from closed lists and endings first, because a parser guesses the tag of a
wrong form as if it were right.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from rwtools.clue import Span
from rwtools.items.placing import Placed
from rwtools.items.subjects import by_order
from rwtools.items.whole import chances_whole
from rwtools.text import Text, Token, parse_many
from rwtools.text.clauses import SUBJECTS

__all__ = [
    "Form",
    "Subject",
    "complete_with",
    "form_of",
    "is_open_after_there",
    "kind_of",
    "number_of_pronoun",
    "other_tenses",
    "sentence_at",
    "subject_at",
    "time_words",
]

_SINGULAR = frozenset("is was has does isn't wasn't hasn't doesn't".split())
_PLURAL = frozenset("are were have do aren't weren't haven't don't".split())
_MODALS = frozenset("will would can could may might shall should must won't".split())
_PAST = frozenset("was were had did wasn't weren't hadn't didn't".split())
_PRESENT = frozenset("is are am has have does do isn't aren't hasn't haven't don't doesn't".split())
_ING_NOT = frozenset("bring sing spring ring thing king wing string cling fling swing".split())
_NUMBER = {
    "it": "singular", "its": "singular", "itself": "singular", "he": "singular", "she": "singular",
    "him": "singular", "her": "singular", "his": "singular", "hers": "singular",
    "himself": "singular", "herself": "singular", "this": "singular", "that": "singular",
    "they": "plural", "them": "plural", "their": "plural", "theirs": "plural",
    "themselves": "plural", "these": "plural", "those": "plural",
}  # fmt: skip
_PRONOUNS = frozenset(_NUMBER) | frozenset(
    "i me my mine myself you your yours yourself yourselves we us our ours ourselves one one's "
    "oneself".split()
)
_SOUND_ALIKE = frozenset(
    "its it's its' their they're there theirs there's your you're yours whose who's then than to "
    "too two thats that's were we're".split()
)
_RELATIVE = frozenset("who whom whose which that what where when who's whoever whomever".split())


@dataclass(frozen=True, slots=True)
class Form:
    """A verb form. ``kind``: ``finite``, ``to``, ``ing``, ``participle`` or ``bare``; ``number``:
    ``singular``, ``plural`` or None (any); ``tense``: ``present``, ``past``, ``future``,
    ``conditional`` or None; ``perfect``: with *have*."""

    kind: str
    number: str | None
    tense: str | None
    perfect: bool = False


@dataclass(frozen=True, slots=True)
class Subject:
    """The subject of the gap's verb: its head word and whole phrase (filled passage offsets)."""

    head: Span
    phrase: Span
    number: str


def _plain(choice: str) -> str:
    return choice.strip().lower().replace("’", "'")


def kind_of(choices: Sequence[str], tags: Sequence[str]) -> str:
    """What the choices differ in: ``sound-alike``, ``relative``, ``pronoun``, ``comparison``,
    ``verb``, ``possessive``, ``modifier`` or ``form``. ``tags``: Penn tag of each first word."""
    plain = [_plain(c) for c in choices]
    words = [c.split() for c in plain]
    if all(c in _SOUND_ALIKE for c in plain):
        return "sound-alike"
    if sum(c in _RELATIVE for c in plain) >= 3 and all(len(w) <= 2 for w in words):
        return "relative"
    if all(len(w) <= 3 for w in words) and sum(w[-1] == "of" for w in words) >= 2:
        return "comparison"
    short = all(len(w) <= 2 for w in words)
    if short and all(
        w[-1] in _PRONOUNS or w[0] in _PRONOUNS or c in _SOUND_ALIKE
        for c, w in zip(plain, words, strict=True)
    ):
        return "sound-alike" if any("'" in c and c != "one's" for c in plain) else "pronoun"
    stripped = {re.sub(r"[’'s ]", "", c) for c in plain}
    if any("'" in c for c in plain) and len(stripped) <= 2:
        return "possessive"
    if all(len(w) >= 4 for w in words):
        return "modifier"
    verbs = sum(form_of(c, t) is not None for c, t in zip(choices, tags, strict=True))
    return "verb" if verbs >= len(choices) - 1 else "form"


def number_of_pronoun(word: str) -> str | None:
    """``singular``, ``plural``, or None for a word that is neither or both (*you*)."""
    return _NUMBER.get(_plain(word).replace("it's", "its").replace("they're", "their"))


def form_of(choice: str, tag: str) -> Form | None:
    """The form of a choice that begins with a verb (or *to*); None if it doesn't."""
    words = [w for w in re.findall(r"[a-z']+", _plain(choice)) if w not in ("not", "also", "never")]
    if not words:
        return None
    first = words[0]
    if first == "to" and len(words) > 1:
        return Form("to", None, None, "have" in words[1:2])
    if first == "having":
        return Form("ing", None, None, True)
    if first in _MODALS:
        tense = "future" if first in ("will", "shall", "won't") else "conditional"
        return Form("finite", None, tense, "have" in words[1:3])
    if first in _SINGULAR | _PLURAL | {"had", "did", "am", "hadn't", "didn't"}:
        number = "singular" if first in _SINGULAR else "plural" if first in _PLURAL else None
        perfect = first in ("has", "have", "had") and len(words) > 1
        return Form("finite", number, "past" if first in _PAST else "present", perfect)
    if first.endswith("ing") and first not in _ING_NOT and len(first) > 4:
        return Form("ing", None, None)
    if first in ("be", "been"):
        return Form("bare" if first == "be" else "participle", None, None)
    if tag == "VBZ" or (tag in ("NNS", "VBP") and first.endswith("s") and not first.endswith("ss")):
        return Form("finite", "singular", "present")
    if tag == "VBD" or (tag in ("VBN", "JJ") and first.endswith("ed")):
        return Form("finite", None, "past")
    if tag == "VBN":
        return Form("participle", None, None)
    if tag in ("VBP", "VB"):
        return Form("finite", "plural", "present")
    return None


def sentence_at(text: Text, placed: Placed) -> tuple[int, int]:
    """First and last token (half-open) of the sentence in which the choice begins."""
    token = text.token_at(min(placed.start, len(text.passage) - 1))
    if token is None:
        return 0, len(text.tokens)
    sentence = text.sentences[token.sent]
    return sentence.first, sentence.last


def complete_with(texts: Sequence[Text], choices: Sequence[Placed]) -> list[bool]:
    """For each choice whether the sentence that holds it can stand, parsed alone."""
    alone = []
    for text, where in zip(texts, choices, strict=True):
        first, last = sentence_at(text, where)
        alone.append(text.passage[text.tokens[first].start : text.tokens[last - 1].end])
    chances = chances_whole(list(parse_many(alone, verse=False)))
    return [chance >= 0.5 for chance in chances]


def subject_at(text: Text, placed: Placed) -> Subject | None:
    """The subject of the verb that the choice holds, with its number: by the order of words where
    that decides (`subjects.by_order`), else by the parse."""
    if (found_by_order := by_order(text, placed)) is not None:
        return Subject(*found_by_order)
    inside = text.tokens_in(placed.start, placed.end)
    for token in inside:
        verb = token
        while verb.dep in ("aux", "auxpass") and verb.head != verb.i:
            verb = text.tokens[verb.head]
        found = text.child(verb.i, *SUBJECTS)
        if found is None and verb.dep == "relcl":
            found = text.tokens[verb.head]
        if found is not None and found.lower == "there":
            found = text.child(verb.i, "attr", "dobj") or found
        if found is not None and found.lower in ("that", "which", "who"):
            relative = text.tokens[verb.head] if verb.dep == "relcl" else None
            found = relative or found
        if found is not None and not (placed.start <= found.start < placed.end):
            return Subject(
                Span(found.start, found.end), text.phrase(found.i), number_of(text, found)
            )
    return None


def is_open_after_there(text: Text, subject: Subject) -> bool:
    """Whether a subject of several nouns follows *there* and a verb, and its first noun is but one:
    *there ____ a lamp and two picks*. Then the number of the verb is a matter of usage."""
    head = text.token_at(subject.head.start)
    if subject.number != "plural" or head is None or head.tag not in ("NN", "NNP"):
        return False
    before = text.tokens[max(head.i - 8, 0) : head.i]
    return any(t.lower == "there" and t.sent == head.sent for t in before)


def number_of(text: Text, head: Token) -> str:
    """Number of a noun phrase: from the head's form; *and* makes two, *each* keeps one, and after
    *or* or *nor* the nearer noun counts."""
    joined, word = _joined(text, head)
    if word == "and":
        determiner = text.child(head.i, "det")
        if determiner is None or determiner.lower not in ("each", "every"):
            return "plural"
    elif word in ("or", "nor"):
        return _own_number(text, joined[-1])
    return _own_number(text, head)


def _joined(text: Text, head: Token) -> tuple[list[Token], str]:
    """The nouns joined to a noun, and the word that joins them."""
    found, word, at = [head], "", head
    while True:
        marks = [text.tokens[i].lower for i in text.children[at.i] if text.tokens[i].dep == "cc"]
        word = word or next((m for m in marks if m in ("and", "or", "nor")), "")
        after = text.child(at.i, "conj")
        if after is None or after.pos not in ("NOUN", "PROPN", "PRON", "NUM"):
            return found, word if len(found) > 1 else ""
        found.append(after)
        at = after


def _own_number(text: Text, head: Token) -> str:
    if head.lower in _NUMBER:
        return _NUMBER[head.lower]
    if head.lower in ("we", "you", "us", "both", "many", "few", "several", "people", "i"):
        return "plural"
    if head.tag in ("NNS", "NNPS"):
        return "plural"
    if head.lower in ("all", "some", "most", "half") and _of_plural(text, head):
        return "plural"
    return "singular"


def _of_plural(text: Text, head: Token) -> bool:
    preposition = text.child(head.i, "prep")
    inner = None if preposition is None else text.child(preposition.i, "pobj")
    return inner is not None and inner.tag in ("NNS", "NNPS")


_FINISHES = r"(?:he|she|it) (?!was\b|has\b)[a-z]{2,}s\b"  # by the time she finishes
_SEASON = "year|month|week|night|spring|summer|autumn|fall|winter"
_TIMES: tuple[tuple[str, str, str], ...] = (
    (r"by the (?:end|time|year|middle|close) of (?:next|the coming|this)", "future", "perfect"),
    (r"by (?:next|the coming) \w+", "future", "perfect"),
    (rf"by the time {_FINISHES}", "future", "perfect"),
    (rf"next (?:{_SEASON})|tomorrow", "future", ""),
    (
        r"since (?:then|\d{4}|the \w+|last \w+|he|she|it|they|we|its|her|his)|so far|up to now|"
        r"until now|(?:over|for) (?:the )?(?:past|last) \w+ \w+",
        "present",
        "perfect",
    ),
    (
        rf"now|nowadays|today|these days|at present|currently|"
        rf"every (?:day|morning|evening|{_SEASON})(?! last)",
        "present",
        "",
    ),
    (
        rf"yesterday|last (?:{_SEASON})|\w+ (?:years|days|weeks|months|centuries) ago|"
        rf"in (?:1\d{{3}}|20[01]\d)|in the \w+ century|in those days",
        "past",
        "",
    ),
    (
        rf"by the time(?! {_FINISHES})|by (?:1\d{{3}}|20[01]\d)|"
        r"before (?:he|she|they|it|the \w+) \w+ed",
        "past",
        "perfect",
    ),
)


def time_words(passage: str, start: int, end: int) -> list[tuple[Span, str, str]]:
    """Words in a stretch that set a time: span, tense that goes with it, ``perfect`` or empty."""
    return [
        (Span(*match.span()), tense, aspect)
        for pattern, tense, aspect in _TIMES
        for match in re.compile(rf"\b(?:{pattern})\b", re.IGNORECASE).finditer(passage, start, end)
    ]


def other_tenses(text: Text, placed: Placed) -> Counter[str]:
    """Tenses of the finite verbs outside the choice, those of its own sentence counted twice."""
    first, last = sentence_at(text, placed)
    found: Counter[str] = Counter()
    for token in text.tokens:
        if placed.touches(token.start, token.end):
            continue
        tense = {"VBD": "past", "VBZ": "present", "VBP": "present"}.get(token.tag)
        if token.tag == "MD":
            tense = "future" if token.lower in ("will", "'ll", "shall") else None
        if tense is not None:
            found[tense] += 2 if first <= token.i < last else 1
    return found

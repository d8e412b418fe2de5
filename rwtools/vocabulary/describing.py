"""Words after a mark that describe: "laconic, using few words", "a tepid soup, barely warm".

They stand after the quality itself or after its noun. What they say of the thing often says the
quality again, but may also add another; so most of them are left to readers who ask.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from rwtools.text import Text, Token
from rwtools.vocabulary.by_words import TENSED, after_be, rare_word
from rwtools.vocabulary.model import Gloss
from rwtools.vocabulary.phrases import DASHES, closing, core, span
from rwtools.vocabulary.view import View

__all__ = ["descriptions"]

_STOPS = frozenset({",", ";"}) | DASHES
_HABITS = frozenset("never always seldom rarely hardly scarcely forever constantly".split())
_DEGREES = frozenset("more most less least so too very rather quite".split())
_LIMITS = frozenset("as like for because since if when while although though but and or".split())


@dataclass(frozen=True, slots=True)
class _Phrase:
    """A describing phrase: its first and its last token, and how it describes."""

    first: int
    last: int
    again: bool  # "so dry that ...": says the quality with its degree
    balanced: bool  # "neither hot nor cold"
    doing: bool  # opens with a verb form: "using few words"
    habit: bool  # "never spending a coin", "always ready to talk"
    to_noun: bool  # "full of rumour"


def descriptions(view: View) -> Iterator[Gloss]:
    """For each comma, dash or bracket the qualities before it that the words behind it describe."""
    text, tokens = view.text, view.text.tokens
    for mark in view.at(",", "(", *DASHES):
        if not 1 <= mark < len(tokens) - 2 or tokens[mark + 1].sent != tokens[mark - 1].sent:
            continue
        found = _phrase(text, mark)
        if found is None:
            continue
        for token in _described_words(text, mark):
            if not view.wants(token.i, token.i):
                continue
            variant, sure = _verdict(text, token, mark, found)
            beside = token.i == mark - 1 and after_be(text, token.i)
            open_form = tokens[found.first].tag == "VBG" and not found.again and not beside
            if not sure and open_form and not view.asked:
                continue
            yield Gloss(
                text.span(token.i, token.i),
                span(text, found.first, found.last),
                "restatement",
                variant,
                cue=text.span(mark, mark),
                loose=not sure,
            )


def _phrase(text: Text, mark: int) -> _Phrase | None:
    """The describing phrase right after a mark, if there is one."""
    tokens = text.tokens
    opening, second = tokens[mark + 1], tokens[mark + 2]
    closes = {"(": frozenset({")"}), ",": _STOPS}.get(tokens[mark].text)
    end = closing(text, mark + 1, closes or frozenset({tokens[mark].text, ";"}))
    if end - mark < 3:
        return None
    degree = opening.lower in ("so", "as") and second.pos in ("ADJ", "ADV")
    degree = degree and second.lower != "well"
    again = degree and any(t.lower in ("that", "as") for t in tokens[mark + 3 : end])
    inside = tokens[mark + 2 : end]
    balanced = opening.lower == "neither" and any(t.lower == "nor" for t in inside)
    balanced = balanced and second.pos in ("ADJ", "ADV", "VERB")
    doing = opening.tag in ("VBG", "VBN") and not opening.is_blank
    doing = doing or (opening.pos == "ADV" and second.tag == "VBG")  # "barely lifting his head"
    habit = opening.lower in _HABITS and second.tag not in TENSED and second.tag != "VB"
    phrase = opening.pos == "ADJ" or opening.lower == "too"
    phrase = phrase or (opening.pos == "ADV" and second.pos == "ADJ" and _only_words(text, mark))
    in_text = tokens[mark].text != "("
    if not (again or balanced or habit or (in_text and (doing or phrase))):
        return None
    if opening.lower in _LIMITS and not again:
        return None
    if phrase and any(t.lower in ("of", "with") for t in tokens[mark + 2 : mark + 4]):
        end = _over_list(text, end)
    to_noun = opening.pos == "ADJ" and second.pos in ("PART", "ADP")
    return _Phrase(mark + 1, end - 1, again, balanced, doing, habit, to_noun)


def _only_words(text: Text, mark: int) -> bool:
    """Whether no verb follows in the phrase after a mark ("barely warm")."""
    end = closing(text, mark + 1, _STOPS)
    return all(t.tag not in TENSED for t in text.tokens[mark + 1 : end])


def _over_list(text: Text, end: int) -> int:
    """The end of a list that a comma goes on with ("full of rumour, jokes, and long tales")."""
    tokens = text.tokens
    at = end
    while at < len(tokens) - 1 and tokens[at].text == ",":
        after = closing(text, at + 1, _STOPS)
        part = tokens[at + 1 : after]
        if not part or len(part) > 6 or any(t.tag in TENSED or t.tag == "VBG" for t in part):
            return end
        if part[0].lower in ("and", "or"):
            return after
        at = after
    return end


def _described_words(text: Text, mark: int) -> list[Token]:
    """The adjective or verb before a mark, or those before the noun there."""
    tokens = text.tokens
    before = tokens[mark - 1]
    if before.pos == "NOUN" and not after_be(text, before.i):
        first = core(text, before.i)[0]
        inside = tokens[first : mark - 1]
        return [t for t in inside if _is_quality_before(t) or t.is_blank]
    return [] if before.is_punct else [before]


def _is_quality_before(token: Token) -> bool:
    """Whether a word before a noun can be a quality: the parser takes rare ones for nouns."""
    return token.pos in ("ADJ", "VERB") or (
        token.tag == "NN" and token.dep == "compound" and rare_word(token)
    )


def _verdict(text: Text, token: Token, mark: int, found: _Phrase) -> tuple[str, bool]:
    """How the phrase explains a word, and whether the tie holds for readers who did not ask."""
    tokens = text.tokens
    before, opening = tokens[mark - 1], tokens[found.first]
    near = token.i == mark - 1 and after_be(text, token.i)
    variant = "degree" if found.again else "description"
    end = found.last + 1
    closed = end >= len(tokens) or tokens[end].text != ","
    if near and rare_word(token) and closed and not found.again:
        verbal = opening.tag == "VBG" and opening.lower != "according"
        verbal = verbal and token.pos in ("ADJ", "NOUN")
        if found.to_noun or found.balanced or verbal:
            return variant, True
    if found.again:
        sure = token.is_blank or rare_word(token)
        return variant, sure and (near or before.pos == "NOUN" or token.pos == "ADJ")
    ends = end >= text.sentences[token.sent].last - 1
    if ends and token.pos == "ADJ" and token.i == mark - 2 and _is_point(text, token):
        graded = tokens[token.i - 1].lower in _DEGREES
        if found.habit or (graded and found.to_noun):
            return "shown", True
    return variant, False


def _is_point(text: Text, token: Token) -> bool:
    """Whether a statement's point is this rare quality ("He was a frugal man")."""
    at = token.i - 1
    while at > 0 and text.tokens[at].lower in _DEGREES | {"a", "an", "the"}:
        at -= 1
    return rare_word(token) and at < token.i - 1 and after_be(text, at + 1)

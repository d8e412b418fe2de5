"""One *no* in a clause: *hardly anybody*, *did not see anything*."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.clue import Fix
from rwtools.rules.model import Finding, Rule
from rwtools.rules.phrases import CLAUSE_TAKERS, clear
from rwtools.rules.places import FINITE
from rwtools.text import Text, Token

__all__ = ["RULE", "find"]

_ANY = {
    "nobody": "anybody",
    "nothing": "anything",
    "nowhere": "anywhere",
    "none": "any",
    "no": "any",
    "never": "ever",
}
_HARDLY = frozenset({"hardly", "scarcely", "barely"})
_NOT = frozenset({"n't", "n’t", "not"})
_BE = frozenset({"is", "are", "was", "were"})
_DO = frozenset({"do", "does", "did"})
# "He did not do nothing", "I did not say no": these take *nothing* as what is done or said.
_TAKE_NOTHING = frozenset("do say be mean".split())
_SHORT = {"ca": "can", "wo": "will", "sha": "shall"}


def find(text: Text) -> list[Finding]:
    """Fault span: the second negative. Fix: *any* for *no*; *hardly* keeps no *not* before it."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    for token in text.tokens:
        if token.i + 2 >= text.sentences[token.sent].last:
            continue
        after, third = text.tokens[token.i + 1], text.tokens[token.i + 2]
        if token.lower in _HARDLY and _negates(after, third):
            yield _fault(text, after, token, _any(after))
        elif token.lower in ("n't", "n’t") and after.lower == "never":
            yield _fault(text, after, token, "ever")
        elif token.lower in ("n't", "n’t") and after.lower in _HARDLY:
            yield _without_not(text, token, after)
        elif token.lower in ("n't", "n’t") and after.lower == "no" and _there_was(text, token):
            if _negates(after, third):
                yield _fault(text, after, token, "any")
        elif token.lower in _NOT and after.tag == "VB" and after.lemma not in _TAKE_NOTHING:
            helper = text.tokens[token.i - 1] if token.i else token
            fourth = text.tokens[third.i + 1] if third.i + 1 < len(text.tokens) else third
            if (
                helper.lower in _DO
                and third.lower != "never"
                and _negates(third, fourth)
                and not _opens_clause(text, after, third)
            ):
                yield _fault(text, third, token, _any(third))


def _negates(word: Token, after: Token) -> bool:
    """Whether a word says no to what follows: *no* before a noun, not *to say no*."""
    if word.lower == "no":
        return after.pos in ("NOUN", "ADJ") or after.lower == "one"
    if word.lower == "none":
        return after.is_punct or after.lower == "of"
    if word.lower in ("nothing", "nobody", "nowhere"):
        return after.lower not in ("but", "short", "less", "other")
    return word.lower == "never"


def _there_was(text: Text, token: Token) -> bool:
    """Whether *there is* and the like stands before a *n't*."""
    if token.i < 2:
        return False
    return text.tokens[token.i - 1].lower in _BE and text.tokens[token.i - 2].lower == "there"


def _opens_clause(text: Text, verb: Token, negative: Token) -> bool:
    """Whether the second negative is the subject of a clause of its own, with or without *that*: *I
    don't believe | nobody saw it*. Each clause has one negative."""
    noun = text.tokens[negative.head] if negative.dep == "det" else negative
    if noun.dep in ("nsubj", "nsubjpass", "expl") and noun.head != verb.i:
        return True
    following = text.tokens[noun.i + 1] if noun.i + 1 < len(text.tokens) else noun
    return verb.lemma in CLAUSE_TAKERS and following.tag in FINITE


def _any(word: Token) -> str:
    return _ANY[word.lower]


def _fault(text: Text, word: Token, cue: Token, new: str) -> Finding:
    end, after = word.end, text.tokens[word.i + 1 : word.i + 2]
    if word.lower == "no" and after and after[0].lower == "one":
        end, new = after[0].end, "anyone"
    return Finding(
        word.start,
        end,
        "fault",
        0.9,
        {"word": text.quote(word.start, end), "cue": _shown(text, cue), "form": new},
        (text.evidence(text.span(cue.i, cue.i), "cue"),),
        (Fix(word.start, end, new),),
    )


def _without_not(text: Text, token: Token, cue: Token) -> Finding:
    helper = text.tokens[token.i - 1]
    new = _SHORT.get(helper.lower, helper.text)
    return Finding(
        helper.start,
        token.end,
        "fault",
        0.9,
        {"word": text.quote(helper.start, token.end), "cue": cue.text, "form": new},
        (text.evidence(text.span(cue.i, cue.i), "cue"),),
        (Fix(helper.start, token.end, new),),
    )


def _shown(text: Text, cue: Token) -> str:
    """A cue as the reader sees it: *didn't*, not *n't*."""
    if cue.lower in ("n't", "n’t"):
        return text.quote(text.tokens[cue.i - 1].start, cue.end)
    return cue.text


RULE = Rule("double-negative", find)

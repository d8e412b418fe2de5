"""Words that sound alike: *than* and *then*, *to* and *too*, *affect* and *effect*."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.clue import Fix
from rwtools.rules.doers import is_outside, is_thing
from rwtools.rules.model import Finding, Rule
from rwtools.rules.phrases import clear
from rwtools.text import Text, Token

__all__ = ["RULE", "find"]

_TIME_WORDS = frozenset(
    {"now", "since", "by", "until", "till", "just", "back", "every", "even", "and"}
)
_BEFORE_TOO = frozenset({"be", "have", "seem", "take", "cost"})
_MAY_FOLLOW_THEN = frozenset({"VBZ", "VBP", "VBD", "VB", "MD", "WP", "WDT"})
_MAY_FOLLOW_LATTER = frozenset({"VBZ", "VBP", "VBD", "MD", ".", ",", "IN"})
_COMPARE = frozenset({"more", "less", "rather", "fewer", "greater", "better", "worse", "larger"})


def find(text: Text) -> list[Finding]:
    """Fault span: the confused word. Fix: the word that fits."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    for token in text.tokens:
        sentence = text.sentences[token.sent]
        if token.i == sentence.first or token.i + 2 >= sentence.last:
            continue
        before, after = text.tokens[token.i - 1], text.tokens[token.i + 1]
        word = token.lower
        if word == "then" and _compares(text, token, before, after):
            yield _fault(text, token, "than", "fault-than", before)
        elif word == "than" and _in_time(text, token, before, after):
            yield _fault(text, token, "then", "fault-then", before)
        elif word == "effect" and before.tag == "MD" and after.tag in ("DT", "PRP$", "PRP"):
            if after.lower in ("a", "an"):
                continue  # "can effect a change": bring about
            yield _fault(text, token, "affect", "fault-affect", before)
        elif word == "affect" and before.lower in ("an", "the", "no", "its"):
            if after.lower in ("on", "upon") or _is_result(text, token, after):
                yield _fault(text, token, "effect", "fault-effect", before)
        elif word == "later" and _former_and_latter(text, token, after):
            yield _fault(text, token, "latter", "fault-latter", before)
        elif word == "to" and after.lower in ("much", "many") and before.lemma in _BEFORE_TOO:
            yield _fault(text, token, "too", "fault-too", after)


def _is_result(text: Text, token: Token, after: Token) -> bool:
    """*The affect of the storm*: what a thing brings about. *The affect of the patient* (or of
    shame) is a word of psychology: a mood."""
    if after.lower != "of" or text.tokens[token.i - 1].lower != "the":
        return False
    cause = text.child(after.i, "pobj")
    return cause is not None and is_thing(cause) and is_outside(cause)


def _former_and_latter(text: Text, token: Token, after: Token) -> bool:
    """*The former is long; the later is short*: of two, the second is the *latter*."""
    if text.tokens[token.i - 1].lower != "the" or after.tag not in _MAY_FOLLOW_LATTER:
        return False
    first = text.sentences[max(0, token.sent - 1)].first
    earlier = text.tokens[first : token.i]
    spot = next((t.i for t in reversed(earlier) if t.lower == "former"), None)
    return spot is not None and not any(t.lower == "earlier" for t in earlier)


def _compares(text: Text, token: Token, before: Token, after: Token) -> bool:
    """Whether *then* follows a comparison: ``larger then``, ``more useful then the``."""
    if after.is_punct or before.is_punct or after.lower in ("again", "later"):
        return False
    if before.lower == "rather":
        return True
    near = [t for t in text.tokens[max(0, token.i - 3) : token.i] if t.sent == token.sent]
    compared = next(
        (t for t in reversed(near) if t.tag in ("JJR", "RBR") or t.lower in _COMPARE), None
    )
    if compared is None or before.lower in _TIME_WORDS:
        return False
    if compared.lower in ("later", "earlier", "sooner"):
        return False
    if compared.lower == "longer" and text.tokens[compared.i - 1].lower == "no":
        return False
    inner = text.tokens[compared.i + 1 : token.i]
    if any(t.is_punct or t.tag in ("CC", "IN") for t in inner) or after.tag in _MAY_FOLLOW_THEN:
        return False
    if not inner or all(t.pos in ("ADJ", "ADV") or t.tag == "VBN" for t in inner):
        return True
    # "fewer cars then trucks", but "fewer cars then in the town" may speak of time
    return inner[-1].pos == "NOUN" and after.pos in ("NOUN", "PROPN", "DET", "PRON", "NUM", "ADJ")


def _in_time(text: Text, token: Token, before: Token, after: Token) -> bool:
    """Whether *than* stands where only *then* fits: after ``and`` or ``since`` or ``by``."""
    if before.lower not in ("and", "since", "until", "till", "back"):
        return False
    earlier = text.tokens[max(0, token.i - 12) : token.i]
    if any(t.tag in ("JJR", "RBR") or t.lower in ("other", "rather", "else") for t in earlier):
        return False
    if before.lower == "and":
        return after.pos in ("VERB", "AUX", "DET", "PRON") and after.lower not in ("that", "those")
    return True


def _fault(text: Text, token: Token, new: str, variant: str, cue: Token) -> Finding:
    return Finding(
        token.start,
        token.end,
        "fault",
        0.95,
        {"word": token.text, "form": new, "cue": cue.text},
        (text.evidence(text.span(cue.i, cue.i), "cue"),),
        (Fix(token.start, token.end, new),),
        variant,
    )


RULE = Rule("word-confusion", find)

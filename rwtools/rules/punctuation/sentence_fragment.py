"""A part of a sentence does not stand alone between full stops."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.clue import Fix
from rwtools.rules.boundaries import FRAGMENT_THRESHOLD, Fragment, boundaries, lowered
from rwtools.rules.model import Finding, Rule
from rwtools.rules.phrases import clear, short
from rwtools.text import Sentence, Text, Token
from rwtools.text.forms import lemmas

__all__ = ["RULE", "find"]

# Clauses that follow the main one without a comma; *although*, *whereas* and the like take one.
_CLOSE = frozenset("because when whenever if until till after before since as unless where".split())
_CONTRAST = frozenset("although though whereas while".split())
_RELATIVES = frozenset("which who whom whose".split())
_NUMBERS = frozenset("two three four five six seven eight nine ten several many following".split())


def find(text: Text) -> list[Finding]:
    """Fault span: the full stop that cuts the fragment off from its sentence (its own full stop
    where no neighbour could take it in). Fix: the two joined."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    for fragment in boundaries(text).fragments:
        sentence = fragment.sentence
        if fragment.probability < FRAGMENT_THRESHOLD or _hides_verb(text, sentence):
            continue
        index = sentence.index - 1 if fragment.joins == "before" else sentence.index
        stop = text.tokens[text.sentences[index].last - 1]
        first = text.tokens[sentence.first]
        span = text.span(sentence.first, sentence.last - 1)
        values = {"fragment": short(text, span.start, span.end), "word": first.text}
        evidence = [text.evidence(span, "clause")]
        if fragment.joins:
            other = text.sentences[sentence.index + (-1 if fragment.joins == "before" else 1)]
            whole = text.span(other.first, other.last - 1)
            values["whole"] = short(text, whole.start, whole.end)
            evidence.append(text.evidence(whole, "clause"))
        yield Finding(
            stop.start,
            stop.end,
            "fault",
            fragment.probability,
            values,
            tuple(evidence),
            _fix(text, fragment, stop),
            _variant(text, fragment, first),
        )


def _hides_verb(text: Text, sentence: Sentence) -> bool:
    """Whether the parser takes the main verb for a plural: *When a bee lands on a blossom pollen |
    sticks to its legs*. *A* goes with no plural; what is missing there is a comma."""
    words = text.sentence_tokens(sentence)
    if words[0].lower not in _CLOSE | _CONTRAST or any(t.text == "," for t in words):
        return False
    plurals = (t for t in words if t.tag == "NNS" and t.lemma in lemmas("VERB"))
    articles = (text.child(t.i, "det") for t in plurals)
    return any(a is not None and a.lower in ("a", "an") for a in articles)


def _fix(text: Text, fragment: Fragment, stop: Token) -> tuple[Fix, ...]:
    if not fragment.joins:
        return ()
    index = fragment.sentence.index
    taken = text.sentences[index if fragment.joins == "before" else index + 1]
    word = text.tokens[taken.first]
    mark = ","
    if fragment.joins == "before":
        if word.lower in _CLOSE:
            mark = ""
        elif _announces(text, stop):
            mark = ":"
    return (Fix(stop.start, word.end, f"{mark} {lowered(text, word.i)}"),)


def _announces(text: Text, stop: Token) -> bool:
    """Whether the sentence before ends in a phrase that promises a list (*two things*)."""
    near = text.tokens[max(0, stop.i - 4) : stop.i]
    return bool(near) and near[-1].tag == "NNS" and any(t.lower in _NUMBERS for t in near)


def _variant(text: Text, fragment: Fragment, first: Token) -> str:
    if not fragment.joins:
        return "fault-alone"
    if first.lower in _RELATIVES:
        kind = "relative"
    elif first.lower in _CLOSE | _CONTRAST:
        kind = "subordinator"
    else:
        kind = "phrase"
    return f"fault-{kind}"


RULE = Rule("sentence-fragment", find)

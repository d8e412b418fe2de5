"""No comma parts two verbs that share one subject."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.rules.boundaries import THRESHOLD, boundaries
from rwtools.rules.model import Finding, Rule
from rwtools.rules.phrases import clear, cut_mark, short, verb_group
from rwtools.text import Text
from rwtools.text.clauses import subject_of

__all__ = ["RULE", "find"]

_FINITE = frozenset({"VBD", "VBZ", "VBP", "MD"})


def find(text: Text) -> list[Finding]:
    """Fault span: the comma. Fix: take it away."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    for suspect in boundaries(text).of("second"):
        if suspect.probability < THRESHOLD:
            continue
        place = suspect.place
        joiner = text.tokens[place.right]
        verb = next(
            (t for t in text.tokens[place.right + 1 : place.last + 1] if t.tag in _FINITE), None
        )
        if joiner.tag != "CC" or verb is None:
            continue
        main = text.tokens[verb.head] if verb.dep in ("aux", "auxpass") else verb
        subject = subject_of(text, main.i)
        if subject is None or subject.i > place.left:
            continue
        group = text.span(*verb_group(text, main.i))
        phrase = text.phrase(subject.i)
        mark = text.tokens[place.mark]
        yield Finding(
            mark.start,
            mark.end,
            "fault",
            suspect.probability,
            {
                "subject": short(text, phrase.start, min(phrase.end, mark.start)),
                "joiner": joiner.lower,
                "verb": group.of(text.passage),
            },
            (
                text.evidence(text.span(subject.i, subject.i), "subject"),
                text.evidence(group, "verb"),
            ),
            (cut_mark(text, place.mark),),
        )


RULE = Rule("comma-before-second-verb", find)

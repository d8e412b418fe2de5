"""One link joins two clauses: *Although it was cold, we swam*, without a *but* as well."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.clue import Fix
from rwtools.rules.model import Finding, Rule
from rwtools.rules.phrases import clear, prose, short
from rwtools.rules.places import FINITE
from rwtools.text import Sentence, Text, Token

__all__ = ["RULE", "find"]

# What opens a clause, and the links that say the same again; "though ..., yet" is an old pair.
_AGAIN = {
    "although": frozenset({"but"}),
    "though": frozenset({"but"}),
    "because": frozenset({"so"}),
    "since": frozenset({"so"}),
}
_SUBJECTS = frozenset({"nsubj", "nsubjpass", "expl"})
_IN_SUBJECT = frozenset({"DET", "ADJ", "NOUN", "PROPN", "PRON", "NUM"})


def find(text: Text) -> list[Finding]:
    """Fault span: the second link. Fix: without it (a comma where none stands)."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    for sentence in prose(text):
        found = _doubled(text, sentence)
        if found is not None:
            yield found


def _doubled(text: Text, sentence: Sentence) -> Finding | None:
    words = text.sentence_tokens(sentence)
    opener = words[1] if words[0].lower == "even" or words[0].tag == "CC" else words[0]
    again = _AGAIN.get(opener.lower)
    if again is None or text.tokens[opener.i + 1].lower in ("of", "then"):
        return None
    link = next((t for t in words[opener.i - sentence.first + 1 :] if t.lower in again), None)
    if link is None or link.i + 2 >= sentence.last:
        return None
    comma = text.tokens[link.i - 1].text == ","
    inside = text.tokens[opener.i + 1 : link.i - comma]
    rest = text.tokens[link.i + 1 : sentence.last]
    if not _is_one_clause(inside) or not _opens_with_subject(text, rest):
        return None
    if link.lower == "so" and not comma:
        return None  # "Because the ice was so ...", "because he left so she could rest"
    if any(t.text in (",", ";", ":", "—") for t in rest):
        return None  # the main clause may follow: both clauses before it depend on the opener
    main = rest[0]
    evidence = (
        text.evidence(text.span(opener.i, opener.i), "cue"),
        text.evidence(text.span(link.i, link.i), "cue"),
    )
    start = link.start if comma else text.tokens[link.i - 1].end
    return Finding(
        link.start,
        link.end,
        "fault",
        0.9,
        {
            "opener": opener.text,
            "word": link.text,
            "right": short(text, main.start, rest[-1].end),
        },
        evidence,
        (Fix(start, main.start, "" if comma else ", "),),
    )


def _is_one_clause(words: tuple[Token, ...]) -> bool:
    """Whether a stretch has exactly one subject with a verb and no mark, so no main clause yet."""
    if any(t.is_punct and t.text not in ("-", "'", "’") for t in words):
        return False
    subjects = [t for t in words if t.dep in _SUBJECTS and t.tag not in ("WDT", "WP")]
    finite = [t for t in words if t.tag in FINITE]
    return len(subjects) == 1 and bool(finite) and subjects[0].i < finite[0].i


def _opens_with_subject(text: Text, words: tuple[Token, ...]) -> bool:
    """Whether a clause begins: a subject of words for persons and things, then its verb."""
    subject = next((t for t in words if t.dep in _SUBJECTS), None)
    if subject is None or any(t.pos not in _IN_SUBJECT for t in words[: subject.i - words[0].i]):
        return False
    follow = next((t for t in words[subject.i - words[0].i + 1 :] if t.pos != "ADV"), None)
    return follow is not None and (follow.tag in FINITE or follow.pos == "AUX")


RULE = Rule("double-conjunction", find)

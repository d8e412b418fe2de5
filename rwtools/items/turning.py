"""Words before a blank that turn its meaning round: "is anything but ____"."""

from __future__ import annotations

import re

from rwtools.clue import Span

__all__ = ["denying_words", "left_out", "turning_words", "without_denial"]

_TURNS = re.compile(
    r"(?:\b(?:anything but|far from|by no means|in no way|no longer|not at all|not|never|hardly"
    r"|scarcely|barely)|\w+n['’]t)\b",
    re.IGNORECASE,
)
"""Negators and near-negators (Quirk, Greenbaum, Leech and Svartvik 1985, "A Comprehensive Grammar
of the English Language", 10.54-10.60, from memory) that can be left out and leave a sentence."""

_STEMS = {"ca": "can", "wo": "will", "sha": "shall", "ai": "is"}
_NEAR = re.compile(r"(?:\s+[^\s.,;:?!—()]+){0,4}\s*$")
_JOINT = re.compile(r"\b(?:only|but|that|which|who|because|if|when)\b", re.IGNORECASE)


def turning_words(passage: str, blank: tuple[int, int]) -> Span | None:
    """The nearest word or phrase that turns the meaning of a blank, at most four words before it
    in the same part of the sentence; None if there is none."""
    before = passage[: blank[0]]
    for match in reversed(list(_TURNS.finditer(before))):
        between = before[match.end() :]
        if not _NEAR.fullmatch(between):
            return None
        if not _JOINT.search(between):
            return Span(match.start(), match.end())
    return None


_DENIES = re.compile(
    r"\b(?:(?:do|does|did|done|doing) (?:little|nothing) to|fail(?:s|ed|ing)? to"
    r"|refus(?:e|es|ed|ing) to|rather than|instead of|without|seldom|rarely"
    r"|(?:lack(?:s|ed|ing)?|absence) of|no)\b",
    re.IGNORECASE,
)
"""Further words that deny, in form (*no*), in meaning (*fail*, *refuse*, *lack*) or by what they
put aside (Quirk et al. 1985, 10.54-10.60, from memory)."""

_NOBODY = re.compile(
    r"\b(no one|nobody|few(?: people)?) (?:\w+ ){0,3}?"
    r"(?:call(?:s|ed)?|describe[sd]?|accuse[sd]?|consider(?:s|ed)?|thinks?|thought)\b"
    r"(?:\s+[^\s.,;:?!—()]+){0,6}\s*$",
    re.IGNORECASE,
)
"""*No one could call the new guard ____*: a negative subject denies the whole clause (Quirk et al.
1985, 10.60, from memory)."""

_OPEN = frozenset(
    "a an the any all at being been be so very too much quite entirely wholly his her its their my "
    "our your to of trace sign hint".split()
)
"""What may stand between a preposition or *no* and the word that it denies."""

_TURNS_BACK = re.compile(
    r"\b(?:hesitat\w+|stop(?:s|ped|ping)?|ceas\w+|help|fail\w*|refus\w+|den(?:y|ied|ies|ying)|doubt\w*"
    r"|avoid\w*|resist\w*|prevent\w*|lack\w*|absence|without|little|less|more|fewer|merely|just|simply"
    r"|so much|until|no|not|never|and|or|while|although|though|as if)\b|n['’]t\b",
    re.IGNORECASE,
)
"""Words that take the denial back (*did not hesitate to*), raise it (*never more*) or begin
something new, so that the blank is not denied."""

_NO_DENIAL = re.compile(r"(?i)no (?:doubt|wonder|matter|sooner|one|less|more)\b")
_DENIED_TOO = re.compile(
    r"(?:\b(?:not|never|no|nor|neither|cannot|hardly|scarcely|nothing|nobody|none)|n['’]t)"
    r"(?:\s+\w+){0,2}\s*$",
    re.IGNORECASE,
)


def denying_words(passage: str, blank: tuple[int, int]) -> Span | None:
    """The words before a blank that deny it, for the explanation: those of `turning_words` and
    others that cannot simply be left out. None where two denials meet, and in a question."""
    before = passage[: blank[0]]
    stop = re.search(r"[.?!;:—]", passage[blank[1] :])
    if stop is not None and stop[0] == "?":
        return None
    compared = re.search(r"(?i)\bno more\s*$", before)  # no more ____ than sand
    if compared is not None and re.match(r"\s+than\b", passage[blank[1] :]):
        return Span(compared.start(), len(before.rstrip()))
    found = [m.span() for m in _TURNS.finditer(before)]
    found += [m.span() for m in _DENIES.finditer(before) if not _NO_DENIAL.match(before, m.start())]
    for start, end in sorted(found, key=lambda span: (-span[1], span[0])):
        between = before[end:]
        if not _NEAR.fullmatch(between) or _JOINT.search(between) or _TURNS_BACK.search(between):
            return None
        close = re.match(r"(?i)(?:without|no$|rather|instead|lack|absence)", before[start:end])
        if close and not set(between.lower().split()) <= _OPEN:
            return None
        if _DENIED_TOO.search(before[:start]):
            return None
        if before[start:end].lower() == "never" and re.search(r"(?i)\bso\s*$", between):
            return None  # "never so ____" says that it was very much so
        return Span(start, end)
    nobody = _NOBODY.search(before)
    if (
        nobody is None
        or _JOINT.search(nobody[0])
        or _TURNS_BACK.search(nobody[0][len(nobody[1]) :])
    ):
        return None
    return Span(*nobody.span(1))


def without_denial(passage: str, words: Span, until: int) -> str | None:
    """The passage up to ``until`` with the denial taken back: *did little to* becomes *did*; None
    where no sentence would be left."""
    said = words.of(passage).lower()
    if _TURNS.fullmatch(said):
        return left_out(passage, words, until)
    if said.endswith(" to"):
        verb = said.split()[0]
        helper = "did" if verb.endswith("ed") else "does" if verb.endswith("s") else None
        helper = verb if verb in ("do", "does", "did") else helper
        if helper is not None:
            return passage[: words.start] + helper + passage[words.end : until]
    return None


def left_out(passage: str, words: Span, until: int) -> str:
    """The passage up to ``until`` without the turning words; of *didn't* the *did* stays."""
    said = words.of(passage)
    stem = said[:-3] if said.lower().endswith(("n't", "n’t")) else ""
    begun = passage[: words.start] + _STEMS.get(stem.lower(), stem)
    return begun.rstrip() + passage[words.end : until]

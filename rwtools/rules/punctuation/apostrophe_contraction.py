"""In a short form the apostrophe stands where letters dropped out: ``does not``, ``doesn't``."""

from __future__ import annotations

import re
from collections.abc import Iterator

from rwtools.clue import Evidence, Fix
from rwtools.rules.model import Finding, Rule
from rwtools.rules.nouns import owned_after
from rwtools.rules.phrases import clear
from rwtools.text import Text

__all__ = ["RULE", "find"]

_NOT = "do does did is are was were has have had would could should must need"
_LONG = {f"{verb}nt": (f"{verb}n't", f"{verb} not") for verb in _NOT.split()} | {
    "thats": ("that's", "that is"),
    "whats": ("what's", "what is"),
    "theres": ("there's", "there is"),
    "wheres": ("where's", "where is"),
    "whos": ("who's", "who is"),
    "theyre": ("they're", "they are"),
    "youre": ("you're", "you are"),
    "theyve": ("they've", "they have"),
    "youve": ("you've", "you have"),
    "weve": ("we've", "we have"),
    "ive": ("I've", "I have"),
    "im": ("I'm", "I am"),
    "theyll": ("they'll", "they will"),
    "youll": ("you'll", "you will"),
    "itll": ("it'll", "it will"),
    "couldve": ("could've", "could have"),
    "wouldve": ("would've", "would have"),
    "shouldve": ("should've", "should have"),
    "oclock": ("o'clock", "of the clock"),
}
# Words of their own, too: only after a pronoun can they be nothing else.
_AFTER_PRONOUN = {"cant": ("can't", "cannot"), "wont": ("won't", "will not")}
_PRONOUNS = frozenset("i you he she it we they who people".split())
_WORD = re.compile(r"(?<![\w'’.@/-])[A-Za-z]+(?:['’][a-z]+)?(?![\w'’@/-])")
_MISPLACED = {f"{verb}'nt": (f"{verb}n't", f"{verb} not") for verb in _NOT.split()} | {
    "ca'nt": ("can't", "cannot"),
    "wo'nt": ("won't", "will not"),
    "theyr'e": ("they're", "they are"),
    "your'e": ("you're", "you are"),
    "wer'e": ("we're", "we are"),
}


def find(text: Text) -> list[Finding]:
    """Fault span: the short form. Fix: the apostrophe in its place."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    for match in _WORD.finditer(text.passage):
        word = match[0].lower().replace("’", "'")
        if word in _AFTER_PRONOUN:
            before = text.passage[max(0, match.start() - 20) : match.start()].rsplit(None, 1)
            if (
                before
                and before[-1].lower() in _PRONOUNS
                and text.passage[match.end() :][:1] == " "
            ):
                yield _finding(
                    text, match.start(), match.end(), *_AFTER_PRONOUN[word], "fault-missing"
                )
        elif word in _MISPLACED:
            yield _finding(text, match.start(), match.end(), *_MISPLACED[word], "fault-place")
        elif word in _LONG:
            if word in ("im", "ive") and match[0][0] != "I":
                continue  # a word of another language
            if match[0].isupper() and len(word) > 2:
                continue  # an abbreviation
            if word == "whos" and owned_after(text, match.end()):
                continue  # "whos idea was that": whose, another rule's matter
            yield _finding(text, match.start(), match.end(), *_LONG[word], "fault-missing")


def _finding(text: Text, start: int, end: int, short: str, long: str, variant: str) -> Finding:
    word = text.quote(start, end)
    if "’" in text.passage:
        short = short.replace("'", "’")
    if word[0].isupper():
        short = short[0].upper() + short[1:]
    return Finding(
        start,
        end,
        "fault",
        0.97,
        {"word": word, "form": short, "long": long},
        (Evidence.at(text.passage, start, end, "cue"),),
        (Fix(start, end, short),),
        variant,
    )


RULE = Rule("apostrophe-contraction", find)

"""The part of a passage that an item shows: whole sentences round the place, 40 to 130 words."""

from __future__ import annotations

import re

from rwtools.clue import Span
from rwtools.text import Sentence, Text

__all__ = ["LONGEST", "SHORTEST", "is_sound", "sound_sentences", "window", "words"]

SHORTEST, LONGEST = 40, 130
"""Words of an item's passage (common practice for short reading items; no published source)."""

_OPENERS = "\"'“‘(—"
_ENDS = re.compile(r"[.?!…][\"'”’)\]]*$")
# What is left where a figure, a formula or a reference was taken out of a text.
_SCARS = re.compile(
    r"\(\s*[,;.]?\s*\)|\s[,.;:](?:\s|$)|[=<>|{}\\]|____|\w\(\w*\)\w|http|\[\s*\]|[a-z]{4,}\. [a-z]"
)


def words(passage: str) -> int:
    """How many words a stretch of text has, by white space."""
    return len(passage.split())


def is_sound(text: Text, sentence: Sentence) -> bool:
    """Whether a sentence can be shown: it opens and ends like one, and nothing was cut out of it.

    Headings, captions and the remains of formulas are kept away from learners by this.
    """
    quote = text.quote(sentence.start, sentence.end)
    first = quote.lstrip(_OPENERS)[:1]
    return (
        (first.isupper() or first.isdigit())
        and _ENDS.search(quote) is not None
        and _SCARS.search(quote) is None
        and quote.count("(") == quote.count(")")
        and quote.count("“") == quote.count("”")
        and quote.count('"') % 2 == 0
        and 3 <= words(quote) <= 60
        and any(clause.finite for clause in text.clauses if _inside(clause, sentence))
    )


def _inside(clause: object, sentence: Sentence) -> bool:
    start: int = clause.start  # type: ignore[attr-defined]
    return sentence.start <= start < sentence.end


def sound_sentences(text: Text) -> list[bool]:
    """For each sentence whether it can be shown."""
    return [is_sound(text, sentence) for sentence in text.sentences]


def window(text: Text, sound: list[bool], start: int, end: int, aim: int) -> Span | None:
    """Sentences round the characters ``start..end``: about ``aim`` words, within the limits.

    It grows before the place first, then behind it, in turn; it stops at a new paragraph and at a
    sentence that cannot be shown. None where the text round the place is too short or too long.
    """
    inside = [s.index for s in text.sentences if s.start < end and start < s.end]
    if not inside or not all(sound[i] for i in inside):
        return None
    first, last = inside[0], inside[-1]
    size = _size(text, first, last)
    if size > LONGEST:
        return None
    before = after = True
    turn = True
    while (before or after) and size < aim:
        if (turn and before) or not after:
            before = first > 0 and sound[first - 1] and _joined(text, first - 1)
            before = before and _size(text, first - 1, last) <= LONGEST
            first -= before
        else:
            after = last + 1 < len(sound) and sound[last + 1] and _joined(text, last)
            after = after and _size(text, first, last + 1) <= LONGEST
            last += after
        turn = not turn
        size = _size(text, first, last)
    if size < SHORTEST:
        return None
    return Span(text.sentences[first].start, text.sentences[last].end)


def _size(text: Text, first: int, last: int) -> int:
    return words(text.quote(text.sentences[first].start, text.sentences[last].end))


def _joined(text: Text, index: int) -> bool:
    """Whether no paragraph ends between a sentence and the next."""
    gap = text.quote(text.sentences[index].end, text.sentences[index + 1].start)
    return gap.count("\n") < 2

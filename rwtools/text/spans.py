"""Offsets: the parser reads a copy of the passage that has the same length.

So every offset it gives is the passage's own.
"""

from __future__ import annotations

import re

from rwtools.clue import Span

__all__ = ["for_parser", "is_verse", "trim", "utf16_offsets"]

_SINGLE = dict.fromkeys("\u2018\u2019\u201b\u02bc\u2032\uff07", "'")
_DOUBLE = dict.fromkeys("\u201c\u201d\u201f\u2033\uff02", '"')
_DASHES = dict.fromkeys("\u2012\u2015\u2e3a\u2e3b\ufe58", "\u2014")
_HYPHENS = dict.fromkeys("\u2010\u2011\u00ad", "-")
_SPACES = dict.fromkeys(
    "\u00a0\u2002\u2003\u2007\u2008\u2009\u200a\u202f\u3000\t\v\f\x85\x1c\x1d", " "
)
_PLAIN = str.maketrans(_SINGLE | _DOUBLE | _DASHES | _HYPHENS | _SPACES)
_SURROGATE = re.compile("[\ud800-\udfff]")
_LINE_BREAK = re.compile(r"\r\n|[\n\r\u2028]")
# Only at the head of a run of spaces: at each space of a long run it would read the rest again.
_PARAGRAPH = re.compile(r"(?<![^\S\r\n])(?:[^\S\r\n]*(?:\r\n|\n|\r(?!\n))){2,}|\u2029")
_BLANK = re.compile(r"_{4,}")
_VERSE_LINE = re.compile(r"(?<![.?!\"'])(\n[ ]*)([A-Z])(?=[a-z]*\b)(?!')")


def for_parser(passage: str, *, verse: bool = False) -> str:
    """A copy of the same length in the plain characters that the parser was trained on.

    Curly quotes and rare dashes become plain ones; single line breaks become spaces; a blank line
    stays as a paragraph mark. In verse the capital that merely opens a line is lowered, because
    the parser would take it for a name.
    """
    text = _SURROGATE.sub("\ufffd", passage).translate(_PLAIN)
    if verse:
        text = _VERSE_LINE.sub(lambda m: m[1] + (m[2] if m[2] == "I" else m[2].lower()), text)
    text = _BLANK.sub(lambda m: "x" * len(m[0]), text)  # one token, not one for each stroke
    out: list[str] = []
    last = 0
    for gap in _PARAGRAPH.finditer(text):
        out.append(_LINE_BREAK.sub(lambda m: " " * len(m[0]), text[last : gap.start()]))
        out.append("\n" * len(gap[0]))
        last = gap.end()
    out.append(_LINE_BREAK.sub(lambda m: " " * len(m[0]), text[last:]))
    return "".join(out)


def is_verse(passage: str) -> bool:
    """Whether a passage is set as verse: three short lines or more that open with a capital.

    Hard-wrapped prose has longer lines, most of which begin with a small letter.
    """
    lines = [line.strip() for line in passage.splitlines() if line.strip()]
    stanzas = [s for s in _PARAGRAPH.split(passage) if s and len(s.splitlines()) > 1]
    if len(lines) < 3 or not stanzas:
        return False
    in_stanzas = sum(len([1 for line in s.splitlines() if line.strip()]) for s in stanzas)
    short = sum(len(line) <= 60 for line in lines)
    ended = sum(line[-1] in ".!?" for line in lines)
    return (
        in_stanzas >= 0.8 * len(lines)
        and short >= 0.9 * len(lines)
        and ended < 0.75 * len(lines)
        and max(map(len, lines)) <= 80
        and (_opens_lines(lines) or max(map(len, lines)) <= 50)
    )


def _opens_lines(lines: list[str]) -> bool:
    first = [line.lstrip("\"'\u2018\u201c(\u2014 ")[:1] for line in lines]
    return sum(letter.isupper() for letter in first) >= 0.7 * len(lines)


def trim(passage: str, start: int, end: int, *, marks: str = "") -> Span:
    """Shrink a span so that it neither begins nor ends in white space or one of ``marks``."""
    while start < end and (passage[start].isspace() or passage[start] in marks):
        start += 1
    while end > start and (passage[end - 1].isspace() or passage[end - 1] in marks):
        end -= 1
    return Span(start, end)


def utf16_offsets(passage: str) -> list[int]:
    """For each code-point offset 0..len(passage), the offset in UTF-16 units (browsers')."""
    offsets = [0]
    for character in passage:
        offsets.append(offsets[-1] + (2 if ord(character) > 0xFFFF else 1))
    return offsets

"""Halves of a sentence that do not look what they are: *others, a school*, where a comma stands for
the verb of the half before, and *Had the storm come earlier*, which asks nothing.

A comma for a verb left out, after a semicolon: common rule of grammar handbooks, from memory.
*Had*, *were* or *should* before the subject for *if*: the same.
"""

from __future__ import annotations

from rwtools.items.subjects import leading_noun
from rwtools.text import Text, Token

__all__ = ["lacks_comma", "leaves_verb_out", "supposes", "verb_of"]

_FINITE = frozenset({"VBD", "VBZ", "VBP", "MD"})
_OTHER_VERBS = frozenset({"VB", "VBG", "WDT", "WP", "WRB"})
_SECOND = frozenset("others another some hers his theirs mine ours yours".split())
_ARTICLES = frozenset({"a", "an", "the"})
_NOUNLESS = frozenset({"JJ", "JJR", "JJS", "CD"})
_SUPPOSING = {
    "had": frozenset("would could might should".split()),
    "were": frozenset("would could might".split()),
    "should": frozenset("will would can could may might must".split()),
}
_NO_NOUN = frozenset("other others second latter rest".split())


def leaves_verb_out(left: Text, right: Text) -> bool:
    """Whether a comma in the right half stands for the verb of the left one: *some wanted a bridge;
    others, a school*. A list (*three tools; a saw, an axe*) only looks so: both halves must begin
    alike, or the right one with *others*, *the second* ..."""
    before, after = _words(left), _words(right)
    comma = next((k for k, t in enumerate(after) if t.text == ","), 0)
    if not before or not 0 < comma < len(after) - 1 or comma > 6:
        return False
    if not any(t.tag in _FINITE for t in before):
        return False
    if any(t.tag in _FINITE | _OTHER_VERBS for t in after) or after[0].dep == "mark":
        return False
    if sum(t.text == "," for t in after) > 1:
        return False
    return _pairs(before, after, comma)


def lacks_comma(right: Text) -> bool:
    """Whether a half with its verb left out does not show where: *others a school*."""
    words = _words(right)
    if len(words) < 3 or words[0].lower not in ("others", "another"):
        return False
    return words[1].pos in ("DET", "NUM") and not any(t.tag in _FINITE for t in words)


def _pairs(before: list[Token], after: list[Token], comma: int) -> bool:
    head, last = after[0], after[comma - 1]
    if head.lower in _ARTICLES:
        if head.lower == after[comma + 1].lower and last.lower not in _NO_NOUN:
            return False  # the saw, the axe
        return last.lower in _NO_NOUN or (
            head.lower == before[0].lower and (last.tag in _NOUNLESS or _same_noun(before, last))
        )
    return head.lower in _SECOND or head.lower == before[0].lower


def _same_noun(before: list[Token], last: Token) -> bool:
    """*The first room was red; the second room, green.*"""
    noun = leading_noun(before)
    return noun is not None and noun.lemma == last.lemma


def verb_of(left: Text) -> str:
    """The verb that the other half takes from the left one."""
    clause = next((c for c in left.clauses if c.kind == "independent" and c.finite), None)
    return "" if clause is None else clause.verb.of(left.passage)


def supposes(left: Text, right: Text) -> bool:
    """Whether a half says *if* by its order alone, before a half with *would* or the like: *Had the
    storm come an hour earlier, the fleet would have been lost*."""
    words = [t for t in _words(left) if not t.is_punct]
    ruled = _SUPPOSING.get(words[0].lower) if words else None
    if ruled is None or len(words) < 3 or "?" in left.passage:
        return False
    if words[0].lower == "had" and not any(t.tag in ("VBN", "VBD", "VB") for t in words[2:]):
        return False
    if words[0].lower == "were" and words[1].lower == "you":
        return False  # Were you there? You would know.
    return any(t.lower in ruled for t in _words(right))


def _words(text: Text) -> list[Token]:
    return [t for t in text.tokens if not t.is_punct or t.text == ","]

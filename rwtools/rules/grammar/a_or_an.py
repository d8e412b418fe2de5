"""*A* before a consonant that is heard, *an* before a vowel that is heard."""

from __future__ import annotations

import re
from collections.abc import Iterator

from rwtools.clue import Fix
from rwtools.rules.model import Finding, Rule
from rwtools.rules.phrases import clear
from rwtools.text import Text, Token

__all__ = ["RULE", "find"]

_SILENT_H = re.compile(r"(?:hour|honest|honou?r|heir)")
# Begins with the sound of "you" or "won", though the letter is a vowel.
_LIKE_YOU = re.compile(
    r"(?:eu|ewe|uni[fqtvco]|use|usu|usa|uti|ute|uto|ura|uro|ure|ubi|uku|one\b|once\b)"
)
# A vowel letter with a vowel sound in every word that begins so.
_VOWEL = re.compile(r"(?:a|e[^uw]|i[^o]|o(?!ne|nc|ui)|u[nmpl](?!i|a)|urg|urb|ugl|us\b)")
_CONSONANT = re.compile(r"(?:[bcdfgjklpqtvwz]|[mnrs](?=[aeiouy])|s[^aeiou]|y[aeiou])")
_ONE_SYLLABLE_H = re.compile(r"h[aeiouy]+[bcdfgklmnpqrstvwxz]+e?s?$")
_NO_H = frozenset({"herb", "herbs", "humble"})
_POS = frozenset({"NOUN", "ADJ", "ADV", "PROPN", "VERB"})


def find(text: Text) -> list[Finding]:
    """Fault span: the article. Fix: the other form."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    for token in text.tokens:
        if token.lower not in ("a", "an") or token.tag != "DT":
            continue
        if token.i + 1 >= text.sentences[token.sent].last or token.text == "AN":
            continue
        word = text.tokens[token.i + 1]
        if not _is_read_as_word(text, token, word):
            continue
        new = _other(token.lower, word.lower)
        if new is not None:
            yield Finding(
                token.start,
                token.end,
                "fault",
                0.9,
                {"word": token.text, "form": new, "cue": word.text},
                (text.evidence(text.span(word.i, word.i), "cue"),),
                (Fix(token.start, token.end, new.capitalize() if token.text[0] == "A" else new),),
                f"fault-{new}",
            )


def _is_read_as_word(text: Text, token: Token, word: Token) -> bool:
    """Whether the next word is plain English: no letters read one by one, no name of a thing."""
    if word.pos not in _POS or word.tag == "NNPS" or text.passage[token.end : word.start] != " ":
        return False
    if len(word.text) < 3 or not word.text.isalpha() or not word.text.isascii():
        return False
    if not word.text[1:].islower() or (word.text[0].isupper() and word.pos == "PROPN"):
        return False
    opens = token.i == text.sentences[token.sent].first or text.tokens[token.i - 1].is_punct
    if token.text[0] == "A" and not opens:
        return False  # *vitamin A deficiency*, *the story of An reminds*
    return bool(re.search("[aeiouy]", word.lower))


def _other(article: str, word: str) -> str | None:
    """The article that the word needs, where it is surely the other one."""
    if article == "a":
        vowel = _SILENT_H.match(word) or (_VOWEL.match(word) and not _LIKE_YOU.match(word))
        return "an" if vowel else None
    if word in _NO_H or _SILENT_H.match(word):
        return None
    consonant = _CONSONANT.match(word) or _LIKE_YOU.match(word) or _ONE_SYLLABLE_H.match(word)
    return "a" if consonant else None


RULE = Rule("a-or-an", find)

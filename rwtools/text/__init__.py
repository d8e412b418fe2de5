"""From a passage to parsed text: tokens, sentences, clauses and their offsets."""

from rwtools.text.load import MAX_CHARACTERS, check_passage, parse, parse_many
from rwtools.text.model import Clause, Sentence, Text, Token
from rwtools.text.sentences import LONG
from rwtools.text.spans import is_verse, trim, utf16_offsets

__all__ = [
    "LONG",
    "MAX_CHARACTERS",
    "Clause",
    "Sentence",
    "Text",
    "Token",
    "check_passage",
    "is_verse",
    "parse",
    "parse_many",
    "trim",
    "utf16_offsets",
]

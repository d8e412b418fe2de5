"""The parts of a connective where marks show them and the parse alone would mislead."""

from __future__ import annotations

from dataclasses import replace

from rwtools.clue import Span
from rwtools.text import Text
from rwtools.transitions.bounds import free_verbs, joint, only_marks, previous_sentence, stretch
from rwtools.transitions.candidates import Candidate
from rwtools.transitions.edges import trimmed
from rwtools.transitions.features import sides
from rwtools.transitions.forms import concedes, front_of
from rwtools.transitions.lexicon import connectives
from rwtools.transitions.settled import commands

__all__ = ["by_marks", "less_aside", "speech_before"]

Parts = tuple[Span | None, Span | None]

_DASHES = frozenset({"-", "–", "—", "--"})
_FINITE = frozenset({"VBD", "VBZ", "VBP", "MD"})
_NOMINAL = frozenset({"ADJ", "DET", "NOUN", "NUM", "PRON", "PROPN"})
_OPENING, _CLOSING = frozenset({"“", '"'}), frozenset({"”", '"'})
_FULL = frozenset({".", "!", "?"})
_LONGEST_FRAME = 8
# what may stand in a shortened clause of these: *while in Rome*, *when angry*
_DURING = frozenset({"when", "while"})
_RELATIVE = frozenset({"WDT", "WP", "WP$", "WRB"})
_SHORTENED = frozenset({"although", "if", "once", "though", "unless", "until", "when", "while"})


def by_marks(text: Text, candidate: Candidate) -> Parts | None:
    """The parts of a link that opens its sentence, where dashes hold an aside between them
    or a comma parts them and the parse has lost it (None: the parse may be trusted)."""
    comma = concedes(text, candidate)
    if comma is not None:
        return _both(text, front_of(text, candidate), comma, comma + 1)
    sentence = text.sentences[text.tokens[candidate.first].sent]
    if candidate.last - candidate.first > len(candidate.form.split()):
        # a set phrase that links as a shorter word does: *Be that as it may, | we must go*
        end = stretch(text, candidate.last, sentence.last - 1, 1)
        arg1 = trimmed(text, sentence.first, candidate.first)
        arg2 = trimmed(text, candidate.last, end)
        return arg1 or previous_sentence(text, candidate.first), arg2
    if connectives()[candidate.form].pos != "subordinator" or candidate.second is not None:
        return None
    if not only_marks(text, sentence.first, candidate.first):
        return None
    return (
        _across_dashes(text, candidate)
        or _after_frame(text, candidate)
        or _at_comma(text, candidate)
    )


def _both(text: Text, start: int, stop: int, main: int) -> Parts | None:
    last = text.sentences[text.tokens[start].sent].last
    arg1 = trimmed(text, main, joint(text, main, last))
    arg2 = trimmed(text, start, stop)
    return (arg1, arg2) if arg1 and arg2 else None


def _is_main(text: Text, first: int, last: int) -> bool:
    """Whether a stretch opens with a subject that has its finite verb, no mark between."""
    tokens = text.tokens
    if first >= last or tokens[first].pos not in _NOMINAL or tokens[first].tag in _RELATIVE:
        return False
    verbs, _ = free_verbs(text, first, last)
    return (
        bool(verbs) and verbs[0] > first and not any(t.is_punct for t in tokens[first : verbs[0]])
    )


def _across_dashes(text: Text, candidate: Candidate) -> Parts | None:
    """*Since they grow so slowly — a millimeter a year is typical — | they can be used*."""
    tokens = text.tokens
    last = text.sentences[tokens[candidate.first].sent].last
    dashes = [i for i in range(candidate.last, last) if tokens[i].text in _DASHES]
    # no dash is the hyphen of *day-to-day*
    dashes = [i for i in dashes if tokens[i].text != "-" or tokens[i].start > tokens[i - 1].end]
    if len(dashes) != 2:
        return None
    opened, closed = dashes
    own, _ = free_verbs(text, candidate.last, opened)
    if any(t.text == "," for t in tokens[candidate.last : opened]):
        return None
    main = closed + 1
    while main < last and tokens[main].text == ",":
        main += 1
    if len(own) != 1 or not _is_main(text, main, last):
        return None
    return _both(text, candidate.last, opened, main)


def _after_frame(text: Text, candidate: Candidate) -> Parts | None:
    """*“If you go,” she said, “| I will stay.”*: words that tell who speaks stand between."""
    tokens, first = text.tokens, candidate.first
    last = text.sentences[tokens[first].sent].last
    if first == 0 or tokens[first - 1].text not in _OPENING:
        return None
    marks = [i for i in range(candidate.last, last) if tokens[i].is_punct]
    if len(marks) < 4:
        return None
    comma, closed, pause, opened = marks[:4]
    if [tokens[comma].text, tokens[pause].text] != [",", ","] or closed != comma + 1:
        return None
    if tokens[closed].text not in _CLOSING or tokens[opened].text not in _OPENING:
        return None
    if opened != pause + 1 or not _tells_who(text, closed + 1, pause):
        return None
    end = next((i for i in marks[4:] if tokens[i].text in _CLOSING | _FULL), last)
    arg1, arg2 = trimmed(text, opened + 1, end), trimmed(text, candidate.last, comma)
    return (arg1, arg2) if arg1 and arg2 else None


def _tells_who(text: Text, first: int, last: int) -> bool:
    """Whether a stretch between quotation marks can tell who speaks."""
    frame = text.tokens[first:last]
    return 1 < len(frame) <= _LONGEST_FRAME and any(t.tag in _FINITE for t in frame)


def _at_comma(text: Text, candidate: Candidate) -> Parts | None:
    """*As soon as the bell rang, | the hall emptied*; *While in Rome, | she learned to cook*: the
    first comma parts the two where the parse hangs no verb before it on one after it."""
    tokens = text.tokens
    last = text.sentences[tokens[candidate.first].sent].last
    comma = next((i for i in range(candidate.last, last) if tokens[i].is_punct), last)
    if comma == last or tokens[comma].text != ",":
        return None
    if not (_is_main(text, comma + 1, last) or commands(text, comma + 1, last)):
        return None
    if _is_placed(text, candidate, comma):
        return None
    own, waiting = free_verbs(text, candidate.last, comma)
    if waiting:
        return None
    opening = tokens[candidate.last]
    bare = opening.pos == "ADP" or opening.tag in ("VBG", "VBN")
    bare = bare or (opening.pos == "ADJ" and opening.i + 1 == comma)
    # *Although at that time, it rained, we left*: the phrase may belong to the clause behind it
    more = any(tokens[i].text == "," for i in range(comma + 1, last))
    short = candidate.form in _SHORTENED and bare
    short = short and not (more and opening.pos == "ADP" and candidate.form not in _DURING)
    clause = len(own) == 1 and own[0] > candidate.last and opening.pos in _NOMINAL
    return _both(text, candidate.last, comma, comma + 1) if clause or (short and not own) else None


def _is_placed(text: Text, candidate: Candidate, comma: int) -> bool:
    """Whether the parse sees the part before the comma as a clause below one after it."""
    own = range(candidate.first, candidate.last)
    opener = next((i for i in own if text.tokens[i].dep == "mark"), candidate.first)
    joined = sides(text, replace(candidate, first=opener))
    if joined.left is None or joined.right is None:
        return False
    return joined.right < comma < joined.left


def less_aside(text: Text, candidate: Candidate, parts: Parts) -> Parts:
    """The parts, the second cut where a clause between commas closes: *Take it, if you like, | as
    a gift*. What follows the comma must be a phrase with a preposition that the parse hangs on the
    verb of the clause, and no further comma may come."""
    arg1, arg2 = parts
    tokens, first = text.tokens, candidate.first
    right = sides(text, candidate).right
    if connectives()[candidate.form].pos != "subordinator" or arg2 is None or right is None:
        return parts
    if first == 0 or tokens[first - 1].text != ",":
        return parts
    last = text.sentences[tokens[first].sent].last
    commas = [i for i in range(candidate.last, last) if tokens[i].text == ","]
    if len(commas) != 1 or not right < commas[0] < last - 1:
        return parts
    after = tokens[commas[0] + 1]
    if after.dep != "prep" or after.head != right:
        return parts
    if tokens[right].pos != "VERB" and text.child(right, "acomp", "attr") is None:
        return parts
    return arg1, trimmed(text, candidate.last, commas[0])


def speech_before(text: Text, candidate: Candidate) -> Span | None:
    """What was said before the words that tell who speaks, where a conjunction goes on with it:
    *“| I won't go,” said Marta, “unless you come”*."""
    tokens, first = text.tokens, candidate.first
    if connectives()[candidate.form].pos == "adverb" or candidate.second is not None:
        return None
    if first < 4 or tokens[first - 1].text not in _OPENING or tokens[first - 2].text != ",":
        return None
    if (
        tokens[first - 1].end < tokens[first].start
        or tokens[first - 1].start == tokens[first - 2].end
    ):
        return None  # a straight mark that closes: *say, "Go," before you leave*
    closed = first - 3
    while closed > 0 and not tokens[closed].is_punct:
        closed -= 1
    if tokens[closed].text not in _CLOSING or not _tells_who(text, closed + 1, first - 2):
        return None
    start = closed - 1
    while start > 0 and tokens[start].text not in _OPENING:
        if tokens[start].text in _FULL and start < closed - 1:
            break
        start -= 1
    return trimmed(text, start + 1 if tokens[start].is_punct else start, closed)

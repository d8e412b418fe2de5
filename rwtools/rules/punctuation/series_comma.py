"""The marks of a list: between its members, not before the first or after the last."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.rules.model import Finding, Rule
from rwtools.rules.phrases import clear, cut_mark, prose, short
from rwtools.text import Sentence, Text, Token

__all__ = ["RULE", "find"]

_NAMING = frozenset({"NOUN", "PROPN", "DET", "ADJ", "NUM"})
_FINITE = frozenset({"VBZ", "VBP", "VBD", "MD"})


def find(text: Text) -> list[Finding]:
    """Fault span: the comma too many. Fix: take it away. Sound: a list of three or more, from its
    first member to its last."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    for sentence in prose(text):
        for token in text.sentence_tokens(sentence):
            if token.text == "," and token.i > sentence.first + 1:
                found = _before_list(text, sentence, token) or _after_list(text, sentence, token)
                if found is not None:
                    yield found
            elif token.dep in ("dobj", "pobj", "attr", "nsubj", "nsubjpass"):
                found = _list(text, sentence, token)
                if found is not None:
                    yield found


def _before_list(text: Text, sentence: Sentence, comma: Token) -> Finding | None:
    """``such as, reeds and rushes``."""
    before = text.tokens[comma.i - 1]
    if before.lower == "as" and text.tokens[comma.i - 2].lower == "such":
        cue = text.span(comma.i - 2, comma.i - 1)
    elif before.lower in ("including", "like") and text.tokens[comma.i - 2].text == ",":
        cue = text.span(comma.i - 1, comma.i - 1)
    else:
        return None
    after = text.tokens[comma.i + 1 : comma.i + 4]
    if (
        len(after) < 3
        or not after[0].text.isalpha()
        or after[0].pos in ("ADP", "ADV", "SCONJ", "VERB")
    ):
        return None  # "such as, for example, ..."
    if before.lower == "like" and after[0].tag == "PRP":
        return None
    return Finding(
        comma.start,
        comma.end,
        "fault",
        0.95,
        {"cue": cue.of(text.passage), "next": after[0].text},
        (text.evidence(cue, "cue"),),
        (cut_mark(text, comma.i),),
        "fault-before",
    )


def _members(text: Text, first: Token) -> tuple[list[Token], Token | None]:
    """The members of a list that begins with a word, and the word that links the last one."""
    members, link, at = [first], None, first
    while True:
        partner = text.child(at.i, "conj")
        found = text.child(at.i, "cc")
        if found is not None:
            link = found
        if partner is None or partner.pos != first.pos:
            return members, link
        members.append(partner)
        at = partner


def _after_list(text: Text, sentence: Sentence, comma: Token) -> Finding | None:
    """``Rye, flax, and hops, grow here``."""
    if comma.i + 1 >= sentence.last or text.tokens[comma.i + 1].tag not in _FINITE:
        return None
    after = text.tokens[comma.i + 1]
    if after.tag == "VBZ" or after.lower == "was":
        return None  # one subject with words set off by commas
    members: list[list[Token]] = [[]]
    for token in text.tokens[sentence.first : comma.i]:
        if token.text == ",":
            members.append([])
        else:
            members[-1].append(token)
    last = members[-1]
    if len(members) < 3 or not last or last[0].lower != "and":
        return None
    if not all(m and m[-1].pos in ("NOUN", "PROPN") for m in members):
        return None
    if any(t.pos not in _NAMING for m in (*members[:-1], last[1:]) for t in m):
        return None
    whole = text.span(sentence.first, comma.i - 1)
    return Finding(
        comma.start,
        comma.end,
        "fault",
        0.9,
        {"list": short(text, whole.start, whole.end), "verb": after.text},
        (text.evidence(whole, "subject"), text.evidence(text.span(after.i, after.i), "verb")),
        (cut_mark(text, comma.i),),
        "fault-after",
    )


def _list(text: Text, sentence: Sentence, first: Token) -> Finding | None:
    members, link = _members(text, first)
    if len(members) < 3 or link is None or link.lower not in ("and", "or"):
        return None
    if not members[-2].i < link.i < members[-1].i:
        return None
    starts = [text.subtree(m.i)[0] for m in members]
    marks = [text.tokens[i - 1] for i in starts[1:-1]]
    if not all(m.text == "," for m in marks):
        return None
    if any(len(text.subtree(m.i)) > 12 for m in members[-1:]):
        return None
    if _hides_member(text, members):
        return None
    last = text.subtree(members[-1].i)[-1]
    stops = [*(m.i - 1 for m in marks), link.i - 1, last]
    spans = [text.span(a, b) for a, b in zip(starts, stops, strict=True)]
    names = [short(text, span.start, span.end).rstrip(",") for span in spans]
    return Finding(
        spans[0].start,
        text.tokens[last].end,
        "sound",
        0.9,
        {"members": '", "'.join(names), "count": str(len(names)), "link": link.text},
        tuple(text.evidence(text.span(m.i, m.i), "arg2") for m in members),
    )


def _hides_member(text: Text, members: list[Token]) -> bool:
    """Whether one member is two bare nouns and each other member one: *eggs, milk flour and
    butter* may lack a comma, so it is not praised."""
    inner = [[i for i in text.children[m.i] if text.tokens[i].dep == "compound"] for m in members]
    bare = all(
        text.tokens[i].dep in ("cc", "conj", "punct", "compound")
        for m in members
        for i in text.children[m.i]
    )
    two = [text.tokens[found[0]] for found in inner if len(found) == 1]
    return bare and len(two) == 1 and two[0].pos == "NOUN" and sum(map(len, inner)) == 1


RULE = Rule("series-comma", find)

"""Subjects that a parse of a filled blank often misses, found by the order of words alone.

*The salts that give the lake its smell | attract*; *not one of the sketches that they made |
shows*; *neither the prints nor the layer of ash that covers them | supports*; *the only one of the
runners who | trains*; *beneath the roots | lie the burrows*. There the parser takes the nearest
noun, or the fronted phrase, for the subject.

Rules of agreement of public-domain handbooks: G. Greever and E. S. Jones, The Century Handbook of
Writing (1918), article 52; *the only one of those who* is common practice, no published source.
"""

from __future__ import annotations

from itertools import takewhile

from rwtools.clue import Span
from rwtools.items.placing import Placed
from rwtools.rules.number import number_of
from rwtools.text import Text, Token

__all__ = ["Found", "by_order", "joined_after", "leading_noun", "noun_number"]

Found = tuple[Span, Span, str]
"""Head, phrase and number (``singular`` or ``plural``) of a subject, in the filled passage."""

_FINITE = frozenset({"VBD", "VBZ", "VBP", "MD"})
_RELATIVE = frozenset({"who", "which", "that", "whom", "whose", "where"})
_ONE = frozenset({"each", "either", "neither", "one"})
_NOMINAL = frozenset({"NOUN", "PROPN", "PRON"})
_OPENS_NOUN = frozenset({"ADJ", "DET", "NOUN", "NUM", "PROPN", "PRON"})
_INSIDE = frozenset({"ADJ", "ADV", "DET", "NOUN", "NUM", "PART", "PROPN", "PRON"})


def by_order(text: Text, placed: Placed) -> Found | None:
    """The subject of the choice's verb where one of the orders stands, else None."""
    at = text.token_at(min(placed.start, len(text.passage) - 1))
    if at is None:
        return None
    sentence = text.sentences[at.sent]
    before = [t for t in text.tokens[sentence.first : sentence.last] if t.end <= placed.start]
    after = [t for t in text.tokens[sentence.first : sentence.last] if t.start >= placed.end]
    if not before:
        return None
    clause = _clause(before)
    return (
        _who(text, before)
        or _one_of(text, clause)
        or _nor(text, clause)
        or _leading(text, clause, at)
        or _after(text, clause, after)
    )


def _clause(before: list[Token]) -> list[Token]:
    """The words since the last mark that ends a clause, or since a conjunction with a comma."""
    start = 0
    for k, token in enumerate(before):
        if token.text in (";", ":", "—", "--"):
            start = k + 1
        elif token.text == "," and k + 1 < len(before) and before[k + 1].tag == "CC":
            start = k + 2 if before[k + 1].lower in ("and", "but", "so", "yet") else start
    while start < len(before) and before[start].is_punct:
        start += 1
    return before[start:]


def _balanced(words: list[Token]) -> bool:
    """Whether each verb of a stretch has its own relative word before it. (The parser may take the
    verb of a relative clause for a participle: *that they made*.)"""
    waiting = 0
    for token in words:
        if token.lower in _RELATIVE:
            waiting += 1
        elif token.tag in _FINITE or (waiting and token.tag in ("VBN", "VB")):
            waiting -= 1
            if waiting < 0:
                return False
    return waiting == 0


def _who(text: Text, before: list[Token]) -> Found | None:
    """*(the only) one of the runners who | ...*"""
    if before[-1].lower not in ("who", "that", "which"):
        return None
    for k in range(len(before) - 2, 0, -1):
        if before[k].lower == "of" and before[k - 1].lower == "one":
            inner = before[k + 1 : -1]
            noun = leading_noun(inner)
            if noun is None or noun.tag not in ("NNS", "NNPS"):
                return None
            rest = inner[inner.index(noun) + 1 :]
            if rest and (rest[0].pos != "ADP" or any(t.pos == "VERB" for t in rest)):
                return None
            only = k >= 2 and before[k - 2].lower == "only"
            head = before[k - 1] if only else noun
            phrase = text.span(before[max(k - 3, 0) if only else k - 1].i, noun.i)
            return _span(head), phrase, "singular" if only else "plural"
        if before[k].is_punct or before[k].tag in _FINITE:
            return None
    return None


def _one_of(text: Text, clause: list[Token]) -> Found | None:
    """*Not one of the sketches that they made | ...*"""
    k = 1 if clause and clause[0].lower in ("not", "every") else 0
    if len(clause) < k + 3 or clause[k].lower not in _ONE or clause[k + 1].lower != "of":
        return None
    rest = clause[k + 2 :]
    if not _balanced(rest) or any(t.text == "," for t in rest):
        return None
    return _span(clause[k]), text.span(clause[0].i, clause[-1].i), "singular"


def _nor(text: Text, clause: list[Token]) -> Found | None:
    """*Neither the prints nor the layer of ash that covers them | ...*: the nearer noun counts."""
    if not clause or clause[0].lower not in ("neither", "either"):
        return None
    links = [k for k, t in enumerate(clause) if t.lower in ("nor", "or")]
    if not links or not _balanced(clause):
        return None
    near = clause[links[-1] + 1 :]
    noun = leading_noun(near)
    if noun is None:
        return None
    return _span(noun), text.span(clause[0].i, clause[-1].i), noun_number(noun)


def _leading(text: Text, clause: list[Token], verb: Token) -> Found | None:
    """*The salts that give the lake its smell | ...*: what stands between the noun and the verb
    belongs to the noun. Where the noun leaves the number open (*a number of*), None."""
    noun = leading_noun(clause) if clause else None
    if noun is None or clause[0].pos not in _INSIDE:
        return None
    rest = clause[clause.index(noun) + 1 :]
    if not rest or not (rest[0].lower in _RELATIVE or rest[0].pos == "ADP"):
        return None
    if not _balanced(rest) or any(t.is_punct or t.tag == "CC" for t in rest):
        return None
    number, _, _ = number_of(text, noun, verb, alone=True)
    if not number:
        return None
    phrase = text.span(clause[0].i, clause[-1].i)
    return _span(noun), phrase, "plural" if number == "many" else "singular"


def _after(text: Text, clause: list[Token], after: list[Token]) -> Found | None:
    """*Beneath the roots along the shore | lie the burrows of a crab*; also after several such
    phrases with commas: *Behind the altar, in a narrow passage, | hang two panels*."""
    there = bool(clause) and clause[-1].lower == "there"
    phrases = _between_commas(clause[:-1] if there else clause)
    if not (phrases or there) or not all(map(_is_fronted, phrases)):
        return None
    if len(phrases) == 1 and clause[-1].is_punct:
        return None
    noun = leading_noun(after)
    if noun is None or after[0].pos not in _INSIDE or noun.tag == "PRP":
        return None
    joined = joined_after(noun, after)
    if joined is not None:
        end, sure = joined
        if not sure:
            return None
        return _span(noun), text.span(after[0].i, end.i), "plural"
    last = noun
    while last.i + 1 <= after[-1].i and not text.tokens[last.i + 1].is_punct:
        following = text.tokens[last.i + 1]
        if following.tag in _FINITE or following.lower in _RELATIVE:
            break
        last = following
    return _span(noun), text.span(after[0].i, last.i), noun_number(noun)


def joined_after(noun: Token, after: list[Token]) -> tuple[Token, bool] | None:
    """Whether *and* joins the noun that leads a stretch to others: the last word of the group, and
    whether that is sure. *A portrait of the founder | and a map* may be joined to either noun; only
    where the articles are alike with the first and not with the second is it. None: not joined."""
    words = list(takewhile(lambda t: not _ends_group(t), after))
    if len(words) < len(after) and after[len(words)].tag in _FINITE:
        commas = [k for k, t in enumerate(words) if t.text == ","]
        words = words[: commas[-1]] if commas else []  # a mill, and the boy | saw it
    words = list(takewhile(lambda t: not t.is_punct or t.text == ",", words))
    k = next((k for k, t in enumerate(words) if t.lower == "and"), 0)
    last = leading_noun(words[k + 1 :])
    if not k or last is None or words[0].lower in ("each", "every", "no"):
        return None
    end = last
    for token in words[words.index(last) + 1 :]:
        if token.is_punct:
            break
        end = token
    first, *more = _between_commas(words[:k])
    opening = words[k + 1]
    serial = words[k - 1].text == ","
    if any(leading_noun(part) is None or part[0].pos not in _OPENS_NOUN for part in more):
        return None
    if more:
        alike = all(_is_new(part[0]) for part in (first, *more, [opening]))
        return (end, True) if serial or alike else (end, False)
    rest = first[first.index(noun) + 1 :]
    if not rest:
        own = opening.pos in ("DET", "NUM", "PROPN") or opening.tag == "PRP$"
        return end, own or "NNS" in (noun.tag, last.tag)
    inner = leading_noun(rest[1:])
    counted = opening.lower in ("a", "an") or opening.tag == "CD"
    if inner is not None and rest[0].pos == "ADP" and not counted:
        return None  # a portrait of the founder and his wife, a table with cups and plates
    known = inner is not None and rest[0].pos == "ADP" and not _is_new(rest[1])
    return end, known and _is_new(first[0])


def _ends_group(word: Token) -> bool:
    """Whether a verb, or a word that begins a clause, ends what the nouns may be joined to."""
    return word.tag in (*_FINITE, "WRB") or word.lower in _RELATIVE or word.dep == "mark"


def _is_new(word: Token) -> bool:
    """Whether a word begins a phrase for something not spoken of before: *a boot*, *two picks*."""
    return word.lower in ("a", "an", "some", "several") or word.tag in ("CD", "NNS")


def _between_commas(clause: list[Token]) -> list[list[Token]]:
    """The stretches between commas; empty where another mark stands."""
    parts: list[list[Token]] = [[]]
    for token in clause:
        if token.text == ",":
            parts.append([])
        elif token.is_punct:
            return []
        else:
            parts[-1].append(token)
    return [part for part in parts if part]


def _is_fronted(phrase: list[Token]) -> bool:
    """Whether a stretch is a chain of prepositional phrases: each noun hangs on a preposition, or
    is joined to one that does."""
    if phrase[0].tag != "IN" or phrase[0].dep == "mark" or not _balanced(phrase):
        return False
    relative = next((k for k, t in enumerate(phrase) if t.lower in _RELATIVE), len(phrase))
    held = False
    for token in phrase[:relative]:
        if token.tag in ("IN", "TO", "CC", "POS"):
            held = True
        elif token.pos in _NOMINAL and token.tag != "PRP$":
            held, free = False, not held
            if free and not _goes_on(phrase, token):
                return False
    return True


def _goes_on(clause: list[Token], token: Token) -> bool:
    """Whether a noun only goes on with the noun phrase before it (*the stone | walls*)."""
    k = clause.index(token)
    return k > 0 and clause[k - 1].pos in ("NOUN", "PROPN")


def leading_noun(words: list[Token]) -> Token | None:
    """The head of the noun phrase with which a stretch begins."""
    found = None
    for token in words:
        if token.pos not in _INSIDE or token.lower in _RELATIVE:
            break
        if token.pos in _NOMINAL and token.tag not in ("PRP$", "WDT", "WP"):
            found = token
        elif token.tag == "POS":
            found = None  # the owner; what is owned comes after
        elif found is not None:
            break
    return found


def noun_number(noun: Token) -> str:
    """``singular`` or ``plural``, by the form alone."""
    many = noun.tag in ("NNS", "NNPS") or noun.lower in ("they", "we", "you", "these", "those")
    return "plural" if many else "singular"


def _span(token: Token) -> Span:
    return Span(token.start, token.end)

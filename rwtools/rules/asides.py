"""Asides that lack a comma: where they begin or end, to judge by the order of the words.

The parser takes the noun before a missing comma for part of what follows, so it is asked little.
"""

from __future__ import annotations

from rwtools.rules.friends import SPEECH
from rwtools.rules.nouns import is_person
from rwtools.rules.phrases import CLAUSE_TAKERS
from rwtools.rules.places import FINITE
from rwtools.text import Sentence, Text, Token

__all__ = [
    "TIMES",
    "can_be_subject",
    "clause_after_relative",
    "is_who_is_for_whose",
    "past_after_relative",
    "unopened",
    "verb_after_one",
]

TIMES = frozenset(
    "day night morning evening afternoon week month year decade century time moment hour minute "
    "second spring summer autumn fall winter season today tomorrow yesterday tonight monday "
    "tuesday wednesday thursday friday saturday sunday january february march april may june "
    "july august september october november december weekend noon midnight way thing result "
    "matter contrast fact addition case while".split()
)
"""Nouns that begin a phrase of time or manner rather than name a subject."""

_LONGEST = 8  # words of an aside beside a noun
_OF_ASIDE = frozenset({"ADJ", "ADP", "DET", "NOUN", "NUM", "PROPN"})
_RELATIVES = frozenset({"which", "who", "whom", "whose"})
_MARKERS = frozenset({"WDT", "WP", "WP$", "WRB"})


def can_be_subject(noun: Token, verb: Token) -> bool:
    """Whether a noun can be the subject of this finite verb; the parser may have misread it."""
    if verb.tag not in FINITE:
        return False
    if verb.tag in ("VBD", "MD") and verb.lower not in ("was", "were"):
        return True
    plural = verb.tag == "VBP" or verb.lower == "were"
    return (noun.tag in ("NNS", "NNPS")) == plural or noun.pos not in ("NOUN", "PROPN")


def is_who_is_for_whose(text: Text, index: int) -> bool:
    """Whether *who's* stands here before a noun: a slip for *whose*."""
    near = text.tokens[index : index + 3]
    return (
        len(near) == 3
        and near[0].lower == "who"
        and near[1].lower in ("'s", "’s")
        and near[2].tag in ("NN", "NNS")
    )


def unopened(text: Text, sentence: Sentence) -> tuple[int, int] | None:
    """*My brother | a nurse, works at night*: the last word of the subject, and the comma that
    closes the aside. *A* right after a noun begins a second name for it, as no verb came yet."""
    tokens = text.sentence_tokens(sentence)
    comma = next((t.i for t in tokens if t.text == ","), sentence.last)
    start = next((t.i for t in tokens[1:] if _opens_aside(text, t)), sentence.last)
    if not sentence.first + 1 < start < comma < sentence.last - 2 or comma - start > _LONGEST:
        return None
    name, aside = text.tokens[sentence.first : start], text.tokens[start:comma]
    verb = text.tokens[comma + 1]
    end = next((n for n, t in enumerate(name) if t.lower == "of"), len(name))
    noun = name[end - 1]  # the keeper | of the light
    if name[0].tag not in ("DT", "PRP$") or noun.pos != "NOUN" or name[-1].pos == "ADP":
        return None
    if noun.lemma in TIMES or any(t.pos not in ("ADJ", "NOUN") for t in name[1:end]):
        return None
    if any(t.pos not in ("ADJ", "DET", "NOUN", "PROPN") for t in name[end + 1 :]):
        return None
    if any(t.pos not in _OF_ASIDE for t in aside) or aside[-1].pos in ("ADP", "DET"):
        return None
    speaks = verb.lemma in SPEECH and text.tokens[verb.i + 1].pos in ("PRON", "PROPN")
    if speaks or not can_be_subject(noun, verb):
        return None
    if _has_rival(text.tokens[verb.i + 1 : sentence.last]):
        return None  # "the gift a friend, gave was lost"
    return start - 1, comma


def _opens_aside(text: Text, word: Token) -> bool:
    """*A*, or *the* with a noun that has an of-phrase, right after a person (*the owner of the
    mill*). *My friend the baker* needs no commas."""
    if word.lower in ("a", "an"):
        return True
    after = text.tokens[word.i + 1 : word.i + 3]
    named = len(after) == 2 and after[0].pos == "NOUN" and after[1].lower == "of"
    return word.lower == "the" and named and is_person(text.tokens[word.i - 1])


def _has_rival(words: tuple[Token, ...]) -> bool:
    """Whether a second finite verb follows that no word joins or makes dependent."""
    for token in words:
        if token.tag in _MARKERS or token.tag in ("CC", "IN", "PRP") or token.is_punct:
            return False
        if token.tag in FINITE:
            return True
    return False


def verb_after_one(words: tuple[Token, ...]) -> Token | None:
    """``a salamander | lives in a lake``: a verb that the tagger took for a plural; but *a* goes
    with no plural."""
    for noun, token, after in zip(words[1:], words[2:], words[3:], strict=False):
        if token.tag == "NNS":
            fits = noun.tag == "NN" and after.tag in ("IN", "DT", "PRP$", "RB", "TO")
            return token if fits else None
        if token.pos not in ("ADJ", "NOUN"):
            return None
    return None


def past_after_relative(text: Text, comma: int, last: int) -> Token | None:
    """``The mill, which stood by the river | burned in May``: an *-ed* form after a noun, in a
    sentence that has no other verb for its subject."""
    before: Token | None = None
    for token in text.tokens[comma + 2 : last - 1]:
        after = text.tokens[token.i + 1]
        if token.tag in FINITE:
            if before is not None:
                return None
            before = token
        elif token.tag == "VBN" and before is not None:
            plain = token.lower.endswith("ed") and text.tokens[token.i - 1].pos == "NOUN"
            fits = after.tag in ("IN", "RB") and after.lower not in ("by", "as", "from", "with")
            return token if plain and fits and token.dep == "acl" else None
    return None


def clause_after_relative(text: Text, comma: int, last: int) -> int | None:
    """*In the second, which nobody saw until he died | he set down ...*: the pronoun with which the
    main clause begins, where no comma closes the relative clause before it.

    Each word that makes a clause dependent takes the next finite verb; the first verb to spare is
    the main clause's. A pronoun after a noun may open a clause that describes it (*the letters he
    wrote*), one after a verb of saying its object, so neither counts.
    """
    if comma + 1 >= last or text.tokens[comma + 1].lower not in _RELATIVES:
        return None
    waiting, before = 0, None
    for token in text.tokens[comma + 1 : last]:
        if token.tag in _MARKERS or (token.tag == "IN" and token.dep == "mark"):
            waiting += 1
        elif token.tag in FINITE and waiting:
            waiting, before = waiting - 1, token
        elif token.tag in FINITE:
            subject = text.tokens[token.i - 1]
            ahead = text.tokens[subject.i - 1]
            if ahead.pos in ("ADJ", "ADV", "PART") or ahead.tag == "RP":  # "who was ill | he ..."
                ahead = text.tokens[ahead.i - 1]
            opens = subject.tag == "PRP" and ahead is before
            takes = before is None or before.lemma in (CLAUSE_TAKERS | SPEECH) - {"be"}
            return subject.i if opens and not takes else None
    return None

"""An apostrophe with *s* says that something belongs to someone; it makes no plural."""

from __future__ import annotations

import re
from collections.abc import Iterator

from rwtools.clue import Fix, Span
from rwtools.rules.friends import SPEECH
from rwtools.rules.model import Finding, Rule
from rwtools.rules.nouns import IRREGULAR_PLURALS, is_person, plural, singular
from rwtools.rules.phrases import CLAUSE_TAKERS, clear
from rwtools.text import Text, Token

__all__ = ["RULE", "find"]

_WORD = re.compile(r"\b[A-Za-z]+(?:['’]s?)?")
_OWNERS = {f"{word}'s": f"{word}s" for word in ("their", "her", "our", "your")}
_NO_PLURAL = {f"{noun}s{mark}": noun for noun in ("children", "men", "women") for mark in ("", "'")}
_DAYS = {"todays": "today", "yesterdays": "yesterday", "tomorrows": "tomorrow"}
_SEVERAL = frozenset(
    "two three four five six seven eight nine ten twelve several many few these those both".split()
)
_ONE = frozenset({"each", "every", "another", "one"})
_TIMES = frozenset("day week month year hour minute century moment".split())
_PLURAL_VERBS = frozenset({"are", "were", "have"})
# Names of institutions and the like are often written without an apostrophe.
_PLAIN = frozenset(
    "market union association club guide college compensation movement party federation right "
    "strike group team league school manual society organization conference office program "
    "programme insurance meeting board council community network alliance protest award "
    "population cooperative base list room home field day affair list test".split()
) - {"field", "room", "home"}
_FAR_MORE_COMMON = 1.5  # on the Zipf scale: about thirty times
_LESS_COMMON = 0.7  # on the same scale: about five times
_FINITE = frozenset({"VBZ", "VBP", "VBD", "MD"})
_MODALS = frozenset({"could", "would", "should", "must", "may"})
_NOUN_ROLES = frozenset("nsubj nsubjpass dobj pobj attr conj dative appos".split())


def find(text: Text) -> list[Finding]:
    """Fault span: the noun with its apostrophe (or without the one it needs). Fix: its form."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    yield from _forms(text)
    for token in text.tokens:
        if token.i + 1 >= len(text.tokens):
            break
        tail = text.tokens[token.i + 1]
        if tail.start == token.end and tail.text in ("'s", "’s"):
            yield from _with_s(text, token, tail)
        elif tail.start == token.end and tail.text in ("'", "’") and token.lower.endswith("s"):
            yield from _after_s(text, token, tail)
        elif token.lower in _DAYS:
            yield from _of_day(text, token)
        elif token.pos == "NOUN" and (token.tag == "NNS" or _no_plural(token)):
            yield from _missing(text, token)
        elif token.pos == "PROPN" and token.lower.endswith("s"):
            yield from _missing_after_name(text, token)


def _forms(text: Text) -> Iterator[Finding]:
    """Forms that are wrong wherever they stand: ``their's``, ``childrens``."""
    for match in _WORD.finditer(text.passage):
        word = match[0].lower().replace("’", "'")
        span = Span(*match.span())
        if word in _OWNERS:
            new = match[0][: len(word) - 2] + "s"
            yield _finding(text, span, new, "fault-owner", {})
        elif word in _NO_PLURAL and text.passage[span.end : span.end + 2].strip().isalpha():
            if text.passage[span.end :].startswith(" rea"):
                continue  # Latin
            noun = match[0][: len(_NO_PLURAL[word])]
            if _owns(text, span.end):
                new, variant = f"{noun}{_mark(text)}s", "fault-irregular"
            else:
                new, variant = noun, "fault-plain"
            yield _finding(text, span, new, variant, {"noun": noun})


def _owns(text: Text, offset: int) -> bool:
    """Whether a noun follows that may belong to the word before: no verb or preposition comes first
    (*the childrens | old coats*, not *the childrens | play in the garden*)."""
    words = [t for t in text.tokens if t.start >= offset][:5]
    joins = words[:1] and words[0].tag != "CC"  # old and dirty coats
    skipped = {"JJ", "JJR", "JJS", "RB", "CD", "VBN"} | ({"CC"} if joins else set())
    word = next((t for t in words if t.tag not in skipped), None)
    return word is not None and word.pos in ("NOUN", "PROPN")


def _mark(text: Text) -> str:
    return "’" if "’" in text.passage else "'"


def _next(text: Text, index: int) -> Token | None:
    if index >= len(text.tokens) or text.tokens[index].sent != text.tokens[index - 1].sent:
        return None
    return text.tokens[index]


def _with_s(text: Text, noun: Token, tail: Token) -> Iterator[Finding]:
    after = _next(text, tail.i + 1)
    if after is None or noun.pos not in ("NOUN", "PROPN") or noun.lower in IRREGULAR_PLURALS:
        return
    before = text.tokens[noun.i - 1] if noun.i else None
    counted = before is not None and before.lower in _SEVERAL and before.sent == noun.sent
    if before is not None and before.tag == "CC" and text.tokens[before.i - 1].tag == "POS":
        return  # "the butcher's and grocer's are open"
    span = Span(noun.start, tail.end)
    if counted and noun.lower in _TIMES and after.pos in ("NOUN", "ADJ"):
        new = plural(noun.text) + _mark(text)
        yield _finding(text, span, new, "fault-time", {"noun": noun.text, "next": after.text})
        return
    third = _next(text, after.i + 1)
    many = after.lower in _PLURAL_VERBS and after.tag in ("VBP", "VBD")
    many = many or (after.tag == "MD" and after.lower in _MODALS)
    if third is not None and after.tag == "VBP" and after.pos == "VERB":
        many = many or third.tag in ("DT", "PRP", "PRP$")
    if noun.pos == "PROPN":
        many = many and before is not None and before.lower == "the"
    elif counted:
        many = many or after.pos in ("VERB", "AUX", "ADP", "CCONJ") or after.text in ".,;"
    many = many or _bare_plural(text, noun, after)
    if many and noun.tag in ("NN", "NNP") and noun.text[-1].isalpha():
        yield _finding(
            text,
            span,
            plural(noun.text) if noun.pos == "NOUN" else noun.text + "s",
            "fault-plural",
            {"next": after.text},
            after,
        )


def _of_day(text: Text, day: Token) -> Iterator[Finding]:
    """``todays maps``: a day in front of a noun that belongs to it."""
    before, owned = text.tokens[day.i - 1] if day.i else None, _next(text, day.i + 1)
    if before is not None and before.sent == day.sent and before.tag in ("DT", "PRP$", "JJ", "CD"):
        return  # "all our yesterdays"
    if owned is not None and owned.pos == "ADJ":
        owned = _next(text, owned.i + 1)
    if owned is None or owned.pos != "NOUN":
        return
    new = f"{day.text[:-1]}{_mark(text)}s"
    yield _finding(
        text,
        Span(day.start, day.end),
        new,
        "fault-missing-one",
        {"next": owned.text, "one": new},
        owned,
    )


def _bare_plural(text: Text, noun: Token, after: Token) -> bool:
    """``She sells apple's and pears``: the object of a verb, without an article, that owns nothing.
    One apple would need *an*; only a plural (or stuff such as water) goes without."""
    before = text.tokens[noun.i - 1] if noun.i else None
    if before is None or before.sent != noun.sent or noun.tag != "NN" or is_person(noun):
        return False
    if before.pos != "VERB" or before.tag == "VBN":
        return False
    if after.lower in ("and", "or", ","):
        other, beyond = _next(text, after.i + 1), _next(text, after.i + 2)
        ends = beyond is None or beyond.is_punct or (after.text == "," and beyond.tag == "CC")
        return other is not None and other.tag == "NNS" and ends
    if before.lemma in CLAUSE_TAKERS | SPEECH:
        return False  # "he said water's in the well"
    ends = after.text in (".", "!", "?") or (after.tag == "IN" and after.lower != "of")
    return ends and noun.head == before.i and noun.dep == "dobj" and _is_mostly_counted(noun)


def _is_mostly_counted(noun: Token) -> bool:
    """Whether a noun's plural is nearly as common as the noun: nature, law and the like may own
    without an article (*a beauty that surpassed nature's*)."""
    from wordfreq import zipf_frequency  # only where such a noun stands: it loads a word list

    gap: float = zipf_frequency(noun.lower, "en") - zipf_frequency(plural(noun.lower), "en")
    return gap <= _LESS_COMMON


def _after_s(text: Text, noun: Token, tail: Token) -> Iterator[Finding]:
    after = _next(text, tail.i + 1)
    before = text.tokens[noun.i - 1] if noun.i else None
    if after is None or before is None or noun.tag != "NNS" or noun.sent != before.sent:
        return
    if noun.lower in _NO_PLURAL:
        return  # told already
    span = Span(noun.start, tail.end)
    if before.lower in _ONE and after.pos in ("NOUN", "ADJ"):
        new = f"{singular(noun.text)}{_mark(text)}s"
        yield _finding(
            text, span, new, "fault-one", {"count": before.text, "next": after.text}, before
        )
    elif after.lower in _PLURAL_VERBS and "‘" not in text.passage and " '" not in text.passage:
        yield _finding(text, span, noun.text, "fault-plural", {"next": after.text}, after)


def _missing(text: Text, noun: Token) -> Iterator[Finding]:
    """``the farmers field``: a plural in front of a noun that belongs to it."""
    owned = _next(text, noun.i + 1)
    before = text.tokens[noun.i - 1] if noun.i else None
    if owned is None or before is None or before.sent != noun.sent:
        return
    if owned.pos == "ADJ" and (before.lower in ("a", "an") or _no_plural(noun)):
        farther = _next(text, owned.i + 1)
        if farther is not None and farther.pos == "NOUN":
            owned = farther
    odd = _no_plural(noun)
    if before.tag not in ("DT", "PRP$") or owned.lemma in _PLAIN or owned.pos != "NOUN":
        return
    after = _next(text, owned.i + 1)
    if (
        after is None
        or after.pos in ("NOUN", "PROPN", "ADJ", "NUM", "DET")
        or not (is_person(noun) or odd)
    ):
        return
    if not odd:
        if not noun.lower.endswith("s") or before.lower in ("these", "those"):
            return
        joined = noun.head == owned.i and owned.dep in _NOUN_ROLES
        if not joined and not _verb_elsewhere(text, owned):
            return
        if text.tokens[owned.head].lemma in ("call", "name", "make", "consider"):
            return
    one = odd or before.lower in ("a", "an", "this", "that", "each", "every")
    one = one or _told_as_one(text, noun)
    new = f"{singular(noun.text)}{_mark(text)}s" if one else f"{noun.text}{_mark(text)}"
    yield _finding(
        text,
        Span(noun.start, noun.end),
        new,
        "fault-missing-one" if odd else "fault-missing",
        {
            "next": owned.text,
            "one": f"{singular(noun.text)}{_mark(text)}s",
            "many": f"{noun.text}{_mark(text)}",
        },
        owned,
    )


def _told_as_one(text: Text, noun: Token) -> bool:
    """Whether the passage names one such owner, and never several: *for the king. The kings
    advisers*. After the place only *the king* tells that there is no other."""
    lemma = singular(noun.lower)
    others = [t for t in text.tokens if t.i != noun.i and t.lower in (lemma, noun.lower)]
    if not others or any(t.lower != lemma for t in others):
        return False
    return others[0].i < noun.i or text.tokens[others[0].i - 1].lower == "the"


def _no_plural(noun: Token) -> bool:
    """Whether a form in -s is no plural at all (``citys``, ``childs``, ``businesss``)."""
    word = noun.lower
    if word in ("childs", "womans", "sheeps") or word.endswith("sss"):
        return True
    return word.endswith("ys") and word[-3:-2] not in "aeiou" and noun.text.islower()


def _verb_elsewhere(text: Text, owned: Token) -> bool:
    """Whether the sentence has a verb after the noun, so that this is no misread verb itself."""
    sentence = text.sentences[owned.sent]
    after = _next(text, owned.i + 1)
    near = after is not None and (after.tag in _FINITE or after.tag in ("IN", "."))
    return near and any(t.tag in _FINITE for t in text.sentence_tokens(sentence) if t.i != owned.i)


def _missing_after_name(text: Text, name: Token) -> Iterator[Finding]:
    """``Marys lamp``: a name that is far more common without its *s*."""
    owned = _next(text, name.i + 1)
    if owned is None or owned.pos != "NOUN" or not owned.text.islower() or name.head != owned.i:
        return
    stem = name.text[:-1]
    if len(stem) < 3 or not name.text.istitle() or stem.endswith(("s", "u", "i")):
        return
    from wordfreq import zipf_frequency  # only where such a name stands: it loads a word list

    if zipf_frequency(stem, "en") < zipf_frequency(name.text, "en") + _FAR_MORE_COMMON:
        return
    new = f"{stem}{_mark(text)}s"
    yield _finding(
        text,
        Span(name.start, name.end),
        new,
        "fault-name",
        {"next": owned.text, "name": stem},
        owned,
    )


def _finding(
    text: Text,
    span: Span,
    new: str,
    variant: str,
    values: dict[str, str],
    cue: Token | None = None,
) -> Finding:
    word = span.of(text.passage)
    evidence = () if cue is None else (text.evidence(text.span(cue.i, cue.i), "cue"),)
    return Finding(
        span.start,
        span.end,
        "fault",
        0.9 if variant.startswith("fault-missing") else 0.95,
        {"word": word, "form": new, **values},
        evidence,
        (Fix(span.start, span.end, new),),
        variant,
    )


RULE = Rule("apostrophe-possessive", find)

"""``its`` owns, ``it's`` is short for *it is*; likewise their/they're, your/you're, whose/who's.

The neighbours decide: what stands before and after each form fits only one of the two.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from rwtools.clue import Fix
from rwtools.rules.model import Finding, Rule
from rwtools.rules.nouns import owned_after
from rwtools.rules.phrases import CLAUSE_TAKERS, clear
from rwtools.text import Text, Token

__all__ = ["RULE", "find"]

_LONG = {"its": "it is", "their": "they are", "your": "you are", "whose": "who is"}
_SHORT = {"its": "it's", "their": "they're", "your": "you're", "whose": "who's"}
_LONG_HAVE = {"its": "it has", "their": "they have", "your": "you have", "whose": "who has"}
_SHORT_HAVE = {"its": "it's", "their": "they've", "your": "you've", "whose": "who's"}
_OWNER = {"it": "its", "they": "their", "you": "your", "who": "whose"}
_APOSTROPHES = "'’ʼ"
_DETERMINERS = frozenset({"a", "an", "the", "this", "that", "these", "those", "no", "not", "n't"})
# Words that follow "it is" and never open a noun phrase after an owner word.
_AFTER_BE = frozenset(
    "been not just really very too so quite rather also almost probably often usually perhaps "
    "maybe obviously "
    "already because hardly merely simply because if when where what why how he she they we i "
    "you".split()
)
_WHAT = frozenset({"what", "how", "why", "a", "an", "the", "that"})
_AFTER_PASSIVE = frozenset({"in", "to", "by", "with", "for", "on", "as", "from"})
# Verbs beside which *there* may mean a place: "he found there people who knew him".
_OF_PLACE = frozenset(
    "be go come live stay find see meet stand sit remain arrive exist grow encounter say get move "
    "travel work put".split()
)
_PREDICATE = frozenset(
    "important clear true likely unlikely possible impossible necessary easy hard difficult "
    "essential obvious unclear worth crucial helpful useful safe wrong okay fine hot cold raining "
    "snowing nice better best".split()
)
# Adjectives that hardly ever stand before a noun, or that a clause often ends with.
_ONLY_PREDICATE = frozenset(
    "afraid aware sure able unable glad sorry ready responsible late hot cold warm dark wet dry "
    "hungry thirsty tired alone alive asleep awake right wrong done finished fine okay ill".split()
)
_NEVER_PREDICATE = frozenset("last first next main only final other whole entire former".split())
_PERSONAL = frozenset({"he", "she", "they", "we", "you", "i"})
_PREPOSITIONS = frozenset("of in on with from by at into through about upon over under to".split())
# Verbs behind which a thing and then what it is like may stand.
_JUDGING = frozenset("call consider deem find judge keep leave make render think".split())
_BE_FORMS = frozenset(
    {"is", "are", "was", "were", "has", "have", "seems", "seem", "exists", "exist"}
)


def find(text: Text) -> list[Finding]:
    """Fault span: the word (``it's`` as a whole). Fix: the form that fits."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    yield from _whos(text)
    tokens = text.tokens
    for token in tokens:
        if token.lower in _SHORT:
            yield from _owner_for_short_form(text, token)
        if token.lower in ("their", "there"):
            yield from _their_there(text, token)
        if token.lower in _OWNER and token.i + 1 < len(tokens):
            tail = tokens[token.i + 1]
            if tail.start == token.end and tail.text[:1] in _APOSTROPHES and token.text != "IT":
                yield from _short_form(text, token, tail)


def _whos(text: Text) -> Iterator[Finding]:
    """``whos idea was that``: *whose*, not the short form of *who is*."""
    for match in re.finditer(r"\b[Ww]hos\b(?!['’])", text.passage):
        owned = owned_after(text, match.end())
        if owned is not None:
            yield _fault(text, *match.span(), "whose", owned, "fault-owner", "")


def _after(text: Text, index: int) -> list[Token]:
    """Up to four words that follow in the same sentence."""
    sent = text.tokens[min(index, len(text.tokens) - 1)].sent
    return [t for t in text.tokens[index : index + 4] if t.sent == sent]


def _owner_for_short_form(text: Text, token: Token) -> Iterator[Finding]:
    """``its raining``: an owner word where only *it is* fits."""
    rest = _after(text, token.i + 1)
    if not rest or rest[0].sent != token.sent:
        return
    first = rest[0]
    if len(rest) > 1 and rest[1].text == "-":
        return
    fits = False
    if first.lower in ("no", "not"):
        fits = not _noun_phrase(rest[1:])
    elif first.lower in _DETERMINERS:
        fits = True
    elif first.lower in _AFTER_BE:
        fits = len(rest) > 1 and not _noun_phrase(rest[1:])
        fits = fits or first.lower in ("been", "because", "he", "she", "they", "we", "you")
        fits = fits or (first.lower == "just" and len(rest) > 1 and rest[1].lower in _WHAT)
    elif first.tag == "VBN" and len(rest) > 1 and rest[1].lower in _AFTER_PASSIVE:
        fits = token.lower != "whose"
    elif first.lower in ("raining", "snowing"):
        fits = token.lower == "its"
    elif first.lower in _PREDICATE and len(rest) > 1:
        follows = rest[1].lower
        fits = follows in ("that", "to", "for", "if", "when", "how", "what", "why")
        fits = fits and first.tag in ("JJ", "JJR", "JJS", "RB", "IN") and token.lower == "its"
        fits = fits or (first.lower in _ONLY_PREDICATE and _phrase_over(rest))
    elif first.lower in _ONLY_PREDICATE:
        fits = _phrase_over(rest) or (token.lower == "whose" and rest[1].pos == "ADP")
    elif first.lower == "time" and len(rest) > 2 and rest[1].lower == "to":
        before = text.tokens[token.i - 1] if token.i else None
        opens = token.i == text.sentences[token.sent].first
        says = before is not None and before.pos == "VERB" and before.lemma in CLAUSE_TAKERS
        fits = (opens or says) and rest[2].tag == "VB"
    elif first.lower == "going" and len(rest) > 2 and rest[1].lower == "to":
        fits = rest[2].tag == "VB"
    elif first.lower == "welcome" and token.lower == "your":
        fits = len(rest) < 2 or rest[1].is_punct or rest[1].lower == "to"
    elif len(rest) > 1 and rest[1].lower in ("o'clock", "o’clock", "oclock"):
        fits = True
    if token.lower == "whose" and first.lower in ("this", "these", "those", "that", "no"):
        fits = False
    if fits:
        been = first.lower == "been"
        if (
            been
            and token.lower == "their"
            and (len(rest) < 2 or rest[1].tag in ("DT", "NN", "NNS"))
        ):
            return  # "their been no news": there has
        form = (_SHORT_HAVE if been else _SHORT)[token.lower]
        long = (_LONG_HAVE if been else _LONG)[token.lower]
        yield _fault(text, token.start, token.end, form, first, "fault-short", long)


def _noun_phrase(rest: list[Token]) -> bool:
    """Whether adjectives, if any, and a noun come next."""
    noun = next((n for n, t in enumerate(rest) if t.pos in ("NOUN", "PROPN")), None)
    return noun is not None and all(
        t.pos in ("ADJ", "ADV", "NUM", "DET") or t.tag in ("VBN", "VBG") for t in rest[:noun]
    )


def _phrase_over(rest: list[Token]) -> bool:
    """Whether the word stands alone: a full stop follows, or a comma and a new subject."""
    if len(rest) < 2:
        return True
    return rest[1].text in (".", "?", "!", ";") or (
        rest[1].text == "," and len(rest) > 2 and rest[2].tag == "PRP"
    )


def _their_there(text: Text, token: Token) -> Iterator[Finding]:
    rest = _after(text, token.i + 1)
    if not rest:
        return
    first = rest[0]
    if token.lower == "their":
        if first.lower in _BE_FORMS and first.tag in ("VBZ", "VBP", "VBD", "AUX"):
            yield _fault(text, token.start, token.end, "there", first, "fault-there", "there")
        return
    opens = token.i == text.sentences[token.sent].first
    if opens and first.tag == "NN" and len(rest) > 1 and rest[1].tag in ("VBZ", "VBD", "MD"):
        yield _fault(text, token.start, token.end, "their", first, "fault-owner", "")
    if opens:
        return
    before = text.tokens[token.i - 1]
    owns = first.lower == "own" and len(rest) > 1 and rest[1].pos in ("NOUN", "ADJ", "PUNCT")
    noun = next((n for n, t in enumerate(rest) if t.tag in ("NN", "NNS")), None)
    if noun is not None and all(t.pos in ("ADJ", "NOUN", "PROPN") for t in rest[:noun]):
        following = rest[noun + 1] if noun + 1 < len(rest) else None
        held = before.lower in ("of", "with", "into", "by", "on", "to", "for", "about")
        held = held or (before.pos == "VERB" and before.lemma not in _OF_PLACE)
        if before.lower in ("under", "over", "behind", "near", "against", "through"):
            # "under there load"; but "from behind there people came"
            held = held or following is None or following.is_punct
        if before.tag == "CC" and before.i and text.tokens[before.i - 1].lower != "here":
            # "filled to the last page, and there margins too"
            held = held or following is None or following.is_punct or following.lower == "too"
        told = following is not None and following.lower in ("who", "that", "which", "is", "are")
        owns = owns or (held and not told)
    if owns:
        yield _fault(text, token.start, token.end, "their", first, "fault-owner", "")


def _short_form(text: Text, token: Token, tail: Token) -> Iterator[Finding]:
    """``it's tail``: the short form where only the owner word fits."""
    if tail.lower[1:] != ("s" if token.lower in ("it", "who") else "re"):
        return
    rest = _after(text, tail.i + 1)
    if not rest or rest[0].sent != token.sent:
        return
    before = text.tokens[token.i - 1] if token.i else None
    if before is not None and before.sent != token.sent:
        before = None
    form = _OWNER[token.lower]
    first = rest[0]
    earlier = text.tokens[before.i - 1] if before is not None and before.i else None
    if _owns(token, earlier, before, rest):
        yield _fault(text, token.start, tail.end, form, first, "fault-owner", "")
    elif first.tag == "VBG" and before is not None and before.pos == "VERB":
        return  # "found it's ending ...": either may be meant
    elif first.pos == "DET" or first.tag in ("VBG", "RB") or first.lower in _DETERMINERS:
        long = {"it": "it is", "they": "they are", "you": "you are", "who": "who is"}[token.lower]
        if token.lower in ("it", "who") and first.tag == "VBN":
            return  # "it's been": it has; no need to choose
        span = text.span(token.i, tail.i)
        yield Finding(
            span.start,
            span.end,
            "sound",
            0.9,
            {"word": span.of(text.passage), "long": long, "next": first.text, "owner": form},
            (text.evidence(text.span(first.i, first.i), "cue"),),
        )


def _owns(token: Token, earlier: Token | None, before: Token | None, rest: list[Token]) -> bool:
    first = rest[0]
    if first.lower == "own":
        return len(rest) > 1 and rest[1].pos in ("NOUN", "ADJ", "PUNCT")
    if token.lower != "who" and len(rest) > 1 and rest[1].lower in ("is", "was"):
        return first.tag in ("NN", "VB", "VBP") and first.text.islower()
    if before is not None and before.lemma in _JUDGING and len(rest) > 1:
        thing = first.tag in ("NN", "NNS") or first.lower.endswith("ing")
        if thing and rest[1].pos == "ADJ" and token.lower != "who":
            return True  # "found it's ending abrupt"
    superlative = first.tag in ("JJS", "RBS") or (first.pos == "ADJ" and first.lower[-3:] == "est")
    if before is not None and before.lower == "at" and superlative:
        return token.lower != "who"  # "the river is at it's widest"
    noun_at = next((n for n, t in enumerate(rest) if t.tag in ("NN", "NNS")), None)
    if noun_at is None:
        return False
    after_noun = rest[noun_at + 1] if noun_at + 1 < len(rest) else None
    if token.lower == "it" and before is not None and before.lemma == "be":
        reports = before.lower in ("is", "'s", "’s") and (
            earlier is None or earlier.lower not in _PERSONAL
        )  # "my guess is it's best practice"
        return not reports and _is_one_of_its(rest, noun_at)
    if any(t.pos not in ("ADJ", "NOUN", "NUM") for t in rest[:noun_at]):
        return False
    if token.lower == "who":
        return (
            after_noun is not None
            and noun_at == 0
            and after_noun.tag in ("VBZ", "VBP", "VBD", "VBN", "MD", "PRP")
        )
    if before is not None and before.lower in _PREPOSITIONS and before.tag in ("IN", "TO"):
        return True
    if before is not None and before.lower in ("for", "and") and after_noun is not None:
        # "for it's collection of clocks", "the city and it's people are"
        if after_noun.lower == ("of" if before.lower == "for" else "are"):
            return True
        if not noun_at:
            return False
    if before is not None and before.pos == "VERB" and before.lemma not in CLAUSE_TAKERS:
        return True
    plain = after_noun is not None and after_noun.tag in ("VBZ", "VBP", "VBD", "MD")
    if plain and noun_at:  # "It's last line reads": no bare "line" could follow "it is last"
        one = rest[noun_at].tag == "NN" and first.lower not in _PREDICATE
        return one or first.lower in _NEVER_PREDICATE
    return plain and first.lower not in ("time", "people")


def _is_one_of_its(rest: list[Token], noun_at: int) -> bool:
    """``she was it's best friend``: after *it is*, one best friend would need *the*."""
    noun, first = rest[noun_at], rest[0]
    ranked = first.tag in ("JJS", "RBS") or first.lower in _NEVER_PREDICATE
    if not noun_at or not ranked or noun.tag != "NN" or not noun.text.islower():
        return False
    if any(t.pos not in ("ADJ", "NOUN", "NUM") for t in rest[1:noun_at]):
        return False
    after = rest[noun_at + 1] if noun_at + 1 < len(rest) else None
    return after is None or after.is_punct or after.tag == "IN"


def _fault(
    text: Text, start: int, end: int, form: str, following: Token, variant: str, long: str
) -> Finding:
    word = text.passage[start:end]
    mark = next((c for c in text.passage if c in _APOSTROPHES), "'")
    form = form.replace("'", "’" if mark == "’" else "'")
    if word[:1].isupper():
        form = form[:1].upper() + form[1:]
    return Finding(
        start,
        end,
        "fault",
        0.95,
        {"word": word, "next": following.text, "form": form, "long": long},
        (text.evidence(text.span(following.i, following.i), "cue"),),
        (Fix(start, end, form),),
        variant,
    )


RULE = Rule("its-and-it-is", find)

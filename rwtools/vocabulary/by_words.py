"""Describing phrases read by their words, where no single tag can be trusted.

The parser often mistakes a rare word, and the plain noun that explains it, for a verb, an adjective
or a name ("looms, machines that ..."). The small words around them are seldom mistaken.
Indices are token indices, both ends included.
"""

from __future__ import annotations

from rwtools.text import Text, Token
from rwtools.vocabulary.familiarity import UNFAMILIAR_BELOW, zipf
from rwtools.vocabulary.phrases import DASHES, NAMED, NOMINAL, QUOTES, VAGUE, core, term_of

__all__ = [
    "AGENTS",
    "MEASURES",
    "PERSONS",
    "TENSED",
    "after_be",
    "announces",
    "described",
    "is_plural",
    "is_scene",
    "opens_clause",
    "opens_sentence",
    "rare_noun",
    "rare_word",
    "set_beside",
    "turn",
]

TENSED = frozenset({"VBZ", "VBP", "VBD", "MD"})
# A noun after a comma that says when, where or how much, not what the first noun is.
MEASURES = frozenset(
    "day week month year century decade hour minute night morning evening time way half rest "
    "percent mile foot inch kilometer meter moment thing".split()
)
PERSONS = frozenset(
    "character man woman boy girl hero person official king queen member scholar architect student "
    "friend native prince saint athlete pilot chief chef daughter son sister brother".split()
)
AGENTS = ("er", "or", "ist", "ian", "eer", "ess", "nt")
_RELATIVE = frozenset({"that", "which", "who", "whose", "whom", "where"})
_TELLING = frozenset(
    "of for with in on from by used made built found so too to without such between".split()
)
_WORDS = frozenset({"term", "word", "name", "phrase", "practice", "move", "difference"})
_ARTICLES = frozenset({"a", "an", "the"})
_PEOPLE = frozenset({"those", "someone", "anyone", "people", "something", "anything"})
_SMALL = frozenset(
    "and or but nor if when while as because since although though unless until after before once "
    "i you he she it we they his her its their our my your this that these those there here not "
    "is are was were be been being has have had do does did will would can could may might must "
    "shall should to what who which whose where how why in on at for with by from into onto over "
    "under about than then so such too very also both each every all most many some few several "
    "one two three other another same more less no like including especially even perhaps just "
    "only well".split()
)
_TURNS = frozenset({"however", "instead", "conversely"})
_TURNING_PHRASES = frozenset(
    {
        ("in", "contrast"),
        ("by", "contrast"),
        ("on", "the", "contrary"),
        ("on", "the", "other", "hand"),
    }
)
_WHERE = frozenset("in on at before behind under over around about near beside upon".split())
_OWNERS = frozenset({"his", "her", "their", "my", "our", "your"})
_SUBORDINATORS = frozenset(
    "where when whenever if as although though because while since after before once until unless "
    "wherever whereas".split()
)
_BE = frozenset("is are was were be been being seem seems seemed become becomes became".split())
_STOPS = frozenset({",", ";", ":", ".", "?", "!", ")"}) | DASHES


def rare_word(token: Token) -> bool:
    """Whether a token is one plain word that a learner is likely not to know."""
    return (
        token.text.isalpha()
        and len(token.text) > 2
        and token.lower not in _SMALL
        and max(zipf(token.lower), zipf(token.lemma)) < UNFAMILIAR_BELOW
    )


def announces(text: Text, at: int) -> bool:
    """Whether *that is*, *in other words* or the like announces a second wording here."""
    words = [t.lower for t in text.tokens[at : at + 3]]
    if words[:1] in (["namely"], ["i.e."], ["i.e"], ["viz."]):
        return True
    return words == ["in", "other", "words"] or (
        words[:2] == ["that", "is"] and words[2:] in ([","], [":"], ["to"])
    )


def turn(text: Text, first: int, last: int) -> tuple[int, int] | None:
    """Where *however*, *by contrast* or the like stands near the head of a statement."""
    tokens = text.tokens
    for at in range(first, min(first + 7, last)):
        if at > first and tokens[at - 1].text != ",":
            continue
        words = tuple(t.lower for t in tokens[at : at + 4])
        if words[0] in _TURNS or (at == first and words[0] in ("yet", "but")):
            return at, at
        for size in (2, 3, 4):
            if words[:size] in _TURNING_PHRASES:
                return at, at + size - 1
    return None


def is_plural(token: Token) -> bool:
    """Whether a noun is plural by its tag or, where it is tagged as no noun, by its ending."""
    if token.tag in ("NNS", "NNPS"):
        return True
    if token.tag in ("NN", "NNP") and zipf(token.lower) > 0:
        return False
    return token.lower.endswith(("s", "ae", "ia")) and not token.lower.endswith(("ss", "us", "is"))


def opens_sentence(text: Text, at: int) -> bool:
    """Whether only articles and marks stand before a token in its sentence."""
    first = text.sentences[text.tokens[at].sent].first
    return all(t.is_punct or t.pos == "DET" for t in text.tokens[first:at])


def opens_clause(text: Text, comma: int) -> bool:
    """Whether a comma is the first after an opening clause ("Whereas ..., | ...")."""
    first = text.sentences[text.tokens[comma].sent].first
    opening = text.tokens[first].lower in _SUBORDINATORS
    return opening and not any(t.text == "," for t in text.tokens[first:comma])


def rare_noun(text: Text, at: int) -> tuple[int, int] | None:
    """The term that ends at ``at``, if that word can be a noun, whatever its tag."""
    token = text.tokens[at]
    if token.pos in NOMINAL or token.is_blank:
        return term_of(text, *core(text, at))
    if not rare_word(token) or token.lower.endswith("ly"):
        return None
    before = text.tokens[at - 1] if at and text.tokens[at - 1].sent == token.sent else None
    follows_noun_opener = (
        before is None
        or before.pos in ("DET", "ADP", "ADJ", "NUM")
        or before.tag == "PRP$"
        or opens_sentence(text, at)
    )
    nominal = token.dep in ("nsubj", "nsubjpass", "dobj", "pobj", "attr", "conj", "appos", "nmod")
    if (follows_noun_opener and token.tag not in ("VBD", "VBN")) or nominal:
        return at, at
    return None


def described(text: Text, first: int, limit: int) -> tuple[Token, bool] | None:
    """A noun with words behind it that tell what it is: the noun, and whether a clause tells it.

    "a tiny pore in ...", "objects on which ...", "fine mud that ...", "those who ...".
    ``limit`` is the first token that is no longer part of it.
    """
    tokens = text.tokens
    opening = tokens[first]
    if opening.lower == "one" and tokens[first + 1].lower == "of":
        told = described(text, first + 2, limit)  # "one of the small leaves that ..."
        return told if told is not None and told[1] and is_plural(told[0]) else None
    if opening.lower in _PEOPLE:
        clause = first + 1 < limit and tokens[first + 1].lower in _RELATIVE
        return (opening, True) if clause else None
    articled = opening.lower in _ARTICLES
    at = first + articled
    while at < limit and at - first < 8:
        token = tokens[at]
        if at > first + articled and _tells(text, at, limit):
            break
        if token.text == "," and tokens[at - 1].pos == "ADJ" and articled:
            at += 1
            continue
        if token.is_punct and token.text != "-" and token.text not in QUOTES:
            return None
        if token.lower in _SMALL or token.tag in ("MD", "PRP"):
            return None
        at += 1
    else:
        return None
    head = tokens[at - 1]
    clause = tokens[at].lower in _RELATIVE or _prep_which(text, at, limit) or _so_that(text, at)
    behind = tokens[at + 1 : min(at + 5, limit)]
    plural = is_plural(head) and not articled
    clause = clause or (plural and (_verbal(text, at) or tokens[at].lower == "too"))
    clause = clause or (tokens[at].lower == "of" and any(t.lower in _RELATIVE for t in behind))
    if head.pos in ("ADV", "PRON", "NUM") or head.is_punct or head.lower.endswith("ly"):
        return None
    if head.pos not in NOMINAL and not (clause and (is_plural(head) or articled)):
        return None
    if not articled and not (clause and head.i - first <= 3):
        return None
    doing = head.lower.endswith("ing") and (head.tag != "NN" or opening.lower == "the")
    if doing and not _named_act(text, first, at):
        return None
    if any(t.text[:1].isupper() for t in tokens[first + 1 : at]):
        return None
    return head, clause


def _named_act(text: Text, first: int, at: int) -> bool:
    """Whether an *-ing* form is a noun: an article before it, *of* after it ("the keeping of")."""
    tokens = text.tokens
    between = tokens[first + 1 : at - 1]
    return (
        tokens[first].lower in _ARTICLES
        and tokens[at].lower == "of"
        and all(t.pos in ("ADJ", "ADV") for t in between)
    )


def _tells(text: Text, at: int, limit: int) -> bool:
    token = text.tokens[at]
    if token.lower in _RELATIVE or token.lower in _TELLING:
        return True
    if _prep_which(text, at, limit):
        return True
    return at + 1 < limit and _verbal(text, at)


def _verbal(text: Text, at: int) -> bool:
    """Whether a participle right behind a noun tells what it is ("a pool walled off from ...")."""
    token, before = text.tokens[at], text.tokens[at - 1]
    if token.tag not in ("VBN", "VBD") or before.tag not in ("NN", "NNS"):
        return False
    after = text.tokens[at + 1] if at + 1 < len(text.tokens) else token
    return after.tag in ("RP", "IN") or (token.tag == "VBN" and after.pos in ("ADP", "PART", "ADV"))


def _prep_which(text: Text, at: int, limit: int) -> bool:
    return (
        at + 1 < limit
        and text.tokens[at].pos in ("ADP", "SCONJ")
        and text.tokens[at + 1].lower in ("which", "whom", "whose")
    )


def _so_that(text: Text, at: int) -> bool:
    """Whether "so salty that" stands here."""
    after = text.tokens[at + 1 : at + 5]
    return text.tokens[at].lower == "so" and any(t.lower == "that" for t in after)


def set_beside(text: Text, comma: int) -> tuple[tuple[int, int], Token, int, bool] | None:
    """A rare noun, a comma, and a phrase that tells what it is: term, noun, last token, clause.

    None where the phrase may as well be an item of a list or the subject of what follows.
    """
    tokens = text.tokens
    sentence = text.sentences[tokens[comma].sent]
    term = rare_noun(text, comma - 1)
    if term is None or not any(rare_word(t) for t in tokens[term[0] : comma]):
        return None
    first = comma + 1
    end = next((i for i in range(first, sentence.last) if _closes(text, first, i)), sentence.last)
    if end - first < 2 or end >= len(tokens):
        return None
    owner = max((t.i for t in tokens[term[0] : comma] if t.tag == "POS"), default=term[0] - 1)
    term = owner + 1, term[1]
    if term[0] and tokens[term[0] - 1].text == "-":
        return None
    found = described(text, first, end)
    if found is None:
        return None
    noun, clause = found
    named = tokens[term[1]]
    if noun.lemma in MEASURES | VAGUE | NAMED | _WORDS:
        return None
    if any(t.lemma == named.lemma and t.i != noun.i for t in tokens[first:end]):
        return None
    if noun.lemma == named.lemma and term[0] == term[1]:
        return None
    if is_scene(text, first, end - 1):
        return None
    if tokens[first].lower == "the" and noun.dep == "appos" and noun.head < term[0]:
        return None  # it renames a noun further back
    if named.text[:1].isupper():
        if not opens_sentence(text, term[0]):
            return None
        if noun.lemma in PERSONS or noun.lemma.endswith(AGENTS) or noun.lower in _PEOPLE:
            return None
    latin = zipf(named.lower) == 0 and named.lower.endswith("a")
    plural = is_plural(noun) and tokens[first].lower != "one"
    if noun.lower not in _PEOPLE and is_plural(named) != plural and not latin:
        return None
    if not _closed_well(text, term, comma, noun.i, end):
        return None
    return term, noun, end - 1, clause


def is_scene(text: Text, first: int, last: int) -> bool:
    """Whether *the* opens words that show the subject at something, not what a thing is: "she
    scrubbed the pan, the noise of the party in her ears"."""
    tokens = text.tokens
    if tokens[first].lower != "the":
        return False
    for token in tokens[first + 1 : last + 1]:
        if token.lower in _RELATIVE:
            return False
        if token.lower in _OWNERS and tokens[token.i - 1].lower in _WHERE:
            return True
    return False


def _closes(text: Text, first: int, at: int) -> bool:
    """Whether a mark ends the phrase: a comma between two adjectives does not."""
    tokens = text.tokens
    if tokens[at].text not in _STOPS:
        return False
    between = tokens[at].text == "," and at - first <= 3 and at + 1 < len(tokens)
    return not (between and tokens[at - 1].pos == tokens[at + 1].pos == "ADJ")


def _closed_well(text: Text, term: tuple[int, int], comma: int, noun: int, end: int) -> bool:
    tokens = text.tokens
    sentence = text.sentences[tokens[comma].sent]
    after = tokens[end + 1 : end + 3] if tokens[end].text == "," else ()
    inside = tokens[noun + 1 : end]
    verbs = sum(t.tag in TENSED and not _verbal(text, t.i) for t in inside)
    links = sum(t.lower in _RELATIVE | {"and", "or", "when", "if", "while", "as"} for t in inside)
    if verbs > links:
        return False  # the phrase has a verb of its own: it is a subject
    if opens_sentence(text, term[0]):
        return (
            tokens[end].text == ","
            and bool(after)
            and (after[0].pos in ("VERB", "AUX", "ADV") or after[0].tag in TENSED)
        )
    before = tokens[sentence.first : comma]
    goes_on = bool(after) and (after[0].tag in TENSED or after[0].dep == "ROOT")
    if not any(t.tag in TENSED for t in before) and not goes_on:
        return False
    start = term[0] - (tokens[term[0] - 1].pos in ("DET", "PRON"))
    if tokens[start - 1].text == "," and not (
        goes_on
        and not any(t.tag in TENSED or t.text == "," for t in tokens[sentence.first : start - 1])
    ):
        return False
    commas = [t for t in before if t.text == ","]
    opener = any(t.lower in _SUBORDINATORS for t in before)
    if opener and not commas and not goes_on:
        return False
    listed = bool(after) and after[0].lower in ("and", "or")
    return not listed or (len(after) > 1 and after[1].pos in ("ADP", "PRON", "VERB", "AUX", "ADV"))


def after_be(text: Text, at: int) -> bool:
    """Whether a word stands right after a form of *be* or *become*, adverbs passed over."""
    tokens = text.tokens
    sent = tokens[at].sent
    before = at - 1
    while (
        before >= 0
        and tokens[before].sent == sent
        and (tokens[before].pos == "ADV" or tokens[before].lower in ("not", "so", "very", "n't"))
    ):
        before -= 1
    return before >= 0 and tokens[before].sent == sent and tokens[before].lower in _BE

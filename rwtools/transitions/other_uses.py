"""Uses in which *as*, *when* and *however* join no two statements: a comment, a question, a noun's
own clause, a degree. Facts: common practice, no published source, where none is named."""

from __future__ import annotations

from collections.abc import Sequence

from rwtools.text import Text, Token
from rwtools.text.clauses import own_subject

__all__ = ["comments", "grades_however", "names_time"]

_FINITE = frozenset({"VBD", "VBZ", "VBP", "MD"})
_NOMINAL = frozenset({"DET", "NOUN", "NUM", "PRON", "PROPN"})
_STRONG = frozenset({";", ":", "—", "–", "--"})

# ---------------------------------------------------------------- as

_SAYING = frozenset("argue claim expect note observe point predict remark report say show".split())
_KNOWING = frozenset(
    "believe fear guess hear hope imagine know mention promise recall remember see suppose suspect "
    "tell think understand".split()
)
_TOLD = frozenset({"promise", "remind", "tell", "warn"})
_HEARERS = frozenset({"me", "us", "you"})
_FORTUNE = ["would", "have", "it"]
_SO_IT_IS = frozenset({("it", "happens"), ("it", "happened"), ("it", "so", "happens"),
    ("it", "so", "happened"), ("it", "turns", "out"), ("it", "turned", "out"),
    ("it", "were")})  # fmt: skip


def comments(text: Text, first: int, last: int) -> bool:
    """Whether *as* or *as far as* (tokens ``first..last``) only says who says or knows so, or that
    it so happened (*It was not, as the papers claimed, | a loss*; *As you know, ...*; *As luck
    would have it, ...*), or stands in *so kind as to help*.

    Comment clauses: Quirk, Greenbaum, Leech and Svartvik (1985), "A Comprehensive Grammar of the
    English Language", 15.53 f. (the sections from memory).
    """
    tokens = text.tokens
    single = last - first == 1
    if single and last < len(tokens) and tokens[last].tag == "TO":
        return any(t.lower in ("so", "such") for t in tokens[max(0, first - 4) : first])
    end = last
    while end < len(tokens) and not tokens[end].is_punct:
        end += 1
    words = tokens[last:end]
    if single and words and words[-1].pos == "VERB" and words[-1].lemma in _SAYING:
        return True
    lower = [t.lower for t in words]
    opens = first == text.sentences[tokens[first].sent].first
    if not (opens or tokens[first - 1].is_punct or tokens[first - 1].tag == "CC" or not single):
        return lower in (["it", "were"], ["it", "may"])
    if tuple(lower) in _SO_IT_IS or lower[-3:] == _FORTUNE:
        return True
    if lower[-2:] == ["see", "it"]:
        return True
    if len(words) > 1 and lower[-1] in _HEARERS and words[-2].lemma in _TOLD:
        words = words[:-1]  # *as I told you*
    while len(words) > 1 and words[-1].pos == "ADV":
        words = words[:-1]
    if not words or words[-1].tag[:2] != "VB":
        return False
    known = words[-1].lemma in _KNOWING or (not single and words[-1].lemma in _SAYING)
    if not single and words[-1].lemma in ("concern", "judge"):
        known = True
    return known and (len(words) == 1 or words[0].pos in _NOMINAL)


# ---------------------------------------------------------------- when

_TIMES = frozenset(
    "age century date day decade era evening hour minute moment month morning night occasion "
    "period season stage time week year".split()
)
_POINTING = frozenset({"a", "an", "any", "no", "the", "those"})
_ASKING = frozenset("ask decide determine forget guess know recall remember say wonder".split())
_TELLING = frozenset("advise ask inform remind show teach tell warn".split())
_PERSONS = frozenset({"her", "him", "me", "them", "us", "you"})
_COMING = frozenset({"should", "will", "would"})
_UNSURE = frozenset({"unclear", "uncertain", "unsure"})
_SURE = frozenset({"certain", "clear", "sure"})
_CLOSING = frozenset({"”", '"'})


def names_time(text: Text, first: int) -> bool:
    """Whether the clause of *when* is a part of another one: its subject (*When he came is not
    known*), what is asked, told or known (*Tell me when you arrive*), or what tells which time a
    noun means (*the year when I was born*)."""
    tokens = text.tokens
    sentence = text.sentences[tokens[first].sent]
    if first == sentence.first:
        return _is_subject(text, first, sentence.last)
    before = tokens[first - 1]
    if before.lemma in _TIMES and before.pos == "NOUN":
        return _tells_which(text, before, first)
    if any(t.lower == "that" and t.dep == "mark" for t in tokens[first : sentence.last]):
        return False  # *He knew when he saw the smoke that the mill burned*
    at = first - 1
    while at > sentence.first and tokens[at].pos == "ADV" and tokens[at].tag == "RB":
        at -= 1
    word = tokens[at]
    if word.lower in _UNSURE:
        return True
    if word.lower in _SURE:
        return any(t.tag == "RB" and t.dep == "neg" for t in tokens[max(0, at - 3) : at])
    if word.pos == "VERB" and word.lemma in _ASKING:
        # *those whom I knew when I was young*; *“Sit!” he said when she came*
        spoke = any(t.text in _CLOSING for t in tokens[max(sentence.first, at - 6) : at])
        return word.dep not in ("relcl", "acl") and not spoke
    if word.lower in _PERSONS:
        return tokens[at - 1].lemma in _TELLING and tokens[at - 1].pos == "VERB"
    told = tokens[word.head]
    if word.dep not in ("dobj", "dative") or told.lemma not in _TELLING:
        return False
    # no clause of time takes *will*: *She asked the man when the boat would leave*
    verb = next((t for t in tokens[first : sentence.last] if t.tag in _FINITE), None)
    return word.pos == "PROPN" or (verb is not None and verb.lower in _COMING)


def _tells_which(text: Text, noun: Token, first: int) -> bool:
    """Whether the clause of *when* tells which time a noun means that is no time of what happens:
    *The year when I was born was cold*. In *at a time when* the two do happen together."""
    pointed = any(text.tokens[c].lower in _POINTING for c in text.children[noun.i])
    clause = any(text.tokens[c].dep == "relcl" and c > first for c in text.children[noun.i])
    return pointed and clause and noun.dep not in ("pobj", "npadvmod")


def _is_subject(text: Text, first: int, last: int) -> bool:
    """Whether a second finite verb without a subject of its own follows the clause of *when*, no
    comma between."""
    stretch: list[Token] = []
    for token in text.tokens[first:last]:
        if token.is_punct:
            break
        stretch.append(token)
    finite = [t for t in stretch if t.tag in _FINITE]
    if len(finite) != 2 or any(t.tag in ("CC", "WDT", "WP") for t in stretch):
        return False
    own, other = finite
    between = stretch[own.i + 1 - first : other.i - first]
    if other.pos != "AUX" or other.tag == "VBP" or any(t.dep == "mark" for t in between):
        return False
    nouns = [t for t in between if t.pos in ("NOUN", "PRON", "PROPN") and t.dep != "pobj"]
    if any(t.dep != "npadvmod" for t in nouns):
        return False  # *When the bell rang he was asleep*; *When he left the boat was full*
    head = other if other.dep not in ("aux", "auxpass") else text.tokens[other.head]
    subject = own_subject(text, head.i)
    return subject is None or subject.i < own.i


# ---------------------------------------------------------------- however

_OF_SENTENCES = frozenset(
    "again also always here never now only sometimes still then there today usually".split()
)
_WISHING = frozenset({"can", "choose", "like", "may", "please", "prefer", "want", "wish"})


def grades_however(text: Text, first: int) -> bool:
    """Whether *however* means "no matter how": before the word that it grades (*However hard he
    tried, ...*), or before the clause that it opens (*You may go however you like*).

    Quirk, Greenbaum, Leech and Svartvik (1985), 15.42, universal conditional-concessive clauses
    (the section from memory).
    """
    tokens = text.tokens
    sentence = text.sentences[tokens[first].sent]
    rest = tokens[first + 1 : sentence.last]
    if len(rest) < 2 or rest[0].is_punct:
        return False
    graded = rest[0].pos in ("ADJ", "ADV") and rest[0].lower not in _OF_SENTENCES
    own = _to_mark(rest)
    if not any(t.tag in _FINITE for t in own):
        return False
    before = tokens[first - 1] if first > sentence.first else None
    if before is None or before.text in _STRONG or before.text in ("“", '"'):
        return (graded or rest[0].tag == "PRP") and _main_follows(rest[len(own) :])
    if graded:
        return rest[1].tag in ("PRP", "DT", "PRP$", "NNP", "NN", "NNS")
    return not before.is_punct and rest[0].pos in _NOMINAL and own[-1].lemma in _WISHING


def _to_mark(words: Sequence[Token]) -> Sequence[Token]:
    end = next((k for k, t in enumerate(words) if t.is_punct), len(words))
    return words[:end]


def _main_follows(words: Sequence[Token]) -> bool:
    """Whether a comma comes next, and then another clause or a command."""
    if len(words) < 2 or words[0].text != "," or words[1].tag in ("CC", "WDT", "WP", "WRB"):
        return False
    return any(t.pos in ("VERB", "AUX") for t in words[1:])

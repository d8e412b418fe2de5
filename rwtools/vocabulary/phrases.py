"""Phrases: where a term begins and ends, and what kind of phrase stands beside it.

Indices are token indices, both ends included, unless said otherwise.
"""

from __future__ import annotations

from rwtools.clue import Span
from rwtools.text import Text, Token
from rwtools.vocabulary.familiarity import UNFAMILIAR_BELOW as _RARE
from rwtools.vocabulary.familiarity import zipf

__all__ = [
    "DASHES",
    "NAMED",
    "NOMINAL",
    "QUOTES",
    "SUBJECTS",
    "VAGUE",
    "agree",
    "best_phrase",
    "closing",
    "core",
    "fits_class",
    "has_content",
    "head_of",
    "is_clause",
    "is_list",
    "is_quality",
    "nominal_after",
    "noun_phrase",
    "phrase_before",
    "span",
    "term_of",
    "whole_phrase",
    "words_in",
]

NOMINAL = frozenset({"NOUN", "PROPN", "X"})
DASHES = frozenset({"\u2014", "\u2013", "--", "---"})
QUOTES = frozenset({'"', "'", "``", "''", "\u201c", "\u201d", "\u2018", "\u2019"})
# Nouns that say what a thing is to something else, not what it is.
VAGUE = frozenset(
    "example reason problem result cause factor goal question fact issue sign matter lot number "
    "concern challenge priority choice topic reminder requirement characteristic consequence "
    "exception trait symptom advantage success failure increase decrease rise drop change "
    "decline allegation claim decision move development feat task achievement mistake effort "
    "attempt".split()
)
_GROUPS = frozenset(
    "group set type kind class family series form collection number species range body pair band "
    "race people network system mixture branch order line variety".split()
)
_CLASS = {"PROPN": "NOUN", "X": "NOUN"}
_LEFT = frozenset({"det", "amod", "compound", "nummod", "poss", "nmod", "predet", "quantmod"})
_NOT_TERM = frozenset(
    "such other another certain several many most few some any own same different various first "
    "second third next last new only main other so-called called known this that these those "
    "both all each every term word phrase more less fewer".split()
)
SUBJECTS = ("nsubj", "nsubjpass", "csubj", "expl")


def span(text: Text, first: int, last: int) -> Span:
    """Characters of tokens ``first..last`` without the marks at their edges."""
    tokens = text.tokens
    while first < last and tokens[first].is_punct:
        first += 1
    while last > first and tokens[last].is_punct and tokens[last].text not in (")", "]", "%"):
        last -= 1
    depth = 0
    for i in range(first, last + 1):
        depth += (tokens[i].text in ("(", "[")) - (tokens[i].text in (")", "]"))
        if depth < 0 and i > first:
            return span(text, first, i - 1)
    if depth > 0:
        opened = max(i for i in range(first, last + 1) if tokens[i].text in ("(", "["))
        if opened > first:
            return span(text, first, opened - 1)
    return text.span(first, last)


def words_in(text: Text, first: int, last: int) -> list[Token]:
    """The words, without marks."""
    return [t for t in text.tokens[first : last + 1] if not t.is_punct]


def has_content(text: Text, first: int, last: int) -> bool:
    """Whether the tokens say anything: a noun, verb, adjective or adverb."""
    return any(
        t.pos in ("NOUN", "VERB", "ADJ", "ADV", "PROPN") and not t.is_punct
        for t in text.tokens[first : last + 1]
    )


def core(text: Text, head: int) -> tuple[int, int]:
    """A noun with the words right before it that belong to it (determiner, adjectives, nouns)."""
    first = head
    for i in reversed(text.children[head]):
        if i >= head:
            continue
        token = text.tokens[i]
        inside = text.subtree(i)
        joined = all(t.text == "-" for t in text.tokens[inside[-1] + 1 : first])
        if token.text == "-" and i == first - 1:
            continue
        if not joined or (token.dep not in _LEFT and token.tag != "HYPH"):
            break
        if token.tag in ("VBZ", "VBP", "VBD"):
            break
        first = inside[0]
    return first, head


def term_of(text: Text, first: int, last: int) -> tuple[int, int]:
    """A phrase without what is no part of a term: articles, owners, numbers, quotation marks."""
    tokens = text.tokens
    while first < last and (
        tokens[first].pos in ("DET", "PRON", "PUNCT", "NUM", "ADV", "CCONJ", "PART", "ADP")
        or tokens[first].lower in _NOT_TERM
        or tokens[first].tag in ("POS", "PRP$")
    ):
        first += 1
    while last > first and tokens[last].is_punct:
        last -= 1
    return first, last


def noun_phrase(text: Text, head: int) -> tuple[int, int]:
    """A noun with its words before it and all that follows and depends on it, without a break."""
    first, _ = core(text, head)
    last = head
    members = set(text.subtree(head))
    while last + 1 in members:
        last += 1
    while last > head and text.tokens[last].is_punct:
        last -= 1
    return first, last


def head_of(text: Text, first: int, last: int) -> Token | None:
    """The word on which the others in a stretch hang (the first, where there are several)."""
    for token in text.tokens[first : last + 1]:
        outside = token.head == token.i or not first <= token.head <= last
        if outside and not token.is_punct and token.dep not in ("cc", "mark", "advmod", "prep"):
            return token
    return next(iter(words_in(text, first, last)), None)


def is_clause(text: Text, first: int, last: int) -> bool:
    """Whether a stretch has its own subject and a verb with tense, at its top."""
    for token in text.tokens[first : last + 1]:
        if token.dep in SUBJECTS and first <= token.head <= last:
            verb = text.tokens[token.head]
            if verb.dep in ("relcl", "acl") or verb.pos not in ("VERB", "AUX"):
                continue
            group = [verb, *(text.tokens[i] for i in text.children[verb.i])]
            if any(t.tag in ("VBD", "VBZ", "VBP", "MD") for t in group):
                return True
    return False


def is_list(text: Text, first: int, last: int) -> bool:
    """Whether a stretch is a list of three or more things."""
    commas = sum(t.text in (",", ";") for t in text.tokens[first : last + 1])
    return commas >= 2 and any(t.dep == "cc" for t in text.tokens[first : last + 1])


_NOUN_PLACES = frozenset({"nsubj", "nsubjpass", "dobj", "pobj"})


def fits_class(named: Token, head: Token) -> bool:
    """Whether one word can rename another: the same class, or a rare word misread by the parser."""
    if named.is_blank or head.is_blank:
        return True
    pair = [_CLASS.get(t.pos, t.pos) for t in (named, head)]
    if pair[0] == pair[1]:
        return True
    describes = {"ADJ", "VERB"} if head.tag in ("VBN", "JJ") else {"ADJ"}
    if set(pair) <= describes:
        return True
    if pair[1] == "NOUN" and named.dep in _NOUN_PLACES and zipf(named.lower) < _RARE:
        return True  # it stands where nouns stand, whatever its tag
    if zipf(named.lower) > 0.0 or named.tag in ("VBD", "VBG"):
        return False
    return pair[1] == "NOUN" or (
        head.tag in ("VBN", "JJ") and named.dep in ("acomp", "attr", "amod", "ROOT", "conj")
    )


# What only names are: "Zoom is a company ...".
NAMED = frozenset(
    "company city town country river film novel island state brand website firm corporation "
    "magazine newspaper band song album village mountain lake province university".split()
)


def agree(term: Token, gloss: Token, opening: Token) -> bool:
    """Whether two nouns can name the same thing: one thing or several on both sides."""
    if term.tag in ("NNS", "NNPS"):
        return opening.lower not in ("a", "an") or gloss.lemma in _GROUPS
    return gloss.tag != "NNS" or term.tag not in ("NN", "NNP") or zipf(term.lower) == 0.0


def whole_phrase(text: Text, term: tuple[int, int]) -> tuple[int, int]:
    """The longer noun phrase, where the last noun only completes another ("GDP per capita")."""
    first, noun = term[0], text.tokens[term[1]]
    while noun.dep == "pobj":
        link = text.tokens[noun.head]
        above = text.tokens[link.head]
        if link.dep != "prep" or above.pos not in ("NOUN", "PROPN") or above.i != link.i - 1:
            break
        first, noun = term_of(text, *core(text, above.i))[0], above
    return first, term[1]


def best_phrase(text: Text, term: tuple[int, int], gloss: tuple[int, int]) -> tuple[int, int]:
    """The noun before a mark, or the longer phrase that it completes, whichever the gloss renames.

    The longer one counts where its own noun is a rare word that agrees in number and the gloss
    does not take up the shorter one again.
    """
    longer = whole_phrase(text, term)
    head = head_of(text, *gloss)
    if longer == term or head is None or head.lemma == text.tokens[term[1]].lemma:
        return term
    nouns = (t for t in text.ancestors(term[1]) if t.dep != "prep")
    above = next((t for t in nouns if longer[0] <= t.i < term[0]), None)
    if above is None or zipf(above.lemma) >= _RARE:
        return term
    if not agree(above, head, text.tokens[gloss[0]]):
        return term
    return longer


def is_quality(text: Text, token: Token) -> bool:
    """Whether a word says what something is like: an adjective after a noun's *be*, or before it.

    The parser takes rare adjectives for participles or bare nouns ("is sessile").
    """
    if token.is_blank:
        return True
    if token.pos == "ADJ":
        return token.dep in ("acomp", "amod", "attr", "conj", "oprd", "ROOT")
    if token.tag == "VBN":
        helper = text.child(token.i, "auxpass")
        return helper is not None and helper.lemma == "be" and text.child(token.i, "agent") is None
    bare = text.child(token.i, "det", "poss", "compound", "amod", "nummod") is None
    return token.tag == "NN" and token.dep == "attr" and bare and zipf(token.lower) == 0.0


def phrase_before(text: Text, at: int) -> tuple[int, int] | None:
    """The term that ends right before token ``at``: a noun with its modifiers, or one other word.

    Quotation marks and one short bracket between are passed over.
    """
    tokens = text.tokens
    last = at - 1
    while last >= 0 and tokens[last].text in QUOTES:
        last -= 1
    if last >= 0 and tokens[last].text == ")":
        while last >= 0 and at - last < 8 and tokens[last].text != "(":
            last -= 1
        last -= 1
    if last < 0 or tokens[last].sent != tokens[at].sent or tokens[last].is_punct:
        return None
    token = tokens[last]
    if token.is_blank:
        return last, last
    if token.pos in NOMINAL or token.tag == "VBG":
        return term_of(text, *core(text, last))
    if token.pos in ("ADJ", "VERB", "ADV", "ADP"):
        return last, last
    return None


def nominal_after(text: Text, at: int) -> tuple[int, int] | None:
    """The term that begins at or right after token ``at``: articles and quotation marks skipped."""
    tokens = text.tokens
    sent = tokens[at].sent if at < len(tokens) else -1
    first = at
    while (
        first < len(tokens)
        and tokens[first].sent == sent
        and (tokens[first].text in QUOTES or tokens[first].pos == "DET")
    ):
        first += 1
    last, end = first, None
    while last < len(tokens) and tokens[last].sent == sent:
        token = tokens[last]
        if token.pos in NOMINAL or token.is_blank or token.tag == "VBG":
            end = last
        elif not (token.pos in ("ADJ", "NUM") or token.text == "-" or token.tag in ("VBN", "HYPH")):
            break
        last += 1
    if end is None:  # a lone adjective: "so-called benign"
        if first < len(tokens) and tokens[first].sent == sent and tokens[first].pos == "ADJ":
            return first, first
        return None
    return first, end


def closing(text: Text, start: int, marks: frozenset[str]) -> int:
    """Index of the first of ``marks`` at or after ``start`` in its sentence, else of its end.

    Marks inside round brackets do not count. The end is the sentence's final mark.
    """
    tokens = text.tokens
    if start >= len(tokens):
        return len(tokens)
    sentence = text.sentences[tokens[start].sent]
    depth = 0
    for i in range(start, sentence.last):
        if tokens[i].text == "(":
            depth += 1
        elif tokens[i].text == ")" and ")" not in marks:
            depth -= 1
            if depth < 0:
                return i
        elif depth <= 0 and tokens[i].text in marks:
            return i
    end = sentence.last
    while end > start and tokens[end - 1].is_punct and tokens[end - 1].text not in (")", "]"):
        end -= 1
    return end

"""The two parts that a connective joins.

``arg2`` is the part that the connective belongs to, ``arg1`` the other one, as in the Penn
Discourse Treebank. Both are unbroken stretches without the connective, so that a learner can read
them.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from rwtools.clue import Span
from rwtools.text import Text, Token
from rwtools.transitions.bounds import (
    CUTS,
    DEPENDENT,
    FINITE,
    OPENERS,
    SUBJECTS,
    VERBAL,
    clause_head,
    clause_start,
    free_verbs,
    holds_verb,
    joint,
    main_verb,
    only_marks,
    own_bounds,
    phrase_bounds,
    previous_sentence,
    stretch,
)
from rwtools.transitions.candidates import Candidate
from rwtools.transitions.edges import trimmed
from rwtools.transitions.features import Sides, sides
from rwtools.transitions.forms import BARELY, DEGREES, front_of, renames
from rwtools.transitions.lexicon import connectives
from rwtools.transitions.marked import by_marks, less_aside, speech_before
from rwtools.transitions.settled import commands

__all__ = ["arguments", "looks_back"]

_PHRASES = frozenset({"advcl", "acl", "amod", "appos", "dep"})
_LAST_WORDS = 6
# words that mark a phrase or clause as naming anew what was just said, and those that mark it as a
# case of it or as its sharper form
_NAMING = frozenset(
    {
        "i.e.", "in other words", "more precisely", "more specifically", "namely", "or rather",
        "put another way", "put differently", "specifically", "that is", "that is to say",
        "to be exact", "to be precise", "to put it another way", "to put it differently",
    }
)  # fmt: skip
_SAMPLING = frozenset({"e.g.", "for example", "for instance", "in particular", "particularly"})
_INTRODUCERS = _NAMING | _SAMPLING | {"in fact", "in short", "indeed"}
_OPEN = frozenset({"ADP", "AUX", "CCONJ", "DET", "PART", "SCONJ", "VERB"})
_NOMINAL = frozenset({"DET", "NOUN", "NUM", "PRON", "PROPN"})


def arguments(text: Text, candidate: Candidate) -> tuple[Span | None, Span | None]:
    """What the connective joins: (arg1, arg2), either None where nothing can be named."""
    if candidate.second is not None:
        return _pair(text, candidate)
    parts = by_marks(text, candidate) or _parsed(text, candidate)
    said = speech_before(text, candidate)
    return (said, parts[1]) if said else less_aside(text, candidate, parts)


def _parsed(text: Text, candidate: Candidate) -> tuple[Span | None, Span | None]:
    """The parts of a connective of one piece, as the parse and the marks beside it have them."""
    if looks_back(text, candidate):
        return _across(text, candidate)
    if candidate.form in _INTRODUCERS and _behind_mark(text, candidate):
        parts = _introduced(text, candidate)
        if parts is None and renames(text, candidate):
            return _split(text, candidate)
        return parts or _linked(text, candidate)
    if connectives()[candidate.form].pos == "adverb" and (parts := _spliced(text, candidate)):
        return parts
    tokens = text.tokens
    opener = next((i for i in range(candidate.first, candidate.last) if _opens(tokens[i])), None)
    # "even" may hang beside "when", not on it
    joined = sides(text, candidate if opener is None else replace(candidate, first=opener))
    if opener is not None and (parts := _doubled(text, candidate)):
        return parts
    left, right = _whole_verb(text, joined.left, joined.right)
    fronted = only_marks(text, text.sentences[tokens[candidate.first].sent].first, candidate.first)
    if right is None and fronted and tokens[joined.head].dep == "prep":
        left, right = _below_phrase(text, candidate, joined.head)
    joined = Sides(joined.head, left, right)
    top = tokens[joined.head]
    if top.dep in ("cc", "preconj") and joined.left is not None and joined.right is not None:
        return _coordinated(text, candidate, joined.left, joined.right)
    hangs = top.dep in ("mark", "prep", "agent", "dative", "pcomp", "advcl")
    asks = top.tag == "WRB" and top.dep == "advmod"
    if joined.right is not None and joined.left is not None and (hangs or asks):
        return _subordinated(text, candidate, joined.left, joined.right)
    return _linked(text, candidate)


def _whole_verb(text: Text, left: int | None, right: int | None) -> tuple[int | None, int | None]:
    """The heads of both sides. Where the parser takes an auxiliary for a clause and its own verb
    for the other (*If you would of seen it, you would understand*), the two are one verb."""
    if left is None or right is None or text.tokens[right].dep not in ("aux", "auxpass"):
        return left, right
    if main_verb(text, right) != left:
        return left, right
    above = text.tokens[left].head
    return (above if above != left else None), left


def _below_phrase(text: Text, candidate: Candidate, top: int) -> tuple[int | None, int | None]:
    """The heads of both sides where the second hangs on a noun of the link: *In order | to save
    oil, the keeper lit one lamp*."""
    right = next(
        (
            i
            for i in text.subtree(top)
            if i >= candidate.last
            and candidate.first < text.tokens[i].head < candidate.last
            and text.tokens[i].pos in VERBAL
        ),
        None,
    )
    return (text.tokens[top].head, right) if right is not None else (None, None)


_DOUBLING = {
    "although": ("but", "yet"),
    "because": ("so", "therefore"),
    "even though": ("but", "yet"),
    "since": ("so", "therefore"),
    "though": ("but", "yet"),
}


def _doubled(text: Text, candidate: Candidate) -> tuple[Span, Span] | None:
    """The parts of an opening conjunction where a second link, which it makes needless, joins the
    main clause: *Although it was cold but | we swam* (handbooks call the link redundant: common
    practice, no published source). None where a comma has closed the first part before it."""
    sentence = text.sentences[text.tokens[candidate.first].sent]
    if not only_marks(text, sentence.first, candidate.first):
        return None
    links = _DOUBLING.get(candidate.form, ())
    for link in text.tokens[candidate.last : sentence.last - 1]:
        if link.lower not in links:
            continue
        before, waiting = free_verbs(text, candidate.last, link.i)
        after, _ = free_verbs(text, link.i + 1, sentence.last)
        if len(before) != 1 or waiting or not after:
            return None
        subject = text.tokens[link.i + 1 : after[0]]
        if not subject or subject[0].pos not in _NOMINAL or any(t.text == "," for t in subject):
            return None  # *Although he tried but failed, ...*; *Because it was so cold, we left*
        closed = any(t.text == "," for t in text.tokens[before[0] : link.i - 1])
        arg2 = trimmed(text, candidate.last, link.i)
        arg1 = trimmed(text, link.i + 1, joint(text, link.i + 1, sentence.last))
        return (arg1, arg2) if arg1 and arg2 and not closed else None
    return None


def _opens(token: Token) -> bool:
    """Whether a word opens a dependent clause."""
    return token.dep == "mark" or (token.tag == "WRB" and token.dep == "advmod")


def looks_back(text: Text, candidate: Candidate) -> bool:
    """Whether *though* is used as an adverb, between marks (*The view, though, was fine*): it goes
    against the sentence before (common practice, no published source)."""
    tokens, first, last = text.tokens, candidate.first, candidate.last
    if candidate.form != "though" or first == 0 or tokens[first - 1].text != ",":
        return False
    return last < len(tokens) and tokens[last].text in (",", ".", ";", "?", "!")


def _across(text: Text, candidate: Candidate) -> tuple[Span | None, Span | None]:
    """The statement before and the own one, to the next full stop, semicolon, colon or dash."""
    sentence = text.sentences[text.tokens[candidate.first].sent]
    start, end = candidate.first, candidate.last
    while start > sentence.first and text.tokens[start - 1].text not in CUTS:
        start -= 1
    while end < sentence.last and text.tokens[end].text not in CUTS:
        end += 1
    left = trimmed(text, sentence.first, start)
    return left or previous_sentence(text, candidate.first), trimmed(text, start, end)


def _behind_mark(text: Text, candidate: Candidate) -> bool:
    """Whether a mark parts the connective from words of its sentence before it."""
    first = candidate.first
    if first - text.sentences[text.tokens[first].sent].first < 2:
        return False
    return text.tokens[first - 1].text in CUTS | {",", "(", "["}


def _introduced(text: Text, candidate: Candidate) -> tuple[Span, Span] | None:
    """The parts of a word such as *for example* that introduces a phrase or clause: *Each hive was
    painted a color, for example, white for the queen*. None where the word interrupts its clause or
    ends it, and so looks back to the sentence before.

    Markers of apposition after Quirk, Greenbaum, Leech and Svartvik (1985), "A Comprehensive
    Grammar of the English Language", 17.73 (the section from memory).
    """
    tokens, mark = text.tokens, candidate.first - 1
    sentence = text.sentences[tokens[mark].sent]
    start = stretch(text, mark - 1, sentence.first, -1) + 1
    end = stretch(text, candidate.last, sentence.last - 1, 1)
    body = candidate.last
    while body < end and tokens[body].is_punct:
        body += 1
    if start >= mark or body >= end:
        return None
    if tokens[mark].text not in ("(", "["):
        verbs, waiting = free_verbs(text, start, mark)
        if verbs and not waiting:
            if _goes_on(text, candidate, body, end) or _joins(text, verbs[-1], mark):
                return None
            start, end = clause_start(text, verbs[-1], start), joint(text, body, end)
        else:
            end = _closing_comma(text, body, end)
            if verbs or not end or not _names(text, candidate, start):
                return None
    arg1, arg2 = trimmed(text, start, mark), trimmed(text, body, end)
    return (arg1, arg2) if arg1 and arg2 else None


def _spliced(text: Text, candidate: Candidate) -> tuple[Span, Span] | None:
    """The clauses before and after an adverb that stands between them as a conjunction would: *The
    lake rises fast, however by evening | it has fallen*. The comma is too weak, the sense clear."""
    tokens, mark = text.tokens, candidate.first - 1
    sentence = text.sentences[tokens[candidate.first].sent]
    body = candidate.last
    if mark <= sentence.first or tokens[mark].text != "," or body >= sentence.last:
        return None
    start = stretch(text, mark - 1, sentence.first, -1) + 1
    end = stretch(text, body, sentence.last - 1, 1)
    before, waiting = free_verbs(text, start, mark)
    after, _ = free_verbs(text, body, end)
    ordered, orders = commands(text, start, mark), commands(text, body, end)
    ordered |= orders and not before and start == sentence.first  # a command before a command
    if not (before or ordered) or waiting or not (after or orders) or tokens[body].is_punct:
        return None
    if not orders and not any(tokens[i].pos in _NOMINAL for i in range(body, after[0])):
        return None  # its subject stands before: *The boat, he said, then sank*
    start = start if ordered else clause_start(text, before[-1], start)
    end = joint(text, body, end)
    arg1, arg2 = trimmed(text, start, mark), trimmed(text, body, end)
    return (arg1, arg2) if arg1 and arg2 else None


def _goes_on(text: Text, candidate: Candidate, body: int, end: int) -> bool:
    """Whether what follows completes or goes on with the clause before, so that the word stands
    within it (*It is, in other words, at rest*; *It is true, for example, of wool*) or at its end
    (*..., for example, while others sleep*)."""
    tokens = text.tokens
    before, after = tokens[candidate.first - 2], tokens[body]
    if tokens[candidate.first - 1].text == ",":
        if before.pos in _OPEN:
            return not _is_full(text, before, after)
        if before.pos == "ADJ" and after.tag in ("IN", "TO"):
            return True
    if after.tag == "CC" or after.lower in DEPENDENT:
        return True
    if after.lower == "that" and after.tag != "DT" and candidate.form not in _NAMING:
        return True  # there is proof, for example, that ...
    free, _ = free_verbs(text, body, end)
    return bool(free) and not any(tokens[i].pos in _NOMINAL for i in range(body, free[0]))


def _is_full(text: Text, verb: Token, after: Token) -> bool:
    """Whether a noun behind a passive verb is not its complement: *Many tools are used, for
    example, | saws*."""
    passive = verb.tag == "VBN" and text.child(verb.i, "auxpass") is not None
    nominal = after.pos in _NOMINAL or after.pos == "ADJ"
    return passive and nominal and text.child(verb.i, "oprd", "attr", "dobj") is None


def _joins(text: Text, first: int, last: int) -> bool:
    """Whether *and* or the like stands behind a comma in a stretch."""
    return any(a.text == "," and b.tag == "CC" for a, b in pairwise(text.tokens[first:last]))


def _names(text: Text, candidate: Candidate, start: int) -> bool:
    """Whether only a subject stands before, which the word names anew, or of which it gives cases:
    *Many animals, for example, bats and owls, | hunt at night*."""
    before = text.tokens[start : candidate.first]
    many = any(t.tag in ("NNS", "NNPS") for t in before)
    fits = candidate.form in _NAMING or (candidate.form in _SAMPLING and many)
    return fits and before[0].pos in _NOMINAL | {"ADJ"}


def _closing_comma(text: Text, body: int, end: int) -> int:
    """The comma that closes a phrase just before the main verb (0: there is none)."""
    free, _ = free_verbs(text, body, end)
    at = free[0] - 1 if free else body
    while at > body and text.tokens[at].pos == "ADV":
        at -= 1
    return at if at > body and text.tokens[at].text == "," else 0


def _coordinated(
    text: Text, candidate: Candidate, left: int, right: int
) -> tuple[Span | None, Span | None]:
    left = _equal(text, left, right)
    first = own_bounds(text, left)[0]
    start = max(candidate.last, min(own_bounds(text, right)[0], right))
    last = max(own_bounds(text, right)[1], right + 1)
    return trimmed(text, first, candidate.first), trimmed(text, start, last)


def _equal(text: Text, left: int, right: int) -> int:
    """The head of the left part. A clause with a subject is joined to a clause, not to a participle
    in one, as the parser may have it (*The dialect is arcane, that is, known to few, and ...*)."""
    head = text.tokens[left]
    phrase = head.tag in ("VBN", "VBG") and head.dep in _PHRASES and head.head < left
    bare = text.child(left, *SUBJECTS) is None and text.child(right, *SUBJECTS) is not None
    return clause_head(text, head.head) if phrase and bare else left


def _subordinated(
    text: Text, candidate: Candidate, left: int, right: int
) -> tuple[Span | None, Span | None]:
    first, last = candidate.first, candidate.last
    end = _dependent_end(text, right, left)
    arg2 = trimmed(text, last, max(end, last))
    main = clause_head(text, left)
    left_first, left_last = own_bounds(text, main)
    before = trimmed(text, min(left_first, first), first)
    after = trimmed(text, max(end, last), max(left_last, end))
    arg1 = after if main >= end else before
    return arg1 or before or after or previous_sentence(text, first), arg2


def _dependent_end(text: Text, right: int, left: int) -> int:
    """Where a dependent part ends: a second verb of it still belongs to it, but a part that stands
    before its main clause ends before that clause's head."""
    end = max(phrase_bounds(text, right)[1], right + 1)
    hidden = text.child(left, *SUBJECTS) is None and text.tokens[left].tag in FINITE
    if right < left and hidden:
        # *Although the elder protested, | the younger began*: the parser has made the main clause's
        # subject a part of the dependent one
        return next((i for i in range(right, left) if text.tokens[i].text == ","), end)
    if right < left < end:
        end = max(own_bounds(text, right)[1], right + 1)
    # *Because it comes later | each day, the mill stops*: the comma shows where the part ends,
    # though the parser may give its last words to the main clause
    comma = next(
        (i for i in range(end, min(end + _LAST_WORDS, left)) if text.tokens[i].text == ","), 0
    )
    if right < left and comma and not holds_verb(text, end, comma + 1):
        return comma
    return end


def _linked(text: Text, candidate: Candidate) -> tuple[Span | None, Span | None]:
    """An adverb, or a coordinator that opens its sentence."""
    tokens = text.tokens
    first, last = candidate.first, candidate.last
    sentence = text.sentences[tokens[first].sent]
    kind = connectives()[candidate.form].pos
    if kind != "adverb" and not only_marks(text, sentence.first, first):
        return _split(text, candidate)
    head = clause_head(text, sides(text, candidate).head)
    start, end = own_bounds(text, head)
    start, end = min(start, first), max(end, last)
    cut = start
    for i in range(start, first):
        if tokens[i].text in CUTS:
            cut = i + 1
    start = cut
    left = trimmed(text, sentence.first, start)
    arg2 = trimmed(text, last if only_marks(text, start, first) else start, end)
    if left is not None and holds_verb(text, sentence.first, start):
        opener = start
        while opener > sentence.first and tokens[opener - 1].dep in OPENERS:
            opener -= 1
        return trimmed(text, sentence.first, opener), arg2
    return previous_sentence(text, first), arg2


def _split(text: Text, candidate: Candidate) -> tuple[Span | None, Span | None]:
    """A conjunction or preposition that the parse does not place: what stands on its two sides."""
    tokens = text.tokens
    first, last = candidate.first, candidate.last
    sentence = text.sentences[tokens[first].sent]
    end = last
    while end < sentence.last and tokens[end].text not in CUTS:
        end += 1
    start = first
    while start > sentence.first and tokens[start - 1].text not in CUTS:
        start -= 1
    verb = next((i for i in range(last, end) if tokens[i].pos in VERBAL), None)
    if verb is not None:
        verb = main_verb(text, verb)
        bounds = phrase_bounds(text, verb)
        if bounds[0] >= first and verb < bounds[1] <= end:
            end = bounds[1]
    left = trimmed(text, start, first)
    return left or previous_sentence(text, first), trimmed(text, last, end)


def _pair(text: Text, candidate: Candidate) -> tuple[Span | None, Span | None]:
    """The parts after each half; the half that opens a condition introduces arg2."""
    assert candidate.second is not None
    second_first, second_last = candidate.second
    tokens = text.tokens
    sentence = text.sentences[tokens[second_first].sent]
    end = sentence.last
    top = tokens[second_first]
    anchor = top.head if top.head != top.i else top.i
    if top.dep == "cc":
        right = [c for c in text.children[anchor] if c > top.i and tokens[c].dep == "conj"]
        anchor = right[0] if right else anchor
    bounds = own_bounds(text, anchor)
    if bounds[1] > second_last:
        end = min(end, bounds[1])
    between = second_first
    own = text.sentences[tokens[candidate.first].sent]
    if own.index != sentence.index:
        between = own.last
    # a degree is no statement without its first word: *So loud was the bell*
    begin = candidate.first if candidate.form in DEGREES else candidate.last
    if candidate.form in BARELY and tokens[candidate.first - 1].pos == "AUX":
        begin = front_of(text, candidate)  # *He had hardly sat down*
    one = trimmed(text, begin, between)
    two = trimmed(text, second_last, end)
    if candidate.form.startswith(("if ", "when ", "if only ", "because ")):
        return two, one
    return one, two

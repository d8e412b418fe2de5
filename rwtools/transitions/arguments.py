"""The two parts that a connective joins.

``arg2`` is the part that the connective belongs to, ``arg1`` the other one, as in the Penn
Discourse Treebank. Both are unbroken stretches without the connective, so that a learner can read
them.
"""

from __future__ import annotations

from rwtools.clue import Span
from rwtools.text import Text
from rwtools.transitions.candidates import Candidate
from rwtools.transitions.features import sides
from rwtools.transitions.lexicon import connectives

__all__ = ["arguments", "looks_back"]

_VERBAL = frozenset({"VERB", "AUX"})
_SUBJECTS = ("nsubj", "nsubjpass", "expl", "csubj")
_PHRASES = frozenset({"advcl", "acl", "amod", "appos", "dep"})
_OPENERS = frozenset({"cc", "punct", "preconj", "intj"})
_LAST_WORDS = 6
_CUTS = frozenset({";", "—", "--", ":"})


def _trimmed(text: Text, first: int, last: int) -> Span | None:
    """Characters of tokens ``first..last`` (half-open) less the marks at both ends and a *that*
    which only hangs the part on a verb (*argues | that it hears*)."""
    tokens = text.tokens
    while first < last and (
        tokens[first].is_punct or (tokens[first].lower == "that" and tokens[first].dep == "mark")
    ):
        first += 1
    while last > first and tokens[last - 1].is_punct:
        last -= 1
    return text.span(first, last - 1) if first < last else None


def _bounds(text: Text, index: int) -> tuple[int, int]:
    members = text.subtree(index)
    return members[0], members[-1] + 1


def _clause_head(text: Text, index: int) -> int:
    """The nearest word at or above ``index`` that heads a clause (a verb, or the root)."""
    at = index
    while text.tokens[at].pos not in _VERBAL and text.tokens[at].head != at:
        at = text.tokens[at].head
    return at


def _own_bounds(text: Text, head: int) -> tuple[int, int]:
    """The stretch of a clause around its head, up to clauses coordinated with it."""
    first, last = _bounds(text, head)
    for child in text.children[head]:
        token = text.tokens[child]
        if token.dep == "conj" and token.pos in _VERBAL and child > head:
            joint = _bounds(text, child)[0]
            while joint > head + 1 and text.tokens[joint - 1].dep in _OPENERS:
                joint -= 1
            last = min(last, joint)
        elif token.dep in ("ccomp", "parataxis") and child < head:
            end = _bounds(text, child)[1]
            if end < head and text.tokens[end].is_punct:
                first = max(first, end)
    return first, last


def _previous_sentence(text: Text, index: int) -> Span | None:
    """The sentence before the one of token ``index``."""
    number = text.tokens[index].sent - 1
    while number >= 0:
        sentence = text.sentences[number]
        span = _trimmed(text, sentence.first, sentence.last)
        if span is not None:
            return span
        number -= 1
    return None


def arguments(text: Text, candidate: Candidate) -> tuple[Span | None, Span | None]:
    """What the connective joins: (arg1, arg2), either None where nothing can be named."""
    if candidate.second is not None:
        return _pair(text, candidate)
    if looks_back(text, candidate):
        return _across(text, candidate)
    tokens = text.tokens
    joined = sides(text, candidate)
    top = tokens[joined.head]
    if top.dep in ("cc", "preconj") and joined.left is not None and joined.right is not None:
        return _coordinated(text, candidate, joined.left, joined.right)
    hangs = top.dep in ("mark", "prep", "agent", "dative", "pcomp", "advcl")
    asks = top.tag == "WRB" and top.dep == "advmod"
    if joined.right is not None and joined.left is not None and (hangs or asks):
        return _subordinated(text, candidate, joined.left, joined.right)
    return _linked(text, candidate)


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
    while start > sentence.first and text.tokens[start - 1].text not in _CUTS:
        start -= 1
    while end < sentence.last and text.tokens[end].text not in _CUTS:
        end += 1
    left = _trimmed(text, sentence.first, start)
    return left or _previous_sentence(text, candidate.first), _trimmed(text, start, end)


def _coordinated(
    text: Text, candidate: Candidate, left: int, right: int
) -> tuple[Span | None, Span | None]:
    left = _equal(text, left, right)
    first = _own_bounds(text, left)[0]
    start = max(candidate.last, min(_own_bounds(text, right)[0], right))
    last = max(_own_bounds(text, right)[1], right + 1)
    return _trimmed(text, first, candidate.first), _trimmed(text, start, last)


def _equal(text: Text, left: int, right: int) -> int:
    """The head of the left part. A clause with a subject is joined to a clause, not to a participle
    in one, as the parser may have it (*The dialect is arcane, that is, known to few, and ...*)."""
    head = text.tokens[left]
    phrase = head.tag in ("VBN", "VBG") and head.dep in _PHRASES and head.head < left
    bare = text.child(left, *_SUBJECTS) is None and text.child(right, *_SUBJECTS) is not None
    return _clause_head(text, head.head) if phrase and bare else left


def _subordinated(
    text: Text, candidate: Candidate, left: int, right: int
) -> tuple[Span | None, Span | None]:
    first, last = candidate.first, candidate.last
    end = _dependent_end(text, right, left)
    arg2 = _trimmed(text, last, max(end, last))
    main = _clause_head(text, left)
    left_first, left_last = _own_bounds(text, main)
    before = _trimmed(text, min(left_first, first), first)
    after = _trimmed(text, max(end, last), max(left_last, end))
    arg1 = after if main >= end else before
    return arg1 or before or after or _previous_sentence(text, first), arg2


def _dependent_end(text: Text, right: int, left: int) -> int:
    """Where a dependent part ends: a second verb of it still belongs to it, but a part that stands
    before its main clause ends before that clause's head."""
    end = max(_bounds(text, right)[1], right + 1)
    if right < left < end:
        end = max(_own_bounds(text, right)[1], right + 1)
    # *Because it comes later | each day, the mill stops*: the comma shows where the part ends,
    # though the parser may give its last words to the main clause
    comma = next(
        (i for i in range(end, min(end + _LAST_WORDS, left)) if text.tokens[i].text == ","), 0
    )
    if right < left and comma and not _holds_verb(text, end, comma + 1):
        return comma
    return end


def _linked(text: Text, candidate: Candidate) -> tuple[Span | None, Span | None]:
    """An adverb, or a coordinator that opens its sentence."""
    tokens = text.tokens
    first, last = candidate.first, candidate.last
    sentence = text.sentences[tokens[first].sent]
    kind = connectives()[candidate.form].pos
    if kind != "adverb" and not _only_marks(text, sentence.first, first):
        return _split(text, candidate)
    head = _clause_head(text, sides(text, candidate).head)
    start, end = _own_bounds(text, head)
    start, end = min(start, first), max(end, last)
    cut = start
    for i in range(start, first):
        if tokens[i].text in _CUTS:
            cut = i + 1
    start = cut
    left = _trimmed(text, sentence.first, start)
    arg2 = _trimmed(text, last if _only_marks(text, start, first) else start, end)
    if left is not None and _holds_verb(text, sentence.first, start):
        opener = start
        while opener > sentence.first and tokens[opener - 1].dep in _OPENERS:
            opener -= 1
        return _trimmed(text, sentence.first, opener), arg2
    return _previous_sentence(text, first), arg2


def _split(text: Text, candidate: Candidate) -> tuple[Span | None, Span | None]:
    """A conjunction or preposition that the parse does not place: what stands on its two sides."""
    tokens = text.tokens
    first, last = candidate.first, candidate.last
    sentence = text.sentences[tokens[first].sent]
    end = last
    while end < sentence.last and tokens[end].text not in _CUTS:
        end += 1
    start = first
    while start > sentence.first and tokens[start - 1].text not in _CUTS:
        start -= 1
    verb = next((i for i in range(last, end) if tokens[i].pos in _VERBAL), None)
    if verb is not None:
        bounds = _bounds(text, verb)
        if bounds[0] >= first and verb < bounds[1] <= end:
            end = bounds[1]
    left = _trimmed(text, start, first)
    return left or _previous_sentence(text, first), _trimmed(text, last, end)


def _only_marks(text: Text, first: int, last: int) -> bool:
    return all(text.tokens[i].dep in _OPENERS for i in range(first, last))


def _holds_verb(text: Text, first: int, last: int) -> bool:
    return any(text.tokens[i].pos in _VERBAL for i in range(first, last))


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
    bounds = _own_bounds(text, anchor)
    if bounds[1] > second_last:
        end = min(end, bounds[1])
    between = second_first
    own = text.sentences[tokens[candidate.first].sent]
    if own.index != sentence.index:
        between = own.last
    one = _trimmed(text, candidate.last, between)
    two = _trimmed(text, second_last, end)
    if candidate.form.startswith(("if ", "when ", "if only ", "because ")):
        return two, one
    return one, two

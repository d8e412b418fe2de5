"""Where the words of a connective stand, whether or not they connect anything there."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from rwtools.text import Text, Token
from rwtools.transitions.lexicon import connectives
from rwtools.transitions.other_uses import comments, grades_however, names_time

__all__ = ["Candidate", "candidates", "plausible"]

_NAMING = frozenset({"ADJ", "DET", "NOUN", "NUM", "PROPN"})
_FINITE = frozenset({"VBD", "VBZ", "VBP", "MD"})
_COMMON = frozenset({"by", "for", "from", "in", "like", "on", "through", "with"})
# How many sentences the second half of a pair may lie ahead: most pairs close in their own.
_REACH = {"on the one hand": 2, "on one hand": 2, "for one thing": 2, "first": 2}


# Set phrases that link as a connective of the table does.
_LIKE = {("be", "that", "as", "it", "may"): "nevertheless"}


@dataclass(frozen=True, slots=True)
class Candidate:
    """Tokens ``first..last`` (half-open) that spell a connective; ``second`` is the other half of a
    pair. ``inside`` is the form of a longer candidate that covers this one, if there is one."""

    form: str
    first: int
    last: int
    second: tuple[int, int] | None = None
    inside: str = ""

    def tokens(self) -> frozenset[int]:
        """All token indices that it takes up."""
        own = range(self.first, self.last)
        return frozenset(own) if self.second is None else frozenset((*own, *range(*self.second)))


@cache
def _by_first_word() -> tuple[dict[str, list[tuple[str, ...]]], dict[tuple[str, ...], list[str]]]:
    """Word sequences by their first word (longest first), and pairs by their first half."""
    words: dict[str, list[tuple[str, ...]]] = {}
    pairs: dict[tuple[str, ...], list[str]] = {}
    sequences: set[tuple[str, ...]] = set()
    for form, entry in connectives().items():
        sequences.update(entry.parts)
        if len(entry.parts) == 2:
            pairs.setdefault(entry.parts[0], []).append(form)
    for sequence in sequences:
        words.setdefault(sequence[0], []).append(sequence)
    for options in words.values():
        options.sort(key=len, reverse=True)
    return words, pairs


def _sequences(text: Text) -> Iterator[tuple[tuple[str, ...], int, int]]:
    words, _ = _by_first_word()
    lower = tuple(token.lower for token in text.tokens)
    for i, word in enumerate(lower):
        for sequence in words.get(word, ()):
            end = i + len(sequence)
            if lower[i:end] == sequence:
                yield sequence, i, end


def candidates(text: Text) -> list[Candidate]:
    """All places where the words of a connective or of a pair stand, in reading order."""
    _, pairs = _by_first_word()
    known = connectives()
    places = list(_sequences(text))
    by_words: dict[tuple[str, ...], list[tuple[int, int]]] = {}
    for sequence, first, last in places:
        by_words.setdefault(sequence, []).append((first, last))
    found: list[Candidate] = []
    lower = tuple(token.lower for token in text.tokens)
    for phrase, form in _LIKE.items():
        spots = (i for i, word in enumerate(lower) if word == phrase[0])
        spelt = [i for i in spots if lower[i : i + len(phrase)] == phrase]
        found += [Candidate(form, i, i + len(phrase)) for i in spelt]
    reach_end = -1
    longest = ""
    for sequence, first, last in places:
        form = " ".join(sequence)
        if form in known:
            inside = longest if last <= reach_end and longest != form else ""
            found.append(Candidate(form, first, last, inside=inside))
            if last > reach_end:
                reach_end, longest = last, form
        for pair in pairs.get(sequence, ()):
            second = _second_half(text, by_words.get(known[pair].parts[1], ()), first, last, form)
            if second is not None:
                found.append(Candidate(pair, first, last, second))
    return found


def plausible(text: Text, candidate: Candidate) -> bool:
    """Whether a common word could connect clauses. For a preposition: a verb stands just after it.

    Of the eight commonest prepositions, which hardly ever connect clauses, this leaves out two
    thirds of the places unseen (on training text at the price of 12 of 5,846 connectives). Nor does
    *and* or *or* connect clauses where it closes a series of names at the start of its sentence, or
    *as* where it says who says so (*as the papers claimed*).
    """
    if _other_use(text, candidate):
        return False
    if candidate.form in ("and", "or"):
        return not _closes_series(text, candidate.first)
    if candidate.form in ("as", "as far as"):
        return not comments(text, candidate.first, candidate.last)
    tokens = text.tokens
    if candidate.form == "without":  # a lamp is no statement, *without lighting a lamp* is
        near = tokens[candidate.last : candidate.last + 3]
        return any(t.tag == "VBG" for t in near) or any(
            tokens[i].dep == "pcomp" for i in text.children[candidate.first]
        )
    if candidate.form not in _COMMON:
        return True
    end = min(candidate.last + 5, text.sentences[tokens[candidate.first].sent].last)
    if any(tokens[i].tag[:2] == "VB" for i in range(candidate.last, end)):
        return True
    return any(tokens[i].dep == "pcomp" for i in text.children[candidate.first])


_ASKING = frozenset({"ask", "check", "inquire", "test", "wonder"})


def _other_use(text: Text, candidate: Candidate) -> bool:
    """Whether the words around show that a word joins nothing: *when* that asks (*When did he
    come?*), stands behind a preposition (*from when he came*) or names a time, *however* for *no
    matter how*, *if* for *whether* (*She asked if he came*), *whether or not*, *so to speak*, *now
    and then* (common practice, no published source)."""
    if candidate.second is not None:
        return False
    tokens, form = text.tokens, candidate.form
    sentence = text.sentences[tokens[candidate.first].sent]
    before = [t for t in tokens[sentence.first : candidate.first] if not t.is_punct]
    after = tokens[candidate.last : sentence.last]
    opened = candidate.first > 0 and tokens[candidate.first - 1].text in _OPENING
    if opened and after and after[0].text in _CLOSING:
        return True  # the word itself is named: “then” is short
    last, following = before[-1:], [t.lower for t in after[:2]]
    if form == "when" and after:
        asks = after[0].pos == "AUX" and any(t.text == "?" for t in after)
        opens = all(t.tag in ("CC", "UH") for t in before)
        beside = bool(last) and last[0].i == candidate.first - 1
        within = beside and last[0].lower in _BEFORE_WHEN
        return (asks and opens) or within or names_time(text, candidate.first)
    if form == "however":
        return grades_however(text, candidate.first)
    if form in ("if", "if only") and [t.lower for t in tokens[candidate.first :][:2]] == _WISH:
        verbs = sum(t.tag in _FINITE for t in after)
        if verbs == 1 and all(t.tag in ("CC", "UH") for t in before):
            return True  # a wish: *If only we had a boat!*
        if "because" in [t.lower for t in after[:2]]:
            return True
    if form in ("till", "until"):
        finite = [t for t in after if t.tag in _FINITE]  # *Not until noon did the ferry sail*
        phrase = len(finite) == 1 or any(t.lemma == "do" for t in finite[:1])
        return phrase and [t.lower for t in before] == ["not"]
    if form == "since" and after and after[0].tag == "WRB":
        return True
    if form == "if":
        return bool(last) and last[0].i == candidate.first - 1 and last[0].lemma in _ASKING
    if form == "or":
        return following[:1] == ["not"] and any(t.lower == "whether" for t in before)
    if form == "so":
        return following == ["to", "speak"] or _grades(after[:3])
    if form == "and":
        return following[:1] == ["then"] and bool(last) and last[0].lower == "now"
    if form in ("then", "and then"):
        said = [t.lower for t in tokens[max(0, candidate.first - 2) : candidate.last]]
        return said[-3:] == ["now", "and", "then"]
    return False


_POINTING = frozenset({"here", "now", "then", "there", "today"})


def _grades(words: tuple[Token, ...]) -> bool:
    """Whether *so* grades a word that stands before its verb, and this before its subject: *So loud
    was the bell*. *So here is the plan* is no degree."""
    if len(words) < 3 or words[0].lower in _POINTING or words[0].tag in _FINITE:
        return False
    degree, verb, subject = words
    inverted = verb.tag in _FINITE and verb.pos == "AUX" and subject.pos in _SUBJECT
    return degree.pos in ("ADJ", "ADV") and inverted


_SUBJECT = frozenset({"DET", "NOUN", "PRON", "PROPN"})
_OPENING, _CLOSING = frozenset({"“", "‘", '"'}), frozenset({"”", "’", '"'})
_WISH = ["if", "only"]
_BEFORE_WHEN = frozenset({"about", "by", "from", "of", "since", "to", "until"})


def _closes_series(text: Text, link: int) -> bool:
    """*Rye, flax, | and hops grow here*: only names and commas stand before the link."""
    sentence = text.sentences[text.tokens[link].sent]
    before = text.tokens[sentence.first : link]
    commas = sum(t.text == "," for t in before)
    spaced = bool(before) and before[-1].text == ","
    return commas > spaced and all(t.pos in _NAMING or t.text == "," for t in before)


def _second_half(
    text: Text,
    places: tuple[tuple[int, int], ...] | list[tuple[int, int]],
    first: int,
    last: int,
    form: str,
) -> tuple[int, int] | None:
    """The nearest second half after the first one, within its sentence (or the next for some)."""
    limit = text.tokens[first].sent + _REACH.get(form, 0)
    for start, end in places:
        if start > last and text.tokens[start].sent <= limit:
            return start, end
    return None

"""Clauses from the dependency parse: span, finite or not, independent or dependent and why.

Terms follow common English grammar: a clause is finite when its verb group shows tense or begins
with a modal (or is imperative); it is dependent when a subordinator, a relative word, a place as
subject or object, or a bare participle or infinitive makes it so.
"""

from __future__ import annotations

from rwtools.clue import Span
from rwtools.text.model import Clause, Text, Token

__all__ = ["RELATIVES", "SUBJECTS", "find_clauses", "is_finite", "own_subject", "subject_of"]

SUBJECTS = ("nsubj", "nsubjpass", "csubj", "csubjpass", "expl")
RELATIVES = frozenset({"who", "whom", "whose", "which", "that", "where", "when", "why"})
_CLAUSAL = frozenset(
    {"advcl", "relcl", "acl", "ccomp", "xcomp", "csubj", "csubjpass", "pcomp", "parataxis"}
)
_FINITE_TAGS = frozenset({"VBD", "VBZ", "VBP", "MD"})
_VERB_PARTS = frozenset({"aux", "auxpass", "neg", "prt"})


def is_finite(text: Text, head: int) -> bool:
    """Whether the verb group of ``head`` shows tense, has a modal, or is an imperative."""
    token = text.tokens[head]
    group = [
        text.tokens[i] for i in text.children[head] if text.tokens[i].dep in ("aux", "auxpass")
    ]
    if any(part.tag in _FINITE_TAGS for part in group):
        return True
    if token.tag in _FINITE_TAGS:
        return True
    bare = token.tag == "VB" and not group and token.pos in ("VERB", "AUX")
    return bare and token.dep in ("ROOT", "conj", "ccomp") and not _has_subject(text, head)


def _has_subject(text: Text, head: int) -> bool:
    return own_subject(text, head) is not None


def own_subject(text: Text, head: int) -> Token | None:
    """The subject of a verb itself; the parser now and then hangs it on the auxiliary."""
    own = text.child(head, *SUBJECTS)
    if own is not None:
        return own
    for i in text.children[head]:
        if text.tokens[i].dep in ("aux", "auxpass"):
            own = text.child(i, *SUBJECTS)
            if own is not None:
                return own
    return None


def subject_of(text: Text, head: int) -> Token | None:
    """The subject of a verb, or, for a second verb of one subject, that shared subject."""
    seen = head
    while True:
        own = own_subject(text, seen)
        if own is not None:
            return own
        token = text.tokens[seen]
        if token.dep != "conj" or token.head == seen:
            return None
        seen = token.head


_FLOATING = frozenset({"each", "all", "both"})


def _verb_span(text: Text, head: int) -> Span:
    """The verb group from its first auxiliary, where only adverbs or *each*, *all*, *both* stand
    between (*have each been closed*)."""
    members = [head]
    for i in text.children[head]:
        token = text.tokens[i]
        if token.dep in _VERB_PARTS and i < head:
            between = text.tokens[i + 1 : head]
            if all(t.dep in _VERB_PARTS or t.pos == "ADV" or t.lower in _FLOATING for t in between):
                members.append(i)
        elif token.dep == "prt" and i == head + 1:
            members.append(i)
    return text.span(min(members), max(members))


def _heads_clause(text: Text, token: Token) -> bool:
    if token.dep == "ROOT":
        return token.pos in ("VERB", "AUX") or _has_subject(text, token.i)
    if token.dep in _CLAUSAL:
        return token.pos in ("VERB", "AUX") or _has_subject(text, token.i)
    if token.dep == "conj" and token.pos in ("VERB", "AUX"):
        head = text.tokens[token.head]
        return head.pos in ("VERB", "AUX") or _has_subject(text, token.i)
    return (
        token.dep in ("appos", "dep", "conj")
        and token.pos in ("VERB", "AUX")
        and _has_subject(text, token.i)
    )


def _marker(text: Text, head: int) -> Token | None:
    """The word that makes a clause dependent, if one stands in it: a subordinator, a relative or
    question word of this clause (not of one inside it), or the *to* of an infinitive."""
    for i in text.children[head]:
        token = text.tokens[i]
        if token.dep == "mark" or (token.tag == "WRB" and token.dep == "advmod" and i < head):
            return token
    for i in range(text.subtree(head)[0], head):
        token = text.tokens[i]
        if token.tag in ("WDT", "WP", "WP$", "WRB") and _within(text, i, head):
            return token
    for i in text.children[head]:
        if text.tokens[i].tag == "TO" and text.tokens[i].dep == "aux":
            return text.tokens[i]
    return None


def _within(text: Text, index: int, head: int) -> bool:
    """Whether a word belongs to the clause of ``head`` itself, not to a clause inside it."""
    at = text.tokens[index]
    while at.head != head:
        if at.head == at.i or at.dep in _CLAUSAL or at.dep == "conj":
            return False
        at = text.tokens[at.head]
    return at.dep not in _CLAUSAL


def _asks(text: Text, token: Token) -> bool:
    sentence = text.sentences[token.sent]
    return "?" in text.passage[text.tokens[sentence.last - 1].start - 2 : sentence.end]


def _classify(text: Text, head: int, finite: bool) -> tuple[str, str, Token | None]:
    """Kind, reason and marker of the clause that ``head`` heads."""
    token = text.tokens[head]
    marker = _marker(text, head)
    if token.dep == "ROOT":
        return _classify_root(text, token, finite, marker)
    if token.dep == "conj":
        own_marker = marker if marker is not None and marker.i > token.head else None
        if own_marker is not None and own_marker.tag != "TO":
            return "dependent", "subordinator", own_marker
        kind, reason, above = _classify(text, token.head, is_finite(text, token.head))
        if kind == "independent":
            return kind, "coordinated" if _has_subject(text, head) else "second_verb", None
        return kind, reason, own_marker or above
    if token.dep == "relcl":
        return "dependent", "relative", marker
    if marker is not None and marker.dep == "mark":
        return "dependent", "complement" if token.dep == "ccomp" else "subordinator", marker
    if not finite:
        if marker is not None and marker.tag == "TO":
            return "dependent", "infinitive", marker
        return "dependent", "participle" if token.tag in ("VBG", "VBN") else "reduced", marker
    if token.dep == "advcl":
        return "dependent", "subordinator", marker
    if token.dep in ("ccomp", "parataxis") and marker is None and _stands_alone(text, token):
        return "independent", "paratactic", None
    if token.dep == "acl":
        return "dependent", "relative" if marker is not None else "participle", marker
    return "dependent", "complement", marker


def _classify_root(
    text: Text, token: Token, finite: bool, marker: Token | None
) -> tuple[str, str, Token | None]:
    if marker is not None and marker.dep == "mark":
        return "dependent", "subordinator", marker
    if marker is not None and marker.tag != "TO" and finite and not _asks(text, token):
        return "dependent", "relative" if marker.tag != "WRB" else "subordinator", marker
    if finite:
        return "independent", "main", None
    return "dependent", "reduced", marker


def _stands_alone(text: Text, token: Token) -> bool:
    """Whether a finite clause without a marker stands before the verb it hangs on.

    It is a quotation (`"It is late," she said`) or the left half of two sentences run together,
    which the parser hangs on the right half.
    """
    parent = text.tokens[token.head]
    if token.i > parent.i:
        return False
    subject = text.child(parent.i, *SUBJECTS)
    return (subject is not None and subject.i > token.i) or _mark_between(text, token.i, parent.i)


def _mark_between(text: Text, left: int, right: int) -> bool:
    return any(text.tokens[i].is_punct for i in range(left + 1, right))


def find_clauses(text: Text) -> tuple[Clause, ...]:
    """All clauses of a text, in reading order of their first word."""
    found: list[Clause] = []
    heads = {t.i for t in text.tokens if _heads_clause(text, t)}
    for head in sorted(heads):
        finite = is_finite(text, head)
        kind, reason, marker = _classify(text, head, finite)
        start, end = _extent(text, head)
        subject = subject_of(text, head)
        parent = next((a.i for a in text.ancestors(head) if a.i in heads), None)
        found.append(
            Clause(
                start=start,
                end=end,
                head=head,
                finite=finite,
                kind=kind,
                reason=reason,
                subject=None if subject is None else text.phrase(subject.i),
                verb=_verb_span(text, head),
                marker=None if marker is None else marker.i,
                parent=parent,
            )
        )
    found.sort(key=lambda c: (c.start, -c.end))
    return tuple(found)


def _extent(text: Text, head: int) -> tuple[int, int]:
    """Characters of a clause: its phrase less the clauses coordinated with it and outer marks."""
    dropped: set[int] = set()
    for i in text.children[head]:
        token = text.tokens[i]
        if token.dep == "conj" and token.pos in ("VERB", "AUX") and _has_subject(text, i):
            dropped.update(text.subtree(i))
        elif token.dep == "cc" and any(
            text.tokens[j].dep == "conj" and _has_subject(text, j)
            for j in text.children[head]
            if j > i
        ):
            dropped.add(i)
        elif token.dep in ("ccomp", "parataxis") and i < head and _stands_alone(text, token):
            dropped.update(text.subtree(i))
    members = [i for i in text.subtree(head) if i not in dropped]
    words = [i for i in members if i == head or not text.tokens[i].is_punct]
    # Keep one unbroken stretch around the head: what lies beyond a dropped clause is not ours.
    first = last = words.index(head)
    while first > 0 and not any(j in dropped for j in range(words[first - 1] + 1, words[first])):
        first -= 1
    while last + 1 < len(words) and not any(
        j in dropped for j in range(words[last] + 1, words[last + 1])
    ):
        last += 1
    return text.tokens[words[first]].start, text.tokens[words[last]].end

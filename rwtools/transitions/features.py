"""What training and serving look at around a candidate: words, parts of speech, the parse, marks.

After Pitler & Nenkova (2009), *Using syntax to disambiguate explicit discourse connectives in
text*: the connective itself, the categories around it (here the dependency parse's counterparts of
self, parent, left and right sibling), and pairs of these; and, for the relation, the verbs of the
two sides (tense, modality, negation).

A feature is a string; all are present-or-absent. Those that begin with ``=`` are meant to be paired
with the connective as well.
"""

from __future__ import annotations

from rwtools.text import Text, Token
from rwtools.transitions.candidates import Candidate

__all__ = ["Sides", "finder_features", "sense_features", "sides"]

_VERBAL = frozenset({"VERB", "AUX"})
_SUBJECTS = frozenset({"nsubj", "nsubjpass", "csubj", "csubjpass", "expl"})
_CLAUSES = frozenset({"advcl", "relcl", "acl", "ccomp", "xcomp", "pcomp", "csubj", "parataxis"})
_CLOSED = frozenset({"DET", "PRON", "AUX", "ADP", "CCONJ", "SCONJ", "PART", "PUNCT"})


class Sides:
    """The heads of what stands on the two sides of a candidate (token indices or None)."""

    __slots__ = ("head", "left", "right")

    def __init__(self, head: int, left: int | None, right: int | None) -> None:
        self.head = head
        self.left = left
        self.right = right


def _top(text: Text, first: int, last: int) -> int:
    """The word of ``first..last`` that hangs on a word outside it."""
    for i in range(first, last):
        head = text.tokens[i].head
        if head == i or not first <= head < last:
            return i
    return first


def sides(text: Text, candidate: Candidate) -> Sides:
    """The word that the parse makes the connective's own, and the heads of the two sides."""
    tokens = text.tokens
    top = _top(text, candidate.first, candidate.last)
    token = tokens[top]
    governor = token.head if token.head != top else None
    if governor is None:
        return Sides(top, None, _first_child_after(text, top, candidate.last))
    if token.dep in ("cc", "preconj", "punct"):
        right = next(
            (c for c in text.children[governor] if c > top and tokens[c].dep == "conj"), None
        )
        if right is None and governor > top:
            return Sides(top, None, governor)  # `But` at the head of its sentence
        return Sides(top, governor, right)
    if token.dep == "mark" or (token.tag == "WRB" and token.dep == "advmod"):
        above = tokens[governor].head
        return Sides(top, above if above != governor else None, governor)
    if token.dep in ("prep", "agent", "dative", "pcomp", "advcl"):
        below = _first_child_after(text, top, candidate.last)
        if below is None and tokens[top].pos in _VERBAL:
            below = top
        return Sides(top, governor, below)
    return Sides(top, None, governor)


def _first_child_after(text: Text, top: int, last: int) -> int | None:
    for child in text.children[top]:
        if child >= last and not text.tokens[child].is_punct:
            return child
    return None


def _has_subject(text: Text, index: int) -> bool:
    return any(text.tokens[c].dep in _SUBJECTS for c in text.children[index])


def _shape(text: Text, index: int | None) -> str:
    """A side as a category: finite or bare clause, with or without a subject, phrase, nothing."""
    if index is None:
        return "none"
    token = text.tokens[index]
    if token.pos not in _VERBAL and not _has_subject(text, index):
        return token.pos
    finite = token.tag in ("VBD", "VBZ", "VBP", "MD") or any(
        text.tokens[c].dep in ("aux", "auxpass")
        and text.tokens[c].tag in ("VBD", "VBZ", "VBP", "MD")
        for c in text.children[index]
    )
    subject = "S" if _has_subject(text, index) else ""
    return ("fin" if finite else token.tag) + subject


def _word(token: Token) -> str:
    return token.lower if token.pos in _CLOSED or token.pos == "ADV" else token.tag


class _Around:
    """The sentence of a candidate as the features need it."""

    __slots__ = ("after", "after2", "at_start", "before", "before2", "comma_after", "end", "start")

    def __init__(self, text: Text, candidate: Candidate) -> None:
        tokens = text.tokens
        sentence = text.sentences[tokens[candidate.first].sent]
        self.start, self.end = sentence.first, sentence.last
        first, last = candidate.first, candidate.last
        self.before = tokens[first - 1] if first > self.start else None
        self.before2 = tokens[first - 2] if first - 1 > self.start else None
        self.after = tokens[last] if last < self.end else None
        self.after2 = tokens[last + 1] if last + 1 < self.end else None
        self.at_start = all(tokens[i].is_punct for i in range(self.start, first))
        self.comma_after = self.after is not None and self.after.text == ","


def finder_features(text: Text, candidate: Candidate) -> list[str]:
    """What tells a connective from the same words in another use."""
    tokens = text.tokens
    around = _Around(text, candidate)
    joined = sides(text, candidate)
    top = tokens[joined.head]
    governor = tokens[top.head]
    before, after = around.before, around.after
    left, right = _shape(text, joined.left), _shape(text, joined.right)
    b1 = _word(before) if before else "^"
    a1 = _word(after) if after else "$"
    a2 = _word(around.after2) if around.after2 else "$"
    b2 = _word(around.before2) if around.before2 else "^"
    bt = before.tag if before else "^"
    at = after.tag if after else "$"
    at2 = around.after2.tag if around.after2 else "$"
    bt2 = around.before2.tag if around.before2 else "^"
    place = "start" if around.at_start else ("last" if after is None or after.is_punct else "mid")
    role = f"{top.tag}/{top.dep}"
    above = f"{governor.pos}/{governor.dep}"
    found = [
        f"=b1:{b1}",
        f"=a1:{a1}",
        f"=bt:{bt}",
        f"=at:{at}",
        f"=at2:{at}_{at2}",
        f"=bt2:{bt2}_{bt}",
        f"=ba:{bt}_{at}",
        f"=pl:{place}",
        f"=role:{role}",
        f"=dep:{top.dep}",
        f"=gov:{above}",
        f"=govt:{governor.tag}",
        f"=l:{left}",
        f"=r:{right}",
        f"=lr:{left}_{right}",
        f"=rolegov:{role}_{above}",
        f"b2:{b2}_{b1}",
        f"a2:{a1}_{a2}",
        f"=in:{candidate.inside}",
        f"=cap:{tokens[candidate.first].text[:1].isupper()}",
        f"=plr:{place}_{right}",
        f"=btr:{bt}_{right}",
        f"=btl:{bt}_{left}",
        f"=btlr:{bt}_{left}_{right}",
    ]
    if joined.right is not None:
        r = tokens[joined.right]
        found += [f"=rt:{r.tag}", f"=rd:{r.dep}", f"rw:{r.lemma}"]
        dist = r.i - candidate.last
        found.append(f"=rdist:{min(dist, 6) if dist >= 0 else -1}")
    if joined.left is not None:
        lft = tokens[joined.left]
        found += [f"=lt:{lft.tag}", f"=ld:{lft.dep}", f"lw:{lft.lemma}"]
        if joined.right is not None:
            found.append(f"=lrt:{lft.tag}_{tokens[joined.right].tag}")
            found.append(f"=same:{lft.tag == tokens[joined.right].tag}")
    found.append(f"=grand:{tokens[governor.head].pos}/{tokens[governor.head].dep}")
    found.append(f"=next:{_first_verb(text, candidate.last, around.end)}")
    found.append(f"=prevv:{_verb_before(text, candidate.first, around.start)}")
    if around.comma_after:
        found.append("=comma")
    if candidate.second is not None:
        a, b = candidate.second
        gap = a - candidate.last
        found += [
            f"=2b:{tokens[a - 1].tag}",
            f"=2a:{tokens[b].tag if b < len(tokens) else '$'}",
            f"=2d:{tokens[a].dep}",
            f"=2gap:{min(gap // 4, 6)}",
            f"=2sent:{tokens[a].sent - top.sent}",
        ]
    return found


def _first_verb(text: Text, start: int, end: int) -> str:
    """The first verb to the right before a closing mark, and whether a noun comes before it."""
    noun = ""
    for i in range(start, min(end, start + 12)):
        token = text.tokens[i]
        if token.pos in _VERBAL:
            return f"{noun}{token.tag}"
        if token.text in (".", ";", ":", "?", "!", ")"):
            return noun + "stop"
        if token.text == "," and i > start:
            noun += ","
        if token.pos in ("NOUN", "PROPN", "PRON") and not noun:
            noun = "n"
    return noun + "far"


def _verb_before(text: Text, first: int, start: int) -> str:
    """Whether a finite verb stands to the left in the sentence, and how near."""
    for i in range(first - 1, max(start - 1, first - 13), -1):
        token = text.tokens[i]
        if token.pos in _VERBAL and token.tag in ("VBD", "VBZ", "VBP", "MD"):
            return "near" if first - i < 5 else "far"
    return "none"


def _verb(text: Text, index: int | None, side: str) -> list[str]:
    """Tense, modality, negation, person of one side's verb group."""
    if index is None:
        return [f"={side}:none"]
    token = text.tokens[index]
    found = [f"={side}t:{token.tag}"]
    tense = token.tag
    for c in text.children[index]:
        child = text.tokens[c]
        if child.dep in ("aux", "auxpass"):
            found.append(f"={side}aux:{child.lower}")
            if child.tag in ("VBD", "VBZ", "VBP", "MD"):
                tense = f"{child.tag}+{token.tag}"
        elif child.dep == "neg":
            found.append(f"={side}neg")
        elif child.dep in _SUBJECTS:
            found.append(f"={side}s:{child.lower if child.pos == 'PRON' else child.tag}")
        elif child.dep in ("acomp", "attr", "advmod"):
            found.append(f"{side}c:{child.lemma}")
    found.append(f"={side}tense:{tense}")
    found.append(f"={side}w:{token.lemma}")
    return found


def sense_features(text: Text, candidate: Candidate) -> list[str]:
    """What tells the relations of one connective apart."""
    tokens = text.tokens
    around = _Around(text, candidate)
    joined = sides(text, candidate)
    top = tokens[joined.head]
    left_index = joined.left
    if left_index is None:
        left_index = _root_before(text, around.start)
    before, after = around.before, around.after
    left, right = _shape(text, joined.left), _shape(text, joined.right)
    place = "start" if around.at_start else ("last" if after is None or after.is_punct else "mid")
    found = [
        f"=b1:{_word(before) if before else '^'}",
        f"=a1:{_word(after) if after else '$'}",
        f"=bt:{before.tag if before else '^'}",
        f"=at:{after.tag if after else '$'}",
        f"=pl:{place}",
        f"=l:{left}",
        f"=r:{right}",
        f"=lr:{left}_{right}",
        f"=dep:{top.dep}",
        f"=role:{top.tag}/{top.dep}",
        f"=gov:{tokens[top.head].pos}/{tokens[top.head].dep}",
    ]
    if after is not None and around.after2 is not None:
        found.append(f"=a2:{after.lower}_{around.after2.lower}")
    if before is not None:
        found.append(f"=bw:{before.lower}")
    found += _verb(text, left_index, "L")
    found += _verb(text, joined.right, "R")
    if left_index is not None and joined.right is not None:
        lv, rv = tokens[left_index], tokens[joined.right]
        found.append(f"=LR:{lv.tag}_{rv.tag}")
        if lv.lemma == rv.lemma:
            found.append("=samew")
    if text.passage[tokens[around.end - 1].start :][:1] == "?":
        found.append("=ask")
    return found


def _root_before(text: Text, start: int) -> int | None:
    """The head of the sentence before."""
    if start == 0:
        return None
    sentence = text.sentences[text.tokens[start - 1].sent]
    for i in range(sentence.first, sentence.last):
        if text.tokens[i].head == i:
            return i
    return None

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

__all__ = ["Sides", "finder_features", "manner_of_text", "sense_features", "sides"]

_VERBAL = frozenset({"VERB", "AUX"})
_SUBJECTS = frozenset({"nsubj", "nsubjpass", "csubj", "csubjpass", "expl"})
_COMPLEMENTS = {
    "dobj": "o",
    "attr": "a",
    "acomp": "a",
    "ccomp": "c",
    "xcomp": "c",
    "prep": "p",
    "advcl": "v",
}
_PERSONAL = frozenset({"i", "you", "we", "me", "my", "your", "us", "our"})
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


def finder_features(text: Text, candidate: Candidate, manner: list[str]) -> list[str]:
    """What tells a connective from the same words in another use.

    ``manner`` is what `manner_of_text` says of the whole passage, the same for all candidates.
    """
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
        found += [f"=rt:{r.tag}", f"=rd:{r.dep}", f"=rw:{r.lemma}"]
        dist = r.i - candidate.last
        found.append(f"=rdist:{min(dist, 6) if dist >= 0 else -1}")
        found.append(f"=rlen:{min(len(text.subtree(r.i)) // 2, 6)}")
        found.append(f"=robj:{_complements(text, r.i)}")
    if joined.left is not None:
        lft = tokens[joined.left]
        gap = candidate.first - lft.i
        found.append(f"=ldist:{min(gap, 5) if gap > 0 else -1}")
        found.append(f"=lobj:{_complements(text, lft.i, candidate.first)}")
        found += [f"=lt:{lft.tag}", f"=ld:{lft.dep}", f"=lw:{lft.lemma}"]
        if joined.right is not None:
            found.append(f"=lrt:{lft.tag}_{tokens[joined.right].tag}")
            found.append(f"=same:{lft.tag == tokens[joined.right].tag}")
    if before is not None:
        found.append(f"=bl:{before.lemma}")
    if around.at_start:
        found += _before_sentence(text, around.start, tokens[candidate.first].lower)
    found += manner
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


def _complements(text: Text, index: int, before: int | None = None) -> str:
    """Which complements a word has (up to a token): objects, complements, phrases."""
    kinds = {
        _COMPLEMENTS[text.tokens[c].dep]
        for c in text.children[index]
        if c > index and text.tokens[c].dep in _COMPLEMENTS and (before is None or c < before)
    }
    return "".join(sorted(kinds))


def _before_sentence(text: Text, start: int, word: str) -> list[str]:
    """For a connective that opens its sentence: how the sentence before ends, how long it is, and
    how many sentences of the passage open with the same word (a habit of speech)."""
    alike = sum(text.tokens[s.first].lower == word for s in text.sentences)
    share = 20 * alike // max(1, len(text.sentences))
    found = [f"=alike:{min(share, 4)}", f"=alikes:{min(alike, 8) // 2}"]
    if start == 0:
        return [*found, "=ps:none"]
    last = text.tokens[start - 1]
    size = last.i + 1 - text.sentences[last.sent].first
    return [*found, f"=ps:{last.text if last.is_punct else 'word'}", f"=pslen:{min(size // 3, 4)}"]


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
    for c in text.children[index]:
        child = text.tokens[c]
        if child.dep in ("aux", "auxpass"):
            found.append(f"={side}aux:{child.lower}")
        elif child.dep == "neg":
            found.append(f"={side}neg")
        elif child.dep in _SUBJECTS:
            found.append(f"={side}s:{child.lower if child.pos == 'PRON' else child.tag}")
        elif child.dep in ("acomp", "attr", "advmod"):
            found.append(f"{side}c:{child.lemma}")
    found.append(f"={side}tense:{_tense(text, index)}")
    found.append(f"={side}w:{token.lemma}")
    return found


def _tense(text: Text, index: int) -> str:
    """The finite form of a verb group and the form of its main verb (``VBZ+VBN``)."""
    token = text.tokens[index]
    for c in text.children[index]:
        child = text.tokens[c]
        if child.dep in ("aux", "auxpass") and child.tag in ("VBD", "VBZ", "VBP", "MD"):
            return f"{child.tag}+{token.tag}"
    return token.tag


def sense_features(text: Text, candidate: Candidate) -> list[str]:
    """What tells the relations of one connective apart, beside `finder_features`: the verbs of
    both sides and the words next to it."""
    tokens = text.tokens
    around = _Around(text, candidate)
    joined = sides(text, candidate)
    left = joined.left if joined.left is not None else _root_before(text, around.start)
    found = [*_verb(text, left, "L"), *_verb(text, joined.right, "R")]
    if around.after is not None and around.after2 is not None:
        found.append(f"=a2w:{around.after.lower}_{around.after2.lower}")
    if around.before is not None:
        found.append(f"=bw:{around.before.lower}")
    if left is not None and joined.right is not None:
        one, two = tokens[left], tokens[joined.right]
        found.append(f"=LR:{one.tag}_{two.tag}")
        if one.lemma == two.lemma:
            found.append("=samew")
        found.append(f"=tenses:{_tense(text, left)}_{_tense(text, joined.right)}")
    if tokens[around.end - 1].text == "?":
        found.append("=ask")
    return found


def manner_of_text(text: Text) -> list[str]:
    """How the whole passage is written: told in the past or not, personal or not, sentence length.

    Speech and stories use the same connectives otherwise than papers do.
    """
    finite = past = personal = 0
    for token in text.tokens:
        if token.tag in ("VBD", "VBZ", "VBP", "MD"):
            finite += 1
            past += token.tag == "VBD"
        elif token.lower in _PERSONAL:
            personal += 1
    size = max(1, len(text.tokens))
    length = size / max(1, len(text.sentences))
    return [
        f"=past:{int(4 * past / max(1, finite))}",
        f"=personal:{min(int(100 * personal / size) // 2, 4)}",
        f"=sentence:{min(int(length) // 6, 5)}",
    ]


def _root_before(text: Text, start: int) -> int | None:
    """The head of the sentence before."""
    if start == 0:
        return None
    sentence = text.sentences[text.tokens[start - 1].sent]
    for i in range(sentence.first, sentence.last):
        if text.tokens[i].head == i:
            return i
    return None

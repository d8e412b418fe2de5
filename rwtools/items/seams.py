"""The places where punctuation choices differ, and what stands on either side of them.

A seam is a gap between two words at which the choices put different marks. What decides between
the marks is looked up by parsing three short texts: the stretch left of the seam, the stretch right
of it (each written as a sentence of its own), and both joined without a mark.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

from rwtools.items.halves import leaves_verb_out, supposes
from rwtools.items.placing import Placed
from rwtools.items.whole import RELATIVES, chances_whole
from rwtools.text import Text, Token, parse_many

__all__ = [
    "COORDINATORS",
    "LINKERS",
    "MARKS",
    "SURE",
    "Seam",
    "Wording",
    "crossing",
    "facts",
    "mark_class",
    "seams_of",
    "split_words",
    "stretches",
]

MARKS = ("none", "comma", "semicolon", "colon", "stop", "dash")
COORDINATORS = frozenset("and but or nor so yet for".split())
LINKERS = frozenset(
    "however therefore moreover furthermore nevertheless nonetheless consequently thus hence "
    "instead meanwhile then also still besides otherwise likewise similarly indeed accordingly "
    "afterward afterwards later finally conversely rather subsequently".split()
)
SURE = 0.85
"""From this probability on a stretch is called a sentence, and below its opposite it is not."""
_TAKEN = 0.95
"""The probability that a half of a known kind is taken to have."""

_SUBORDINATORS = frozenset(
    "because although though while when whenever if unless since until after before once as "
    "whereas where wherever whether even than lest provided".split()
)
_WORD = re.compile(r"[^\W_]+(?:['’\-‐‑][^\W_]+)*['’]?", re.UNICODE)
_STRONG = re.compile(r"[.?!;:](?=[\s\"'”’)\]]|$)")
_QUOTES = '"“”„«»'


@dataclass(frozen=True, slots=True)
class Wording:
    """A choice cut into words and the marks between them: ``gaps[i]`` stands before word ``i``,
    the last gap after the last word. ``spans``: where the words are in the choice."""

    words: tuple[str, ...]
    gaps: tuple[str, ...]
    spans: tuple[tuple[int, int], ...]


def split_words(choice: str) -> Wording:
    """Cut a choice into words and gaps."""
    words, gaps, spans, at = [], [], [], 0
    for found in _WORD.finditer(choice):
        words.append(found[0])
        gaps.append(choice[at : found.start()])
        spans.append(found.span())
        at = found.end()
    gaps.append(choice[at:])
    return Wording(tuple(words), tuple(gaps), tuple(spans))


def bare(word: str) -> str:
    """A word without capital and apostrophe, to compare the words of two choices."""
    return re.sub("['’]", "", word).casefold()


def mark_class(gap: str) -> str:
    """Which mark a gap holds, quotation marks and brackets aside."""
    if any(m in gap for m in "()[]"):
        return "bracket"
    for class_, marks in (
        ("question", "?"),
        ("semicolon", ";"),
        ("colon", ":"),
        ("dash", "—–―"),
        ("stop", ".!…"),
        ("comma", ","),
    ):
        if any(m in gap for m in marks):
            return class_
    return "dash" if re.search(r"\s-+\s|--", gap) else "none"


@dataclass(frozen=True, slots=True)
class Seam:
    """A gap of a choice as it stands in the filled passage: the mark, and where the words beside it
    end and begin (offsets into ``placed.passage``)."""

    placed: Placed
    index: int
    mark: str
    gap: str
    left: int
    right: int


def seams_of(choices: Sequence[Placed]) -> list[list[Seam]]:
    """For each choice its seams, at the gaps where not all choices have the same mark.

    Where a choice adds a word (*, and*), its seams are all gaps between the words that the choices
    share at their beginning and at their end. Empty lists where they share no word.
    """
    cut = [split_words(c.words) for c in choices]
    plain = [[bare(w) for w in c.words] for c in cut]
    first = plain[0]
    if all(words == first for words in plain):
        differing = [i for i in range(len(first) + 1) if len({c.gaps[i].strip() for c in cut}) > 1]
        chosen = [differing] * len(cut)
    else:
        head, tail = _shared(plain), _shared([words[::-1] for words in plain])
        if not head + tail:
            return [[] for _ in choices]
        chosen = [
            list(range(head, max(len(words) - tail, head) + 1))
            if min(map(len, plain)) >= head + tail
            else list(range(len(words) + 1))
            for words in plain
        ]
    found = []
    for where, wording, gaps in zip(choices, cut, chosen, strict=True):
        mine = []
        for i in gaps:
            left = where.start + wording.spans[i - 1][1] if i else _word_before(where)
            right = (
                where.start + wording.spans[i][0] if i < len(wording.words) else _word_after(where)
            )
            gap = where.passage[left:right]
            mine.append(Seam(where, i, mark_class(gap), gap, left, right))
        found.append(mine)
    return found


def _shared(words: list[list[str]]) -> int:
    """How many first words all lists have alike."""
    count = 0
    while count < min(map(len, words)) and len({w[count] for w in words}) == 1:
        count += 1
    return count


def _word_before(where: Placed) -> int:
    found = list(_WORD.finditer(where.passage, 0, where.start))
    return found[-1].end() if found else 0


def _word_after(where: Placed) -> int:
    found = _WORD.search(where.passage, where.end)
    return found.start() if found else len(where.passage)


def stretches(passage: str, left: int, right: int) -> tuple[int, int]:
    """Where the stretch left of a seam begins and the one right of it ends: at a strong mark."""
    start = 0
    for found in _STRONG.finditer(passage, 0, left):
        if found.end() <= left:
            start = found.end()
    start = max(start, passage.rfind("\n\n", 0, left) + 1)
    while start < left and not passage[start].isalnum():
        start += 1
    ending = _STRONG.search(passage, right)
    return start, ending.start() if ending else len(passage)


@dataclass(frozen=True)
class Facts:
    """What is seen around a seam. The three parsed texts belong to the stretches; ``joined`` has
    the right stretch from token ``cut`` on. ``at``: where the left and the right stretch begin and
    end in the filled passage. ``left_chance`` and ``right_chance``: how likely the left stretch,
    and the right one (a first *and* or *then* left aside), could be a sentence. ``gapped``: a comma
    on the right stands for the verb of the left, so that the right counts as a sentence after a
    semicolon; ``supposes``: the left says *if* by its order (`items.halves`)."""

    left: Text
    right: Text
    joined: Text
    cut: int
    asks: bool
    at: tuple[int, int, int, int]
    left_chance: float
    right_chance: float
    gapped: bool = False
    supposes: bool = False

    @property
    def left_complete(self) -> bool:
        """Whether the left stretch is rather a sentence than not."""
        return self.left_chance >= 0.5

    @property
    def right_complete(self) -> bool:
        """Whether the right stretch is rather a sentence than not."""
        return self.right_chance >= 0.5

    @cached_property
    def names(self) -> list[str]:
        """All facts as names for the mark model."""
        return list(_names(self))


def facts(seams: Iterable[tuple[str, int, int]]) -> list[Facts]:
    """Facts of seams, each given as a passage and the offsets where the gap begins and ends."""
    texts: list[str] = []
    cuts: list[tuple[int, bool, tuple[int, int, int, int]]] = []
    for passage, left, right in seams:
        start, end = stretches(passage, left, right)
        before = " ".join(passage[start:left].strip(_QUOTES + " ").split())
        after = " ".join(passage[right:end].strip(_QUOTES + " ").split())
        own = after
        head, _, rest = after.partition(" ")
        if head.casefold().strip(",") in COORDINATORS and rest:
            own = rest
        texts += [
            _upper(before) + ".",
            _upper(own) + ".",
            _upper(before) + " " + _lower(after) + ".",
        ]
        cuts.append((len(before) + 1, passage[end : end + 1] == "?", (start, left, right, end)))
    once = list(dict.fromkeys(texts))  # choices share most of their stretches
    parsed = dict(zip(once, parse_many(once, verse=False), strict=True))
    sides = list(dict.fromkeys(text for n, text in enumerate(texts) if n % 3 != 2))
    chances = dict(zip(sides, chances_whole([parsed[text] for text in sides]), strict=True))
    found = []
    for n, (cut, asks, spans) in enumerate(cuts):
        left_text, right_text, joined = (parsed[text] for text in texts[3 * n : 3 * n + 3])
        at = next((t.i for t in joined.tokens if t.start >= cut), len(joined.tokens))
        left_chance, right_chance = (chances[text] for text in texts[3 * n : 3 * n + 2])
        gapped = left_chance >= SURE and leaves_verb_out(left_text, right_text)
        supposing = supposes(left_text, right_text)
        if gapped:
            right_chance = max(right_chance, _TAKEN)
        if supposing:
            left_chance = min(left_chance, 1 - _TAKEN)
        sides_ = (left_chance, right_chance)
        found.append(
            Facts(left_text, right_text, joined, at, asks, spans, *sides_, gapped, supposing)
        )
    return found


def _upper(words: str) -> str:
    return words[:1].upper() + words[1:]


def _lower(words: str) -> str:
    head = words.split(" ", 1)[0]
    if head in ("I", "I'm", "I’m", "I'd", "I’d", "I've", "I’ve") or not head[1:].islower():
        return words
    return words[:1].lower() + words[1:]


def crossing(found: Facts) -> list[tuple[Token, bool]]:
    """Dependencies that cross the seam in the joined text: the dependent, and whether it is on the
    right (its head on the left)."""
    arcs = []
    for token in found.joined.tokens:
        if token.head == token.i or token.is_punct:
            continue
        if token.i >= found.cut > token.head:
            arcs.append((token, True))
        elif token.i < found.cut <= token.head:
            arcs.append((token, False))
    return arcs


def _class(token: Token | None) -> str:
    if token is None:
        return "nothing"
    if token.lower in COORDINATORS:
        return f"word {token.lower}"
    if token.lower in ("that", "to", "not", "than", "there", "including"):
        return f"word {token.lower}"
    if token.lower in RELATIVES:
        return "relative"
    if token.lower in LINKERS:
        return "linker"
    if token.lower in _SUBORDINATORS and token.pos in ("SCONJ", "ADP", "ADV"):
        return "subordinator"
    if token.tag in ("VBG", "VBN", "VB", "MD", "CD", "PRP", "PRP$", "WRB", "WP"):
        return token.tag
    if token.tag in ("VBD", "VBZ", "VBP"):
        return "finite"
    return token.pos.lower()


def _level(chance: float) -> str:
    """1 for a sentence, 0 for none, u where the witnesses do not agree enough to be sure."""
    return "1" if chance >= SURE else "0" if chance <= 1 - SURE else "u"


def _names(found: Facts) -> Iterable[str]:
    left = [t for t in found.left.tokens if not t.is_punct]
    joined = [t for t in found.joined.tokens if not t.is_punct]
    right = [t for t in joined if t.i >= found.cut]
    whole = _level(found.left_chance)
    sides = whole + _level(found.right_chance)
    yield f"sides {sides}"
    first = right[0] if right else None
    opening = _class(first)
    yield f"right opens {opening}"
    yield f"sides {sides} {opening}"
    yield f"right second {_class(right[1] if len(right) > 1 else None)}"
    yield f"left ends {_class(left[-1] if left else None)}"
    yield f"left before end {_class(left[-2] if len(left) > 1 else None)}"
    yield f"seam {_class(left[-1] if left else None)} {opening}"
    yield f"left opens {_class(left[0] if left else None)}"
    yield f"left opens {_class(left[0] if left else None)} complete {whole}"
    commas_left = sum(t.text == "," for t in found.left.tokens)
    commas_right = sum(t.text == "," for t in found.right.tokens)
    yield f"commas left {min(commas_left, 3)}"
    yield f"commas right {min(commas_right, 3)}"
    listing = any(
        a.text == "," and b.lower in ("and", "or")
        for a, b in zip(found.right.tokens, found.right.tokens[1:], strict=False)
    )
    yield f"list right {int(listing)} complete {whole}"
    yield f"length left {min(len(left), 20) // 4}"
    yield f"length right {min(len(right), 20) // 4}"
    finite = any(t.tag in ("VBD", "VBZ", "VBP", "MD") for t in right)
    yield f"verb right {int(finite)}"
    yield f"verb left {int(any(t.tag in ('VBD', 'VBZ', 'VBP', 'MD') for t in left))}"
    arcs = crossing(found)
    yield f"arcs {min(len(arcs), 3)}"
    subject = False
    for token, rightward in arcs:
        direction = "right" if rightward else "left"
        yield f"arc {token.dep} {direction}"
        if token.dep in ("nsubj", "nsubjpass") and not rightward:
            subject = True
            yield f"subject left of verb, commas {min(commas_left, 3)}"
            near = found.joined.tokens[token.head].i - found.cut
            yield f"verb after seam {min(max(near, 0), 3)}, commas {min(commas_left, 3)}"
            yield f"subject ends {token.i + 1 == found.cut}"
    yield f"subject crosses {int(subject)} sides {sides}"

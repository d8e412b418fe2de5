"""Spoil the boundaries of edited prose in known ways, one spoilt place for each few sentences.

Every function takes a parsed passage and yields `Spoilt` records: the new text, which kind of
place was changed, where (an offset in the new text) and what an editor would say of it.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass

from rwtools.rules.places import ADVERBS
from rwtools.text import Sentence, Text

SUBJECTS = ("nsubj", "nsubjpass", "csubj", "expl")


@dataclass(frozen=True, slots=True)
class Spoilt:
    """``kind``: comma, none, semicolon or stop (where the fault now is, ``offset`` = the mark, or
    for ``none`` the word after the gap); ``label``: what it is; ``operation``: how it was made."""

    text: str
    kind: str
    offset: int
    label: str
    operation: str


def _lowered(text: Text, first: int) -> str | None:
    token = text.tokens[first]
    if token.text == "I" or token.text.startswith("I'") or token.pos == "PROPN":
        return token.text
    if (token.text[:1].isupper() and token.text[1:].islower()) or len(token.text) == 1:
        return token.text[0].lower() + token.text[1:]
    return token.text


def _full(text: Text, sentence: Sentence) -> bool:
    """Whether a sentence has a finite root with a subject of its own, before it."""
    root = next((t for t in text.sentence_tokens(sentence) if t.dep == "ROOT"), None)
    if root is None or root.pos not in ("VERB", "AUX"):
        return False
    clause = text.clause_of_head.get(root.i)
    if clause is None or not clause.finite or clause.kind != "independent":
        return False
    subject = text.child(root.i, *SUBJECTS)
    return subject is not None and text.tokens[sentence.last - 1].text in (".", "?")


def _join(text: Text, i: int, mark: str) -> tuple[str, int] | None:
    """Sentences i and i+1 run together with ``mark``; and the offset of the mark (or word)."""
    a, b = text.sentences[i], text.sentences[i + 1]
    stop = text.tokens[a.last - 1]
    gap = text.passage[a.end : b.start]
    if stop.text != "." or gap.strip() or "\n" in gap or not gap:
        return None
    first = text.tokens[b.first]
    if not first.text[:1].isalpha():
        return None
    word = _lowered(text, b.first)
    head = text.passage[: stop.start] + mark + " "
    return head + str(word) + text.passage[first.end :], stop.start if mark else len(head)


def join_sentences(text: Text, rng: random.Random) -> Iterator[Spoilt]:
    for i in range(len(text.sentences) - 1):
        a, b = text.sentences[i], text.sentences[i + 1]
        if not (_full(text, a) and _full(text, b)):
            continue
        if text.tokens[b.first].tag == "CC":
            continue
        linker = text.tokens[b.first].lower in ADVERBS
        short = (b.last - b.first) + (a.last - a.first) < 28
        if not (linker or short) and rng.random() < 0.6:
            continue
        mark = "," if linker or rng.random() < 0.5 else ""
        made = _join(text, i, mark)
        if made:
            name = "splice" if mark else "fused"
            yield Spoilt(made[0], "comma" if mark else "none", made[1], "strong", name)


def spoil_semicolons(text: Text, rng: random.Random) -> Iterator[Spoilt]:
    for t in text.tokens:
        if t.text != ";" or t.i + 1 >= len(text.tokens):
            continue
        sentence = text.sentences[t.sent]
        if sum(x.text == ";" for x in text.sentence_tokens(sentence)) > 1:
            continue
        left = any(
            c.finite and c.kind == "independent" and sentence.start <= c.start and c.end <= t.start
            for c in text.clauses
        )
        right = any(
            c.finite and c.kind == "independent" and t.end <= c.start and c.end <= sentence.end
            for c in text.clauses
        )
        nxt = text.tokens[t.i + 1]
        if not (left and right) or nxt.tag == "CC":
            continue
        if nxt.lower in ADVERBS or rng.random() < 0.5:
            yield Spoilt(
                text.passage[: t.start] + "," + text.passage[t.end :], "comma", t.start, "strong",
                "splice",
            )  # fmt: skip
        else:
            yield Spoilt(
                text.passage[: t.start] + text.passage[t.end :], "none", nxt.start - 1, "strong",
                "fused",
            )  # fmt: skip


def _fronted(text: Text) -> Iterator[tuple[int, int, str]]:
    """(comma index, first index, how) of introductions that a comma closes."""
    for sentence in text.sentences:
        first = sentence.first
        comma = next(
            (i for i in range(first + 1, sentence.last) if text.tokens[i].text == ","), None
        )
        if comma is None or comma + 1 >= sentence.last or comma - first < 2:
            continue
        root = next((t for t in text.sentence_tokens(sentence) if t.dep == "ROOT"), None)
        if root is None or root.i < comma:
            continue
        subject = text.child(root.i, *SUBJECTS)
        if subject is None or subject.i < comma:
            continue
        start = min(text.subtree(subject.i))
        if start > comma + 2:
            continue
        for clause in text.clauses:
            if (
                clause.head < comma
                and clause.parent == root.i
                and clause.kind == "dependent"
                and text.tokens[clause.head].dep in ("advcl", "prep", "pcomp")
                and clause.end <= text.tokens[comma].start
                and clause.start <= text.tokens[first + 1].start
            ):
                yield comma, first, "clause" if clause.finite else "phrase"
                break


def spoil_introductions(text: Text, rng: random.Random) -> Iterator[Spoilt]:
    for comma, _first, how in _fronted(text):
        token = text.tokens[comma]
        nxt = text.tokens[comma + 1]
        p = text.passage
        roll = rng.random()
        if roll < 0.6:
            yield Spoilt(
                p[: token.start] + p[token.end :], "none", nxt.start - 1, "intro", f"intro-{how}"
            )
        elif roll < 0.75:
            yield Spoilt(
                p[: token.start] + ";" + p[token.end :], "semicolon", token.start, "unequal",
                "semicolon",
            )  # fmt: skip
        elif how == "clause" or comma - _first > 3:
            word = nxt.text[0].upper() + nxt.text[1:]
            yield Spoilt(
                p[: token.start] + ". " + word + p[nxt.end :], "stop", token.start, "left",
                f"fragment-front-{how}",
            )  # fmt: skip


def spoil_compounds(text: Text, rng: random.Random) -> Iterator[Spoilt]:
    """Commas before conjunctions dropped between clauses, put in between verbs."""
    p = text.passage
    for t in text.tokens:
        if t.tag != "CC" or t.lower not in ("and", "but", "or", "so", "yet", "nor") or t.i == 0:
            continue
        before = text.tokens[t.i - 1]
        joined = next(
            (
                text.tokens[j]
                for j in text.children[t.head]
                if text.tokens[j].dep == "conj" and j > t.i
            ),
            None,
        )
        if joined is None or joined.pos not in ("VERB", "AUX"):
            continue
        head = text.tokens[t.head]
        own = text.child(joined.i, *SUBJECTS)
        clause = text.clause_of_head.get(joined.i)
        if clause is None or not clause.finite or clause.kind != "independent":
            continue
        if before.text == "," and own is not None and own.i < joined.i:
            yield Spoilt(
                p[: before.start] + p[before.end :], "none", t.start - 1, "compound", "compound"
            )
        elif (
            before.text != ","
            and own is None
            and text.tokens[t.i + 1].tag in ("VBD", "VBZ", "VBP", "RB", "MD")
            and head.pos in ("VERB", "AUX")
            and rng.random() < 0.5
        ):
            yield Spoilt(
                p[: before.end] + "," + p[before.end :], "comma", before.end, "second", "second"
            )


_TAILS = ("especially", "including", "such", "particularly", "like", "with", "for", "as", "without")


def spoil_tails(text: Text, rng: random.Random) -> Iterator[Spoilt]:
    """The dependent end of a sentence cut off by a full stop or a semicolon."""
    p = text.passage
    for sentence in text.sentences:
        tokens = text.sentence_tokens(sentence)
        if not tokens or tokens[-1].text != ".":
            continue
        root = next((t for t in tokens if t.dep == "ROOT"), None)
        if root is None or not _full(text, sentence):
            continue
        for t in tokens[3:-3]:
            how = _tail(text, t.i, root.i, sentence)
            if how is None:
                continue
            before, word = text.tokens[t.i - 1], t.text[0].upper() + t.text[1:]
            start = before.start if before.text == "," else before.end
            if before.text != "," or rng.random() < 0.7:
                yield Spoilt(
                    p[:start] + ". " + word + p[t.end :], "stop", start, "right", f"fragment-{how}"
                )
            else:
                yield Spoilt(
                    p[:start] + ";" + p[before.end :], "semicolon", start, "unequal", "semicolon"
                )
            break


def _tail(text: Text, i: int, root: int, sentence: Sentence) -> str | None:
    """What kind of dependent tail begins at token i and runs to the sentence's end, if any."""
    if i <= root:
        return None
    comma = text.tokens[i - 1].text == ","
    for j in range(i, sentence.last - 1):
        token = text.tokens[j]
        if token.head >= i:
            continue
        members = text.subtree(j)
        members = [m for m in members if not text.tokens[m].is_punct]
        if not members or members[0] != i or members[-1] < sentence.last - 2:
            return None
        clause = text.clause_of_head.get(j)
        if token.dep == "relcl" and text.tokens[i].tag in ("WDT", "WP") and comma:
            return "relative"
        if token.dep == "advcl" and clause is not None and clause.finite and clause.marker == i:
            return "subordinate"
        if token.dep == "advcl" and token.tag == "VBG" and j == i and comma:
            return "participle"
        if token.dep == "appos" and comma and len(members) > 3:
            return "apposition"
        if token.dep == "prep" and comma and text.tokens[i].lower in _TAILS and len(members) > 3:
            return "example"
        return None
    return None


OPERATIONS = (
    join_sentences,
    spoil_semicolons,
    spoil_introductions,
    spoil_compounds,
    spoil_tails,
)


def spoil(text: Text, rng: random.Random, *, most: int = 2) -> list[Spoilt]:
    """A few spoilt versions of a passage, each with one fault, kinds evenly drawn."""
    groups: dict[str, list[Spoilt]] = {}
    for operation in OPERATIONS:
        for made in operation(text, rng):
            groups.setdefault(made.operation, []).append(made)
    names = sorted(groups)
    rng.shuffle(names)
    # rare kinds first: a semicolon is worth more than yet another compound
    names.sort(key=lambda n: n in ("compound", "second", "fused", "splice"))
    chosen = names[:1] + rng.sample(names[1:], min(most - 1, len(names) - 1)) if names else []
    return [rng.choice(groups[n]) for n in chosen]


_EXTRA = ("prep", "advcl", "relcl", "acl", "appos", "npadvmod", "advmod", "amod")


def shortened(text: Text, rng: random.Random) -> str:
    """The passage with many modifiers left out: short sentences, as in a learner's handbook."""
    drop: list[tuple[int, int]] = []
    for token in text.tokens:
        if token.dep not in _EXTRA or rng.random() > 0.6:
            continue
        members = text.subtree(token.i)
        first, last = members[0], members[-1]
        sentence = text.sentences[token.sent]
        if last - first + 1 != len(members) or first == sentence.first:
            continue
        if any(text.tokens[m].dep == "neg" for m in members) or token.lower in ADVERBS:
            continue
        before, after = text.tokens[first - 1], text.tokens[min(last + 1, sentence.last - 1)]
        if before.text == "," and after.is_punct:
            first -= 1
        elif before.is_punct or before.tag in ("IN", "TO", "CC", "VBG"):
            continue
        drop.append((text.tokens[first - 1].end, text.tokens[last].end))
    out: list[str] = []
    at = 0
    for start, end in sorted(drop):
        if start >= at:
            out.append(text.passage[at:start])
        at = max(at, end)
    return "".join([*out, text.passage[at:]])


def window(passage: str, spoilt: Spoilt, text: Text, *, around: int = 1) -> Spoilt:
    """The spoilt text cut to the sentences around the fault (its offset moved with it)."""
    hit = min(spoilt.offset, len(passage) - 1)
    index = max((s.index for s in text.sentences if s.start <= hit), default=0)
    lo = text.sentences[max(0, index - around)].start
    hi_sentence = text.sentences[min(len(text.sentences) - 1, index + 1 + around)]
    shift = len(passage) - len(spoilt.text)
    end = hi_sentence.end - shift
    return Spoilt(
        spoilt.text[lo:end], spoilt.kind, spoilt.offset - lo, spoilt.label, spoilt.operation
    )

"""Cut stretches out of edited textbooks that are known to be whole sentences, or not.

    python models/clauses/stretches.py textbook_train.jsonl.gz FIRST END OUT.jsonl [--wordnet DIR]

Whole: sentences, and what the parse of a sentence (used only where it found the main verb that a
sentence of an edited book must have) shows to hold a clause with all its parts. Not whole:
stretches that lack subject, verb or object of the clause, or hang on a word such as *which*.
Doubtful ones are left out. Words that can be noun and verb are put in at random, in the place of
nouns and of verbs, because books have too few sentences such as *Old harbors rank low*.
"""

from __future__ import annotations

import argparse
import gzip
import json
import os
import random
from collections.abc import Iterator
from pathlib import Path

from wordfreq import zipf_frequency

from rwtools.items.seams import COORDINATORS
from rwtools.items.whole import parsed_whole
from rwtools.text import Text, parse_many
from rwtools.text.clauses import own_subject

HERE = Path(__file__).resolve().parent
DATA = Path(os.environ.get("RWTOOLS_DATA", HERE.parents[2] / "shared" / "data"))

_NEEDED = frozenset("dobj attr acomp oprd ccomp xcomp dative prt".split())
_INNER = frozenset("det amod compound poss nummod nmod aux auxpass neg case quantmod".split())
_MARKERS = frozenset(("WDT", "WP", "WP$", "WRB"))
_NO_PLAIN_S = ("s", "x", "z", "ch", "sh", "y", "o")
_SHARE = 0.3
"""Share of the paragraphs into which words that are noun and verb are put."""


def paragraphs(name: str, first: int, end: int) -> list[str]:
    """Paragraphs ``first..end`` of a data file, shuffled in one fixed order."""
    with gzip.open(DATA / name, "rt", encoding="utf-8") as lines:
        rows = [" ".join(json.loads(line)["text"].split()) for line in lines]
    random.Random(1).shuffle(rows)
    return [row for row in rows[first:end] if len(row) > 150]


def homographs(wordnet: Path) -> list[str]:
    """Common base forms that WordNet lists as noun and as verb and that take a plain *s*."""
    kinds = []
    for name in ("index.noun", "index.verb"):
        lines = (wordnet / name).read_text(encoding="utf-8").splitlines()
        kinds.append({line.split(" ", 1)[0] for line in lines if not line.startswith(" ")})
    both = sorted(kinds[0] & kinds[1])
    return [
        w
        for w in both
        if w.isalpha() and 3 <= len(w) <= 9 and not w.endswith(_NO_PLAIN_S)
        and zipf_frequency(w, "en") >= 3.3
    ]  # fmt: skip


def with_homographs(text: Text, words: list[str], rng: random.Random) -> str:
    """The passage with some nouns and some present-tense verbs replaced."""
    out, at = [], 0
    for token in text.tokens:
        verb = token.tag in ("VBP", "VBZ") and token.pos == "VERB"
        noun = token.tag in ("NN", "NNS") and token.text.islower() and len(token.text) > 2
        if not ((verb and rng.random() < 0.5) or (noun and rng.random() < 0.15)):
            continue
        word = rng.choice(words) + ("s" if token.tag in ("VBZ", "NNS") else "")
        out += [text.passage[at : token.start], word]
        at = token.end
    return "".join([*out, text.passage[at:]])


def aligned(text: Text, passage: str) -> list[tuple[int, int]] | None:
    """Where the tokens of a text are in its altered passage, found word by word."""
    places = []
    old, new = text.passage.split(" "), passage.split(" ")
    if len(old) != len(new):
        return None
    at_old = at_new = 0
    shift: list[tuple[int, int, int, int]] = []
    for one, two in zip(old, new, strict=True):
        shift.append((at_old, at_old + len(one), at_new, at_new + len(two)))
        at_old += len(one) + 1
        at_new += len(two) + 1
    k = 0
    for token in text.tokens:
        while shift[k][1] < token.end:
            k += 1
        a, b, c, d = shift[k]
        if token.start < a:
            return None
        head = token.start - a
        tail = b - token.end
        places.append((c + head if passage[c : c + head] == text.passage[a : token.start] else c,
                       d - tail))  # fmt: skip
    return places


def label(text: Text, first: int, end: int) -> int | None:
    """Whether tokens ``first..end`` of a sentence are a sentence too; None: hard to say."""
    tokens = text.tokens
    inside = range(first, end)
    loose = [t for t in tokens[first:end] if t.head < first or t.head >= end]
    for t in loose:  # a noun phrase or verb group is cut in two
        if t.dep in _INNER:
            return None
    for t in (tokens[first - 1] if first else None, tokens[end] if end < len(tokens) else None):
        if t is not None and t.dep in _INNER and t.head in inside:
            return None
    opening = tokens[first]
    if opening.tag in ("VB", "VBP") and text.sentences[opening.sent].first != first:
        return None  # it would read as a command
    found: int | None = 0
    for clause in text.clauses:
        head = clause.head
        if head not in inside or not clause.finite or clause.reason == "second_verb":
            continue
        own = own_subject(text, head)
        if own is None or own.i not in inside:
            continue
        marker = clause.marker
        if marker is not None and marker in inside:
            continue
        if own.tag in _MARKERS or any(
            tokens[i].tag in _MARKERS and i < head for i in text.subtree(head) if i in inside
            and tokens[i].head == head
        ):  # fmt: skip
            continue
        cut = [tokens[i] for i in text.children[head] if i not in inside]
        if any(t.dep in _NEEDED | {"aux", "auxpass", "neg"} for t in cut):
            continue
        if tokens[head].dep in ("relcl", "acl", "advcl", "csubj", "pcomp", "conj", "dep"):
            if marker is None and tokens[head].dep != "conj":
                found = None
                continue
            if tokens[head].dep == "conj" and clause.kind != "independent":
                found = None
                continue
        if clause.kind != "independent" and any(
            a.i in inside for a in text.ancestors(head) if a.i != head
        ):
            continue
        last = tokens[end - 1]
        if any(tokens[i].dep in ("pobj", "pcomp") and i >= end for i in text.children[last.i]):
            return 0
        if last.tag in ("IN", "TO", "CC", "DT", "PRP$", "MD", "WDT"):
            return 0 if last.tag != "IN" else None
        if any(t.i != head and not t.is_punct and t.dep != "cc" for t in loose):
            return None  # a piece of another clause hangs about
        return 1
    return found


def cuts(text: Text, rng: random.Random) -> Iterator[tuple[int, int, int, str]]:
    """(first token, end, whole?, kind) of the stretches taken from a paragraph."""
    for sentence in text.sentences:
        words = text.sentence_tokens(sentence)
        if not (4 <= len(words) <= 45) or words[-1].text != "." or not words[0].text[:1].isupper():
            continue
        body = " ".join(t.text for t in words)
        if any(m in body for m in '()[]=/…“”"@#$%<>') or sum(t.tag == "CD" for t in words) > 3:
            continue
        first, end = sentence.first, sentence.last - 1
        yield first, end, 1, "sentence"
        tree_knows = any(
            c.kind == "independent" and c.finite and c.reason == "main" and c.subject is not None
            and first <= c.head < end
            for c in text.clauses
        )  # fmt: skip
        if not tree_knows:
            continue
        marks = [i for i in range(first + 1, end) if text.tokens[i].text in (",", ":", ";", "—")]
        chosen = [(i, "mark") for i in rng.sample(marks, min(2, len(marks)))]
        verbs = [c.head for c in text.clauses if c.finite and first < c.head < end]
        verbs += [t.i for t in words if t.tag in ("WDT", "IN", "WRB") and first < t.i < end]
        if verbs:
            chosen.append((rng.choice(verbs), "gap"))
        gaps = range(first + 2, end - 1)
        chosen += [(i, "gap") for i in rng.sample(gaps, min(1, len(gaps)))]
        for i, kind in chosen:
            left_end = i
            right = i + 1 if kind == "mark" else i
            strong = [m for m in marks if text.tokens[m].text in ":;"]
            left_first = max([m + 1 for m in strong if m < i], default=first)
            right_end = min([m for m in strong if m > i], default=end)
            if right < right_end and text.tokens[right].lower in COORDINATORS:
                right += 1
            for a, b in ((left_first, left_end), (right, right_end)):
                while b > a and text.tokens[b - 1].is_punct:
                    b -= 1
                if b - a < 1 or text.tokens[a].is_punct:
                    continue
                known = label(text, a, b)
                if known is not None:
                    yield a, b, known, kind


def upper(words: str) -> str:
    return words[:1].upper() + words[1:]


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("name")
    parser.add_argument("first", type=int)
    parser.add_argument("end", type=int)
    parser.add_argument("out", type=Path)
    parser.add_argument("--wordnet", type=Path, default=Path("/usr/share/wordnet"))
    parser.add_argument("--share", type=float, default=_SHARE)
    options = parser.parse_args()
    rng = random.Random(7)
    words = homographs(options.wordnet)
    print(len(words), "words that are noun and verb")
    made: list[tuple[str, int, str]] = []
    for text in parse_many(paragraphs(options.name, options.first, options.end), verse=False):
        passage, places = text.passage, [(t.start, t.end) for t in text.tokens]
        altered = False
        if rng.random() < options.share:
            other = with_homographs(text, words, rng)
            moved = aligned(text, other)
            if moved is not None:
                passage, places, altered = other, moved, True
        for a, b, known, kind in cuts(text, rng):
            stretch = upper(passage[places[a][0] : places[b - 1][1]])
            made.append((stretch, known, kind + (" altered" if altered else "")))
    rng.shuffle(made)
    once = list({stretch: (stretch, known, kind) for stretch, known, kind in made}.values())
    with options.out.open("w", encoding="utf-8") as out:
        texts = parse_many((s + "." for s, _, _ in once), verse=False, batch_size=256)
        for (stretch, known, kind), text in zip(once, texts, strict=True):
            row = {
                "text": stretch,
                "whole": known,
                "kind": kind,
                "parser": int(parsed_whole(text)),
                "words": [[t.lower, t.tag, t.dep] for t in text.tokens],
            }
            out.write(json.dumps(row, ensure_ascii=False) + "\n")
    print(len(once), "stretches")


if __name__ == "__main__":
    main()

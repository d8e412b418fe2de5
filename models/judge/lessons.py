"""Make the lessons: places with one right and up to three wrong wordings, for `train.py --lessons`.

Prose teaches the judge what is likely; lessons teach it to tell the right choice from near ones.

    python models/judge/lessons.py DATA_FOLDER/lessons.jsonl.gz --wordnet WORDNET

Sources, none of them a development set: the textbooks of the train part and the CC BY and CC BY-SA
documents of the discourse treebank's train part (connectives, the connectives that annotators put
between sentences, marks, inflections, words against their opposites); the example phrases and the
definitions of WordNet 3.0 (a word's meaning here against its other meanings; the word for a
meaning); items written for this project (`written/*.jsonl`, right choice first).
"""

from __future__ import annotations

import argparse
import gzip
import json
import random
import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

import cases
import prepare

from rwtools.transitions import relation_of

HERE = Path(__file__).parent
PREFIX_WORDS, SUFFIX_WORDS = 75, 24
NAMES = {"noun": "NOUN", "verb": "VERB", "adj": "ADJ", "adv": "ADV"}
Lesson = dict[str, Any]


def lesson(
    kind: str, prefix: str, right: str, wrong: Sequence[str], suffix: str, words: int = PREFIX_WORDS
) -> Lesson:
    """A lesson with its context cut to what the judge's training reads; the right choice first."""
    starts = [m.start() for m in re.finditer(r"\S+", prefix)]
    if len(starts) > words:
        prefix = prefix[starts[-words] :]
    ends = [m.end() for m in re.finditer(r"\S+", suffix)]
    if len(ends) > SUFFIX_WORDS:
        suffix = suffix[: ends[SUFFIX_WORDS - 1]]
    return {"kind": kind, "prefix": prefix, "choices": [right, *wrong], "suffix": suffix}


def missing(kind: str, before: str, right: str, wrong: Sequence[str], after: str) -> Lesson:
    """The same question asked after the whole passage, which has the blank: the judge knows what
    comes after the blank when it weighs the choices. (The solvers leave that to the reader now.)"""
    frame = f"{before}____{after}\n\nThe blank should read"
    ends = [f" “{choice.strip()}”." for choice in (right, *wrong)]
    return lesson(f"missing {kind}", frame, ends[0], ends[1:], "", 180)


def asked_again(lessons: Iterable[Lesson]) -> Iterator[Lesson]:
    """Lessons from prose, those on words a second time in the frame of `missing`."""
    for one in lessons:
        yield one
        if one["kind"] in ("connective", "implied", "opposite", "content word"):
            right, *wrong = one["choices"]
            yield missing(one["kind"], one["prefix"], right, wrong, one["suffix"])


def _relation(form: str) -> str:
    found = relation_of(form)
    return found[0][0] if found else form


def unlike(own: str, family: Sequence[str], rng: random.Random) -> list[str]:
    """Three connectives of other relations than this one, and of different ones."""
    taken, made = {_relation(own.lower())}, []
    for other in rng.sample(family, len(family)):
        if _relation(other) not in taken:
            taken.add(_relation(other))
            made.append(other)
        if len(made) == 3:
            break
    return made


def connectives(texts: Sequence[str], rng: random.Random) -> Iterator[Lesson]:
    for text in texts:
        for kind, pattern, family in (
            ("connective", cases.ADVERBIAL, cases.ADVERBIALS),
            ("conjunction", cases.CONJUNCTION, cases.CONJUNCTIONS),
        ):
            found = list(pattern.finditer(text))
            if kind == "conjunction":
                found = rng.sample(found, 1) if found and rng.random() < 0.25 else []
            for match in found:
                own = match[1]
                others = [cases._cased(c, own) for c in unlike(own, family, rng)]
                before, after = text[: match.start()], text[match.end() :]
                if others and len(before.split()) >= 6:
                    yield lesson(kind, before, own, others, after)


def implied(rng: random.Random) -> Iterator[Lesson]:
    """Sentences without a connective, with the one that annotators found there."""
    families: Counter[str] = Counter()
    rows = []
    for document in prepare.read("gdtb_train.jsonl.gz"):
        if not prepare.may_train(document):
            continue
        text = document["text"]
        for relation in document["relations"]:
            name = (relation.get("conn_norm") or "").lower()
            if relation["type"] != "implicit" or not name or not relation["arg2"]:
                continue
            start = relation["arg2"][0][0]
            before = " ".join(text[max(start - 600, 0) : start].split())
            after = " ".join(text[start : start + 250].split())
            if before[-1:] in ".?!”" and after[:1].isupper() and len(after.split()) > 4:
                rows.append((before, name, after))
                families[name] += 1
    openers = {*cases.ADVERBIALS, "and", "but", "so", "on the contrary", "in short", "above all"}
    family = [name for name, count in families.items() if count >= 4 and name in openers]
    for before, name, after in rows:
        if name not in family:
            continue
        first = after.split()[0].strip(",.;:")
        joined = after[0].lower() + after[1:] if is_common(first) else after
        yield lesson(
            "implied", before + " ", name.capitalize(),
            [o.capitalize() for o in unlike(name, family, rng)], ", " + joined,
        )  # fmt: skip


def is_common(word: str) -> bool:
    """Whether a capitalised first word is a common word, not a name."""
    from wordfreq import zipf_frequency

    return zipf_frequency(word.lower(), "en") > 5.3 and word not in ("I", "I'm", "I’m")


def words_and_marks(
    texts: Sequence[str], tagged: Sequence[Sequence[cases.Word]], lexicon: cases.Lexicon,
    opposites: dict[tuple[str, str], set[str]], rng: random.Random,
) -> Iterator[Lesson]:  # fmt: skip
    for text, words in zip(texts, tagged, strict=True):
        for kind, turns in (("punctuation", 3), ("inflection", 2), ("content word", 1)):
            for _ in range(turns):
                if kind == "punctuation":
                    case = cases.punctuation(text, "", rng)
                else:
                    case = cases._word_case(kind, text, words, "", lexicon, rng)
                if case is None or len(case.prefix.split()) < 3:
                    continue
                own = case.choices[case.answer]
                others = [c for c in case.choices if c != own]
                yield lesson(kind, case.prefix, own, others, case.suffix)
        yield from _opposed(text, words, lexicon, opposites, rng)


def _opposed(
    text: str, words: Sequence[cases.Word], lexicon: cases.Lexicon,
    opposites: dict[tuple[str, str], set[str]], rng: random.Random,
) -> Iterator[Lesson]:  # fmt: skip
    made = 0
    for word in rng.sample(words, len(words)):
        form = text[word.start : word.end]
        against = [
            f
            for o in sorted(opposites.get((word.lemma, word.pos), ()))
            for f, label in (lexicon.forms.get((o, word.pos), {}) or {o: word.tag}).items()
            if label == word.tag
        ]
        if not against or word.start < 40 or len(form) < 4 or not form.islower():
            continue
        alike = [w for w in lexicon.alike(form, word.tag) if w not in against]
        wrong = [rng.choice(against), *rng.sample(alike, min(2, len(alike)))]
        yield lesson("opposite", text[: word.start], form, wrong, text[word.end :])
        made += 1
        if made == 2:
            return


class WordNet:
    """What the lessons need of WordNet's files: senses, their words, opposites and examples."""

    def __init__(self, folder: Path) -> None:
        self.senses: dict[tuple[str, str], list[tuple[str, str]]] = defaultdict(list)
        self.words: dict[tuple[str, str], list[str]] = {}
        self.above: dict[tuple[str, str], list[tuple[str, str]]] = {}
        self.gloss: dict[tuple[str, str], tuple[str, list[str]]] = {}
        self.opposites: dict[tuple[str, str], set[str]] = defaultdict(set)
        pointers = []
        for name in NAMES:
            for line in (folder / f"data.{name}").read_text(encoding="latin-1").splitlines():
                if line.startswith("  "):
                    continue
                head, _, gloss = line.partition(" | ")
                parts = head.split()
                key = (name, parts[0])
                count = int(parts[3], 16)
                self.words[key] = [
                    re.sub(r"\(.*?\)", "", parts[4 + 2 * n]).replace("_", " ") for n in range(count)
                ]
                at = 4 + 2 * count
                self.above[key] = []
                for n in range(int(parts[at])):
                    kind, place, part, ends = parts[at + 1 + 4 * n : at + 5 + 4 * n]
                    other = ({"n": "noun", "v": "verb", "r": "adv"}.get(part, "adj"), place)
                    if kind == "!":
                        pointers.append((key, int(ends[:2], 16), other, int(ends[2:], 16)))
                    elif kind in "@&":
                        self.above[key].append(other)
                pieces = re.split(r'; (?=")', gloss.strip())
                examples = [p.strip('" ') for p in pieces[1:] if p.startswith('"')]
                self.gloss[key] = (re.sub(r"\([^)]*\)", "", pieces[0]).split(";")[0], examples)
            for line in (folder / f"index.{name}").read_text(encoding="latin-1").splitlines():
                if not line.startswith("  "):
                    parts = line.split()
                    self.senses[parts[0].replace("_", " "), name] = [
                        (name, p) for p in parts[-int(parts[2]) :]
                    ]
        for key, mine, other, theirs in pointers:
            if mine and theirs:
                own, against = self.words[key][mine - 1], self.words[other][theirs - 1]
                self.opposites[own.lower(), NAMES[key[0]]].add(against.lower())

    def said(self, key: tuple[str, str], word: str, brief: bool) -> list[str]:
        """Ways to say a sense without the word: its other words, or its definition if short."""
        if brief:
            definition = " ".join(self.gloss[key][0].split())
            return [definition] if 1 <= len(definition.split()) <= 7 else []
        own = [w for w in self.words[key] if w.lower() != word]
        return own or [w for a in self.above[key] for w in self.words[a][:2] if w.lower() != word]


def meanings(wordnet: WordNet, rng: random.Random) -> Iterator[Lesson]:
    """A word in an example phrase: what it means there, against its other meanings."""
    from wordfreq import zipf_frequency

    common = {
        name: [
            k for k in wordnet.words
            if k[0] == name and zipf_frequency(wordnet.words[k][0], "en") > 3.2
        ]
        for name in NAMES
    }  # fmt: skip
    for key, (_, examples) in wordnet.gloss.items():
        for example in examples:
            if len(example.split()) < 4:
                continue
            for word in wordnet.words[key]:
                word = word.lower()
                stem = re.escape(word[:-1] if word.endswith("e") else word)
                match = re.search(rf"\b{stem}(e|s|es|d|ed|ing|ly)?\b", example, re.I)
                if match is None or zipf_frequency(word, "en") < 2.2:
                    continue
                brief = rng.random() < 0.4
                right = wordnet.said(key, word, brief)
                if not brief:  # a rare synonym explains nothing
                    right = [r for r in right if zipf_frequency(r, "en") > 2.5]
                if not right:
                    continue
                fine = {w.lower() for w in wordnet.words[key]} | {r.lower() for r in right}
                wrong: list[str] = []
                senses = [s for n in NAMES for s in wordnet.senses.get((word, n), ()) if s != key]
                senses = sorted(senses, key=lambda s: s[0] != key[0])[:6]
                rng.shuffle(senses)
                opposed = sorted(wordnet.opposites.get((word, NAMES[key[0]]), ()))
                wrong += [o for o in opposed if not brief and rng.random() < 0.5]
                for sense in [*senses, *rng.sample(common[key[0]], 6)]:
                    said = [s for s in wordnet.said(sense, word, brief) if s.lower() not in fine]
                    said = [s for s in said if s not in wrong]
                    if said:
                        wrong.append(rng.choice(said))
                if len(wrong) < 3:
                    continue
                yield from asked(
                    "meaning", example[0].upper() + example[1:] + ".", match[0],
                    rng.choice(right), wrong[:3], rng, exact=match[0].lower() == word,
                )  # fmt: skip
                break


FRAMES = {
    "adj": ("Something that is {0} is", "It was {0}; in one word, it was", "To be {0} is to be"),
    "verb": ("To {0} is to", "They wanted to {0}; in one word, to"),
    "noun": ("There is a word for {0}:", "By {0} we mean"),
    "adv": ("To do it {0} is to do it", "She did it {0}; in one word,"),
}
"""Sentences that say a meaning ({0}) and end in the word for it."""


def definitions(wordnet: WordNet, rng: random.Random) -> Iterator[Lesson]:
    """The word for a meaning and the meaning of a word, for the first two senses of each word."""
    from wordfreq import zipf_frequency

    levels: dict[tuple[str, int], list[str]] = defaultdict(list)
    shares: dict[tuple[str, str], set[str]] = defaultdict(set)  # all words that share a sense
    for (word, name), senses in wordnet.senses.items():
        for sense in senses:
            shares[word, name] |= {w.lower() for w in wordnet.words[sense]}
        if zipf_frequency(word, "en") >= 2.2 and word.isalpha() and len(word) > 3:
            levels[name, round(zipf_frequency(word, "en"))].append(word)
    for (name, _), words in levels.items():
        for word in words:
            if name == "noun" and rng.random() < 0.7:  # most nouns name things, not thoughts
                continue
            for sense in wordnet.senses[word, name][:2]:
                meaning = " ".join(wordnet.gloss[sense][0].split())
                stem = word[: max(4, len(word) - 3)]
                if not 2 <= len(meaning.split()) <= 14 or stem in meaning:
                    continue
                others = [w for w in rng.sample(words, min(8, len(words))) if w != word]
                others = [w for w in others if w not in shares[word, name]]
                against = sorted(wordnet.opposites.get((word, name), ()))
                wrong = [*([rng.choice(against)] if against else []), *others][:3]
                if len(wrong) < 3:
                    continue
                if rng.random() < 0.6:
                    frame = rng.choice(FRAMES[name]).format(meaning) + " "
                    yield lesson("definition", frame, word, wrong, ".", 140)
                    continue
                ends = [wordnet.gloss[wordnet.senses[w, name][0]][0] for w in wrong
                        if (w, name) in wordnet.senses]  # fmt: skip
                ends = [f" {' '.join(e.split())}." for e in (meaning, *ends)]
                if len(set(ends)) == 4:
                    yield lesson("definition", f"The word “{word}” means", ends[0], ends[1:], "")


def asked(
    kind: str, passage: str, target: str, right: str, wrong: Sequence[str], rng: random.Random,
    exact: bool = True, every: bool = False,
) -> Iterator[Lesson]:  # fmt: skip
    """The frames in which the solver asks about a target (see `rwtools.items.case`)."""
    at = passage.lower().find(target.lower())
    ends = [f" {c}." for c in (right, *wrong)]
    frames = [
        lesson(kind, f"{passage}\n\nIn this text, “{target}” means", ends[0], ends[1:], "", 140)
    ]
    if exact and at >= 0 and len(right.split()) <= 3:
        frames.append(lesson(kind, passage[:at], right, wrong, passage[at + len(target) :], 140))
    yield from frames if every else [rng.choice(frames)]


def stretches(text: str) -> set[tuple[str, ...]]:
    """All runs of six words of a text, without marks and capitals."""
    words = re.findall(r"[a-z0-9]+", text.lower())
    return {tuple(words[n : n + 6]) for n in range(len(words) - 5)}


def measuring() -> set[tuple[str, ...]]:
    """All runs of six words of the items that measure or fit the solvers."""
    return {
        run
        for folder in ("items", "measure")
        for path in sorted((HERE.parents[1] / "corpus" / folder).glob("*.jsonl"))
        for line in path.read_text(encoding="utf-8").splitlines()
        for run in stretches(json.loads(line)["passage"])
    }


def written(rng: random.Random) -> Iterator[Lesson]:
    """The written items, but for those kept for the solvers and those that share six words in a row
    with a measuring item."""
    kept_apart = measuring()
    for path in sorted((HERE / "written").glob("*.jsonl")):
        kind = "written " + path.stem.split("_")[0]
        for line in path.read_text(encoding="utf-8").splitlines():
            row = json.loads(line)
            passage, (right, *wrong) = row["p"], row["c"]
            if prepare.is_kept_back(passage) or stretches(passage) & kept_apart:
                continue
            if "t" in row:
                yield from asked(kind, passage, row["t"], right, wrong, rng, every=True)
            else:
                before, after = passage.split("____")
                yield lesson(kind, before, right, wrong, after, 140)
                if kind != "written punctuation":
                    yield missing(kind, before, right, wrong, after)


def write(lessons: Sequence[Lesson], path: Path) -> None:
    """Write lessons line by line, and print how many there are of each kind."""
    print(Counter(str(one["kind"]) for one in lessons))
    with gzip.open(path, "wt", encoding="utf-8") as lines:
        for one in lessons:
            lines.write(json.dumps(one, ensure_ascii=False) + "\n")


def asked_for() -> tuple[Path, WordNet, list[str], random.Random]:
    """What the command line says, and the training prose in the order of the seed."""
    parser = argparse.ArgumentParser()
    parser.add_argument("out", type=Path)
    parser.add_argument("--wordnet", type=Path, default=Path("/usr/share/wordnet"))
    options = parser.parse_args()
    rng = random.Random(11)
    texts = prepare.training_texts()
    rng.shuffle(texts)
    return options.out, WordNet(options.wordnet), texts, rng


def main() -> None:
    out, wordnet, texts, rng = asked_for()
    some, tagged, lexicon = prepare.tagged_texts(texts)
    made = [
        *asked_again(connectives(texts, rng)),
        *asked_again(implied(rng)),
        *asked_again(words_and_marks(some, tagged, lexicon, wordnet.opposites, rng)),
        *meanings(wordnet, rng),
        *definitions(wordnet, rng),
        *written(rng),
    ]
    write(made, out)


if __name__ == "__main__":
    main()

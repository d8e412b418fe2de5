"""Make the reader's lessons: texts with a blank, the right choice for it, and three wrong ones.

    python models/reader/questions.py DATA_FOLDER/lessons.jsonl.gz --wordnet WORDNET

Sources, none of them a development set: those of the judge's lessons (`models/judge/lessons.py`;
marks are left out, and the text after the blank is longer), words against like words in all of the
training prose, and the items in `written/`, made for this network after the judge was trained.
Those of the written items that are kept back (`prepare.is_kept_back`) come as ``test ...``.
"""

from __future__ import annotations

import json
import random
import re
import sys
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent / "judge"))

import cases  # noqa: E402
import lessons as judge  # noqa: E402
import prepare  # noqa: E402

judge.SUFFIX_WORDS = 70
WHOLE = 140  # words of a written passage: all


def like_words(
    texts: Sequence[str], lexicon: cases.Lexicon, rng: random.Random, turns: int = 2
) -> Iterator[judge.Lesson]:
    """Content words of untagged prose against words of the same part of speech and frequency."""
    tags: dict[str, Counter[str]] = defaultdict(Counter)
    for (form, label), count in lexicon._seen.items():
        tags[form][label] += count
    for text in texts:
        words = [m for m in re.finditer(r"(?<![\w'’-])[a-z]{5,}(?![\w'’-])", text) if m[0] in tags]
        for match in rng.sample(words, min(turns, len(words))):
            form = match[0]
            alike = lexicon.alike(form, tags[form].most_common(1)[0][0], 0.35)
            alike = [w for w in alike if w != form and w[:5] != form[:5]]
            if len(alike) >= 3 and match.start() > 20:
                wrong = rng.sample(alike, 3)
                before, after = text[: match.start()], text[match.end() :]
                yield judge.lesson("like word", before, form, wrong, after)


def written(rng: random.Random) -> Iterator[judge.Lesson]:
    """The written items of both networks; none that shares six words in a row with an item that
    measures."""
    kept_apart = judge.measuring()
    for folder in (HERE.parent / "judge" / "written", HERE / "written"):
        for path in sorted(folder.glob("*.jsonl")):
            kind = path.stem.partition("_")[0]
            if kind == "punctuation":
                continue
            for line in path.read_text(encoding="utf-8").splitlines():
                row = json.loads(line)
                passage, (right, *wrong) = row["p"], row["c"]
                test = prepare.is_kept_back(passage)
                name = f"test {folder.parent.name} {kind}" if test else f"written {kind}"
                if judge.stretches(passage) & kept_apart:
                    continue
                if "t" in row:
                    asked = list(
                        judge.asked(name, passage, row["t"], right, wrong, rng, every=True)
                    )
                    yield from asked[:1] if test else asked
                else:
                    before, after = passage.split("____")
                    yield {"kind": name, "prefix": before, "choices": row["c"], "suffix": after}


def main() -> None:
    out, wordnet, texts, rng = judge.asked_for()
    some, tagged, lexicon = prepare.tagged_texts(texts)
    made = [
        *judge.connectives(texts, rng),
        *judge.implied(rng),
        *judge.words_and_marks(some, tagged, lexicon, wordnet.opposites, rng),
        *like_words(texts[prepare.TAGGED :], lexicon, rng),
        *judge.meanings(wordnet, rng),
        *judge.definitions(wordnet, rng),
        *written(rng),
    ]
    made = [one for one in made if one["kind"] != "punctuation"]
    judge.write(made, out)


if __name__ == "__main__":
    main()

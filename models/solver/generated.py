"""Items made from prose, for training and measuring: the author's wording and three others."""

from __future__ import annotations

import random
import re

import cases
import prepare
from data import rows

from rwtools.items.model import LETTERS, Item

_SKILL = {
    "connective": "transition",
    "punctuation": "punctuation",
    "inflection": "grammar",
    "content word": "vocabulary",
}


def items(name: str, count: int, seed: int = 5) -> list[Item]:
    """Up to ``count`` items of each skill from the paragraphs of a data file; of the training books
    only from those that the judge was not trained on."""
    rng = random.Random(seed)
    texts = [(row["book"], " ".join(row["text"].split())) for row in rows(name)]
    if name.startswith("textbook_train"):
        texts = [text for text in texts if prepare.is_kept_back(text[1])]
    texts = [t for t in rng.sample(texts, min(len(texts), count * 4)) if len(t[1]) > 250]
    tagged = cases.load_tagged(texts)
    lexicon = cases.Lexicon()
    for (_, text), words in zip(texts, tagged, strict=True):
        lexicon.add(text, words)
    lexicon.close()
    made = cases.make(texts, tagged, lexicon, count, seed)
    return [
        _item(f"{name[:14]}-{kind}-{n}", case)
        for kind, found in made.items()
        for n, case in enumerate(found)
    ]


def _item(name: str, case: cases.Case) -> Item:
    before, choices, after = case.prefix, list(case.choices), case.suffix
    if case.kind == "punctuation":  # the words beside the mark belong to the choices
        left = re.search(r"\S+$", before)
        right = re.match(r"\S+", after)
        head, tail = left[0] if left else "", right[0] if right else ""
        before, after = before[: len(before) - len(head)], after[len(tail) :]
        choices = [head + choice + tail for choice in choices]
    return Item(
        id=name,
        skill=_SKILL[case.kind],
        passage=f"{before}____{after}",
        question="Which choice fits?",
        choices=choices,
        answer=LETTERS[case.answer],
        source=case.genre,
    )

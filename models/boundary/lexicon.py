"""Count which word forms are finite verbs in edited prose: ``finite.json``.

A tagger takes a rare verb for a noun (*the larvae overwinter*), and then a whole sentence looks
like a fragment. The list lets a rule doubt the tag. Usage: ``python models/boundary/lexicon.py``.
"""

from __future__ import annotations

import json
import sys
from collections import Counter
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parents[1])]

from train import paragraphs  # noqa: E402

from rwtools.text import parse_many  # noqa: E402

FINITE = ("VBD", "VBZ", "VBP", "MD")
SOURCE = (
    "Words that the tagger reads as a finite verb in 4% of their uses or more, in 5,000 "
    "paragraphs of textbook_train (CC BY 4.0, OpenStax); written by lexicon.py."
)


def main() -> None:
    finite: Counter[str] = Counter()
    seen: Counter[str] = Counter()
    for text in parse_many(paragraphs("train", 0, 5000)):
        for token in text.tokens:
            if token.text.isalpha() and not token.text.isupper():
                seen[token.lower] += 1
                finite[token.lower] += token.tag in FINITE
    words = sorted(w for w, n in finite.items() if n and n / seen[w] >= 0.04 and len(w) > 2)
    kept = {"source": SOURCE, "words": words}
    (HERE / "finite.json").write_text(json.dumps(kept, indent=0) + "\n")
    print(len(words), "forms")


if __name__ == "__main__":
    main()

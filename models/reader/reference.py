"""Record what PyTorch says of the artifact's own weights: the fixture of tests/reader.

    python models/reader/reference.py TRAINED.npz TOKENIZER.json tests/reader/reference.json

The artifact must be the one that `pack.py` made of TRAINED.npz.
"""

from __future__ import annotations

import json
import math
import sys
from pathlib import Path

import torch
from reader import restored
from train import Tokens, there

from rwtools import artifact
from rwtools.reader.engine import Blank, Engine

BLANKS = [
    Blank("The lamp was ", ("dim", "bright", "heavy"), ": nobody could read by its light."),
    Blank(
        "Most of the wells in Orvane are shallow, and in a dry year they fail. ",
        ("However,", "For example,", "Similarly,", "As a result,"),
        " the one behind the chapel, dug to forty metres, has never run dry.",
    ),
    Blank(
        "What struck the visitors was how ",
        ("frugal", "noisy", "generous", "learned"),
        " the household was. Nothing was thrown away: string was saved, envelopes were turned, and "
        "the ends of candles were melted into new ones.",
    ),
    Blank("The letters, which Ilka Moren ", ("had kept", "keeping"), " for years, burned."),
    Blank(
        "She was too grave to laugh.\n\nIn this text, “grave” means",
        (" serious.", " a place where a body is buried.", " to carve.", " an accent over a vowel."),
    ),
]  # fmt: skip


def main(trained: str, tokenizer: str, out: str) -> None:
    net, tokens = restored(Path(trained)).eval(), Tokens(Path(tokenizer))
    model, rows = Engine(artifact.folder("reader")), []
    off: list[float] = []
    for blank in BLANKS:
        lesson = {"prefix": blank.before, "choices": blank.choices, "suffix": blank.after}
        codes = tokens.codes([lesson])
        with torch.no_grad():
            found, _ = net(*tokens.rows(codes), there(codes).shape[1])
        chances = found[0].softmax(-1).tolist()
        weighed = model.weigh(blank).chances
        off += [abs(math.exp(g) - c) for g, c in zip(weighed, chances, strict=True)]
        rows.append({**lesson, "chances": [round(c, 4) for c in chances]})
    worst = max(off)
    print("chances off by at most", round(worst, 4))
    files = artifact.describe(artifact.folder("reader"), "reader")["files"]
    fixture = {
        "note": "chances of the choices by PyTorch in 32-bit floats from the same weights; "
        "written by models/reader/reference.py",
        "weights": {n: f["sha256"] for n, f in files.items() if n.startswith("weights")},
        # Eight-bit arithmetic is the difference; it moves chances most where two are near.
        "tolerance": round(max(1.3 * worst, 0.03), 3),
        "mean_tolerance": round(max(2 * sum(off) / len(off), 0.01), 3),
        "blanks": rows,
    }
    Path(out).write_text(json.dumps(fixture, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main(*sys.argv[1:])

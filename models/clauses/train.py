"""Train the clause model on stretches made by ``stretches.py``: ``clauses.npz``.

    python models/clauses/train.py STRETCHES.jsonl ... --check DEV.jsonl [--epochs N]

Needs torch. A small convolutional network reads words, endings, tags and dependencies; words, tags
and dependencies are hidden at random, so that it does not lean on any one of them.
"""

from __future__ import annotations

import argparse
import json
import random
from collections import Counter
from pathlib import Path

import numpy as np
import torch
from torch import nn

HERE = Path(__file__).resolve().parent
LAYERS = (1, 2, 4, 8)
WIDTH = 64
ENDINGS = 512
SIZES = {"word": 40, "ending": 16, "tag": 12, "dep": 12}
MOST = 40
"""Tokens that are read; longer stretches keep their first and last twenty."""


def ending(word: str) -> int:
    """A place for a word's last three letters (kept alike in ``rwtools/items/whole.py``)."""
    value = 7
    for letter in word[-3:]:
        value = (value * 31 + ord(letter)) % ENDINGS
    return value


class Network(nn.Module):
    def __init__(self, words: int, tags: int, deps: int) -> None:
        super().__init__()
        self.word = nn.Embedding(words, SIZES["word"])
        self.ending = nn.Embedding(ENDINGS, SIZES["ending"])
        self.tag = nn.Embedding(tags, SIZES["tag"])
        self.dep = nn.Embedding(deps, SIZES["dep"])
        for table in (self.word, self.ending, self.tag, self.dep):
            nn.init.normal_(table.weight, std=0.3)
        self.inlet = nn.Linear(sum(SIZES.values()), WIDTH)
        self.layers = nn.ModuleList(
            nn.Conv1d(WIDTH, WIDTH, 3, padding=gap, dilation=gap) for gap in LAYERS
        )
        self.hidden = nn.Linear(3 * WIDTH + 1, 48)
        self.out = nn.Linear(48, 1)
        self.drop = nn.Dropout(0.15)

    def forward(self, ids, parser, mask):
        x = torch.cat(
            [t(ids[k]) for k, t in enumerate((self.word, self.ending, self.tag, self.dep))], -1
        )
        keep = mask.unsqueeze(-1)
        x = torch.relu(self.inlet(self.drop(x))) * keep
        for layer in self.layers:
            x = (x + torch.relu(layer(x.transpose(1, 2)).transpose(1, 2))) * keep
        top = x.masked_fill(~keep.bool(), -1e4).max(1).values
        mean = x.sum(1) / keep.sum(1)
        seen = torch.cat([top, mean, x[:, 0], parser.unsqueeze(-1)], -1)
        return self.out(torch.relu(self.hidden(self.drop(seen)))).squeeze(-1)


def load(paths: list[Path]) -> list[dict]:
    return [json.loads(line) for p in paths for line in p.read_text("utf-8").splitlines()]


def numbered(rows: list[dict], tables: list[dict[str, int]]) -> list[np.ndarray]:
    found = []
    for row in rows:
        words = row["words"]
        if len(words) > MOST:
            words = words[: MOST // 2] + words[-MOST // 2 :]
        found.append(
            np.array(
                [
                    [tables[0].get(w, 0) for w, _, _ in words],
                    [ending(w) for w, _, _ in words],
                    [tables[1].get(t, 0) for _, t, _ in words],
                    [tables[2].get(d, 0) for _, _, d in words],
                ]
            )
        )
    return found


def batch(ids: list[np.ndarray], rows: list[dict], chosen):
    length = max(ids[i].shape[1] for i in chosen)
    block = np.zeros((4, len(chosen), length), dtype=np.int64)
    mask = np.zeros((len(chosen), length), dtype=np.float32)
    for n, i in enumerate(chosen):
        size = ids[i].shape[1]
        block[:, n, :size] = ids[i]
        mask[n, :size] = 1
    parser = np.array([rows[i]["parser"] * 2 - 1 for i in chosen], dtype=np.float32)
    whole = np.array([rows[i]["whole"] for i in chosen], dtype=np.float32)
    return tuple(map(torch.from_numpy, (block, parser, mask, whole)))


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("stretches", type=Path, nargs="+")
    parser.add_argument("--check", type=Path, required=True)
    parser.add_argument("--epochs", type=int, default=5)
    parser.add_argument("--words", type=int, default=12_000)
    parser.add_argument("--out", type=Path, default=HERE / "clauses.npz")
    options = parser.parse_args()
    torch.manual_seed(5)
    torch.set_num_threads(1)
    rng = np.random.default_rng(5)
    rows, check = load(options.stretches), load([options.check])
    counts = Counter(w for r in rows for w, _, _ in r["words"])
    words = ["", *(w for w, n in counts.most_common(options.words) if n > 2 and "\n" not in w)]
    tags = ["", *sorted({t for r in rows for _, t, _ in r["words"]})]
    deps = ["", *sorted({d for r in rows for _, _, d in r["words"]})]
    tables = [{w: n for n, w in enumerate(names)} for names in (words, tags, deps)]
    ids, check_ids = numbered(rows, tables), numbered(check, tables)
    net = Network(len(words), len(tags), len(deps))
    steps = options.epochs * (len(rows) // 64)
    best = torch.optim.AdamW(net.parameters(), lr=2e-3, weight_decay=0.01)
    plan = torch.optim.lr_scheduler.OneCycleLR(best, 3e-3, total_steps=steps + 1)
    print(len(rows), "stretches", len(words), "words")
    order_by = np.array([i.shape[1] for i in ids])
    for epoch in range(options.epochs):
        net.train()
        order = np.argsort(order_by + rng.random(len(rows)) * 4)  # like lengths together
        batches = [order[at : at + 64] for at in range(0, len(order) - 63, 64)]
        rng.shuffle(batches)
        total = 0.0
        for chosen in batches:
            block, flag, mask, whole = batch(ids, rows, chosen)
            size = len(chosen)
            block[0][torch.rand(block[0].shape) < 0.12] = 0
            block[1][torch.rand(block[1].shape) < 0.04] = 0
            for k in (2, 3):
                block[k][torch.rand(block[k].shape) < 0.1] = 0
                block[k][torch.rand(size) < 0.15] = 0
            flag = flag * (torch.rand(size) > 0.3)
            loss = nn.functional.binary_cross_entropy_with_logits(net(block, flag, mask), whole)
            best.zero_grad()
            loss.backward()
            best.step()
            plan.step()
            total += float(loss.detach())
        net.eval()
        scores = []
        with torch.no_grad():
            for at in range(0, len(check), 256):
                chosen = range(at, min(at + 256, len(check)))
                scores.append(net(*batch(check_ids, check, chosen)[:3]).numpy())
        score = np.concatenate(scores)
        truth = np.array([r["whole"] for r in check])
        known = np.array([r["parser"] for r in check])
        print(
            f"epoch {epoch}: loss {total / len(batches):.4f}, check errors: "
            f"model {np.mean((score > 0) != truth):.4f}, parser {np.mean(known != truth):.4f}",
            flush=True,
        )
    save(net, words, tags, deps, options.out)


def save(net: Network, words: list[str], tags: list[str], deps: list[str], path: Path) -> None:
    """Weights as half floats and the name tables as bytes; no pickle."""
    arrays = {k: v.detach().numpy().astype(np.float16) for k, v in net.state_dict().items()}
    for name, names in (("words", words), ("tags", tags), ("deps", deps)):
        arrays[f"names.{name}"] = np.frombuffer("\n".join(names).encode(), dtype=np.uint8)
    np.savez_compressed(path, **arrays)
    print(path, path.stat().st_size, "bytes")


if __name__ == "__main__":
    random.seed(5)
    main()

"""Lessons as batches: the right choice must be the likeliest one of its place (`train.py`)."""

from __future__ import annotations

import gzip
import json
from pathlib import Path

import numpy as np
import torch
from network import Network
from tokenizers import Tokenizer
from torch import Tensor
from torch.nn import functional

CHOICES, HORIZON = 4, 24
SIZES = {96: 64, 160: 38, 224: 27}
"""Length of a batch's rows in tokens, and how many lessons go into it."""

SHARES = {
    "connective": 0.09, "implied": 0.02, "conjunction": 0.02, "punctuation": 0.09,
    "inflection": 0.05, "content word": 0.03, "opposite": 0.05, "meaning": 0.07,
    "definition": 0.04, "written transition": 0.05, "written blank": 0.08,
    "written target": 0.08, "written punctuation": 0.03, "written grammar": 0.04,
    "missing connective": 0.04, "missing implied": 0.01, "missing content word": 0.02,
    "missing opposite": 0.04, "missing written transition": 0.06,
    "missing written blank": 0.11, "missing written grammar": 0.03,
}  # fmt: skip


class Lessons:
    """Draws batches by the shares of the kinds; a rank draws its own."""

    def __init__(self, path: Path, tokenizer: Tokenizer, start: int, seed: int) -> None:
        self.start = start
        self.rng = np.random.default_rng(seed)
        self.rows: dict[str, list[tuple[list[list[int]], list[int]]]] = {}
        texts, kinds, counts = [], [], []
        with gzip.open(path, "rt", encoding="utf-8") as lines:
            for one in map(json.loads, lines):
                texts += [one["prefix"] + c + one["suffix"] for c in one["choices"]]
                kinds.append(one["kind"])
                counts.append(len(one["choices"]))
        ids = iter(e.ids for e in tokenizer.encode_batch(texts, add_special_tokens=False))
        for kind, count in zip(kinds, counts, strict=True):
            self._add(kind, [next(ids) for _ in range(count)])
        self.kinds = [k for k in SHARES if k in self.rows]
        total = sum(SHARES[k] for k in self.kinds)
        self.chances = [SHARES[k] / total for k in self.kinds]
        self.waiting: dict[int, list[tuple[list[list[int]], list[int]]]] = {s: [] for s in SIZES}

    def _add(self, kind: str, tokens: list[list[int]]) -> None:
        """Rows that share their beginning, each up to the horizon after its choice."""
        shortest = min(map(len, tokens))
        alike = after = 0
        while alike < shortest and len({t[alike] for t in tokens}) == 1:
            alike += 1
        while after < shortest - alike and len({t[-1 - after] for t in tokens}) == 1:
            after += 1
        drop = max(after - HORIZON, 0)
        longest = max(map(len, tokens)) - drop
        cut = max(longest + 1 - max(SIZES), 0)
        if cut > alike:
            return
        rows = [[self.start, *t[cut : len(t) - drop]] for t in tokens]
        firsts = [1 + alike - cut] * len(rows)
        if min(map(len, rows)) > firsts[0]:
            self.rows.setdefault(kind, []).append((rows, firsts))

    def batch(self) -> tuple[Tensor, Tensor, Tensor]:
        """Tokens (rows, T), which of them count (rows, T), and which rows are real choices."""
        while True:
            kind = self.kinds[int(self.rng.choice(len(self.kinds), p=self.chances))]
            one = self.rows[kind][int(self.rng.integers(len(self.rows[kind])))]
            longest = max(map(len, one[0]))
            size = next(s for s in SIZES if longest <= s)
            self.waiting[size].append(one)
            if len(self.waiting[size]) == SIZES[size]:
                many, self.waiting[size] = self.waiting[size], []
                return self._tensors(many, size)

    def _tensors(
        self, many: list[tuple[list[list[int]], list[int]]], size: int
    ) -> tuple[Tensor, Tensor, Tensor]:
        tokens = np.full((len(many) * CHOICES, size), self.start, np.int64)
        counts = np.zeros((len(many) * CHOICES, size), bool)
        real = np.zeros((len(many), CHOICES), bool)
        for n, (rows, firsts) in enumerate(many):
            for k, (row, first) in enumerate(zip(rows, firsts, strict=True)):
                tokens[n * CHOICES + k, : len(row)] = row
                counts[n * CHOICES + k, first : len(row)] = True
                real[n, k] = True
        return torch.tensor(tokens), torch.tensor(counts), torch.tensor(real)


def contrast(net: Network, tokens: Tensor, counts: Tensor, real: Tensor) -> tuple[Tensor, Tensor]:
    """Cross-entropy of the right (first) choice, nats per lesson, and the share of right picks."""
    hidden, embed = net.hidden(tokens, torch.bfloat16)
    chosen = counts[:, 1:]
    states, wanted = hidden[:, :-1][chosen], tokens[:, 1:][chosen]
    owner = torch.arange(len(tokens), device=tokens.device)[:, None].expand_as(chosen)[chosen]
    logits = functional.linear(states, embed).float()
    logprob = -functional.cross_entropy(logits, wanted, reduction="none")
    sums = torch.zeros(len(tokens), device=tokens.device).index_add(0, owner, logprob)
    scores = sums.view(-1, CHOICES).masked_fill(~real, -1e4)
    loss = functional.cross_entropy(
        scores, torch.zeros(len(scores), dtype=torch.long, device=tokens.device)
    )
    return loss, (scores.argmax(-1) == 0).float().mean()

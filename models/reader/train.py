"""Train the reader: which of the choices belongs in the blank?

    python models/reader/train.py FOLDER TEACHER.npz --seconds 300            # a teacher
    python models/reader/train.py FOLDER OUT.npz --teachers A.npz B.npz --megabytes 24

FOLDER holds ``lessons.jsonl.gz`` (`questions.py`), the encoder's weights ``mpnet.npz``
(`../connectives/encoder.py`) and its ``mpnet-tokenizer.json``. With ``--teachers`` the student
starts from the first of them, on the coarse grid of the artifact, and learns from the mean of their
chances. Under ``torchrun --nproc-per-node N`` it learns on several GPUs at once.
"""

from __future__ import annotations

import argparse
import gzip
import json
import os
import random
import time
from collections import defaultdict
from pathlib import Path
from typing import Any

import grid
import numpy as np
import torch
from reader import END, MASK, PAD, START, UNKNOWN, Reader, pack, restored, started
from tokenizers import Tokenizer
from torch import Tensor, distributed, nn
from torch.nn import functional

DEVICE = "cuda" if torch.cuda.is_available() else "cpu"
LONGEST = 224
BLOTS = 0.08  # share of the passage's tokens that training hides
STRANGERS = 0.25  # share of lessons whose wrong choices partly come from other lessons
BEGAN = time.time()
WORLD, RANK = int(os.environ.get("WORLD_SIZE", "1")), int(os.environ.get("RANK", "0"))
Lesson = dict[str, Any]
Codes = tuple[list[int], list[int], list[list[int]]]


def say(*words: Any) -> None:
    if RANK == 0:
        print(f"[{time.time() - BEGAN:.0f}s]", *words, flush=True)


class Tokens:
    """Lessons as rows of tokens, places and owners."""

    def __init__(self, path: Path, seed: int = 0) -> None:
        self.tokenizer = Tokenizer.from_file(str(path))
        self.tokenizer.no_padding()
        self.tokenizer.no_truncation()
        self.rng = np.random.default_rng(seed)

    def codes(self, lessons: list[Lesson]) -> list[Codes]:
        """For each lesson the tokens before and after the blank and those of each choice."""
        texts = [t for one in lessons for t in (one["prefix"], one["suffix"], *one["choices"])]
        ids = iter(self.tokenizer.encode_batch(texts, add_special_tokens=False))
        made = []
        for one in lessons:
            before, after = next(ids).ids, next(ids).ids
            choices = [next(ids).ids[:24] or [END] for _ in one["choices"]]
            after = after[: max(60, LONGEST - len(before))]
            made.append((before[-(LONGEST - len(after)) :], after, choices))
        return made

    def rows(self, codes: list[Codes], blots: float = 0.0) -> tuple[Tensor, Tensor, Tensor]:
        rows = []
        for before, after, choices in codes:
            tokens = [START, *before, MASK, *after, END]
            places = list(range(len(tokens)))
            owners = [0] * len(tokens)
            blank = 1 + len(before)
            for n, choice in enumerate(choices, 1):
                tokens += choice
                places += range(blank, blank + len(choice))
                owners += [n] * len(choice)
            rows.append((tokens, places, owners))
        longest = -(-max(len(r[0]) for r in rows) // 8) * 8
        shaped = np.zeros((3, len(rows), longest), np.int64)
        shaped[0] = PAD
        shaped[2] = -1
        for n, row in enumerate(rows):
            for k in range(3):
                shaped[k, n, : len(row[k])] = row[k]
        if blots:
            hide = (self.rng.random(shaped[0].shape) < blots) & (shaped[2] == 0)
            hide &= (shaped[0] != MASK) & (shaped[1] > 0)
            shaped[0][hide] = UNKNOWN
        t = torch.tensor(shaped).to(DEVICE)
        return t[0], t[1], t[2]


def there(codes: list[Codes]) -> Tensor:
    """Which choices each lesson has (batch, most choices)."""
    most = max(len(c[2]) for c in codes)
    return torch.tensor([[n < len(c[2]) for n in range(most)] for c in codes], device=DEVICE)


def scores(net: Reader, rows: Any, real: Tensor) -> tuple[Tensor, list[Tensor]]:
    with torch.autocast(DEVICE, torch.bfloat16):
        found, states = net(*rows, real.shape[1])
    return found.float().masked_fill(~real, -1e4), states


@torch.no_grad()
def accuracy(net: Reader, tokens: Tokens, sets: dict[str, list[Codes]]) -> dict[str, str]:
    net.eval()
    made = {}
    for name, codes in sorted(sets.items()):
        right = 0
        for at in range(0, len(codes), 64):
            part = codes[at : at + 64]
            found, _ = scores(net, tokens.rows(part), there(part))
            right += int((found.argmax(-1) == 0).sum())
        made[name] = f"{100 * right / len(codes):.1f} ({len(codes)})"
    net.train()
    return made


def stream(piles: dict[str, list[Codes]], rng: random.Random) -> Any:
    """Lessons without end; now and then one or two wrong choices are other lessons' right ones, so
    that knowing which words tend to be right does not help."""
    rows = [(kind, c) for kind, many in piles.items() for c in many]
    while True:
        rng.shuffle(rows)
        for kind, (before, after, choices) in rows:
            if rng.random() < STRANGERS and len(choices) == 4:
                others = [rng.choice(piles[kind])[2][0] for _ in range(rng.choice((1, 2)))]
                others = [o for o in others if o not in choices]
                choices = [choices[0], *others, *rng.sample(choices[1:], 3 - len(others))]
            yield before, after, choices


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--teachers", type=Path, nargs="*", default=[])
    parser.add_argument("--start", type=Path, help="an earlier network for a teacher to start from")
    parser.add_argument("--megabytes", type=float, default=24.0)
    parser.add_argument("--seconds", type=float, default=300)
    parser.add_argument("--rate", type=float, default=4e-5)
    parser.add_argument("--batch", type=int, default=64)
    parser.add_argument("--most", type=float, default=0.5, help="written share at the end")
    parser.add_argument("--near", type=float, default=1.0, help="weight of the states' distance")
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    if WORLD > 1:
        if DEVICE == "cuda":
            torch.cuda.set_device(RANK)
        distributed.init_process_group("nccl" if DEVICE == "cuda" else "gloo")
    torch.manual_seed(args.seed + 1000 * RANK)
    rng = random.Random(args.seed + 1000 * RANK)
    if args.teachers:
        teachers = [restored(p).to(DEVICE).requires_grad_(False) for p in args.teachers]
        net = restored(args.teachers[0]).to(DEVICE)
    else:
        teachers = []
        net = restored(args.start) if args.start else started(args.folder / "mpnet.npz")
        net = net.to(DEVICE)
    tokens = Tokens(args.folder / "mpnet-tokenizer.json", args.seed)
    by_kind: dict[str, list[Lesson]] = defaultdict(list)
    with gzip.open(args.folder / "lessons.jsonl.gz", "rt", encoding="utf-8") as lines:
        for line in lines:
            one = json.loads(line)
            by_kind[one["kind"]].append(one)
    codes = {kind: tokens.codes(many) for kind, many in by_kind.items()}
    tests = {k: v for k, v in codes.items() if k.startswith("test ")}
    written = {k: v for k, v in codes.items() if k.startswith("written ")}
    others = {k: v for k, v in codes.items() if k not in tests and k not in written}
    say({k: len(v) for k, v in codes.items()})
    own, prose = stream(written, rng), stream(others, rng)
    if teachers:
        say("teachers", [accuracy(t, tokens, tests) for t in teachers])
        for t in teachers:
            t.eval()
        sample = [[next(own) for _ in range(args.batch)] for _ in range(24)]
        steps = grid.chosen(
            net, args.megabytes,
            lambda n: sum(_loss(scores(net, tokens.rows(s), there(s))[0]) for s in sample[:n]) / n,
        )  # fmt: skip
        if WORLD > 1:
            for name in sorted(steps):
                distributed.broadcast(steps[name], 0)
        grid.put_on(net, steps)
        say(f"on the grid: {grid.megabytes(net, steps):.1f} MB", accuracy(net, tokens, tests))
    decay = 0.0 if teachers else 0.01
    optimiser = torch.optim.AdamW(net.parameters(), lr=args.rate, weight_decay=decay, fused=True)
    net.train()
    began, step, shown = time.time(), 0, 0.0
    right, seen = torch.zeros((), device=DEVICE), 0.0
    pool: list[list[Codes]] = []
    while (part := _largest((time.time() - began) / args.seconds)) < 1:
        rate = args.rate * min(1.0, (step + 1) / 100) * max(1 - part, 0.01)
        for group in optimiser.param_groups:
            group["lr"] = rate
        if not pool:  # rows of like length go together
            share = 0.1 + (args.most - 0.1) * part
            fresh = [
                next(own) if rng.random() < share else next(prose) for _ in range(16 * args.batch)
            ]
            fresh.sort(key=lambda c: len(c[0]) + len(c[1]) + sum(map(len, c[2])))
            pool = [fresh[n : n + args.batch] for n in range(0, len(fresh), args.batch)]
            rng.shuffle(pool)
        some = pool.pop()
        rows, real = tokens.rows(some, BLOTS), there(some)
        found, states = scores(net, rows, real)
        loss = _loss(found)
        if teachers:
            with torch.no_grad():
                told = [scores(t, rows, real) for t in teachers]
                wanted = torch.stack([t[0].softmax(-1) for t in told]).mean(0)
            loss = 0.5 * loss + functional.kl_div(
                found.log_softmax(-1), wanted, reduction="batchmean"
            )
            inside = rows[2] >= 0
            for n in range(1, len(states), 2):
                theirs = told[0][1][n][inside].float()
                mine = states[n][inside].float()
                loss = loss + args.near / 6 * (
                    functional.mse_loss(mine, theirs) / theirs.var().clamp_min(1e-6)
                )
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        if WORLD > 1:
            _share_gradients(net)
        torch.nn.utils.clip_grad_norm_(net.parameters(), 1.0)
        optimiser.step()
        step += 1
        right = 0.98 * right + 0.02 * (found.argmax(-1) == 0).float().mean()
        seen = 0.98 * seen + 0.02
        if time.time() - shown > 30:
            shown = time.time()
            say(f"step {step} loss {loss.item():.3f} right {right.item() / seen:.3f}")
    say(f"end: {step} steps")
    made = accuracy(net, tokens, tests)
    say(made)
    if RANK:
        return
    if teachers:
        grid.save(net, steps, args.out, {"accuracy": made, "steps": step})
    else:
        state = {n: v.detach().float().cpu().numpy() for n, v in net.state_dict().items()}
        pack(state, args.out)


def _largest(value: float) -> float:
    """The largest of the processes' values, so that all of them stop at the same step."""
    if WORLD == 1:
        return value
    shared = torch.tensor(value, device=DEVICE)
    distributed.all_reduce(shared, distributed.ReduceOp.MAX)
    return float(shared)


def _share_gradients(net: nn.Module) -> None:
    """Every process goes on with the mean of all gradients."""
    own = [p.grad for p in net.parameters() if p.grad is not None]
    flat = torch.cat([g.flatten() for g in own])
    distributed.all_reduce(flat)
    flat /= WORLD
    for grad, part in zip(own, flat.split([g.numel() for g in own]), strict=True):
        grad.copy_(part.view_as(grad))


def _loss(found: Tensor) -> Tensor:
    wanted = torch.zeros(len(found), dtype=torch.long, device=DEVICE)
    real = found > -1e3
    smooth = -(found.log_softmax(-1) * real).sum(-1) / real.sum(-1)
    return 0.95 * functional.cross_entropy(found, wanted) + 0.05 * smooth.mean()


if __name__ == "__main__":
    main()

"""Train the reader: which of the choices belongs in the blank?

    python models/reader/train.py FOLDER TEACHER.npz --seconds 300            # in 32 bits
    python models/reader/train.py FOLDER OUT.npz --teachers A.npz B.npz --megabytes 36

FOLDER holds ``lessons.jsonl.gz`` (`questions.py`), the encoder's weights ``mpnet.npz``
(`../connectives/encoder.py`) and its ``mpnet-tokenizer.json``. With ``--teachers`` the network
starts from the mean of their weights, which must be of one line, and learns on the coarse grid of
the artifact. ``--told`` has labels of the large language model for written lessons and ``--extra``
lessons that come with such labels (`teacher.py`): of those the network learns the chances of four
to eight choices. Under ``torchrun --nproc-per-node N`` it learns on several GPUs at once.

Needs torch and tokenizers.
"""

from __future__ import annotations

import argparse
import gc
import gzip
import json
import math
import multiprocessing
import os
import random
import time
from collections import defaultdict
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, NamedTuple, NoReturn

import grid
import numpy as np
import torch
from reader import END, MASK, PAD, START, UNKNOWN, Reader, pack, restored, started
from tokenizers import Tokenizer
from torch import Tensor, distributed, nn
from torch.nn import functional

torch.backends.cuda.enable_cudnn_sdp(False)  # with a mask it can give nan in the backward pass
DEVICE = "cuda" if torch.cuda.is_available() else "cpu"
LONGEST = 224
BLOTS = 0.08  # share of the passage's tokens that training hides
STRANGERS = 0.25  # share of lessons whose wrong choices partly come from other lessons
INSIST = 0.3  # weight of the right choice beside a label
DOUBTED = 0.1  # chance by the label below which the right choice is not insisted on
HELPERS = 5  # processes that prepare batches
AHEAD = 48  # batches that may wait
BEGAN = time.time()
WORLD, RANK = int(os.environ.get("WORLD_SIZE", "1")), int(os.environ.get("RANK", "0"))
Lesson = dict[str, Any]
Piles = dict[str, list["Codes"]]


class Codes(NamedTuple):
    """A lesson's tokens before and after the blank and those of each choice; for each choice the
    label's score, a logarithm, where there is one; and whether the first choice is the right one
    for sure."""

    before: list[int]
    after: list[int]
    choices: list[list[int]]
    told: list[float] | None = None
    keyed: bool = True

    @property
    def size(self) -> int:
        return len(self.before) + len(self.after) + sum(map(len, self.choices))


class Batch(NamedTuple):
    """Lessons with what their losses are made of."""

    rows: np.ndarray
    """Tokens, places and owners (3, lessons, length)."""
    weights: np.ndarray
    """Of the right choice and of the label (2, lessons)."""
    aims: np.ndarray
    """The label's chances (lessons, choices)."""
    real: np.ndarray
    """Which choices each lesson has (lessons, choices)."""


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
        """The tokens of each lesson; what is under ``more`` follows the lesson's own choices."""
        texts = [
            text
            for one in lessons
            for text in (one["prefix"], one["suffix"], *one["choices"], *one.get("more", ()))
        ]
        ids = iter(self.tokenizer.encode_batch(texts, add_special_tokens=False))
        made = []
        for one in lessons:
            before, after = next(ids).ids, next(ids).ids
            count = len(one["choices"]) + len(one.get("more", ()))
            choices = [next(ids).ids[:24] or [END] for _ in range(count)]
            after = after[: max(60, LONGEST - len(before))]
            before = before[-(LONGEST - len(after)) :]
            made.append(Codes(before, after, choices, one.get("told")))
        return made

    def rows(self, codes: list[Codes]) -> tuple[Tensor, Tensor, Tensor]:
        """Tokens, places and owners (lessons, length)."""
        tokens, places, owners = torch.tensor(self.sheet(codes)).to(DEVICE)
        return tokens, places, owners

    def sheet(self, codes: list[Codes], blots: float = 0.0) -> np.ndarray:
        """Tokens, places and owners (3, lessons, length); ``blots``: the share to be hidden."""
        rows = []
        for before, after, choices, *_ in codes:
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
        return shaped


def there(codes: list[Codes]) -> Tensor:
    """Which choices each lesson has (batch, most choices)."""
    most = max(len(c.choices) for c in codes)
    return torch.tensor([[n < len(c.choices) for n in range(most)] for c in codes], device=DEVICE)


def scores(net: Reader, rows: Any, real: Tensor) -> tuple[Tensor, list[Tensor]]:
    with torch.autocast(DEVICE, torch.bfloat16, enabled=DEVICE == "cuda"):
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


def stream(piles: Piles, rng: random.Random) -> Iterator[Codes]:
    """Lessons without end; now and then one or two wrong choices are other lessons' right ones, so
    that knowing which words tend to be right does not help. Of a lesson with a label come four to
    eight choices."""
    rows = [(kind, one) for kind, many in piles.items() for one in many]
    while True:
        rng.shuffle(rows)
        for kind, one in rows:
            if one.told:
                which = _drawn(one.told, kind.startswith("extra cloze"), rng)
                # an extra lesson's own choice may be wrong, or one of several that are right
                yield one._replace(
                    choices=[one.choices[n] for n in which],
                    told=[one.told[n] for n in which],
                    keyed=which[0] == 0 and not kind.startswith("extra "),
                )
            elif rng.random() < STRANGERS and len(one.choices) == 4:
                others = [rng.choice(piles[kind]).choices[0] for _ in range(rng.choice((1, 2)))]
                others = [o for o in others if o not in one.choices]
                kept = rng.sample(one.choices[1:], 3 - len(others))
                yield one._replace(choices=[one.choices[0], *others, *kept])
            else:
                yield one


def _drawn(told: list[float], alone: bool, rng: random.Random) -> list[int]:
    """Which choices of a labelled lesson to show: half the time its own four (but not where it has
    a right one ``alone``), else any, those that the label likes more often."""
    count = len(told)
    if rng.random() < 0.5 and not alone:
        return list(range(min(4, count)))
    best = max(told)
    weights = [math.exp(max(value - best, -20) / 3) + 0.02 for value in told]
    which = [0] if rng.random() < 0.7 else []
    many = min(rng.choice((4, 4, 6, 8)), count)
    while len(which) < many:
        n = rng.choices(range(count), weights)[0]
        if n not in which:
            which.append(n)
    return sorted(which)


def batch(tokens: Tokens, codes: list[Codes]) -> Batch:
    """What a step needs of some lessons."""
    most = max(len(one.choices) for one in codes)
    weights = np.zeros((2, len(codes)), np.float32)
    weights[0] = 1.0
    aims = np.zeros((len(codes), most), np.float32)
    real = np.zeros((len(codes), most), bool)
    for n, one in enumerate(codes):
        real[n, : len(one.choices)] = True
        if one.told:
            chances = np.exp(np.array(one.told) - max(one.told))
            chances /= chances.sum()
            aims[n, : len(chances)] = chances
            weights[:, n] = INSIST if one.keyed and chances[0] > DOUBTED else 0.0, 1.0
    return Batch(tokens.sheet(codes, BLOTS).astype(np.int32), weights, aims, real)


def fill(
    ready: Any, now: Any, tokens: Tokens, piles: Sequence[Piles], args: Any, seed: int
) -> NoReturn:
    """Put batches into the queue ``ready`` for ever. ``now``: the part of the time that is over;
    ``piles``: the written, the other and the extra lessons."""
    rng = random.Random(seed)
    tokens.rng = np.random.default_rng(seed)
    written, prose = stream(piles[0], rng), stream(piles[1], rng)
    extra = stream(piles[2], rng) if piles[2] else written
    while True:
        share = 0.4 + (args.most - 0.4) * now.value
        fresh = [
            next(prose)
            if rng.random() > share
            else next(written if rng.random() < args.own else extra)
            for _ in range(16 * args.batch)
        ]
        fresh.sort(key=lambda one: one.size)  # rows of like length go together
        pool = [fresh[n : n + args.batch] for n in range(0, len(fresh), args.batch)]
        rng.shuffle(pool)
        for some in pool:
            ready.put(batch(tokens, some))


def rows_of(path: Path) -> Iterator[Lesson]:
    with gzip.open(path, "rt", encoding="utf-8") as lines:
        for line in lines:
            yield json.loads(line)


def read(args: Any) -> dict[str, list[Lesson]]:
    """The lessons by their kind, with the labels that there are."""
    told = {one["n"]: one for path in args.told for one in rows_of(path)}
    by_kind: dict[str, list[Lesson]] = defaultdict(list)
    for n, one in enumerate(rows_of(args.folder / "lessons.jsonl.gz")):
        if n in told and one["kind"].startswith("written "):
            one["more"], one["told"] = told[n]["more"], told[n]["told"]
        by_kind[one["kind"]].append(one)
    for path in args.extra:
        for one in rows_of(path):
            by_kind[f"extra {one['kind']}"].append(one)
    return by_kind


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--teachers", type=Path, nargs="*", default=[])
    parser.add_argument("--start", type=Path, help="an earlier network for a teacher to start from")
    parser.add_argument("--megabytes", type=float, default=24.0)
    parser.add_argument("--seconds", type=float, default=300)
    parser.add_argument("--until", type=float, help="Unix time to end at, in place of --seconds")
    parser.add_argument("--rate", type=float, default=4e-5)
    parser.add_argument("--batch", type=int, default=64)
    parser.add_argument("--most", type=float, default=0.5, help="written or extra share at the end")
    parser.add_argument(
        "--own", type=float, default=0.45, help="of that the written lessons' share"
    )
    parser.add_argument("--near", type=float, default=1.0, help="weight of the states' distance")
    parser.add_argument("--told", type=Path, nargs="*", default=[], help="labels of lessons")
    parser.add_argument("--extra", type=Path, nargs="*", default=[], help="lessons with labels")
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
        many = [t.state_dict() for t in teachers]
        net.load_state_dict({n: torch.stack([m[n] for m in many]).mean(0) for n in many[0]})
    else:
        teachers = []
        net = restored(args.start) if args.start else started(args.folder / "mpnet.npz")
        net = net.to(DEVICE)
    tokens = Tokens(args.folder / "mpnet-tokenizer.json", args.seed)
    codes = {kind: tokens.codes(many) for kind, many in read(args).items()}
    tests = {k: v for k, v in codes.items() if k.startswith("test ")}
    written = {k: v for k, v in codes.items() if k.startswith("written ")}
    extra = {k: v for k, v in codes.items() if k.startswith("extra ")}
    prose = {k: v for k, v in codes.items() if not k.startswith(("test ", "written ", "extra "))}
    say({k: len(v) for k, v in codes.items()})
    if teachers:
        say("teachers", [accuracy(t, tokens, tests) for t in teachers])
        for t in teachers:
            t.eval()
        keyed = (one for one in stream(written, rng) if one.keyed)
        sample = [[next(keyed) for _ in range(64)] for _ in range(24)]
        steps = grid.chosen(
            net, args.megabytes,
            lambda n: sum(
                _losses(scores(net, tokens.rows(s), there(s))[0]).mean() for s in sample[:n]
            ) / n,
        )  # fmt: skip
        if WORLD > 1:
            for name in sorted(steps):
                distributed.broadcast(steps[name], 0)
        grid.put_on(net, steps)
        say(f"on the grid: {grid.megabytes(net, steps):.1f} MB", accuracy(net, tokens, tests))
    decay = 0.0 if teachers else 0.01
    optimiser = torch.optim.AdamW(net.parameters(), lr=args.rate, weight_decay=decay, fused=True)
    net.distance.weight.requires_grad_(False)  # a bias without gradient: much faster attention
    net.train()
    step, shown = 0, 0.0
    right, seen = torch.zeros((), device=DEVICE), 0.0
    fork = multiprocessing.get_context("fork")
    now, ready = fork.Value("d", 0.0), fork.Queue(AHEAD)
    gc.freeze()  # so that the helpers do not copy the lessons by looking through them for garbage
    for n in range(HELPERS):
        given = ready, now, tokens, (written, prose, extra), args, 1000 * RANK + n
        fork.Process(target=fill, args=given, daemon=True).start()
    began = time.time()
    seconds = max(args.until - began, 30) if args.until else args.seconds
    while (part := _largest((time.time() - began) / seconds)) < 1:
        now.value = part
        rate = args.rate * min(1.0, (step + 1) / 100) * max(1 - part, 0.01)
        for group in optimiser.param_groups:
            group["lr"] = rate
        rows, (hard, soft), aims, real = map(_sent, ready.get())
        rows = rows.long()
        found, states = scores(net, rows, real)
        loss = (hard * _losses(found)).mean()
        unlike = functional.kl_div(found.log_softmax(-1), aims, reduction="none").sum(-1)
        loss = loss + (soft * unlike).mean()
        if teachers and args.near:
            with torch.no_grad():
                _, wanted = scores(teachers[0], rows, real)
            inside = rows[2] >= 0
            for n in range(1, len(states), 2):
                theirs = wanted[n][inside].float()
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


def _sent(array: np.ndarray) -> Tensor:
    """An array on the device, without waiting for the GPU."""
    made = torch.from_numpy(array)
    return made.pin_memory().to(DEVICE, non_blocking=True) if DEVICE == "cuda" else made


def _losses(found: Tensor) -> Tensor:
    """Cross-entropy of the first choice, a little smoothed, for each lesson."""
    logs = found.log_softmax(-1)
    real = found > -1e3
    smooth = -(logs * real).sum(-1) / real.sum(-1)
    return -0.95 * logs[:, 0] + 0.05 * smooth


if __name__ == "__main__":
    main()

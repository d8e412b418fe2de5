"""Fine-tune an encoder to name relations, many times over, and label with the means of the runs.

    python models/connectives/teach.py FOLDER OUT RESULT --seconds 200 --workers 6

FOLDER holds ``rows.jsonl.gz`` and ``meta.json`` (`material.py`), ``enc.npz`` (`encoder.py`) and
the encoder's ``tokenizer.json``. Each run leaves out one fold of the treebank's documents and
labels it, the development part and the textbooks' connectives. Runs go on as long as time allows,
several side by side on each card; RESULT gets ``labels.npz``. Needs PyTorch and tokenizers.
"""

from __future__ import annotations

import argparse
import gzip
import json
import os
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import torch
from encoder import PAD, WIDTH, encoder, unpack
from tokenizers import Tokenizer
from torch import Tensor, nn

FOLDS = 5
LEFT, RIGHT = 80, 56
DEVICE = "cuda" if torch.cuda.is_available() else "cpu"
# (rate, epochs, weight of the rows with a connective put in, seed)
RUNS = [
    (4e-5, 4, 0.0, 1), (4e-5, 4, 0.5, 2), (6e-5, 5, 0.5, 3), (3e-5, 6, 0.0, 4), (5e-5, 5, 0.3, 5),
    (4e-5, 5, 0.5, 6), (4e-5, 5, 0.0, 7), (5e-5, 4, 0.5, 8),
]  # fmt: skip


class Rows:
    """Token rows with the places of their connectives, allowed and right senses."""

    def __init__(self, folder: Path, limit: int = 0) -> None:
        meta = json.loads((folder / "meta.json").read_text("utf-8"))
        self.senses = meta["senses"]
        n = len(self.senses)
        tokenizer = Tokenizer.from_file(str(folder / "tokenizer.json"))
        tokenizer.no_padding()
        tokenizer.no_truncation()
        with gzip.open(folder / "rows.jsonl.gz", "rt", encoding="utf-8") as lines:
            rows = [json.loads(line) for line in lines]
        if limit:
            kinds: dict[str, int] = {}
            kept = []
            for row in rows:
                kinds[row["set"]] = kinds.get(row["set"], 0) + 1
                if kinds[row["set"]] <= limit:
                    kept.append(row)
            rows = kept
            for i, row in enumerate(rows):
                row["fold"] = i % FOLDS if row["fold"] >= 0 else -1
        codes = tokenizer.encode_batch([r["text"] for r in rows], add_special_tokens=False)
        self.tokens, self.places = [], []
        self.allowed = torch.zeros(len(rows), n, dtype=torch.bool)
        self.target = torch.zeros(len(rows), n)
        for number, (row, code) in enumerate(zip(rows, codes, strict=True)):
            inside = [
                i for i, (a, b) in enumerate(code.offsets)
                if any(a < d and c < b for c, d in row["spans"])
            ]  # fmt: skip
            first = inside[0] if inside else 0
            begin = max(0, first - LEFT)
            end = min(len(code.ids), first + RIGHT)
            self.tokens.append([0, *code.ids[begin:end], 2])
            self.places.append([i - begin + 1 for i in inside if i < end] or [0])
            allowed = meta["allowed"].get(row["form"])
            self.allowed[number, allowed if allowed else slice(None)] = True
            for sense in row["gold"]:
                self.target[number, sense] = 1 / len(row["gold"])
                self.allowed[number, sense] |= row["set"] in ("train", "implicit")
        self.sets = np.array([r["set"] for r in rows])
        self.folds = np.array([r["fold"] for r in rows])
        self.sizes = np.array([len(t) for t in self.tokens])

    def batch(self, which: np.ndarray) -> tuple[Tensor, Tensor]:
        """Padded tokens, and the weight of each place in the mean over the connective."""
        longest = -(-int(self.sizes[which].max()) // 8) * 8
        tokens = np.full((len(which), longest), PAD, np.int64)
        place = np.zeros((len(which), longest), np.float32)
        for i, row in enumerate(which):
            tokens[i, : self.sizes[row]] = self.tokens[row]
            place[i, self.places[row]] = 1 / len(self.places[row])
        return (
            torch.from_numpy(tokens).to(DEVICE, non_blocking=True),
            torch.from_numpy(place).to(DEVICE, non_blocking=True),
        )


class Teacher(nn.Module):
    """The encoder, and a layer over the connective's states and the row's first."""

    def __init__(self, state: dict[str, np.ndarray], senses: int) -> None:
        super().__init__()
        self.encoder = encoder(state)
        self.encoder.distance.requires_grad_(False)
        self.hidden = nn.Linear(2 * WIDTH, WIDTH)
        self.head = nn.Linear(WIDTH, senses)
        self.drop = nn.Dropout(0.1)

    def forward(self, tokens: Tensor, place: Tensor) -> Tensor:
        states = self.encoder(tokens)
        own = torch.einsum("btw,bt->bw", states.float(), place)
        both = self.drop(torch.cat([own, states[:, 0].float()], -1))
        return self.head(self.drop(torch.tanh(self.hidden(both)))).float()


def autocast() -> torch.autocast:
    return torch.autocast(DEVICE, torch.bfloat16, enabled=DEVICE == "cuda")


def batches(sizes: np.ndarray, which: np.ndarray, count: int, rng: np.random.Generator) -> list:
    """Batches of rows of like length, in random order."""
    which = rng.permutation(which)
    made = []
    for at in range(0, len(which), 16 * count):
        part = which[at : at + 16 * count]
        part = part[np.argsort(sizes[part], kind="stable")]
        made += [part[i : i + count] for i in range(0, len(part), count)]
    return [made[i] for i in rng.permutation(len(made))]


def fine_tune(rows: Rows, state: dict, run: tuple, fold: int) -> Teacher:
    rate, epochs, weight, seed = run
    torch.manual_seed(100 * seed + fold)
    rng = np.random.default_rng(100 * seed + fold)
    net = Teacher(state, len(rows.senses)).to(DEVICE)
    kinds = ["train"] + (["implicit"] if weight else [])
    which = np.flatnonzero(np.isin(rows.sets, kinds) & (rows.folds != fold))
    plan = [b for _ in range(epochs) for b in batches(rows.sizes, which, 32, rng)]
    weights = torch.tensor(np.where(rows.sets == "implicit", weight, 1.0), dtype=torch.float32)
    slow, quick = [], []
    for name, p in net.named_parameters():
        if p.requires_grad:
            (slow if name.startswith("encoder") else quick).append(p)
    optimiser = torch.optim.AdamW(
        [{"params": slow, "top": rate}, {"params": quick, "top": 5 * rate}],
        weight_decay=0.01, fused=DEVICE == "cuda",
    )  # fmt: skip
    net.train()
    for step, part in enumerate(plan):
        share = min(1.0, (step + 1) / (0.1 * len(plan))) * (1 - step / len(plan))
        for group in optimiser.param_groups:
            group["lr"] = group["top"] * share
        tokens, place = rows.batch(part)
        with autocast():
            logits = net(tokens, place)
        own = torch.from_numpy(part)
        allowed, target, w = (t[own].to(DEVICE) for t in (rows.allowed, rows.target, weights))
        logs = logits.masked_fill(~allowed, -1e4).log_softmax(-1)
        loss = -((logs * target).sum(-1) * w).mean()
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        nn.utils.clip_grad_norm_(net.parameters(), 1.0)
        optimiser.step()
    return net.eval()


@torch.no_grad()
def label(rows: Rows, net: Teacher, which: np.ndarray) -> np.ndarray:
    """Probabilities of the senses that the lexicon allows."""
    found = np.zeros((len(which), len(rows.senses)), np.float32)
    order = np.argsort(rows.sizes[which], kind="stable")
    waiting = []
    for at in range(0, len(order), 512):
        part = order[at : at + 512]
        with autocast():
            logits = net(*rows.batch(which[part]))
        allowed = rows.allowed[torch.from_numpy(which[part])].to(DEVICE)
        waiting.append((part, logits.masked_fill(~allowed, -1e4).softmax(-1)))
    for part, p in waiting:
        found[part] = p.cpu().numpy()
    return found


def right(rows: Rows, which: np.ndarray, p: np.ndarray) -> float:
    """Share of rows whose likeliest sense is right."""
    target = rows.target.numpy()[which]
    return float((target[np.arange(len(which)), p.argmax(1)] > 0).mean())


def work(args: argparse.Namespace) -> None:
    """One worker: every so many-th job, as long as time allows."""
    torch.set_num_threads(2 if DEVICE == "cuda" else 1)
    torch.set_float32_matmul_precision("high")
    rows = Rows(args.folder, args.limit)
    state = unpack(args.folder / "enc.npz")
    jobs = [(n, run, fold) for n, run in enumerate(RUNS) for fold in range(FOLDS)]
    dev, book = (np.flatnonzero(rows.sets == s) for s in ("dev", "book"))
    books = np.zeros((FOLDS, len(book), len(rows.senses)), np.float32)
    counts = np.zeros(FOLDS)
    kept: dict[str, np.ndarray] = {}
    print(
        f"[{time.time() - args.began:.0f}s] worker {args.worker} ready",
        len(rows.tokens),
        flush=True,
    )
    took = 0.0
    for n, run, fold in jobs[args.worker :: args.workers]:
        begin = time.time()
        if begin - args.began + 1.1 * took > args.seconds:
            break
        net = fine_tune(rows, state, run, fold)
        if DEVICE == "cuda":
            torch.cuda.synchronize()
        middle = time.time()
        held = np.flatnonzero((rows.sets == "train") & (rows.folds == fold))
        mine, theirs = label(rows, net, held), label(rows, net, dev)
        kept[f"train-{n}-{fold}"] = mine.astype(np.float16)
        kept[f"dev-{n}-{fold}"] = theirs.astype(np.float16)
        if time.time() - args.began < args.seconds:
            books[fold] += label(rows, net, book)
            counts[fold] += 1
        took = time.time() - begin
        print(
            f"[{time.time() - args.began:.0f}s] run {n} {run} fold {fold}: held out"
            f" {right(rows, held, mine):.4f} dev {right(rows, dev, theirs):.4f}"
            f" ({middle - begin:.1f} + {took - middle + begin:.1f} s)", flush=True,
        )  # fmt: skip
        np.savez(args.out / f"part-{args.worker}.npz", counts=counts, **kept)
    np.save(args.out / f"books-{args.worker}.npy", books)


def gather(args: argparse.Namespace) -> None:
    """One file from all workers': means over runs, in 1/255."""
    kept: dict[str, np.ndarray] = {}
    counts = np.zeros(FOLDS)
    books = None
    for worker in range(args.workers):
        with np.load(args.out / f"part-{worker}.npz") as data:
            counts += data["counts"]
            kept |= {k: data[k] for k in data.files if k != "counts"}
        more = np.load(args.out / f"books-{worker}.npy")
        books = more if books is None else books + more
        (args.out / f"books-{worker}.npy").unlink()
    books /= np.maximum(counts, 1)[:, None, None]
    np.savez_compressed(
        args.result / "labels.npz",
        books=np.rint(255 * books).astype(np.uint8),
        counts=counts,
        **kept,
    )
    print("gathered", counts, books.shape, flush=True)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("result", type=Path)
    parser.add_argument("--seconds", type=float, default=200)
    parser.add_argument("--workers", type=int, default=3)
    parser.add_argument("--worker", type=int, default=-1)
    parser.add_argument("--began", type=float, default=time.time())
    parser.add_argument("--limit", type=int, default=0, help="rows of each kind, for a rehearsal")
    args = parser.parse_args()
    args.out.mkdir(parents=True, exist_ok=True)
    if args.worker >= 0:
        work(args)
        return
    again = [sys.executable, *sys.argv, "--began", str(args.began)]
    cards = max(1, torch.cuda.device_count())
    ran = [
        subprocess.Popen(
            [*again, "--worker", str(w)], env={**os.environ, "CUDA_VISIBLE_DEVICES": str(w % cards)}
        )
        for w in range(args.workers)
    ]
    for process in ran:
        process.wait()
    gather(args)


if __name__ == "__main__":
    main()

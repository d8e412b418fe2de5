"""Write new items with a language model that has read the written ones.

    python models/reader/author.py DECODER.npz SEEDS.json MADE.jsonl.gz --seconds 90

The model (`language_model.py`) first learns the written items (`material.py`) as two lines:

    word: garrulous; terse, prompt, kind
    The porter was so [garrulous] that nobody asked him the way twice.

Then it is given a word, the right choice, and writes the three wrong ones and the passage. MADE has
a lesson for each of its texts that has the form of an item and shares no six words in a row with an
item that measures.

Needs torch, gguf and tokenizers.
"""

from __future__ import annotations

import argparse
import gzip
import json
import random
import re
import time
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import torch
from language_model import DEVICE, Decoder, Vocabulary, opened
from torch import Tensor
from torch.nn import functional

RATE = 1e-5
ROWS = 192  # items in a batch of the training
PROMPTS = 2_048  # words that are asked for at once
LONGEST = 120  # tokens of an answer
HEAT = 0.95  # below 1 the model keeps nearer to what it finds likely
LIKELIEST = 60  # tokens that may come next
BEGAN = time.time()
Lesson = dict[str, Any]


def say(*words: Any) -> None:
    print(f"[{time.time() - BEGAN:.0f}s]", *words, flush=True)


def prompt(kind: str, right: str) -> str:
    """What the model is given; it ends where the wrong choices begin."""
    return f"{'link' if kind == 'transition' else 'word'}: {right};"


def pieces(kind: str, before: str, after: str, choices: Sequence[str]) -> list[str]:
    """An item as the model reads it. The pieces are tokenised by themselves, so that no token joins
    a mark with a newline or a bracket."""
    right, *wrong = choices
    gap = " [" if before.endswith(" ") else "["
    head = [prompt(kind, right), " " + ", ".join(wrong), "\n"]
    return [*head, before.removesuffix(" "), gap, right, "]", after, "\n"]


def teach(net: Decoder, rows: list[list[int]], seconds: float, rng: random.Random) -> None:
    """Let the model learn to foretell each token of the rows."""
    optimiser = torch.optim.AdamW(
        net.parameters(), lr=RATE, weight_decay=0.01, betas=(0.9, 0.98), fused=True
    )
    pool: list[list[list[int]]] = []
    began, step, shown = time.time(), 0, 0.0
    while (part := (time.time() - began) / seconds) < 1:
        if not pool:  # rows of like length go together
            some = rng.sample(rows, min(len(rows), 16 * ROWS))
            some.sort(key=len)
            pool = [some[n : n + ROWS] for n in range(0, len(some), ROWS)]
            rng.shuffle(pool)
        some = pool.pop()
        sheet = np.full((len(some), max(map(len, some))), -100, np.int64)
        for n, row in enumerate(some):
            sheet[n, : len(row)] = row
        for group in optimiser.param_groups:
            group["lr"] = RATE * min(1.0, (step + 1) / 30) * max(1 - part, 0.05)
        loss = _surprise(net, torch.from_numpy(sheet).to(DEVICE))
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(net.parameters(), 1.0)
        optimiser.step()
        step += 1
        if time.time() - shown > 15:
            shown = time.time()
            say(f"step {step} loss {loss.item():.3f}")
    optimiser.zero_grad(set_to_none=True)


def _surprise(net: Decoder, tokens: Tensor) -> Tensor:
    """Mean cross-entropy in nats of each token after the first; -100 is padding."""
    length = tokens.shape[1]
    places = torch.arange(length, device=DEVICE)[None]
    seen = torch.ones(length, length, dtype=torch.bool, device=DEVICE).tril()[None, None]
    with torch.autocast(DEVICE, torch.bfloat16, enabled=DEVICE == "cuda"):
        states = net.norm(net(tokens.clamp_min(0), places, seen))[:, :-1]
        real = tokens[:, 1:] >= 0
        logits = functional.linear(states[real], net.words.weight)
    return functional.cross_entropy(logits.float(), tokens[:, 1:][real])


@torch.no_grad()
def answers(net: Decoder, prompts: list[list[int]], newline: int, seed: int) -> list[list[int]]:
    """Go on from each prompt to the second newline, at most `LONGEST` tokens."""
    torch.manual_seed(seed)
    count, start = len(prompts), max(map(len, prompts))
    total = start + LONGEST
    heads, shared = net.layers[0].heads, net.layers[0].shared
    dtype = net.words.weight.dtype
    now = torch.tensor([[0] * (start - len(p)) + p for p in prompts], device=DEVICE)
    pad = torch.tensor([start - len(p) for p in prompts], device=DEVICE)[:, None]
    keys = [
        torch.zeros(count, shared, total, net.size, device=DEVICE, dtype=dtype) for _ in net.layers
    ]
    values = [torch.zeros_like(k) for k in keys]
    every = torch.arange(total, device=DEVICE)
    out = torch.full((count, LONGEST), newline, device=DEVICE)
    breaks = torch.zeros(count, dtype=torch.long, device=DEVICE)
    at = 0
    for step in range(LONGEST):
        length = now.shape[1]
        end = at + length
        where = every[at:end]
        x = net.words(now)
        cos, sin = net.turns((where[None] - pad).clamp_min(0))
        # batch, shared heads, heads of a group, length, places so far
        seen = (every[:end] >= pad)[:, None, None, None] & (every[:end] <= where[:, None])
        for layer, ks, vs in zip(net.layers, keys, values, strict=True):
            q, ks[:, :, at:end], vs[:, :, at:end] = layer.looks(x, cos, sin)
            q = q.reshape(count, shared, heads // shared, length, net.size)
            match = (q @ ks[:, :, None, :end].transpose(-1, -2)) * net.size**-0.5
            share = match.float().masked_fill(~seen, -1e4).softmax(-1).to(dtype)
            mixed = share @ vs[:, :, None, :end]
            x = layer.ended(x, mixed.reshape(count, heads, length, net.size))
        last = net.norm(x[:, -1]).to(dtype)
        found, which = functional.linear(last, net.words.weight).float().topk(LIKELIEST, -1)
        chosen = torch.multinomial((found / HEAT).softmax(-1), 1)
        now = which.gather(1, chosen).masked_fill(breaks[:, None] >= 2, newline)
        out[:, step] = now[:, 0]
        breaks += now[:, 0] == newline
        at = end
        if step % 8 == 7 and bool((breaks >= 2).all()):
            break
    return out.tolist()


def item(kind: str, right: str, text: str, apart: set[str]) -> Lesson | str:
    """The lesson that the model's text gives, or what is wrong with it."""
    choices, _, rest = text.partition("\n")
    passage = rest.split("\n")[0].strip()
    wrong = [choice.strip() for choice in choices.split(",")]
    if len(wrong) != 3 or not all(wrong) or len({c.lower() for c in (right, *wrong)}) < 4:
        return "choices"
    filled = re.findall(r"\[([^\]]*)\]", passage)
    if len(filled) != 1 or filled[0].lower() != right.lower() or passage.count("[") != 1:
        return "blank"
    before, after = re.split(r"\[[^\]]*\]", passage)
    if not 10 <= len((before + after).split()) <= 110 or passage[-1] not in ".?!”\"'":
        return "length"
    words = re.findall(r"[a-z0-9]+", f"{before} ____ {after}".lower())
    if any(" ".join(words[n : n + 6]) in apart for n in range(len(words) - 5)):
        return "apart"
    if filled[0][:1].isupper():
        wrong = [w[:1].upper() + w[1:] for w in wrong]
    choices = [filled[0], *wrong]
    return {"kind": f"made {kind}", "prefix": before, "suffix": after, "choices": choices}


def asked(seeds: dict[str, Any], rng: random.Random) -> tuple[str, str]:
    """A kind of item and the right choice for it."""
    chance = rng.random()
    if chance < 0.2:
        return "transition", rng.choices(list(seeds["links"]), list(seeds["links"].values()))[0]
    return "blank", rng.choice(seeds["more" if chance < 0.35 else "words"])


def write(
    net: Decoder, words: Vocabulary, seeds: dict[str, Any], args: Any, rng: random.Random
) -> None:
    """Write lessons until the time is up."""
    apart, counts = set(seeds["apart"]), Counter[str]()
    began, turn = time.time(), 0
    with gzip.open(args.out, "wt", encoding="utf-8") as lines:
        while time.time() - began < args.write_seconds:
            turn += 1
            wanted = [asked(seeds, rng) for _ in range(PROMPTS)]
            prompts = words.ids([prompt(*one) for one in wanted])
            texts = answers(net, prompts, words.newline, 1_000 + turn)
            for (kind, right), ids in zip(wanted, texts, strict=True):
                made = item(kind, right, words.text(ids), apart)
                if isinstance(made, str):
                    counts[f"not: {made}"] += 1
                else:
                    counts["made"] += 1
                    lines.write(json.dumps(made, ensure_ascii=False) + "\n")
            say(dict(counts))


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("decoder", type=Path)
    parser.add_argument("seeds", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--seconds", type=float, default=90, help="of learning")
    parser.add_argument("--write-seconds", type=float, default=250)
    args = parser.parse_args()
    rng = random.Random(1)
    seeds = json.loads(args.seeds.read_text(encoding="utf-8"))
    net, words = opened(args.decoder)
    parts = [pieces(*one) for one in seeds["items"]]
    ids = iter(words.ids([piece for some in parts for piece in some]))
    rows = [[token for _ in some for token in next(ids)] for some in parts]
    say(len(rows), "items")
    teach(net, rows, args.seconds, rng)
    if DEVICE == "cuda":
        net.to(torch.bfloat16)
    write(net, words, seeds, args, rng)


if __name__ == "__main__":
    main()

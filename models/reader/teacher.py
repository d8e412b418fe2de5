"""A large language model as teacher: how well does each choice go with the text around it?

    python models/reader/teacher.py teach DECODER.npz LESSONS.jsonl.gz TAUGHT.pt --seconds 145
    python models/reader/teacher.py label DECODER.npz TAUGHT.pt ROWS.jsonl.gz OUT.jsonl.gz

Each choice stands in the text with what follows it. Its score is a weighted sum of the
log-probabilities of its own tokens and of those after it, and of what the states at the end of
both say. ``teach``: first the weights alone are fitted, then the network (`language_model.py`), on
the written lessons. ``label``: OUT has each row with ``told``, the scores of its ``choices`` and of
those in ``more`` (`others.py`). With ``--half N`` the network is taught on one half of the lessons
and labels only the other, of which it knows no right choice.

Needs torch, gguf and tokenizers.
"""

from __future__ import annotations

import argparse
import gzip
import json
import random
import time
import zlib
from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import torch
from language_model import DEVICE, Decoder, Vocabulary, empty, opened
from torch import Tensor, nn
from torch.nn import functional

BEFORE, AFTER = 150, 40  # tokens that are read on each side of a choice
RATE = 1e-5
BATCH = 12_000  # tokens of a batch of the training
SCORED = 60_000  # tokens of a batch when only scores are wanted
LOGITS = 16_384  # tokens whose logits are held at once
BEGAN = time.time()
Lesson = dict[str, Any]


def say(*words: Any) -> None:
    print(f"[{time.time() - BEGAN:.0f}s]", *words, flush=True)


class Codes(NamedTuple):
    """A lesson's tokens: those before the blank, and for each choice the number of its own tokens
    and these with those that follow."""

    prefix: list[int]
    branches: list[tuple[int, list[int]]]

    @property
    def size(self) -> int:
        return len(self.prefix) + sum(len(tokens) for _, tokens in self.branches)


class Rows(NamedTuple):
    """Lessons as arrays (lessons, length). ``owners``: 0 the text before, n + 1 the branch of
    choice n, -1 padding; ``own``: 1 where a token belongs to a choice itself."""

    tokens: Tensor
    places: Tensor
    owners: Tensor
    own: Tensor


class Teacher(nn.Module):
    """A decoder that scores choices."""

    def __init__(self, body: Decoder) -> None:
        super().__init__()
        self.body = body
        # of the own tokens' log-probabilities, the following ones', and the number of own tokens
        self.weights = nn.Parameter(torch.tensor([0.5, 1.0, 0.0]))
        self.ends = nn.Linear(2 * body.words.weight.shape[1], 1, bias=False)
        nn.init.zeros_(self.ends.weight)

    def forward(self, rows: Rows, choices: int) -> tuple[Tensor, Tensor]:
        """Scores (lessons, choices) and the sums that are weighed (3, lessons, choices)."""
        tokens, places, owners, own = rows
        query, key = owners[:, :, None], owners[:, None, :]
        before = places[:, None, :] <= places[:, :, None]
        itself = torch.eye(tokens.shape[1], device=tokens.device, dtype=torch.bool)
        seen = ((key == 0) | (key == query)) & before & (key >= 0) | itself
        x = self.body(tokens, places, seen[:, None])
        sums = self._sums(x, rows, choices)
        which = torch.arange(1, choices + 1, device=x.device)[None, :, None]
        branch = owners[:, None, :] == which
        ends = []
        for part in (branch & (own[:, None, :] > 0), branch):
            last = (places[:, None, :] * part).argmax(-1)
            state = x.gather(1, last[:, :, None].expand(-1, -1, x.shape[-1]))
            ends.append(functional.rms_norm(self.body.norm(state), x.shape[-1:]))
        found = (self.weights[:, None, None] * sums).sum(0)
        return found + self.ends(torch.cat(ends, -1))[..., 0].float(), sums

    def _sums(self, x: Tensor, rows: Rows, choices: int) -> Tensor:
        tokens, _, owners, own = rows
        # a branch's first token is foretold by the last token before the blank
        last = ((owners == 0).sum(-1) - 1)[:, None]
        first = functional.pad(owners[:, 1:] != owners[:, :-1], (1, 0), value=False)
        teller = torch.arange(tokens.shape[1], device=x.device)[None].expand_as(tokens) - 1
        teller = torch.where(first, last, teller.clamp_min(0))
        row, place = (owners > 0).nonzero(as_tuple=True)
        states = self.body.norm(x[row, teller[row, place]])
        wanted = tokens[row, place]
        parts = []
        for at in range(0, len(row), LOGITS):
            logits = functional.linear(states[at : at + LOGITS], self.body.words.weight).float()
            right = logits.gather(-1, wanted[at : at + LOGITS, None])[:, 0]
            parts.append(right - logits.logsumexp(-1))
        chances = torch.cat(parts)
        mine = own[row, place]
        cell = row * choices + owners[row, place] - 1
        sums = torch.zeros(3, len(tokens) * choices, device=x.device)
        sums[0].index_add_(0, cell, chances * mine)
        sums[1].index_add_(0, cell, chances * (1 - mine))
        sums[2].index_add_(0, cell, mine.float())
        return sums.view(3, len(tokens), choices)


def coded(words: Vocabulary, lessons: Sequence[Lesson]) -> list[Codes]:
    """The tokens of each lesson; a choice and what follows it are tokenised together."""
    made = []
    for start in range(0, len(lessons), 4_000):
        part, texts = lessons[start : start + 4_000], []
        for one in part:
            before = one["prefix"]
            space = " " if before.endswith(" ") else ""  # belongs to the choice's first token
            texts.append(before.removesuffix(" "))
            for choice in one["choices"]:
                whole = (space + choice + one["suffix"]).split(" ")
                texts += [space + choice, " ".join(whole[:60])]
        ids = iter(words.ids(texts))
        for one in part:
            prefix, branches = [words.newline, *next(ids)[-BEFORE:]], []
            for _ in one["choices"]:
                alone, both = next(ids), next(ids)
                same = 0
                while same < min(len(alone), len(both)) and alone[same] == both[same]:
                    same += 1
                same = max(same, 1)
                branches.append((same, both[: same + AFTER]))
            made.append(Codes(prefix, branches))
    return made


def rows_of(codes: Sequence[Codes]) -> Rows:
    longest = -(-max(one.size for one in codes) // 8) * 8
    sheet = np.zeros((4, len(codes), longest), np.int64)
    sheet[2] = -1
    for n, (prefix, branches) in enumerate(codes):
        at = len(prefix)
        sheet[:3, n, :at] = prefix, range(at), [0] * at
        for owner, (own, tokens) in enumerate(branches, 1):
            end = at + len(tokens)
            places = range(len(prefix), len(prefix) + len(tokens))
            sheet[:3, n, at:end] = tokens, places, [owner] * len(tokens)
            sheet[3, n, at : at + own] = 1
            at = end
    return Rows(*torch.tensor(sheet).to(DEVICE))


def scores(net: Teacher, codes: Sequence[Codes]) -> tuple[Tensor, Tensor, Tensor]:
    """Scores (lessons, choices), the sums (3, lessons, choices), and which choices there are."""
    most = max(len(one.branches) for one in codes)
    real = torch.tensor([[n < len(one.branches) for n in range(most)] for one in codes])
    real = real.to(DEVICE)
    with torch.autocast(DEVICE, torch.bfloat16, enabled=DEVICE == "cuda"):
        found, sums = net(rows_of(codes), most)
    return found.float().masked_fill(~real, -1e4), sums, real


def batches(codes: Sequence[Codes], most: int) -> list[list[int]]:
    """Numbers of lessons of like length, at most ``most`` tokens a batch."""
    made: list[list[int]] = []
    some: list[int] = []
    for n in sorted(range(len(codes)), key=lambda n: codes[n].size):
        if some and codes[n].size * (len(some) + 1) > most:
            made.append(some)
            some = []
        some.append(n)
    return [*made, some]


@torch.no_grad()
def score_all(net: Teacher, codes: Sequence[Codes], most: int = SCORED) -> list[list[float]]:
    """The scores of each lesson's choices."""
    out: list[list[float]] = [[] for _ in codes]
    for some in batches(codes, most):
        found, _, _ = scores(net, [codes[n] for n in some])
        for n, row in zip(some, found.tolist(), strict=True):
            out[n] = row[: len(codes[n].branches)]
    return out


def accuracy(net: Teacher, tests: dict[str, list[Codes]]) -> dict[str, str]:
    made = {}
    for name, codes in sorted(tests.items()):
        right = sum(one[0] == max(one) for one in score_all(net, codes))
        made[name] = f"{100 * right / len(codes):.1f} ({len(codes)})"
    return made


def _loss(found: Tensor, reduction: str = "mean") -> Tensor:
    wanted = torch.zeros(len(found), dtype=torch.long, device=DEVICE)
    return functional.cross_entropy(found, wanted, reduction=reduction)


def fit_weights(net: Teacher, codes: Sequence[Codes]) -> None:
    """The three weights that go best with the network as it is."""
    kept = []
    with torch.no_grad():
        for some in batches(codes, SCORED):
            _, sums, real = scores(net, [codes[n] for n in some])
            kept.append((sums, real))
    weights = net.weights.detach().clone().requires_grad_(True)
    optimiser = torch.optim.Adam([weights], 0.02)
    for _ in range(300):
        loss = torch.zeros((), device=DEVICE)
        for sums, real in kept:
            found = (weights[:, None, None] * sums).sum(0).masked_fill(~real, -1e4)
            loss = loss + _loss(found, "sum") / len(codes)
        optimiser.zero_grad()
        loss.backward()
        optimiser.step()
    net.weights.data = weights.detach()


def train(net: Teacher, codes: Sequence[Codes], seconds: float, rng: random.Random) -> None:
    """Teach the network to choose each lesson's first choice."""
    groups = [
        {"params": list(net.body.parameters()), "times": 1.0},
        {"params": [net.weights], "times": 100.0},
        {"params": [net.ends.weight], "times": 10.0},
    ]
    optimiser = torch.optim.AdamW(groups, lr=RATE, weight_decay=0.01, betas=(0.9, 0.98), fused=True)
    pool: list[list[Codes]] = []
    began, step, done, shown = time.time(), 0, 0, 0.0
    right, seen = 0.0, 0.0
    while (part := (time.time() - began) / seconds) < 1:
        if not pool:
            chosen = rng.sample(codes, min(4_000, len(codes)))
            pool = [[chosen[n] for n in some] for some in batches(chosen, BATCH)]
            rng.shuffle(pool)
        some = pool.pop()
        rate = RATE * min(1.0, (step + 1) / 50) * max(1 - part, 0.02)
        for group in optimiser.param_groups:
            group["lr"] = group["times"] * rate
        found, _, real = scores(net, some)
        smooth = -(found.log_softmax(-1) * real).sum(-1) / real.sum(-1)
        loss = 0.95 * _loss(found) + 0.05 * smooth.mean()
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(net.parameters(), 1.0)
        optimiser.step()
        step += 1
        done += len(some)
        right = 0.97 * right + 0.03 * (found.argmax(-1) == 0).float().mean().item()
        seen = 0.97 * seen + 0.03
        if time.time() - shown > 20:
            shown = time.time()
            say(f"step {step} rows {done} loss {loss.item():.3f} right {right / seen:.3f}")


def half_of(one: Lesson) -> int:
    """Items with the same opening are in the same half."""
    return zlib.crc32(" ".join(one["prefix"].split()[:4]).encode()) % 2


def teach(args: argparse.Namespace) -> None:
    rng = random.Random(1)
    body, words = opened(args.decoder)
    net = Teacher(body).to(DEVICE)
    written, tests = [], defaultdict(list)
    with gzip.open(args.lessons, "rt", encoding="utf-8") as lines:
        for line in lines:
            one = json.loads(line)
            if one["kind"].startswith("test "):
                tests[one["kind"]].append(one)
            elif one["kind"].startswith("written ") and args.half in (None, half_of(one)):
                written.append(one)
    codes = coded(words, written)
    test_codes = {kind: coded(words, many) for kind, many in tests.items()}
    say(len(codes), "lessons")
    fit_weights(net, rng.sample(codes, min(3_000, len(codes))))
    say("weights", net.weights.tolist(), accuracy(net, test_codes))
    train(net, codes, args.seconds, rng)
    say("taught", net.weights.tolist(), accuracy(net, test_codes))
    torch.save({n: v.to(torch.bfloat16) for n, v in net.state_dict().items()}, args.taught)


def label(args: argparse.Namespace) -> None:
    body, words = empty(args.decoder)
    net = Teacher(body).to(DEVICE)
    net.load_state_dict(torch.load(args.taught, map_location=DEVICE))
    if DEVICE == "cuda":
        net.body.to(torch.bfloat16)
    with gzip.open(args.rows, "rt", encoding="utf-8") as lines:
        todo = [json.loads(line) for line in lines]
    if args.half is not None:
        todo = [one for one in todo if half_of(one) != args.half]
    began, count, right = time.time(), 0, 0
    with gzip.open(args.out, "wt", encoding="utf-8") as out:
        for at in range(0, len(todo), 4_000):
            if time.time() - began > args.seconds:
                break
            part = todo[at : at + 4_000]
            whole = [{**one, "choices": one["choices"] + one["more"]} for one in part]
            told = score_all(net, coded(words, whole), 2 * SCORED)
            for one, values in zip(part, told, strict=True):
                right += values[0] == max(values[: len(one["choices"])])
                one["told"] = [round(value, 2) for value in values]
                out.write(json.dumps(one, ensure_ascii=False) + "\n")
            count += len(part)
            say(f"labelled {count} of {len(todo)}, right {right / count:.3f}")


def main() -> None:
    parser = argparse.ArgumentParser()
    commands = parser.add_subparsers(required=True)
    one = commands.add_parser("teach")
    one.add_argument("decoder", type=Path)
    one.add_argument("lessons", type=Path)
    one.add_argument("taught", type=Path)
    one.add_argument("--seconds", type=float, default=145)
    one.add_argument("--half", type=int, choices=(0, 1), help="learn from this half only")
    one.set_defaults(does=teach)
    one = commands.add_parser("label")
    one.add_argument("decoder", type=Path)
    one.add_argument("taught", type=Path)
    one.add_argument("rows", type=Path)
    one.add_argument("out", type=Path)
    one.add_argument("--seconds", type=float, default=float("inf"), help="stop after these")
    one.add_argument("--half", type=int, choices=(0, 1), help="label the other half only")
    one.set_defaults(does=label)
    args = parser.parse_args()
    args.does(args)


if __name__ == "__main__":
    main()

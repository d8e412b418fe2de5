"""Distil the teacher into the judge, with the artifact's four-bit grid in the loop.

Steps (each a function below): `write` lets the teacher write texts in many registers; `choose`
drops the layers whose loss changes the teacher's predictions least; `distil` trains the student on
the teacher's full next-token distributions over prose, changed prose and the teacher's own texts;
`finish` writes the artifact. One GPU, or several through `torchrun`.

    python models/judge/train.py TEACHER_FOLDER DATA_FOLDER OUT --layers 30 --minutes 9
"""

from __future__ import annotations

import argparse
import json
import math
import os
import random
import sys
import time
from pathlib import Path
from typing import Any

import export
import network
import numpy as np
import sensitivity
import torch
import torch.distributed as dist
from contrast import Lessons, contrast
from network import Network
from tokenizers import Tokenizer
from torch import Tensor
from torch.nn import functional

ROW = 256
START = 0
STOP = 2  # the token that ends a turn
RANK, WORLD = int(os.environ.get("RANK", "0")), int(os.environ.get("WORLD_SIZE", "1"))
DEVICE = f"cuda:{os.environ.get('LOCAL_RANK', '0')}" if torch.cuda.is_available() else "cpu"
BF16 = torch.bfloat16
BEGAN = time.time()

REGISTERS = """a short news report|a scene of a short story|a personal letter|a biography of an
invented person|an interview with questions and answers|an encyclopedia article|a history textbook
paragraph|a biology textbook paragraph|a physics textbook paragraph|an essay with a clear claim|a
travel guide entry|a diary entry|a review of a book|a speech to a town meeting|a memoir|a magazine
article|a summary of a scientific study|a description of an art work|a paragraph about how something
is made|a folk tale|a dialogue between two friends|a report on an experiment and its results|an
argument for one side and then the other|a paragraph about a problem and its solution|a comparison
of two things|an obituary of an invented person|an economics textbook paragraph|a museum label|a
nature article|a chapter opening of a novel|a court report|a radio talk|a note to a colleague|an
explanation for children|a paragraph on a poet and her work|an archaeology article|a psychology
article|a business case|a music review|a set of instructions""".replace("\n", " ").split("|")
MANNERS = [
    "", "", "", " Use formal language.", " Use simple words.", " Use long sentences.",
    " Use semicolons and colons where they fit.", " Use linking words such as 'however'.",
    " Give dates and numbers.", " Show cause and effect.", " Use rare and exact words.",
    " Write in the past tense.", " Let people speak.", " Contrast two views.",
]  # fmt: skip


def say(*words: Any) -> None:
    print(f"[{time.time() - BEGAN:.0f}s]", *words, flush=True)


def load_teacher(folder: Path) -> Network:
    """The teacher from its GGUF file, under the artifact's names."""
    from gguf import GGUFReader, quants

    (file,) = folder.glob("*.gguf")
    config = network.shape()
    names = {
        "token_embd": "model.embed_tokens", "output_norm": "model.norm",
        "attn_norm": "input_layernorm", "ffn_norm": "post_attention_layernorm",
        "attn_q": "self_attn.q_proj", "attn_k": "self_attn.k_proj", "attn_v": "self_attn.v_proj",
        "attn_output": "self_attn.o_proj", "ffn_gate": "mlp.gate_proj", "ffn_up": "mlp.up_proj",
        "ffn_down": "mlp.down_proj",
    }  # fmt: skip
    state = {}
    for tensor in GGUFReader(file).tensors:
        parts = tensor.name.removesuffix(".weight").split(".")
        value = quants.dequantize(tensor.data, tensor.tensor_type).astype(np.float32)
        if parts[-1] in ("attn_q", "attn_k"):  # the file interleaves the halves of each head
            size = config["head_size"]
            value = value.reshape(-1, size // 2, 2, value.shape[-1]).swapaxes(1, 2)
            value = value.reshape(-1, value.shape[-1])
        prefix = f"model.layers.{parts[1]}." if parts[0] == "blk" else ""
        state[f"{prefix}{names[parts[-1]]}.weight"] = value
    return Network(config, *export.fused(state, config["layers"], config["head_size"]))


def taken_up(folder: Path) -> Network:
    """A finished artifact as a student that can learn on: the columns' factors of the embedding,
    which `finish` moved into the last gain, go back to where they came from."""
    from reference import plain_weights

    network = plain_weights(folder)
    config, matrices, gains = network.without([])
    undo = network.undo.numpy()
    matrices["embed"] = matrices["embed"] * undo
    gains["gain.final"] = gains["gain.final"] / undo
    return Network(config, matrices, gains)


def requests(tokenizer: Tokenizer, plain: np.ndarray, count: int, seed: int) -> list[list[int]]:
    """Prompts: two thirds ask for a register and a topic, a third are openings to go on from."""
    rng = random.Random(seed)
    made = []
    for _ in range(count):
        at = rng.randrange(len(plain) - 40)
        piece = tokenizer.decode(plain[at : at + 24].tolist()).split()
        if rng.random() < 2 / 3:
            words = [w.strip(".,;:()“”") for w in piece if len(w) > 5] or ["the sea"]
            topic = " and ".join(rng.sample(words, min(len(words), rng.choice((1, 1, 2)))))
            ask = f"Write {rng.choice(REGISTERS)} about {topic}.{rng.choice(MANNERS)}"
            chat = f"<|im_start|>user\n{ask}<|im_end|>\n<|im_start|>assistant\n"
            made.append(tokenizer.encode(chat, add_special_tokens=False).ids)
        else:
            opening = " ".join(piece[1 : 1 + rng.randint(1, 5)])
            made.append([START, *tokenizer.encode(opening, add_special_tokens=False).ids])
    return made


def write(teacher: Network, tokenizer: Tokenizer, plain: np.ndarray, args: Any) -> np.ndarray:
    """Texts by the teacher, as one run of tokens with the start token between texts."""
    until, turn, run, texts = time.time() + args.write_seconds, 0, [], 0
    seed = 1_000 * (10 * args.seed + RANK)
    torch.manual_seed(seed)
    while time.time() < until:
        prompts = requests(tokenizer, plain, args.prompts, seed + turn)
        heat = (0.9, 0.65, 0.8)[turn % 3]
        for prompt, text in zip(
            prompts, teacher.write_texts(prompts, 200, STOP, heat, BF16), strict=False
        ):
            if len(text) >= 24:
                own = text if prompt[0] != START else [*prompt[1:], *text]
                run += [START, *own]
                texts += 1
        turn += 1
        if turn == 1:
            say("sample:", repr(tokenizer.decode(run[:160])))
    say("teacher wrote", texts, "texts,", len(run), "tokens")
    return np.array(run, np.int32)


def run_of(path: Path) -> np.ndarray:
    """A prepared file as one run of tokens with the start token between texts."""
    data = np.load(path)
    texts = np.split(data["tokens"].astype(np.int32), np.cumsum(data["lengths"])[:-1])
    random.Random(3).shuffle(texts)
    return np.concatenate([np.concatenate([[START], t]) for t in texts]).astype(np.int32)


def rows_of(run: np.ndarray, shift: int) -> np.ndarray:
    """Cut a run into rows, from another place each time round."""
    run = run[shift:]
    return run[: len(run) // ROW * ROW].reshape(-1, ROW)


class Agreement(torch.autograd.Function):
    """Mean Kullback-Leibler divergence of the student's predictions from the teacher's.

    Goes over the tokens in pieces and makes the gradients on the way, so that the 49,152-wide
    tables never exist all at once.
    """

    PIECE = 8_192

    @staticmethod
    def forward(ctx, student, embed, wanted, wanted_embed):
        total = torch.zeros((), device=student.device)
        hidden_grad = torch.empty_like(student)
        embed_grad = torch.zeros(embed.shape, device=embed.device, dtype=torch.float32)
        count = student.shape[0]
        for at in range(0, count, Agreement.PIECE):
            part = slice(at, at + Agreement.PIECE)
            loss, grad = divergence(
                functional.linear(student[part], embed),
                functional.linear(wanted[part], wanted_embed),
            )
            total += loss
            grad = grad / count
            hidden_grad[part] = grad @ embed
            embed_grad += grad.T @ student[part]
        ctx.save_for_backward(hidden_grad, embed_grad.to(embed.dtype))
        return total / count

    @staticmethod
    def backward(ctx, upstream):
        hidden_grad, embed_grad = ctx.saved_tensors
        return upstream * hidden_grad, upstream * embed_grad, None, None


def _divergence(student: Tensor, teacher: Tensor) -> tuple[Tensor, Tensor]:
    log_s = functional.log_softmax(student.float(), -1)
    log_t = functional.log_softmax(teacher.float(), -1)
    p = log_t.exp()
    return (p * (log_t - log_s)).sum(), (log_s.exp() - p).to(student.dtype)


divergence = torch.compile(_divergence, dynamic=False)


@torch.no_grad()
def choose(teacher: Network, rows: Tensor, count: int) -> list[int]:
    """Greedily drop the layers without which the teacher's predictions change least."""
    wanted, embed = teacher.hidden(rows, BF16)
    log_t = functional.linear(wanted, embed).float().log_softmax(-1)
    dropped: list[int] = []
    while len(dropped) < count:
        losses = {}
        for i in set(range(teacher.config["layers"])) - set(dropped):
            hidden, _ = teacher.hidden(rows, BF16, (*dropped, i))
            log_s = functional.linear(hidden, embed).float().log_softmax(-1)
            losses[i] = float((log_t.exp() * (log_t - log_s)).sum(-1).mean())
        best = min(losses, key=losses.__getitem__)
        dropped.append(best)
        say("drop layer", best, f"divergence {losses[best]:.3f}")
    return sorted(dropped)


def distil(
    teacher: Network, student: Network, sources: list[tuple[np.ndarray, float]],
    tokenizer: Tokenizer, args: Any,
) -> None:  # fmt: skip
    """Train for the given minutes; sources are token runs and their shares of a batch."""
    optimiser = torch.optim.AdamW(
        student.parameters(), lr=args.rate, betas=(0.9, 0.95), weight_decay=0.0, fused=True
    )
    rng = np.random.default_rng(100 + RANK + args.seed)
    piles: list[list[np.ndarray]] = [[] for _ in sources]
    shares = [round(share * args.batch) for _, share in sources]

    def batch() -> Tensor:
        picked = []
        for n, (run, _) in enumerate(sources):
            while len(piles[n]) < shares[n]:
                fresh = list(rows_of(run, int(rng.integers(ROW))))
                rng.shuffle(fresh)
                piles[n] += fresh
            picked += [piles[n].pop() for _ in range(shares[n])]
        rows = np.stack(picked)
        rows[:, 0] = START  # every row opens as every text does
        return torch.tensor(rows, dtype=torch.long).to(DEVICE)

    lessons = None
    if args.lessons:
        lessons = Lessons(args.lessons, tokenizer, START, 500 + RANK + args.seed)
        say({kind: len(rows) for kind, rows in lessons.rows.items()})
    right = taught = torch.zeros((), device=DEVICE)
    began, step, shown = time.time(), 0, 0.0
    whole = max(args.until - began, 1) if args.until else 60 * args.minutes
    stop = torch.zeros(1, device=DEVICE)
    while True:
        part = (time.time() - began) / whole
        if WORLD > 1:
            stop.fill_(part)
            dist.all_reduce(stop, dist.ReduceOp.MAX)
            part = float(stop)
        if part >= 1:
            break
        rate = (
            args.rate
            * min(1.0, (step + 1) / 40)
            * (0.02 + 0.98 * 0.5 * (1 + math.cos(math.pi * part)))
        )
        for group in optimiser.param_groups:
            group["lr"] = rate
        rows = batch()
        with torch.no_grad():
            wanted, wanted_embed = teacher.hidden(rows, BF16)
        got, embed = student.hidden(rows, BF16)
        kl = Agreement.apply(got.flatten(0, 1), embed, wanted.flatten(0, 1), wanted_embed)
        near = functional.mse_loss(got.float(), wanted.float()) / wanted.float().square().mean()
        optimiser.zero_grad(set_to_none=True)
        (kl + args.near * near).backward()
        if lessons is not None:
            taught, share = contrast(student, *(t.to(DEVICE) for t in lessons.batch()))
            (args.contrast * taught).backward()
            right = 0.98 * right + 0.02 * share
        if WORLD > 1:
            grads = [p.grad for p in student.parameters() if p.grad is not None]
            flat = torch.cat([g.reshape(-1) for g in grads])
            dist.all_reduce(flat)
            flat /= WORLD
            at = 0
            for g in grads:
                g.copy_(flat[at : at + g.numel()].view_as(g))
                at += g.numel()
        torch.nn.utils.clip_grad_norm_(student.parameters(), 1.0)
        optimiser.step()
        step += 1
        if time.time() - shown > 30:
            shown = time.time()
            done = step * args.batch * ROW * WORLD
            say(
                f"step {step} kl {kl.item():.4f} near {near.item():.4f} tokens {done / 1e6:.0f}M"
                f" lessons {taught.item():.3f} right {right.item() / (1 - 0.98**step):.3f}"
            )
    done = step * args.batch * ROW * WORLD
    say(f"end: {step} steps, {done / 1e6:.0f}M tokens")


def evaluate(
    name: str, net: Network, tokenizer: Tokenizer, data: Path, most: int
) -> dict[str, float]:
    """Share of cases whose own wording is likeliest, on whole texts."""
    made = {}
    for file in sorted(data.glob("cases-*.jsonl")):
        by_kind: dict[str, list[dict]] = {}
        for line in file.open(encoding="utf-8"):
            case = json.loads(line)
            by_kind.setdefault(case["kind"], []).append(case)
        for kind, many in by_kind.items():
            many = many[:most]
            texts = [c["prefix"] + x + c["suffix"] for c in many for x in c["choices"]]
            ids = [e.ids for e in tokenizer.encode_batch(texts, add_special_tokens=False)]
            order = sorted(range(len(ids)), key=lambda n: len(ids[n]))
            sums = [0.0] * len(ids)
            for at in range(0, len(order), 64):
                part = order[at : at + 64]
                for n, lp in zip(part, net.logprobs([ids[n] for n in part], BF16), strict=False):
                    sums[n] = float(lp.sum())
            right, at = 0, 0
            for c in many:
                mine = sums[at : at + len(c["choices"])]
                at += len(mine)
                right += mine.index(max(mine)) == c["answer"]
            made[f"{file.stem[6:]} {kind}"] = round(100 * right / len(many), 1)
    say(name, made)
    return made


@torch.no_grad()
def coded_bytes(net: Network, grid: dict[str, tuple[Tensor, Tensor]]) -> float:
    """Bytes of all symbols at their entropy, from each eighth row (the codes take 1 to 2% more)."""
    total = 0.0
    for name, (rows, columns) in grid.items():
        weight = net.get(name)
        rows, columns = rows.to(weight.device)[::8], columns.to(weight.device)
        symbols = network.symbols(weight[::8], rows, columns)
        share = torch.bincount((symbols.flatten() + 128).int(), minlength=256) / symbols.numel()
        total += float(-(share * share.clamp_min(1e-12).log2()).sum()) * weight.numel() / 8
    return total


@torch.no_grad()
def loss_on(teacher: Network, student: Network, rows: Tensor) -> float:
    total = 0.0
    for row in rows.split(4):
        pair = []
        for net in (teacher, student):
            hidden, embed = net.hidden(row, BF16)
            pair.append(functional.linear(hidden, embed).float().log_softmax(-1))
        total += float((pair[0].exp() * (pair[0] - pair[1])).sum())
    return total / rows.numel()


def choose_grid(
    teacher: Network, student: Network, measured: dict[str, tuple[Tensor, Tensor]], rows: Tensor,
    args: Any,
) -> None:  # fmt: skip
    """Put the student on the grid that fills the wanted bytes and loses least before training.

    `sensitivity.grid` is tried as measured, halfway, and flattened (power 0).
    """
    best = None
    for power in (1.0, 0.6, 0.0):
        low, high = -12.0, 6.0
        grid = {}
        for _ in range(14):
            middle = (low + high) / 2
            grid = sensitivity.grid(student, measured, math.exp(middle), args.embed_fineness, power)
            if coded_bytes(student, grid) > args.megabytes * 1e6:
                low = middle
            else:
                high = middle
        student.quantise(grid)
        loss = loss_on(teacher, student, rows)
        say(f"grid of power {power}: {coded_bytes(student, grid) / 1e6:.1f} MB, loss {loss:.3f}")
        if best is None or loss < best[0]:
            best = (loss, grid)
    assert best
    student.quantise(best[1])


def put_on_grid(
    teacher: Network, student: Network, plain: np.ndarray, changed: np.ndarray, args: Any
) -> None:
    """Measure how coarse the weights may be and put the student on that grid."""
    measured = sensitivity.measure(student, sensitivity.sample(args.data).to(DEVICE))
    rows = np.concatenate([rows_of(r, 4_000)[:8] for r in (plain, changed)])
    choose_grid(
        teacher, student, measured, torch.tensor(rows.astype(np.int64), device=DEVICE), args
    )
    if WORLD > 1:  # the ranks' measurements can differ in the last digit
        for pair in student.grids.values():
            for tensor in pair:
                dist.broadcast(tensor, 0)


def finish(student: Network, tokenizer: Path, out: Path) -> None:
    """Write the artifact: symbols, steps, and gains that take the column factors back."""
    c = student.config
    hidden, kv, size, inner = c["hidden"], c["kv_heads"], c["head_size"], c["inner"]
    values = {
        n: student.get(n).detach().float().cpu()
        for n in (k.replace("/", ".") for k in student.weights)
    }
    grids = {n: (r.cpu().clone(), k.cpu()) for n, (r, k) in student.grids.items()}
    symbols = {
        n: (network.symbols(values[n], r, k) + 128).to(torch.uint8).numpy()
        for n, (r, k) in grids.items()
    }
    steps = {n: r[:, 0].clone() for n, (r, _) in grids.items()}
    gains = {n: v for n, v in values.items() if n not in grids}
    for i in range(c["layers"]):
        p = f"layer.{i}"
        columns = {m: grids[f"{p}.{m}"][1][0] for m in ("qkv", "out", "up", "down")}
        gains[f"{p}.gain.attention"] = gains[f"{p}.gain.attention"] / columns["qkv"]
        gains[f"{p}.gain.inner"] = gains[f"{p}.gain.inner"] / columns["up"]
        shared = columns["out"].view(kv, -1, size)[:, 0].reshape(-1)
        steps[f"{p}.qkv"][hidden + kv * size :] /= shared
        steps[f"{p}.up"][inner:] /= columns["down"]
    gains["gain.final"] = gains["gain.final"] / grids["embed"][1][0]
    gains["embed.undo"] = 1 / grids["embed"][1][0]
    raw = json.loads(tokenizer.read_text(encoding="utf-8"))
    made = export.write(
        out, c, {n: (symbols[n], steps[n].numpy()) for n in grids},
        {n: v.numpy() for n, v in gains.items()}, raw,
    )  # fmt: skip
    say("artifact", {k: v["bytes"] for k, v in made["files"].items()})


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("teacher", type=Path)
    parser.add_argument("data", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--layers", type=int, default=30)
    parser.add_argument("--minutes", type=float, default=9.0)
    parser.add_argument("--write-seconds", type=float, default=60.0)
    parser.add_argument("--prompts", type=int, default=1536, help="texts written side by side")
    parser.add_argument("--until", type=float, help="end training at this Unix time")
    parser.add_argument("--megabytes", type=float, default=55.5, help="wanted size of the symbols")
    parser.add_argument("--embed-fineness", type=float, default=0.16)
    parser.add_argument("--rate", type=float, default=3e-4)
    parser.add_argument("--batch", type=int, default=128, help="rows of 256 tokens per GPU")
    parser.add_argument("--near", type=float, default=0.1, help="weight of the hidden-state loss")
    parser.add_argument("--lessons", type=Path, help="places to learn choices from (lessons.py)")
    parser.add_argument("--contrast", type=float, default=1.0, help="weight of the lessons' loss")
    parser.add_argument("--free", action="store_true", help="no grid: a trial, not for shipping")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--start", type=Path, help="an artifact to start from")
    parser.add_argument("--go-on", type=Path, help="a checkpoint to start from")
    parser.add_argument("--written", type=Path, help="where the teacher's texts are kept")
    parser.add_argument("--cases", type=int, default=1_000, help="0: no evaluation")
    parser.add_argument("--keep", action="store_true", help="keep a checkpoint to go on from")
    parser.add_argument("--teacher-too", action="store_true", help="evaluate the teacher as well")
    args = parser.parse_args()
    torch.set_float32_matmul_precision("high")
    torch._dynamo.config.recompile_limit = 64
    if DEVICE != "cpu":
        torch.cuda.set_device(DEVICE)
    if WORLD > 1:
        dist.init_process_group("nccl" if DEVICE != "cpu" else "gloo")
    path = args.data / "tokenizer.json"
    tokenizer = Tokenizer.from_file(str(path))
    teacher = load_teacher(args.teacher).to(DEVICE).requires_grad_(False)
    say("teacher read")
    plain, changed = run_of(args.data / "plain.npz"), run_of(args.data / "changed.npz")
    if args.written and args.written.exists():
        own = np.load(args.written)
    else:
        own = write(teacher, tokenizer, plain, args)
        if args.written and RANK == 0:
            np.save(args.written, own.astype(np.uint16))
    if args.start:
        student = taken_up(args.start)
    elif args.go_on:
        kept = torch.load(args.go_on, map_location="cpu", weights_only=False)
        student = Network(kept["config"], kept["matrices"], kept["gains"])
    else:
        dropped: list[int] = []
        if args.layers < teacher.config["layers"]:
            rows = np.concatenate([rows_of(r, 0)[:8] for r in (plain, own)])
            rows = torch.tensor(rows.astype(np.int64), device=DEVICE)
            dropped = choose(teacher, rows, teacher.config["layers"] - args.layers)
        student = Network(*teacher.without(dropped))
    student = student.to(DEVICE)
    if not args.free:
        put_on_grid(teacher, student, plain, changed, args)
    student.requires_grad_(True)
    student.run_layer = teacher.run_layer = torch.compile(network.layer, dynamic=False)
    student.grid = torch.compile(network.on_grid, dynamic=False)
    sources = [(plain, 0.3), (changed, 0.3), (own.astype(np.int32), 0.4)]
    distil(teacher, student, sources, tokenizer, args)
    if RANK == 0 and not args.free:
        finish(student, path, args.out)
        if args.keep:
            config, matrices, gains = student.without([])
            torch.save(
                {"config": config, "matrices": matrices, "gains": gains},
                args.out.with_suffix(".checkpoint"),
            )
    if RANK == 0 and args.cases:
        # Rows of many lengths: no compiling for the evaluation.
        student.run_layer = teacher.run_layer = network.layer
        made = {"student": evaluate(args.out.name, student, tokenizer, args.data, args.cases)}
        if args.teacher_too:
            made["teacher"] = evaluate("teacher", teacher, tokenizer, args.data, args.cases)
        args.out.with_suffix(".json").write_text(json.dumps(made, indent=1), encoding="utf-8")
    if WORLD > 1:
        dist.destroy_process_group()


if __name__ == "__main__":
    sys.exit(main())

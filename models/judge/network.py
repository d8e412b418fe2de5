"""The network in PyTorch, as training and the reference of the tests use it.

A Llama-style decoder under the artifact's own names: `embed` (shared by both ends), and per layer
`qkv`, `out`, `up` (gate and value), `down` and two gains. `quantised` puts the weights on the grid
of the artifact in the forward pass and lets gradients through unchanged.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import torch
from torch import Tensor, nn
from torch.nn import functional


def symbols(weight: Tensor, rows: Tensor, columns: Tensor) -> Tensor:
    """Nearest symbols (rows, columns), -128 .. 127."""
    return (weight * (columns / rows)).round().clamp(-128, 127)


def on_grid(weight: Tensor, rows: Tensor, columns: Tensor) -> Tensor:
    """The weight as the artifact will hold it; the gradient passes as if nothing happened."""
    near = symbols(weight, rows, columns) * (rows / columns)
    return weight + (near - weight).detach()


def normed(x: Tensor, gain: Tensor, epsilon: float) -> Tensor:
    y = x.float()
    y = y * torch.rsqrt(y.square().mean(-1, keepdim=True) + epsilon)
    return (y * gain).to(x.dtype)


def turned(x: Tensor, cos: Tensor, sin: Tensor) -> Tensor:
    """Rotary positions on (..., T, size); cos and sin are (T, size / 2)."""
    a, b = x.chunk(2, -1)
    return torch.cat([a * cos - b * sin, b * cos + a * sin], -1)


def layer(
    x: Tensor, qkv: Tensor, out: Tensor, up: Tensor, down: Tensor, gain1: Tensor, gain2: Tensor,
    cos: Tensor, sin: Tensor, heads: int, kv: int, size: int, epsilon: float,
) -> Tensor:  # fmt: skip
    """One layer over whole rows (batch, T, hidden), each token seeing those before it."""
    batch, length, _ = x.shape
    y = functional.linear(normed(x, gain1, epsilon), qkv)
    q, k, v = y.split([heads * size, kv * size, kv * size], -1)
    q = turned(q.view(batch, length, heads, size).transpose(1, 2), cos, sin)
    k = turned(k.view(batch, length, kv, size).transpose(1, 2), cos, sin)
    v = v.view(batch, length, kv, size).transpose(1, 2)
    k, v = (t.repeat_interleave(heads // kv, 1) for t in (k, v))
    # The 1/sqrt(size) is inside the query rows.
    mixed = functional.scaled_dot_product_attention(q, k, v, is_causal=True, scale=1.0)
    x = x + functional.linear(mixed.transpose(1, 2).reshape(batch, length, heads * size), out)
    gate, value = functional.linear(normed(x, gain2, epsilon), up).chunk(2, -1)
    return x + functional.linear(functional.silu(gate) * value, down)


class Network(nn.Module):
    """Weights by name, and what is computed from them."""

    def __init__(
        self,
        config: dict[str, Any],
        matrices: dict[str, np.ndarray],
        gains: dict[str, np.ndarray],
    ) -> None:
        super().__init__()
        self.config = config
        named = {**matrices, **gains}
        self.weights = nn.ParameterDict(
            {k.replace(".", "/"): nn.Parameter(torch.tensor(v).float()) for k, v in named.items()}
        )
        self.matrix_names = list(matrices)
        self.grids: dict[str, tuple[Tensor, Tensor]] = {}
        size = config["head_size"]
        turn = config["rope_base"] ** -(np.arange(size // 2) / (size // 2))
        angles = torch.tensor(np.arange(config["window"])[:, None] * turn)
        self.register_buffer("cos", angles.cos().float(), persistent=False)
        self.register_buffer("sin", angles.sin().float(), persistent=False)
        self.undo: Tensor | None = None  # inverse column factors of an artifact's embedding
        self.run_layer = layer
        self.grid = on_grid

    def get(self, name: str) -> Tensor:
        return self.weights[name.replace(".", "/")]

    def quantise(self, grid: dict[str, tuple[Tensor, Tensor]]) -> None:
        """From now on compute with weights on a grid: steps per row, and what columns are
        multiplied by before they are rounded (`sensitivity.py` chooses both)."""
        device = self.cos.device
        self.grids = {n: (r.to(device), c.to(device)) for n, (r, c) in grid.items()}

    def seen(self, name: str, dtype: torch.dtype) -> Tensor:
        weight = self.get(name)
        if name in self.grids:
            weight = self.grid(weight, *self.grids[name])
        return weight.to(dtype)

    def hidden(
        self, tokens: Tensor, dtype: torch.dtype, skip: tuple[int, ...] = ()
    ) -> tuple[Tensor, Tensor]:
        """Final hidden states (batch, T, hidden) and the embedding matrix that was used."""
        c = self.config
        embed = self.seen("embed", dtype)
        x = functional.embedding(tokens, embed)
        if self.undo is not None:
            x = x * self.undo.to(dtype)
        length = tokens.shape[1]
        cos, sin = self.cos[:length].to(dtype), self.sin[:length].to(dtype)
        for i in range(c["layers"]):
            if i in skip:
                continue
            p = f"layer.{i}"
            x = self.run_layer(
                x,
                *(self.seen(f"{p}.{m}", dtype) for m in ("qkv", "out", "up", "down")),
                self.get(f"{p}.gain.attention"), self.get(f"{p}.gain.inner"),
                cos, sin, c["heads"], c["kv_heads"], c["head_size"], c["epsilon"],
            )  # fmt: skip
        return normed(x, self.get("gain.final"), c["epsilon"]), embed

    @torch.no_grad()
    def logprobs(self, rows: list[list[int]], dtype: torch.dtype = torch.float32) -> list[Tensor]:
        """Natural-log probability of each token of each row, given the start token before it."""
        start = self.config["start"]
        longest = max(map(len, rows)) + 1
        device = self.cos.device
        padded = torch.tensor([[start, *r] + [start] * (longest - 1 - len(r)) for r in rows])
        padded = padded.to(device)
        hidden, embed = self.hidden(padded, dtype)
        made = []
        for n, row in enumerate(rows):
            logits = functional.linear(hidden[n, : len(row)], embed).float()
            wanted = padded[n, 1 : len(row) + 1, None]
            made.append(logits.gather(1, wanted)[:, 0] - logits.logsumexp(-1))
        return made

    def without(self, dropped: list[int]) -> tuple[dict[str, Any], dict, dict]:
        """Config, matrices and gains of the network without some layers."""
        kept = [i for i in range(self.config["layers"]) if i not in dropped]
        matrices, gains = {}, {}
        for name, weight in self.weights.items():
            old = name.replace("/", ".")
            new = old
            if old.startswith("layer."):
                _, number, rest = old.split(".", 2)
                if int(number) not in kept:
                    continue
                new = f"layer.{kept.index(int(number))}.{rest}"
            (matrices if old in self.matrix_names else gains)[new] = (
                weight.detach().float().cpu().numpy()
            )
        return {**self.config, "layers": len(kept)}, matrices, gains

    @torch.no_grad()
    def write_texts(
        self, prompts: list[list[int]], count: int, stop: int, heat: float, dtype: torch.dtype
    ) -> list[list[int]]:
        """Continue prompts by up to `count` tokens, sampled at temperature `heat`."""
        c = self.config
        heads, kv, size = c["heads"], c["kv_heads"], c["head_size"]
        device = self.cos.device
        batch, front = len(prompts), max(map(len, prompts))
        total = front + count
        tokens = torch.zeros(batch, total, dtype=torch.long)
        hide = torch.zeros(batch, 1, 1, total)
        for n, prompt in enumerate(prompts):
            tokens[n, front - len(prompt) : front] = torch.tensor(prompt)
            hide[n, ..., : front - len(prompt)] = -1e4
        tokens, hide = tokens.to(device), hide.to(device, dtype)
        made = {n: self.get(n).to(dtype) for n in self.matrix_names}
        keys = [
            torch.zeros(batch, kv, total, size, device=device, dtype=dtype)
            for _ in range(c["layers"])
        ]
        values = [torch.zeros_like(keys[0]) for _ in range(c["layers"])]
        done = torch.zeros(batch, dtype=torch.bool, device=device)
        at = 0
        for end in range(front, total):
            new = slice(at, end)
            length = end - at
            x = functional.embedding(tokens[:, new], made["embed"])
            cos, sin = self.cos[new].to(dtype), self.sin[new].to(dtype)
            future = torch.full((length, end), -1e4, device=device, dtype=dtype).triu(1 + at)
            for i in range(c["layers"]):
                p = f"layer.{i}"
                y = functional.linear(
                    normed(x, self.get(f"{p}.gain.attention"), c["epsilon"]), made[f"{p}.qkv"]
                )
                q, k, v = y.split([heads * size, kv * size, kv * size], -1)
                q = turned(q.view(batch, length, heads, size).transpose(1, 2), cos, sin)
                keys[i][:, :, new] = turned(
                    k.view(batch, length, kv, size).transpose(1, 2), cos, sin
                )
                values[i][:, :, new] = v.view(batch, length, kv, size).transpose(1, 2)
                q = q.reshape(batch, kv, heads // kv * length, size)
                match = q @ keys[i][:, :, :end].transpose(2, 3)
                match = match.view(batch, heads, length, end) + future + hide[..., :end]
                match = match.float().softmax(-1).to(dtype).view(batch, kv, -1, end)
                mixed = (match @ values[i][:, :, :end]).view(batch, heads, length, size)
                mixed = mixed.transpose(1, 2).reshape(batch, length, heads * size)
                x = x + functional.linear(mixed, made[f"{p}.out"])
                gate, value = functional.linear(
                    normed(x, self.get(f"{p}.gain.inner"), c["epsilon"]), made[f"{p}.up"]
                ).chunk(2, -1)
                x = x + functional.linear(functional.silu(gate) * value, made[f"{p}.down"])
            last = normed(x[:, -1], self.get("gain.final"), c["epsilon"])
            logits = functional.linear(last, made["embed"]).float() / heat
            # The largest of logits plus Gumbel noise is a sample of the softmax.
            noise = -torch.empty_like(logits).exponential_().log()
            chosen = torch.where(done, stop, (logits + noise).argmax(-1))
            done |= chosen == stop
            tokens[:, end] = chosen
            at = end
            if end % 32 == 0 and bool(done.all()):
                break
        rows = tokens[:, front:].tolist()
        return [row[: row.index(stop)] if stop in row else row for row in rows]


def shape(**changes: Any) -> dict[str, Any]:
    """The teacher's shape (SmolLM2-135M), with changes; weights are held as eight-bit symbols."""
    base = {
        "layers": 30, "hidden": 576, "heads": 9, "kv_heads": 3, "head_size": 64, "inner": 1536,
        "vocabulary": 49152, "window": 1024, "rope_base": 100000.0, "epsilon": 1e-5, "start": 0,
        "together": 15,
    }  # fmt: skip
    return {**base, **changes}

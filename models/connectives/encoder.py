"""MPNet's encoder in plain PyTorch, and its weights as one eight-bit file that travels easily.

``python models/connectives/encoder.py model.safetensors enc.npz`` makes that file.
"""

from __future__ import annotations

import json
import math
import sys
from pathlib import Path

import numpy as np
import torch
from torch import Tensor, nn
from torch.nn import functional

WIDTH, HEADS, LAYERS, BUCKETS, PAD = 768, 12, 12, 32, 1


def load_safetensors(path: Path) -> dict[str, np.ndarray]:
    """The 32-bit arrays of a safetensors file."""
    raw = path.read_bytes()
    size = int.from_bytes(raw[:8], "little")
    head = json.loads(raw[8 : 8 + size])
    found = {}
    for name, entry in head.items():
        if name == "__metadata__" or entry["dtype"] != "F32":
            continue
        a, b = (8 + size + n for n in entry["data_offsets"])
        found[name] = np.frombuffer(raw[a:b], np.float32).reshape(entry["shape"])
    return found


def pack(state: dict[str, np.ndarray], out: Path) -> None:
    """Matrices as eight-bit rows with a scale each, vectors as they are."""
    made: dict[str, np.ndarray] = {}
    for name, value in state.items():
        if name.startswith("pooler"):
            continue
        if value.ndim == 2 and value.size > 10_000:
            scale = np.abs(value).max(1, keepdims=True) / 127 + 1e-12
            made[f"{name}|q"] = np.rint(value / scale).astype(np.int8)
            made[f"{name}|s"] = scale.astype(np.float32)
        else:
            made[name] = value
    np.savez_compressed(out, **made)


def unpack(path: Path) -> dict[str, np.ndarray]:
    """The arrays of `pack`, as 32-bit numbers."""
    found: dict[str, np.ndarray] = {}
    with np.load(path) as data:
        for key in data.files:
            name, bar, part = key.partition("|")
            if not bar:
                found[name] = data[key]
            elif part == "q":
                found[name] = data[key].astype(np.float32) * data[f"{name}|s"]
    return found


def buckets(away: Tensor) -> Tensor:
    """The bucket of each distance: a token's place less the place that it looks at."""
    half = BUCKETS // 2
    found = (away < 0).long() * half
    away = away.abs()
    exact = half // 2
    far = (
        exact
        + (
            torch.log(away.float().clamp_min(1) / exact) / math.log(128 / exact) * (half - exact)
        ).long()
    )
    return found + torch.where(away < exact, away, far.clamp_max(half - 1))


class Layer(nn.Module):
    """Attention and two linear layers, each added to its input and normed."""

    def __init__(self) -> None:
        super().__init__()
        self.qkv = nn.Linear(WIDTH, 3 * WIDTH)
        self.out = nn.Linear(WIDTH, WIDTH)
        self.norm1 = nn.LayerNorm(WIDTH, eps=1e-5)
        self.up = nn.Linear(WIDTH, 4 * WIDTH)
        self.down = nn.Linear(4 * WIDTH, WIDTH)
        self.norm2 = nn.LayerNorm(WIDTH, eps=1e-5)
        self.drop = nn.Dropout(0.1)

    def forward(self, x: Tensor, bias: Tensor) -> Tensor:
        batch, length, _ = x.shape
        parts = self.qkv(x).view(batch, length, 3, HEADS, WIDTH // HEADS)
        q, k, v = parts.permute(2, 0, 3, 1, 4)
        mixed = functional.scaled_dot_product_attention(q, k, v, bias.to(q.dtype))
        mixed = self.out(mixed.transpose(1, 2).reshape(batch, length, WIDTH))
        x = self.norm1(x + self.drop(mixed))
        return self.norm2(x + self.drop(self.down(functional.gelu(self.up(x)))))


class Encoder(nn.Module):
    """Words to states that know both sides of them."""

    def __init__(self, words: int) -> None:
        super().__init__()
        self.words = nn.Embedding(words, WIDTH)
        self.places = nn.Embedding(514, WIDTH)
        self.norm = nn.LayerNorm(WIDTH, eps=1e-5)
        self.distance = nn.Embedding(BUCKETS, HEADS)
        self.layers = nn.ModuleList(Layer() for _ in range(LAYERS))
        self.drop = nn.Dropout(0.1)

    def forward(self, tokens: Tensor) -> Tensor:
        length = tokens.shape[1]
        place = torch.arange(2, 2 + length, device=tokens.device)
        x = self.drop(self.norm(self.words(tokens) + self.places(place)))
        away = (place[:, None] - place[None, :]).cpu()
        bias = self.distance(buckets(away).to(tokens.device)).permute(2, 0, 1)[None]
        hide = (tokens == PAD)[:, None, None, :]
        bias = bias.masked_fill(hide, -1e4)
        for layer in self.layers:
            x = layer(x, bias)
        return x


def encoder(state: dict[str, np.ndarray]) -> Encoder:
    """An encoder with the given weights."""
    t = {k: torch.tensor(v) for k, v in state.items()}
    e = "embeddings."
    new = {
        "words.weight": t[f"{e}word_embeddings.weight"],
        "places.weight": t[f"{e}position_embeddings.weight"],
        "norm.weight": t[f"{e}LayerNorm.weight"],
        "norm.bias": t[f"{e}LayerNorm.bias"],
        "distance.weight": t["encoder.relative_attention_bias.weight"],
    }
    for i in range(LAYERS):
        p = f"encoder.layer.{i}."
        for kind in ("weight", "bias"):
            qkv = [t[f"{p}attention.attn.{n}.{kind}"] for n in "qkv"]
            new[f"layers.{i}.qkv.{kind}"] = torch.cat(qkv)
            for mine, theirs in (
                ("out", "attention.attn.o"),
                ("norm1", "attention.LayerNorm"),
                ("up", "intermediate.dense"),
                ("down", "output.dense"),
                ("norm2", "output.LayerNorm"),
            ):
                new[f"layers.{i}.{mine}.{kind}"] = t[f"{p}{theirs}.{kind}"]
    net = Encoder(len(new["words.weight"]))
    net.load_state_dict(new)
    return net


if __name__ == "__main__":
    pack(load_safetensors(Path(sys.argv[1])), Path(sys.argv[2]))

"""The reader's network in PyTorch: an encoder that sees a passage and its choices at once.

A job is one row of tokens: the *trunk* (the passage with a mask token in its blank) and one
*branch* per choice. The tokens of a branch take the positions of the blank, so each choice stands
in its place in the passage, side by side with the others. The trunk sees only itself, a branch sees
the trunk and the branches. So the order of the choices cannot matter.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import torch
from torch import Tensor, nn

sys.path.append(str(Path(__file__).resolve().parents[1] / "connectives"))

from encoder import WIDTH, Encoder, buckets, encoder, pack, unpack

__all__ = [
    "END", "FIRST", "MASK", "PAD", "START", "UNKNOWN", "Reader", "pack", "restored", "started",
]  # fmt: skip
FIRST, START, PAD, END, MASK, UNKNOWN = 2, 0, 1, 2, 30526, 104
"""The encoder's first position and its special tokens."""


class Reader(Encoder):
    """Jobs to one score per choice."""

    def __init__(self, words: int) -> None:
        super().__init__(words)
        self.head = nn.Linear(3 * WIDTH, WIDTH)
        self.score = nn.Linear(WIDTH, 1)

    def forward(
        self, tokens: Tensor, places: Tensor, owners: Tensor, choices: int
    ) -> tuple[Tensor, list[Tensor]]:
        """Scores (batch, choices) and the states after each layer (batch, length, width).

        ``owners``: 0 trunk, n + 1 the branch of choice n, -1 padding.
        """
        x = self.drop(self.norm(self.words(tokens) + self.places(places + FIRST)))
        query, key = owners[:, :, None], owners[:, None, :]
        seen = (key == 0) | ((key > 0) & (query > 0)) | (query == key)
        bias = torch.zeros(seen.shape, device=x.device).masked_fill(~seen, -1e4)[:, None]
        away = places[:, :, None] - places[:, None, :]
        bias = bias + self.distance(buckets(away)).permute(0, 3, 1, 2)
        if x.is_cuda:  # attention's fast kernels want the bias in the type of the products
            bias = bias.to(torch.bfloat16).contiguous()
        states = []
        for layer in self.layers:
            x = layer(x, bias)
            states.append(x)
        which = torch.arange(1, choices + 1, device=x.device)
        mine = (owners[:, None, :] == which[:, None]).to(x.dtype)  # batch, choices, length
        branch = (mine @ x) / mine.sum(-1, keepdim=True).clamp_min(1)
        blank = x[tokens == MASK][:, None].expand_as(branch)
        state = torch.cat([branch, blank, branch * blank], -1)
        return self.score(self.drop(torch.tanh(self.head(state))))[..., 0], states


def started(path: Path) -> Reader:
    """A reader that starts from the packed encoder."""
    body = encoder(unpack(path)).state_dict()
    net = Reader(len(body["words.weight"]))
    net.load_state_dict(body, strict=False)
    return net


def restored(path: Path) -> Reader:
    """A reader from the file that training wrote: eight-bit, or on the grid (`grid.save`)."""
    state = unpack(path)
    with np.load(path, allow_pickle=False) as data:
        for name in data.files:
            base = name.removesuffix("|symbols")
            if base != name:
                steps = data[f"{base}|steps"][:, None]
                state[f"{base}.weight"] = data[name].astype(np.float32) * steps
    state.pop("facts", None)
    net = Reader(len(state["words.weight"]))
    net.load_state_dict({n: torch.tensor(v) for n, v in state.items()})
    return net

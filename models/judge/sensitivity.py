"""How coarse each weight may be: the grid on which the student's weights are held.

An error of weight (i, j) changes the predictions in proportion to the mean square of its input j
and of the gradient at its output i (the diagonal of the Fisher matrix in Kronecker form; labels are
drawn from the teacher itself). At a given number of coded bits the loss is least where the step is
inverse to the root of that product. So rows get steps, columns get factors, and one number
(`fineness`) sets the size of all. The column factors cost nothing: their inverses go into the gain
or
the rows before (see `train.finish`).

    python models/judge/sensitivity.py TEACHER_FOLDER DATA_FOLDER OUT.npz
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import torch
from network import Network
from torch import Tensor
from torch.nn import functional

ROWS, LENGTH = 24, 160
DAMP = 0.02


def measure(teacher: Network, rows: Tensor) -> dict[str, tuple[Tensor, Tensor]]:
    """Mean squares of the inputs and of the output gradients of each matrix."""
    names = {id(teacher.get(n)): n for n in teacher.matrix_names}
    found: dict[str, list[Tensor]] = {n: [0.0, 0.0] for n in teacher.matrix_names}
    plain = functional.linear

    def watched(x: Tensor, weight: Tensor) -> Tensor:
        y = plain(x, weight)
        name = names[id(weight)]
        found[name][0] = found[name][0] + x.detach().flatten(0, -2).square().sum(0)

        def keep(slope: Tensor) -> None:
            found[name][1] = found[name][1] + slope.flatten(0, -2).square().sum(0)

        if y.requires_grad:
            y.register_hook(keep)
        return y

    teacher.requires_grad_(True)
    torch.manual_seed(0)
    functional.linear = watched
    try:
        for row in rows.split(4):
            hidden, _embed = teacher.hidden(row, torch.float32)
            logits = watched(hidden, teacher.get("embed"))
            with torch.no_grad():
                drawn = torch.distributions.Categorical(logits=logits).sample()
            loss = functional.cross_entropy(logits.flatten(0, 1), drawn.flatten(), reduction="sum")
            loss.backward()
            teacher.zero_grad(set_to_none=True)
    finally:
        functional.linear = plain
    teacher.requires_grad_(False)
    count = rows.numel()
    return {n: (a / count, g / count) for n, (a, g) in found.items()}


def grid(
    teacher: Network, measured: dict[str, tuple[Tensor, Tensor]], fineness: float,
    embed_fineness: float, power: float = 1.0,
) -> dict[str, tuple[Tensor, Tensor]]:  # fmt: skip
    """Steps per row (N, 1) and column factors (1, K) of each matrix; power 0 ignores the
    measurement."""
    c = teacher.config
    group = c["heads"] // c["kv_heads"]
    made = {}
    for name, (inputs, slopes) in measured.items():
        weight = teacher.get(name).detach()
        inputs, slopes = inputs.to(weight.device), slopes.to(weight.device)
        inputs = inputs + DAMP * inputs.mean()
        if name.endswith(".out"):
            # Heads that share values share the rows that the factors go into.
            shared = inputs.view(c["kv_heads"], group, -1).mean(1, keepdim=True)
            inputs = shared.expand(-1, group, -1).reshape(-1)
        columns = inputs.sqrt() ** power
        mean = columns.log().mean().exp()
        columns = columns / mean
        if name == "embed":
            rows = embed_fineness * (weight * columns).square().mean(1).sqrt()
        else:
            slopes = slopes + DAMP * slopes.mean()
            # Between two rules: the same share of each row's size, and what the slopes ask for.
            own = (weight * columns).square().mean(1).sqrt()
            asked = 1 / (mean * slopes.sqrt())
            rows = fineness * asked**power * own ** (1 - power)
        most = (weight * columns).abs().amax(1) / 127  # no weight may lie off the grid
        rows = torch.maximum(rows, most).half().float().clamp_min(1e-6)
        made[name] = (rows[:, None], columns[None, :])
    return made


def save(path: Path, measured: dict[str, tuple[Tensor, Tensor]]) -> None:
    flat = {
        f"{n}|{k}": t.numpy()
        for n, pair in measured.items()
        for k, t in zip("ag", pair, strict=False)
    }
    np.savez_compressed(path, **flat)


def load(path: Path) -> dict[str, tuple[Tensor, Tensor]]:
    data = np.load(path)
    names = {key.split("|")[0] for key in data.files}
    return {n: (torch.tensor(data[f"{n}|a"]), torch.tensor(data[f"{n}|g"])) for n in names}


def sample(data: Path) -> Tensor:
    """Rows for the measurement: half prose, half prose with changed wordings."""
    parts = []
    for name in ("plain", "changed"):
        tokens = np.load(data / f"{name}.npz")["tokens"][: ROWS // 2 * LENGTH].astype(np.int64)
        parts.append(tokens.reshape(-1, LENGTH))
    rows = np.concatenate(parts)
    rows[:, 0] = 0
    return torch.tensor(rows)


if __name__ == "__main__":
    from train import load_teacher

    network = load_teacher(Path(sys.argv[1]))
    save(Path(sys.argv[3]), measure(network, sample(Path(sys.argv[2]))))

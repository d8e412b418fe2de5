"""The coarse grid of the artifact: symbols -8 .. 7 times a step per row, coded at their entropy.

The step of a row is a factor times the root mean square of the row, times the weight of its
matrix: an error of a weight matters in proportion to the gradient there, so matrices with large
gradients get finer steps. How much finer is tried out (`chosen`).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import torch
from torch import Tensor, nn
from torch.nn.utils import parametrize

LOW, HIGH = -8, 7
Steps = dict[str, Tensor]


class OnGrid(nn.Module):
    """The weight as the artifact will hold it; the gradient passes as if nothing happened."""

    def __init__(self, step: Tensor) -> None:
        super().__init__()
        self.register_buffer("step", step)

    def forward(self, weight: Tensor) -> Tensor:
        near = (weight / self.step).round().clamp(LOW, HIGH) * self.step
        return weight + (near - weight).detach()


def matrices(net: nn.Module) -> dict[str, nn.Module]:
    """The modules whose weight goes on the grid."""
    return {
        name: module
        for name, module in net.named_modules()
        if isinstance(module, nn.Linear | nn.Embedding) and module.weight.numel() > 100_000
    }


def _weight(module: nn.Module) -> Tensor:
    if parametrize.is_parametrized(module):
        return module.parametrizations.weight.original
    return module.weight


@torch.no_grad()
def megabytes(net: nn.Module, steps: Steps) -> float:
    """Size of all symbols at their entropy."""
    total = 0.0
    for name, module in matrices(net).items():
        weight = _weight(module)
        symbols = (weight[::4] / steps[name][::4]).round().clamp(LOW, HIGH)
        share = torch.bincount((symbols.flatten() - LOW).long(), minlength=16) / symbols.numel()
        total += float(-(share * share.clamp_min(1e-12).log2()).sum()) * weight.numel() / 8e6
    return total


def chosen(net: nn.Module, wanted: float, loss: Callable[[int], Tensor]) -> Steps:
    """Steps that fill the wanted megabytes, with the exponent of the matrices' weights that loses
    least. ``loss(n)``: the mean loss on ``n`` batches."""
    net.eval()
    net.zero_grad()
    loss(12).backward()
    plain, weight = {}, {}
    for name, module in matrices(net).items():
        w, g = module.weight.detach(), module.weight.grad
        plain[name] = w.square().mean(1, keepdim=True).sqrt().clamp_min(1e-8)
        rows = g.square().mean(1).sqrt()
        used = rows > 0  # most words of the embedding are not in the sample
        weight[name] = float((rows[used] * plain[name][used, 0]).mean())
    middle = math.exp(sum(map(math.log, weight.values())) / len(weight))
    best: tuple[float, Steps] | None = None
    for power in (0.0, 0.25, 0.5):
        low, high = math.log(0.05), math.log(8.0)
        steps: Steps = {}
        for _ in range(18):
            factor = math.exp((low + high) / 2)
            steps = {n: factor * (weight[n] / middle) ** -power * p for n, p in plain.items()}
            if megabytes(net, steps) > wanted:
                low = math.log(factor)
            else:
                high = math.log(factor)
        kept = {n: m.weight.detach().clone() for n, m in matrices(net).items()}
        with torch.no_grad():
            for n, m in matrices(net).items():
                m.weight.copy_((m.weight / steps[n]).round().clamp(LOW, HIGH) * steps[n])
            found = float(loss(24))
            for n, m in matrices(net).items():
                m.weight.copy_(kept[n])
        print(f"grid: power {power} factor {factor:.2f} loss {found:.3f}", flush=True)
        if best is None or found < best[0]:
            best = found, steps
    net.zero_grad()
    assert best
    return best[1]


def put_on(net: nn.Module, steps: Steps) -> None:
    """From now on the network computes with weights on the grid."""
    for name, module in matrices(net).items():
        parametrize.register_parametrization(module, "weight", OnGrid(steps[name]))


@torch.no_grad()
def save(net: nn.Module, steps: Steps, out: Path, facts: dict[str, Any]) -> None:
    """Symbols (``NAME|symbols``, int8), steps and all other arrays as an npz file."""
    made: dict[str, np.ndarray] = {}
    on_grid = matrices(net)
    for name, module in on_grid.items():
        symbols = (_weight(module) / steps[name]).round().clamp(LOW, HIGH)
        made[f"{name}|symbols"] = symbols.to(torch.int8).cpu().numpy()
        made[f"{name}|steps"] = steps[name][:, 0].float().cpu().numpy()
    for name, value in net.state_dict().items():
        if "parametrizations" not in name and name.removesuffix(".weight") not in on_grid:
            made[name] = value.float().cpu().numpy()
    made["facts"] = np.array(str(facts))
    np.savez_compressed(out, **made)

"""Write the trained reader as the artifact that `rwtools.reader` loads.

    python models/reader/pack.py TRAINED.npz TOKENIZER.json models/reader

``layers.onnx`` holds the graph without weights; ``weights-N.bin`` the symbols, two to a byte, the
first in the low half, Huffman-coded with zlib; ``reader.json`` shapes and checksums.

The weights' symbols are small, so no column of a matrix is multiplied as floats
(`export.Graph.matmul`).
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import numpy as np
from onnx import TensorProto, helper
from reader import END, FIRST, MASK, START

sys.path.append(str(Path(__file__).resolve().parents[1] / "judge"))

import export
from encoder import BUCKETS, HEADS, LAYERS, WIDTH

EPSILON = 1e-5


def layers_graph() -> Any:
    """All layers: a stream (T, width) of words and places, and an attention bias (heads, T, T), to
    the last states (T, width)."""
    g = export.Graph("reader")
    size = WIDTH // HEADS
    g.constant("shape.heads", np.array([-1, HEADS, size], np.int64))
    g.constant("shape.flat", np.array([-1, WIDTH], np.int64))
    vector = lambda name, width: g.weight(name, TensorProto.FLOAT, [width])  # noqa: E731

    gain, offset = vector("norm.weight", WIDTH), vector("norm.bias", WIDTH)
    x = g.op("LayerNormalization", ["stream", gain, offset], "x", axis=-1, epsilon=EPSILON)
    for i in range(LAYERS):
        p = f"layers.{i}"
        qkv = g.op(
            "Add", [g.matmul(x, f"{p}.qkv", 3 * WIDTH, WIDTH), vector(f"{p}.qkv.bias", 3 * WIDTH)],
            f"{p}.qkv.sum",
        )  # fmt: skip
        names = [f"{p}.{k}" for k in "qkv"]
        g.op("Split", [qkv], names, axis=-1, num_outputs=3)
        for name, turn in zip(names, ([1, 0, 2], [1, 2, 0], [1, 0, 2]), strict=True):
            g.op("Reshape", [name, "shape.heads"], f"{name}.heads")
            g.op("Transpose", [f"{name}.heads"], f"{name}.turned", perm=turn)
        g.op("MatMul", [f"{p}.q.turned", f"{p}.k.turned"], f"{p}.match")
        g.op("Add", [f"{p}.match", "bias"], f"{p}.match.seen")
        g.op("Softmax", [f"{p}.match.seen"], f"{p}.shares", axis=-1)
        g.op("MatMul", [f"{p}.shares", f"{p}.v.turned"], f"{p}.mixed")
        g.op("Transpose", [f"{p}.mixed"], f"{p}.mixed.tokens", perm=[1, 0, 2])
        g.op("Reshape", [f"{p}.mixed.tokens", "shape.flat"], f"{p}.mixed.flat")
        out = g.matmul(f"{p}.mixed.flat", f"{p}.out", WIDTH, WIDTH)
        x = _normed(g, out, x, f"{p}.norm1", f"{p}.out.bias")
        up = g.matmul(x, f"{p}.up", 4 * WIDTH, WIDTH)
        g.op(
            "BiasGelu", [up, vector(f"{p}.up.bias", 4 * WIDTH)], f"{p}.inner",
            domain="com.microsoft",
        )  # fmt: skip
        down = g.matmul(f"{p}.inner", f"{p}.down", WIDTH, 4 * WIDTH)
        last = "states" if i == LAYERS - 1 else None
        x = _normed(g, down, x, f"{p}.norm2", f"{p}.down.bias", last)
    return g.model(
        [
            helper.make_tensor_value_info("stream", TensorProto.FLOAT, ["T", WIDTH]),
            helper.make_tensor_value_info("bias", TensorProto.FLOAT, [HEADS, "T", "T"]),
        ],
        [helper.make_tensor_value_info("states", TensorProto.FLOAT, ["T", WIDTH])],
    )


def _normed(
    g: export.Graph, x: str, skip: str, norm: str, bias: str, out: str | None = None
) -> str:
    weights = [
        g.weight(f"{norm}.{part}", TensorProto.FLOAT, [WIDTH]) for part in ("weight", "bias")
    ]
    return g.op(
        "SkipLayerNormalization",
        [x, skip, *weights, g.weight(bias, TensorProto.FLOAT, [WIDTH])],
        out or f"{norm}.out",
        domain="com.microsoft",
        epsilon=EPSILON,
    )


def two_to_a_byte(symbols: np.ndarray) -> np.ndarray:
    """Symbols -8 .. 7 (rows, columns) as bytes (rows, columns / 2), the first in the low half."""
    shifted = (symbols.astype(np.int16) + 8).astype(np.uint8)
    return shifted[:, ::2] | (shifted[:, 1::2] << 4)


def main(trained: str, tokenizer: str, folder: str) -> None:
    with np.load(trained) as data:
        arrays = {name: data[name] for name in data.files if name != "facts"}
    place, packer = Path(folder), export.Packer()
    for old in (*place.glob("weights-*.bin"), *place.glob("*.onnx")):
        old.unlink()
    for name in [n.removesuffix("|symbols") for n in arrays if n.endswith("|symbols")]:
        steps = arrays.pop(f"{name}|steps")
        if name.endswith(".qkv"):  # the attention's 1/sqrt(size), here 1/8
            scale = np.ones(len(steps), np.float32)
            scale[:WIDTH] = (WIDTH // HEADS) ** -0.5
            steps, arrays[f"{name}.bias"] = steps * scale, arrays[f"{name}.bias"] * scale
        if name == "places":
            arrays["places.weight"] = arrays.pop("places|symbols") * steps[:, None]
            continue
        packer.add(f"{name}.symbols", two_to_a_byte(arrays.pop(f"{name}|symbols")))
        packer.add(f"{name}.scales", steps)
    packer.add("places", arrays.pop("places.weight").astype(np.float16))
    packer.add("distance", np.ascontiguousarray(arrays.pop("distance.weight").T))
    packer.add("score", arrays.pop("score.weight")[0])
    arrays.pop("score.bias")  # the same for every choice
    for name, value in arrays.items():
        packer.add(name, value.astype(np.float32))
    config = {
        "width": WIDTH, "heads": HEADS, "layers": LAYERS, "buckets": BUCKETS,
        "first": FIRST, "start": START, "end": END, "mask": MASK,
    }  # fmt: skip
    files = packer.files() | {
        "layers.onnx": layers_graph().SerializeToString(),
        "tokenizer.json.gz": export.packed_tokenizer(
            json.loads(Path(tokenizer).read_text("utf-8"))
        ),
    }
    export.describe(place, "reader", config, files, packer.streams)
    print({name: len(data) for name, data in files.items()})


if __name__ == "__main__":
    main(*sys.argv[1:])

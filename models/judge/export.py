"""Write quantised weights as the artifact that `rwtools.judge` loads.

The artifact is a folder: two ONNX graphs (`layers.onnx`: a few layers, run once for each block of
layers; `head.onnx`: what the last layer gives to log-probabilities of given tokens) that hold no
weights, the weights in `weights-N.bin`,
the tokenizer, and `judge.json` with shapes, places and checksums. Weights are eight-bit symbols
times a step per row, Huffman-coded with zlib: the training keeps most symbols near zero, so eight
stored bits cost about three.
"""

from __future__ import annotations

import gzip
import hashlib
import json
import zlib
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import onnx
from onnx import TensorProto, helper

FORMAT = 4
LARGEST = 64  # two symbols of this size times 255 still fit into sixteen bits
PART_BYTES = 15_000_000  # no file of the repository may pass 45 MB; these are read side by side
PIECE_BYTES = 2_000_000
OPSET = 21

Array = npt.NDArray[Any]


class Graph:
    """A little helper that collects nodes, weights and constants of one ONNX graph."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.nodes: list[onnx.NodeProto] = []
        self.constants: list[onnx.TensorProto] = []
        self.weights: dict[str, tuple[int, list[int]]] = {}

    def op(
        self,
        kind: str,
        inputs: list[str],
        out: str | list[str],
        domain: str = "",
        **attributes: Any,
    ) -> str:
        outs = [out] if isinstance(out, str) else out
        self.nodes.append(helper.make_node(kind, inputs, outs, domain=domain, **attributes))
        return outs[0]

    def constant(self, name: str, value: Array) -> str:
        self.constants.append(onnx.numpy_helper.from_array(value, name))
        return name

    def weight(self, name: str, kind: int, shape: list[int]) -> str:
        self.weights[name] = (kind, shape)
        return name

    def matmul(self, x: str, name: str, rows: int, columns: int, wide: int = 0) -> str:
        """Product of float rows with a quantised matrix by eight-bit integers
        (`DynamicQuantizeMatMul`), the fastest that the runtime has.

        It has one scale for all tokens, which loses much where one token has a large number; so
        each token is divided by its largest number before, and multiplied after. The columns of the
        matrix with the largest symbols, ``wide`` of them, are multiplied as floats: the others are
        so small that sums cannot overflow on processors that add pairs in sixteen bits.
        """
        if not any(one.name == "least" for one in self.constants):
            self.constant("last", np.array([-1], np.int64))
            self.constant("least", np.array(1e-8, np.float32))
        self.op("Abs", [x], f"{name}.sizes")
        self.op("ReduceMax", [f"{name}.sizes", "last"], f"{name}.size", keepdims=1)
        self.op("Max", [f"{name}.size", "least"], f"{name}.largest")
        self.op("Div", [x, f"{name}.largest"], f"{name}.even")
        symbols = self.weight(f"{name}.symbols", TensorProto.INT8, [columns, rows])
        scales = self.weight(f"{name}.scales", TensorProto.FLOAT, [rows])
        zeros = self.constant(f"{name}.zeros", np.zeros(rows, np.int8))
        self.op(
            "DynamicQuantizeMatMul", [f"{name}.even", symbols, scales, zeros], f"{name}.product",
            domain="com.microsoft",
        )  # fmt: skip
        if not wide:
            return self.op("Mul", [f"{name}.product", f"{name}.largest"], f"{name}.out")
        self.op("Mul", [f"{name}.product", f"{name}.largest"], f"{name}.most")
        which = self.weight(f"{name}.columns", TensorProto.INT64, [wide])
        floats = self.weight(f"{name}.wide", TensorProto.FLOAT, [wide, rows])
        self.op("Gather", [x, which], f"{name}.few", axis=-1)
        self.op("MatMul", [f"{name}.few", floats], f"{name}.rest")
        return self.op("Add", [f"{name}.most", f"{name}.rest"], f"{name}.out")

    def model(self, inputs: list[Any], outputs: list[Any]) -> onnx.ModelProto:
        graph = helper.make_graph(self.nodes, self.name, inputs, outputs, self.constants)
        for name, (kind, shape) in self.weights.items():
            tensor = onnx.TensorProto(
                name=name, data_type=kind, dims=shape, data_location=TensorProto.EXTERNAL
            )
            tensor.external_data.add(key="location", value="weights")
            graph.initializer.append(tensor)
        model = helper.make_model(
            graph,
            opset_imports=[
                helper.make_opsetid("", OPSET),
                helper.make_opsetid("com.microsoft", 1),
            ],
            ir_version=10,
        )
        model.producer_name = "rwtools"
        return model


def layers_graph(config: dict[str, Any]) -> onnx.ModelProto:
    """`together` layers: a stream (T, hidden), positions (T) and an attention bias (T, T) to a
    stream. All blocks of layers use this one graph, each with weights of its own; so the runtime
    repacks one block at a time, and the unpacked weights of the others need not stay."""
    hidden, heads, kv, size = (config[k] for k in ("hidden", "heads", "kv_heads", "head_size"))
    inner, wide = config["inner"], _width(config["wide"])
    group = heads // kv
    g = Graph("layers")
    c = g.constant
    c("shape.q", np.array([-1, kv, group, size], np.int64))
    c("shape.kv", np.array([-1, kv, size], np.int64))
    c("shape.rows", np.array([kv, -1, size], np.int64))
    c("shape.flat", np.array([-1, hidden], np.int64))
    c("shape.seq", np.array([1, -1], np.int64))
    c("first", np.array([0], np.int64))
    c("split.qkv", np.array([hidden, kv * size, kv * size], np.int64))
    c("split.inner", np.array([inner, inner], np.int64))
    g.op("Unsqueeze", ["positions", "first"], "positions.2d")
    cos = g.weight("rope.cos", TensorProto.FLOAT, [config["window"], size // 2])
    sin = g.weight("rope.sin", TensorProto.FLOAT, [config["window"], size // 2])

    gain = g.weight("layer.0.gain.attention", TensorProto.FLOAT, [hidden])
    epsilon = config["epsilon"]
    normed = g.op(
        "SimplifiedLayerNormalization", ["stream", gain], "normed.0", axis=-1, epsilon=epsilon
    )
    stream = "stream"
    for i in range(config["together"]):
        p = f"layer.{i}"
        qkv = g.matmul(normed, f"{p}.qkv", hidden + 2 * kv * size, hidden, wide["qkv"])
        g.op("Split", [qkv, "split.qkv"], [f"{p}.q", f"{p}.k", f"{p}.v"], axis=-1)
        for which, count in (("q", heads), ("k", kv)):
            g.op("Unsqueeze", [f"{p}.{which}", "first"], f"{p}.{which}.3d")
            g.op(
                "RotaryEmbedding",
                [f"{p}.{which}.3d", "positions.2d", cos, sin],
                f"{p}.{which}.turned",
                domain="com.microsoft",
                num_heads=count,
                rotary_embedding_dim=0,
                interleaved=0,
            )
        g.op("Reshape", [f"{p}.q.turned", "shape.q"], f"{p}.q.heads")
        g.op("Transpose", [f"{p}.q.heads"], f"{p}.q.by_head", perm=[1, 2, 0, 3])
        g.op("Reshape", [f"{p}.q.by_head", "shape.rows"], f"{p}.q.rows")
        g.op("Reshape", [f"{p}.k.turned", "shape.kv"], f"{p}.k.heads")
        g.op("Transpose", [f"{p}.k.heads"], f"{p}.k.columns", perm=[1, 2, 0])
        g.op("Reshape", [f"{p}.v", "shape.kv"], f"{p}.v.heads")
        g.op("Transpose", [f"{p}.v.heads"], f"{p}.v.rows", perm=[1, 0, 2])
        g.op("MatMul", [f"{p}.q.rows", f"{p}.k.columns"], f"{p}.match")
        g.op("Reshape", [f"{p}.match", "shape.match"], f"{p}.match.heads")
        g.op("Add", [f"{p}.match.heads", "bias"], f"{p}.match.seen")
        g.op("Softmax", [f"{p}.match.seen"], f"{p}.weights.heads", axis=-1)
        g.op("Reshape", [f"{p}.weights.heads", "shape.weights"], f"{p}.weights")
        g.op("MatMul", [f"{p}.weights", f"{p}.v.rows"], f"{p}.mixed")
        g.op("Reshape", [f"{p}.mixed", "shape.mixed"], f"{p}.mixed.heads")
        g.op("Transpose", [f"{p}.mixed.heads"], f"{p}.mixed.tokens", perm=[2, 0, 1, 3])
        g.op("Reshape", [f"{p}.mixed.tokens", "shape.flat"], f"{p}.mixed.flat")
        out = g.matmul(f"{p}.mixed.flat", f"{p}.out", hidden, hidden, wide["out"])
        gain = g.weight(f"{p}.gain.inner", TensorProto.FLOAT, [hidden])
        g.op(
            "SkipSimplifiedLayerNormalization",
            [out, stream, gain],
            [f"{p}.normed", "", "", f"{p}.stream"],
            domain="com.microsoft",
            epsilon=epsilon,
        )
        both = g.matmul(f"{p}.normed", f"{p}.up", 2 * inner, hidden, wide["up"])
        g.op("Split", [both, "split.inner"], [f"{p}.gate", f"{p}.value"], axis=-1)
        g.op("QuickGelu", [f"{p}.gate"], f"{p}.gated", domain="com.microsoft", alpha=1.0)
        g.op("Mul", [f"{p}.gated", f"{p}.value"], f"{p}.inner")
        down = g.matmul(f"{p}.inner", f"{p}.down", hidden, inner, wide["down"])
        if i == config["together"] - 1:
            g.op("Add", [down, f"{p}.stream"], "stream.out")
            break
        gain = g.weight(f"layer.{i + 1}.gain.attention", TensorProto.FLOAT, [hidden])
        stream, normed = f"x.{i + 1}", f"normed.{i + 1}"
        g.op(
            "SkipSimplifiedLayerNormalization",
            [down, f"{p}.stream", gain],
            [normed, "", "", stream],
            domain="com.microsoft",
            epsilon=epsilon,
        )
    # The reshapes of the attention need the number of tokens; it is read off once.
    front = Graph("front")
    front.constant("kv.group", np.array([kv, group], np.int64))
    front.constant("kv.any", np.array([kv, -1], np.int64))
    front.constant("size", np.array([size], np.int64))
    front.op("Shape", ["positions"], "count")
    front.op("Concat", ["kv.group", "count", "count"], "shape.match", axis=0)
    front.op("Concat", ["kv.any", "count"], "shape.weights", axis=0)
    front.op("Concat", ["kv.group", "count", "size"], "shape.mixed", axis=0)
    g.nodes = front.nodes + g.nodes
    g.constants += front.constants
    g.constants = [t for t in g.constants if t.name != "shape.seq"]
    return g.model(
        [
            helper.make_tensor_value_info("stream", TensorProto.FLOAT, ["T", hidden]),
            helper.make_tensor_value_info("positions", TensorProto.INT64, ["T"]),
            helper.make_tensor_value_info("bias", TensorProto.FLOAT, ["T", "T"]),
        ],
        [helper.make_tensor_value_info("stream.out", TensorProto.FLOAT, ["T", hidden])],
    )


def head_graph(config: dict[str, Any]) -> onnx.ModelProto:
    """Last stream (N, hidden) and target tokens (N, 1) to log-probabilities (N, 1), natural."""
    g = Graph("head")
    gain = g.weight("gain.final", TensorProto.FLOAT, [config["hidden"]])
    g.op(
        "SimplifiedLayerNormalization", ["stream", gain], "hidden", axis=-1,
        epsilon=config["epsilon"],
    )  # fmt: skip
    logits = g.matmul(
        "hidden",
        "embed",
        config["vocabulary"],
        config["hidden"],
        _width(config["wide"])["embed"],
    )
    # One pass over the logits; `ReduceLogSumExp` takes six times as long.
    g.op("LogSoftmax", [logits], "logprobs", axis=-1)
    g.op("GatherElements", ["logprobs", "targets"], "logprob", axis=1)
    return g.model(
        [
            helper.make_tensor_value_info("stream", TensorProto.FLOAT, ["N", config["hidden"]]),
            helper.make_tensor_value_info("targets", TensorProto.INT64, ["N", 1]),
        ],
        [helper.make_tensor_value_info("logprob", TensorProto.FLOAT, ["N", 1])],
    )


def wide_columns(matrices: dict[str, tuple[Array, Array]]) -> dict[str, list[int]]:
    """For each matrix the columns with a symbol beyond `LARGEST`. Matrices of one kind have equally
    many, since all blocks of layers share a graph; the next largest columns fill up."""
    largest = {
        name: np.abs(symbols.astype(np.int16) - 128).max(axis=0)
        for name, (symbols, _) in matrices.items()
    }
    most: dict[str, int] = {}
    for name, sizes in largest.items():
        kind = name.rpartition(".")[2]
        most[kind] = max(most.get(kind, 1), int((sizes > LARGEST).sum()))
    return {
        name: sorted(np.argsort(-sizes, kind="stable")[: most[name.rpartition(".")[2]]].tolist())
        for name, sizes in largest.items()
    }


def _width(wide: dict[str, list[int]]) -> dict[str, int]:
    return {name.rpartition(".")[2]: len(columns) for name, columns in wide.items()}


def plain_tokenizer(raw: dict[str, Any]) -> dict[str, Any]:
    """Drop the control tokens, so that a user's text is always only text, and round no offsets."""
    slim = dict(raw)
    slim["added_tokens"] = []
    slim["truncation"] = slim["padding"] = None
    slim["post_processor"] = None
    return slim


def write(
    folder: Path,
    config: dict[str, Any],
    matrices: dict[str, tuple[Array, Array]],
    gains: dict[str, Array],
    tokenizer: dict[str, Any],
) -> dict[str, Any]:
    """Write the artifact; return its description (what `judge.json` holds).

    `matrices` maps a name to symbols (rows, columns; 128 stands for zero) and steps (rows),
    `gains` a name to a vector. `embed` must be among the matrices: it serves both ends of the
    network. The artifact holds symbols as signed bytes (columns, rows).
    """
    config = config | {"wide": wide_columns(matrices)}
    folder.mkdir(parents=True, exist_ok=True)
    for old in (*folder.glob("weights-*.bin"), *folder.glob("*.onnx"), folder / "judge.json"):
        old.unlink(missing_ok=True)
    packer = Packer()
    for name, (symbols, steps) in matrices.items():
        turned = (symbols ^ np.uint8(128)).view(np.int8).T
        packer.add(f"{name}.symbols", np.ascontiguousarray(turned))
        packer.add(f"{name}.scales", steps.astype(np.float32))
    for name, gain in gains.items():
        packer.add(name, gain.astype(np.float32))
    files = packer.files() | {
        "tokenizer.json.gz": packed_tokenizer(tokenizer),
        "layers.onnx": layers_graph(config).SerializeToString(),
        "head.onnx": head_graph(config).SerializeToString(),
    }
    return describe(folder, "judge", config, files, packer.streams)


class Packer:
    """Arrays, coded piece by piece and laid one after another in files of bounded size."""

    def __init__(self) -> None:
        self.streams: dict[str, Any] = {}
        self._part, self._parts = bytearray(), list[bytes]()

    def add(self, name: str, value: Array) -> None:
        strategy = zlib.Z_HUFFMAN_ONLY if value.dtype.itemsize == 1 else zlib.Z_DEFAULT_STRATEGY
        raw, pieces = value.tobytes(), []
        for at in range(0, len(raw), PIECE_BYTES):
            coder = zlib.compressobj(9, zlib.DEFLATED, -15, 9, strategy)
            data = coder.compress(raw[at : at + PIECE_BYTES]) + coder.flush()
            if len(self._part) + len(data) > PART_BYTES:
                self._parts.append(bytes(self._part))
                self._part = bytearray()
            pieces.append([len(self._parts) + 1, len(self._part), len(data)])
            self._part += data
        self.streams[name] = {
            "type": str(value.dtype), "shape": list(value.shape), "pieces": pieces
        }  # fmt: skip

    def files(self) -> dict[str, bytes]:
        """The files so far, by name."""
        parts = [*self._parts, bytes(self._part)]
        return {f"weights-{n}.bin": data for n, data in enumerate(parts, 1)}


def packed_tokenizer(raw: dict[str, Any]) -> bytes:
    """The tokenizer's file, plain and compressed."""
    text = json.dumps(plain_tokenizer(raw), ensure_ascii=False, separators=(",", ":"))
    return gzip.compress(text.encode(), 9, mtime=0)


def describe(
    folder: Path, name: str, config: dict[str, Any], files: dict[str, bytes],
    streams: dict[str, Any],
) -> dict[str, Any]:  # fmt: skip
    """Write the given files and the description ``NAME.json``."""
    description = {
        "format": FORMAT,
        "config": config,
        "files": {
            file: {"bytes": len(data), "sha256": hashlib.sha256(data).hexdigest()}
            for file, data in files.items()
        },
        "streams": streams,
    }
    for file, data in files.items():
        (folder / file).write_bytes(data)
    text = json.dumps(description, indent=1) + "\n"
    (folder / f"{name}.json").write_text(text, encoding="utf-8")
    return description


def fused(
    state: dict[str, Array], layers: int, head_size: int
) -> tuple[dict[str, Array], dict[str, Array]]:
    """Matrices and gains under the artifact's names from a Llama-style state dictionary.

    Query, key and value become one matrix, and so do gate and up. The attention's 1/sqrt(size) is
    put into the query rows (a power of two, so nothing is lost).
    """
    matrices = {"embed": state["model.embed_tokens.weight"]}
    gains = {"gain.final": state["model.norm.weight"]}
    for i in range(layers):
        p = f"model.layers.{i}"
        query = state[f"{p}.self_attn.q_proj.weight"] / np.float32(np.sqrt(head_size))
        key, value, out = (state[f"{p}.self_attn.{k}_proj.weight"] for k in "kvo")
        gate, up, down = (state[f"{p}.mlp.{k}_proj.weight"] for k in ("gate", "up", "down"))
        matrices[f"layer.{i}.qkv"] = np.concatenate([query, key, value])
        matrices[f"layer.{i}.out"] = out
        matrices[f"layer.{i}.up"] = np.concatenate([gate, up])
        matrices[f"layer.{i}.down"] = down
        gains[f"layer.{i}.gain.attention"] = state[f"{p}.input_layernorm.weight"]
        gains[f"layer.{i}.gain.inner"] = state[f"{p}.post_attention_layernorm.weight"]
    return matrices, gains

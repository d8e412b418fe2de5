"""A decoder network in PyTorch, read from a GGUF file: it writes items and labels lessons.

    python models/reader/language_model.py FILE.gguf LESSONS.jsonl.gz DECODER.npz

FILE is Qwen2.5-Coder-1.5B (Apache-2.0), or another network of the architecture ``qwen2`` whose
words serve as its output too. DECODER.npz holds its weights, as packed as they were, its tokenizer
and the tokens that the lessons and common English use: fewer words make each step cheaper.

Needs torch, gguf, tokenizers and wordfreq.
"""

from __future__ import annotations

import gzip
import json
import sys
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import torch
from tokenizers import Regex, Tokenizer, decoders, models, normalizers, pre_tokenizers
from torch import Tensor, nn
from torch.nn import functional

__all__ = ["DEVICE", "Decoder", "Vocabulary", "empty", "opened", "pack"]

DEVICE = "cuda" if torch.cuda.is_available() else "cpu"
if DEVICE == "cuda":
    torch.backends.cuda.matmul.allow_tf32 = True
    torch.backends.cuda.enable_cudnn_sdp(False)  # with a mask it gives nan in the backward pass
ORDINARY = 151_643  # tokens of the file before the special ones
SPLIT = (
    r"(?i:'s|'t|'re|'ve|'m|'ll|'d)|[^\r\n\p{L}\p{N}]?\p{L}+|\p{N}| ?[^\s\p{L}\p{N}]+[\r\n]*"
    r"|\s*[\r\n]+|\s+(?!\S)|\s+"
)
NAMES = {
    "attn_norm": "norm1", "ffn_norm": "norm2", "attn_q": "q", "attn_k": "k", "attn_v": "v",
    "attn_output": "out", "ffn_gate": "gate", "ffn_up": "up", "ffn_down": "down",
}  # fmt: skip


class Norm(nn.Module):
    """Divides by the root mean square; the result has 32 bits whatever comes in."""

    def __init__(self, width: int) -> None:
        super().__init__()
        self.weight = nn.Parameter(torch.ones(width))

    def forward(self, x: Tensor) -> Tensor:
        return functional.rms_norm(x.float(), (x.shape[-1],), self.weight.float(), 1e-6)


def _turned(x: Tensor, cos: Tensor, sin: Tensor) -> Tensor:
    a, b = x.chunk(2, -1)
    return torch.cat([a * cos - b * sin, b * cos + a * sin], -1).to(x.dtype)


class Layer(nn.Module):
    """Attention, whose heads share keys and values in groups, and a gated inner layer."""

    def __init__(self, width: int, inner: int, heads: int, shared: int) -> None:
        super().__init__()
        self.heads, self.shared, self.size = heads, shared, width // heads
        self.norm1, self.norm2 = Norm(width), Norm(width)
        self.q = nn.Linear(width, width)
        self.k = nn.Linear(width, shared * self.size)
        self.v = nn.Linear(width, shared * self.size)
        self.out = nn.Linear(width, width, bias=False)
        self.gate = nn.Linear(width, inner, bias=False)
        self.up = nn.Linear(width, inner, bias=False)
        self.down = nn.Linear(inner, width, bias=False)

    def looks(self, x: Tensor, cos: Tensor, sin: Tensor) -> tuple[Tensor, Tensor, Tensor]:
        """Queries (batch, heads, length, size), keys and values (batch, shared, length, size)."""
        y = self.norm1(x).to(x.dtype)
        q, k, v = (
            part(y).view(*x.shape[:2], -1, self.size).transpose(1, 2)
            for part in (self.q, self.k, self.v)
        )
        return _turned(q, cos, sin), _turned(k, cos, sin), v

    def ended(self, x: Tensor, mixed: Tensor) -> Tensor:
        """The layer's states, from those before it and what its heads (batch, heads, length, size)
        found."""
        x = x + self.out(mixed.transpose(1, 2).reshape(x.shape))
        y = self.norm2(x).to(x.dtype)
        return x + self.down(functional.silu(self.gate(y)) * self.up(y))

    def forward(self, x: Tensor, seen: Tensor, cos: Tensor, sin: Tensor) -> Tensor:
        q, k, v = self.looks(x, cos, sin)
        group = self.heads // self.shared
        k, v = k.repeat_interleave(group, 1), v.repeat_interleave(group, 1)
        mixed = functional.scaled_dot_product_attention(q, k, v, attn_mask=seen)
        return self.ended(x, mixed)


class Decoder(nn.Module):
    """Tokens to states; the logits of the next token are the product with ``words.weight``."""

    def __init__(
        self, words: int, width: int, inner: int, heads: int, shared: int, layers: int
    ) -> None:
        super().__init__()
        self.size = width // heads
        self.words = nn.Embedding(words, width)
        self.layers = nn.ModuleList(Layer(width, inner, heads, shared) for _ in range(layers))
        self.norm = Norm(width)

    def turns(self, places: Tensor) -> tuple[Tensor, Tensor]:
        """Cosines and sines (batch, 1, length, size / 2) for places (batch, length)."""
        turn = 1e6 ** (-torch.arange(0, self.size, 2, device=places.device).float() / self.size)
        angle = places[:, None, :, None].float() * turn
        return angle.cos(), angle.sin()

    def forward(self, tokens: Tensor, places: Tensor, seen: Tensor) -> Tensor:
        """The states (batch, length, width) before the last norm.

        ``seen`` (batch, 1, length, length): true where a token (third) may look at another (last).
        """
        x = self.words(tokens)
        cos, sin = self.turns(places)
        for layer in self.layers:
            x = layer(x, seen, cos, sin)
        return x


class Vocabulary:
    """The tokenizer, for a network that has only the ``kept`` tokens (old numbers, ascending)."""

    def __init__(self, tokenizer: str, kept: np.ndarray) -> None:
        self.tokenizer = Tokenizer.from_str(tokenizer)
        self.kept = kept
        self.new = np.zeros(ORDINARY, np.int64)  # a token not kept becomes 0
        self.new[kept] = np.arange(len(kept))
        (self.newline,) = self.ids(["\n"])[0]

    def ids(self, texts: Sequence[str]) -> list[list[int]]:
        """The network's tokens of each text."""
        many = self.tokenizer.encode_batch_fast(list(texts), add_special_tokens=False)
        return [self.new[np.array(one.ids, np.int64)].tolist() for one in many]

    def text(self, ids: Sequence[int]) -> str:
        """What the network's tokens spell."""
        return self.tokenizer.decode(self.kept[list(ids)].tolist())


def tokenizer(tokens: Sequence[str], merges: Sequence[str]) -> Tokenizer:
    """The tokenizer that a GGUF file describes."""
    made = Tokenizer(
        models.BPE(
            vocab={word: n for n, word in enumerate(tokens)},
            merges=[tuple(merge.split(" ")) for merge in merges],
        )
    )
    made.normalizer = normalizers.NFC()
    made.pre_tokenizer = pre_tokenizers.Sequence(
        [
            pre_tokenizers.Split(Regex(SPLIT), "isolated"),
            pre_tokenizers.ByteLevel(add_prefix_space=False, use_regex=False),
        ]
    )
    made.decoder = decoders.ByteLevel()
    return made


def used(words: Tokenizer, lessons: Path) -> np.ndarray:
    """The tokens of the lessons, of common words, of single bytes and of a written item's frame."""
    from wordfreq import top_n_list

    texts = ["word: link: x; y, z\n", " [", "[", "]", "____", " ____"]
    for word in top_n_list("en", 60_000):
        for form in (word, word.capitalize()):
            texts += [form, " " + form]
    with gzip.open(lessons, "rt", encoding="utf-8") as lines:
        for line in lines:
            one = json.loads(line)
            texts += [one["prefix"], one["suffix"]]
            for choice in one["choices"]:
                texts += [choice, " " + choice]
    found = set(range(256))
    for at in range(0, len(texts), 20_000):  # few at a time, for the memory's sake
        part = texts[at : at + 20_000]
        for one in words.encode_batch_fast(part, add_special_tokens=False):
            found.update(one.ids)
    return np.array(sorted(found))


def pack(gguf: Path, lessons: Path, out: Path) -> None:
    """Write the decoder of a GGUF file: blocks as they are, of the words only those used."""
    from gguf import GGUFReader

    file = GGUFReader(gguf)

    def fact(name: str) -> int:
        return int(file.fields[f"qwen2.{name}"].contents())

    words = tokenizer(
        file.fields["tokenizer.ggml.tokens"].contents()[:ORDINARY],
        file.fields["tokenizer.ggml.merges"].contents(),
    )
    kept = used(words, lessons)
    arrays, types = {}, {}
    for tensor in file.tensors:
        data = tensor.data
        base, _, kind = tensor.name.rpartition(".")
        if base == "output":  # the words again
            continue
        if base == "token_embd":
            name, data = "words.weight", data[kept]
        elif base == "output_norm":
            name = "norm.weight"
        else:
            _, layer, part = base.split(".")
            name = f"layers.{layer}.{NAMES[part]}.{kind}"
        arrays[name], types[name] = data, int(tensor.tensor_type)
    shape = {
        "words": len(kept),
        "width": fact("embedding_length"),
        "inner": fact("feed_forward_length"),
        "heads": fact("attention.head_count"),
        "shared": fact("attention.head_count_kv"),
        "layers": fact("block_count"),
    }
    facts = json.dumps({"shape": shape, "types": types})
    np.savez(out, facts=np.array(facts), tokenizer=np.array(words.to_str()), kept=kept, **arrays)


def empty(path: Path) -> tuple[Decoder, Vocabulary]:
    """A decoder of the shape of the one that `pack` wrote, and its words."""
    with np.load(path, allow_pickle=False) as data:
        shape = json.loads(str(data["facts"]))["shape"]
        vocabulary = Vocabulary(str(data["tokenizer"]), data["kept"])
    with torch.device(DEVICE):
        return Decoder(**shape), vocabulary


def opened(path: Path) -> tuple[Decoder, Vocabulary]:
    """The decoder that `pack` wrote, in 32 bits, and its words."""
    from gguf import GGMLQuantizationType, dequantize

    net, vocabulary = empty(path)
    with np.load(path, allow_pickle=False) as data:
        types = json.loads(str(data["facts"]))["types"]
        arrays = {name: data[name] for name in net.state_dict()}

    def plain(name: str) -> tuple[str, Tensor]:
        value = arrays[name]
        if value.dtype == np.uint8:
            value = dequantize(value, GGMLQuantizationType(types[name]))
        return name, torch.from_numpy(np.array(value, np.float32))

    with ThreadPoolExecutor(12) as pool:
        net.load_state_dict(dict(pool.map(plain, arrays)))
    return net, vocabulary


if __name__ == "__main__":
    pack(*map(Path, sys.argv[1:]))

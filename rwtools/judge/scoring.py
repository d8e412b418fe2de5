"""Likelihood of texts, of choices in one place, and of single tokens."""

from __future__ import annotations

import math
from collections.abc import Sequence

from rwtools.judge.engine import Engine, Job, engine

__all__ = ["compare", "compare_many", "score", "surprisal"]

WINDOW = 512
"""Longest piece of text, in tokens, that is read at once."""

OVERLAP = 128
"""Tokens that a later window reads again as context (they are not counted twice)."""

CONTEXT = 256
"""`compare` reads at most so many tokens before the choice."""

HORIZON = 24
"""`compare` weighs at most so many tokens after the choice; farther ones hardly depend on it."""


def _windows(start: int, tokens: Sequence[int]) -> list[Job]:
    """Cut a long text into jobs whose branches, joined, are the text."""
    jobs = [Job([start], [tokens[:WINDOW]])]
    at = WINDOW
    while at < len(tokens):
        step = WINDOW - OVERLAP
        jobs.append(Job([start, *tokens[at - OVERLAP : at]], [tokens[at : at + step]]))
        at += step
    return jobs


def _totals(model: Engine, texts: Sequence[Sequence[int]]) -> list[float]:
    jobs: list[Job] = []
    owners: list[int] = []
    for n, tokens in enumerate(texts):
        pieces = _windows(model.start, tokens)
        jobs += pieces
        owners += [n] * len(pieces)
    totals = [0.0] * len(texts)
    for owner, (branch,) in zip(owners, model.run(jobs), strict=True):
        totals[owner] += float(branch.sum(dtype="float64"))
    return totals


def score(texts: Sequence[str]) -> list[float]:
    """Natural-log probability of each whole text, in the order given.

    An empty text has probability one (0.0). A text of more than 512 tokens (about 380 words) is
    read in windows: each later window sees the 128 tokens before it and no more. Compare only
    texts that say nearly the same: longer texts are always less likely.
    """
    if not texts:
        return []
    model = engine()
    return _totals(model, model.encode_many(texts))


def compare(prefix: str, choices: Sequence[str], suffix: str = "") -> list[float]:
    """Natural-log probability of each choice between `prefix` and `suffix`.

    The numbers are normalised over the choices: their exponentials add up to one. Each whole text
    ``prefix + choice + suffix`` is cut into tokens by itself, so the seams are as in running text;
    put the spaces where they belong. At most 256 tokens before the choices and 24 after them count
    (about 190 and 18 words); what the choices add is always counted whole.
    """
    return compare_many([(prefix, choices, suffix)])[0]


def compare_many(places: Sequence[tuple[str, Sequence[str], str]]) -> list[list[float]]:
    """`compare` for many places ``(prefix, choices, suffix)``; faster than one at a time."""
    if not places:
        return []
    model = engine()
    texts = [prefix + choice + suffix for prefix, choices, suffix in places for choice in choices]
    encoded = iter(model.encode_many(texts))
    jobs: list[Job] = []
    owners: list[tuple[int, list[int]]] = []
    raw: list[list[float]] = []
    for n, (_, choices, _) in enumerate(places):
        tokens = [next(encoded) for _ in choices]
        raw.append([0.0] * len(tokens))
        if not tokens:
            continue
        # Branches move each other a little (eight-bit numbers), so they always go in one order.
        order = sorted(range(len(tokens)), key=tokens.__getitem__)
        job = _job(model.start, [tokens[k] for k in order])
        if job.size <= model.window:
            jobs.append(job)
            owners.append((n, order))
        else:  # very long choices: each whole text by itself
            raw[n] = _totals(model, tokens)
    for (owner, order), branches in zip(owners, model.run(jobs), strict=True):
        for k, branch in zip(order, branches, strict=True):
            raw[owner][k] = float(branch.sum(dtype="float64"))
    return [_normalised(values) for values in raw]


def _job(start: int, texts: Sequence[Sequence[int]]) -> Job:
    """What the texts begin with alike, and from there each text up to the horizon."""
    shortest = min(map(len, texts))
    first = texts[0]
    alike = 0
    while alike < shortest and all(text[alike] == first[alike] for text in texts):
        alike += 1
    after = 0
    while after < shortest - alike and all(text[-1 - after] == first[-1 - after] for text in texts):
        after += 1
    drop = max(after - HORIZON, 0)
    shared = [start, *first[max(alike - CONTEXT, 0) : alike]]
    return Job(shared, [text[alike : len(text) - drop] for text in texts])


def _normalised(values: Sequence[float]) -> list[float]:
    if not values:
        return []
    top = max(values)
    total = top + math.log(sum(math.exp(value - top) for value in values))
    return [value - total for value in values]


def surprisal(text: str) -> list[tuple[int, int, float]]:
    """How surprising each piece of the text is: ``(start, end, bits)``, in reading order.

    The spans are code-point offsets; joined, they cover the whole text without gap or overlap. A
    piece is a word or part of one with the space before it; tokens that share a character (parts
    of an emoji, say) are one piece, and their bits are added. Windows are as in `score`.
    """
    model = engine()
    tokens, offsets = model.encode(text)
    if not tokens:
        return [(0, len(text), 0.0)] if text else []
    results = model.run(_windows(model.start, tokens))
    logprobs = [float(value) for (branch,) in results for value in branch]
    pieces: list[tuple[int, int, float]] = []
    for (start, end), logprob in zip(offsets, logprobs, strict=True):
        bits = -logprob / math.log(2)
        if pieces and start < pieces[-1][1]:
            before = pieces.pop()
            start, end, bits = before[0], max(before[1], end), before[2] + bits
        pieces.append((start, end, bits))
    # A few rare characters have bytes without a token; the piece before takes them in.
    starts = [0, *(start for start, _, _ in pieces[1:])]
    ends = [*starts[1:], len(text)]
    return [(s, e, bits) for s, e, (_, _, bits) in zip(starts, ends, pieces, strict=True)]

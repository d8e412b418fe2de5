"""Whether a stretch of words could be a sentence, by several witnesses.

The parse shows a main verb with its subject or not, but it takes *need* in *The seeds of the umbral
pine need fire* for a noun. Where it finds no sentence, a second look puts *would* before each word
that could be a verb: if *The seeds of the umbral pine would need fire* has a main verb with a
subject that agrees with *need*, the first parse may have been wrong. A small network that learnt
from stretches of edited books (`models/clauses`) reads the words too, and a few weights put all
this together. What may be an absolute phrase (*the treaty signed*) stays open.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import cache, lru_cache
from itertools import islice
from typing import TYPE_CHECKING, Any, NamedTuple, cast

from rwtools.resources import artifact, load_json
from rwtools.rules.absolutes import may_be_absolute
from rwtools.rules.number import number_of
from rwtools.text import Text, Token, parse_many
from rwtools.text.clauses import own_subject

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

__all__ = ["RELATIVES", "chances_whole", "parsed_whole", "witnesses"]

RELATIVES = frozenset("which who whom whose".split())
_DILATIONS = (1, 2, 4, 8)
_ENDINGS = 512
_OPEN = 0.5
_MOST = 40
_CANDIDATES = 3
_LOOKS = ("plain, many", "s, one", "s", "past", "plain")
"""What a second look can show, the strongest first: the form of the verb, and the subject's number
where that is clear."""

_FINITE = ("VBD", "VBZ", "VBP")
_NO_VERB_AFTER = frozenset("DET ADP PART CCONJ SCONJ AUX".split())
_NO_VERB = frozenset("ADV PRON DET ADP CCONJ SCONJ PUNCT AUX PART".split())
_S_AFTER_E = ("xe", "she", "che", "sse", "zze", "oe")
_CLAUSAL = frozenset("csubj csubjpass".split())


def chances_whole(texts: Sequence[Text]) -> list[float]:
    """Probability for each stretch, parsed as a text of its own, that it could be a sentence.

    The model learnt from statements, so the parser decides on questions alone.
    """
    found = []
    weights = _combination()
    for text, seen in zip(texts, witnesses(texts), strict=True):
        if "?" in text.passage or not text.tokens:
            found.append(float(parsed_whole(text)))
        else:
            score = sum(weights.get(name, 0.0) * value for name, value in seen.items())
            chance = 1 / (1 + math.exp(-score - weights["bias"]))
            words = [t for t in text.tokens if not t.is_punct]
            # the treaty signed: a statement or a noun with its participle, so nothing is sure
            found.append(min(chance, _OPEN) if may_be_absolute(words) else chance)
    return found


def witnesses(texts: Sequence[Text]) -> list[dict[str, float]]:
    """What each witness says of the stretches, by name."""
    parsed = [parsed_whole(text) for text in texts]
    second = _second_looks([t for t, whole in zip(texts, parsed, strict=True) if not whole])
    looks = iter(second)
    found = []
    for text, whole in zip(texts, parsed, strict=True):
        words = tuple((t.lower, t.tag, t.dep) for t in text.tokens)
        net = _read(words, whole) if words else 0.0
        seen = {"parsed": float(whole), "read, parsed" if whole else "read": net}
        if whole and _commands(text):
            seen = {"parsed": 1.0, "command": 1.0, "read, command": net}
        if not whole:
            if text.tokens and (text.tokens[0].dep == "mark" or text.tokens[0].tag == "WRB"):
                seen["opens dependent"] = 1.0
            look = next(looks)
            if look:
                seen[look] = 1.0
            if _is_inverted(text):
                seen["inverted"] = 1.0
        found.append(seen)
    return found


# ---------------------------------------------------------------- the parse


def parsed_whole(text: Text) -> bool:
    """Whether the parse of a stretch shows a sentence: a finite main verb with its own subject,
    and no word such as *because* or *which* that makes it hang on something else."""
    for clause in text.clauses:
        if clause.kind != "independent" or not clause.finite or clause.reason == "second_verb":
            continue
        if clause.subject is None and text.tokens[clause.head].tag != "VB":
            continue
        first = text.tokens[text.subtree(clause.head)[0]]
        if first.lower in RELATIVES and not text.passage.endswith("?"):
            continue
        if clause.subject is not None and not _ends_well(text):
            continue
        return True
    return False


def _ends_well(text: Text) -> bool:
    """Whether the last word can close a sentence (not *the*, *of*, *that*, *are* ...)."""
    words = [t for t in text.tokens if not t.is_punct]
    if not words:
        return False
    last = words[-1]
    return not (
        last.pos in ("DET", "CCONJ", "SCONJ")
        or last.tag in ("IN", "TO", "PRP$", "MD", "WDT")
        or last.lower in ("include", "includes", "included", "including", "contained", "called")
    )


def _commands(text: Text) -> bool:
    """Whether the first word is the main verb, without a subject (*Close the gate*)."""
    words = [t for t in text.tokens if not t.is_punct]
    return words[0].tag == "VB" and words[0].dep == "ROOT" if words else False


def _is_inverted(text: Text) -> bool:
    """Whether the main verb stands before its subject (*Behind the mill stood a row of elms*),
    which the parser then takes for an object."""
    for clause in text.clauses:
        head = text.tokens[clause.head]
        if clause.kind != "independent" or head.dep != "ROOT" or head.tag not in _FINITE:
            continue
        if clause.subject is not None or not _ends_well(text):
            continue
        before = [text.tokens[i] for i in text.children[head.i] if i < head.i]
        if text.child(head.i, "attr", "dobj", "nsubj") is None or not any(
            t.dep in ("prep", "acomp", "advmod", "attr", "amod", "advcl") for t in before
        ):
            continue
        return True
    return False


# ---------------------------------------------------------------- the second look


def _second_looks(texts: Sequence[Text]) -> list[str]:
    """For each stretch the best that putting *would* before a possible verb shows, or nothing."""
    jobs = [
        (n, token, form, f"{text.passage[: token.start]}would {base}{text.passage[token.end :]}")
        for n, text in enumerate(texts)
        for token, base, form in islice(_candidates(text), _CANDIDATES)
    ]
    found: list[set[str]] = [set() for _ in texts]
    parsed = parse_many((job[3] for job in jobs), verse=False)
    for (n, token, form, _), text in zip(jobs, parsed, strict=True):
        found[n].add(_shown(text, token.start, form))
    return [next((look for look in _LOOKS if look in looks), "") for looks in found]


def _candidates(text: Text) -> Iterator[tuple[Token, str, str]]:
    """Words that could be the finite verb: the word, its base form and which form it is."""
    if not text.tokens or text.tokens[0].dep == "mark" or text.tokens[0].lower in RELATIVES:
        return
    for one, token in zip(text.tokens, text.tokens[1:], strict=False):
        if one.pos in _NO_VERB_AFTER or one.tag in ("PRP$", "POS", "TO", "CD", "WRB", "JJ"):
            continue
        if one.text in ("-", "—") or not token.text.islower() or token.pos in _NO_VERB:
            continue
        if token.tag in ("MD", "VBG") or token.dep == "relcl":
            continue
        for base, form in _readings(token.lower):
            yield token, base, form


def _readings(word: str) -> Iterator[tuple[str, str]]:
    """The verbs of which a word can be a finite form, with the form: ``plain``, ``s``, ``past``."""
    table = _verbs()
    verbs, irregular = table["verbs"], table["irregular"]
    if word in verbs:
        yield word, "plain"
    if word in irregular:
        yield irregular[word], "past"
    for end, form in (("s", "s"), ("ed", "past")):
        if not word.endswith(end) or word.endswith("ss"):
            continue
        stem = word[: -len(end)]
        tries = [stem, stem + "e", stem[:-1]]
        if stem.endswith("i"):
            tries = [stem[:-1] + "y"]
        elif form == "s":
            tries = [stem, stem.removesuffix("e") if stem.endswith(_S_AFTER_E) else stem]
            if stem.endswith("ie"):
                tries = [stem[:-2] + "y"]
        base = next((t for t in tries if t in verbs), None)
        if base is not None:
            yield base, form


def _shown(text: Text, at: int, form: str) -> str:
    """What a stretch with *would* put in at an offset shows."""
    would = text.token_at(at)
    if would is None or would.tag != "MD" or would.head != would.i + 1:
        return ""
    clause = text.clause_of_head.get(would.head)
    if clause is None or clause.kind != "independent" or clause.reason == "second_verb":
        return ""
    subject = own_subject(text, would.head)
    if subject is None or subject.i > would.i or subject.dep in _CLAUSAL:
        return ""
    if subject.lower in RELATIVES or subject.lower == "that" or not parsed_whole(text):
        return ""
    if form == "past":
        return "past"
    number, _, _ = number_of(text, subject, text.tokens[would.head])
    if form == "plain":
        return {"many": "plain, many", "one": "", "": "plain"}[number]
    return {"many": "", "one": "s, one", "": "s"}[number]


@cache
def _verbs() -> dict[str, Any]:
    found = load_json(artifact("clauses", "verbs.json"))
    return {"verbs": frozenset(found["verbs"]), "irregular": found["irregular"]}


# ---------------------------------------------------------------- the network


class _Network(NamedTuple):
    words: dict[str, int]
    tags: dict[str, int]
    deps: dict[str, int]
    arrays: dict[str, npt.NDArray[np.float32]]


@cache
def _combination() -> dict[str, float]:
    return cast("dict[str, float]", load_json(artifact("clauses", "combination.json"))["weights"])


@cache
def _network() -> _Network:
    import numpy as np

    with np.load(artifact("clauses", "clauses.npz"), allow_pickle=False) as stored:
        words, tags, deps = (
            {name: n for n, name in enumerate(stored[f"names.{k}"].tobytes().decode().split("\n"))}
            for k in ("words", "tags", "deps")
        )
        arrays = {
            name: stored[name].astype(np.float32)
            for name in stored.files
            if not name.startswith("names.")
        }
    return _Network(words, tags, deps, arrays)


def _ending(word: str) -> int:
    """A place for a word's last three letters (kept alike in ``models/clauses/train.py``)."""
    value = 7
    for letter in word[-3:]:
        value = (value * 31 + ord(letter)) % _ENDINGS
    return value


@lru_cache(maxsize=256)  # one batch asks for the same stretch again; its words are large
def _read(words: tuple[tuple[str, str, str], ...], parsed: bool) -> float:
    """Log-odds by the network that words with these tags and dependencies are a sentence."""
    import numpy as np

    net = _network()
    a = net.arrays
    if len(words) > _MOST:
        words = words[: _MOST // 2] + words[-_MOST // 2 :]
    x = np.concatenate(
        [
            a["word.weight"][[net.words.get(w, 0) for w, _, _ in words]],
            a["ending.weight"][[_ending(w) for w, _, _ in words]],
            a["tag.weight"][[net.tags.get(t, 0) for _, t, _ in words]],
            a["dep.weight"][[net.deps.get(d, 0) for _, _, d in words]],
        ],
        axis=1,
    )
    x = np.maximum(x @ a["inlet.weight"].T + a["inlet.bias"], 0)
    count, width = x.shape
    for n, gap in enumerate(_DILATIONS):
        wide = np.zeros((count + 2 * gap, width), dtype=np.float32)
        wide[gap : gap + count] = x
        kernel = a[f"layers.{n}.weight"]
        total = a[f"layers.{n}.bias"] + sum(
            wide[k * gap : k * gap + count] @ kernel[:, :, k].T for k in range(3)
        )
        x = x + np.maximum(total, 0)
    flag = np.array([1.0 if parsed else -1.0], dtype=np.float32)
    seen = np.concatenate([x.max(0), x.mean(0), x[0], flag])
    hidden = np.maximum(a["hidden.weight"] @ seen + a["hidden.bias"], 0)
    return float(a["out.weight"][0] @ hidden + a["out.bias"][0])

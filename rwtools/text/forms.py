"""Word forms: which lemmas English has, and how a verb or noun is inflected.

The lemma lists and the irregular forms are the parser package's own lookup tables; regular forms
follow the spelling rules, and where two spellings are possible (*stopped*, *stoped*) the one that
is used counts (wordfreq).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal

__all__ = ["VerbForms", "frequency", "is_past", "lemmas", "plural", "verb_forms"]

Pos = Literal["NOUN", "VERB", "ADJ", "ADV"]

# Verbs whose past and participle are the bare form (the tables list changed forms only).
_UNCHANGED = frozenset(
    "put set cut hit let shut cost cast hurt quit split spread thrust burst shed rid bet "
    "broadcast forecast upset read".split()
)
# Verbs whose participle is the bare form again.
_COME_BACK = frozenset("run come become overcome rerun".split())
_PAST_OF = {"beat": "beat"}
_BE = ("am", "are", "is", "was", "were")
_VOWELS = "aeiou"


@dataclass(frozen=True, slots=True)
class VerbForms:
    """The forms of a verb: *take, takes, took, taken, taking*."""

    base: str
    third: str
    past: str
    participle: str
    ing: str


@cache
def _table(name: str) -> dict[Pos, dict[str, tuple[str, ...]]]:
    from rwtools.text.load import pipeline

    tables = pipeline().get_pipe("lemmatizer").lookups
    found: dict[Pos, dict[str, tuple[str, ...]]] = {}
    names: tuple[Pos, ...] = ("NOUN", "VERB", "ADJ", "ADV")
    for pos in names:
        rows = tables.get_table(name).get(pos.lower(), {})
        found[pos] = (
            {str(k): tuple(v) for k, v in rows.items()}
            if hasattr(rows, "items")
            else {str(k): () for k in rows}
        )
    return found


@cache
def lemmas(pos: Pos) -> frozenset[str]:
    """All lemmas that the parser's word lists have for a part of speech, in lower case."""
    return frozenset(_table("lemma_index")[pos])


@cache
def _irregular(pos: Pos) -> dict[str, tuple[str, ...]]:
    """From a lemma to its irregular forms, most used first."""
    found: dict[str, set[str]] = {}
    for form, bases in _table("lemma_exc")[pos].items():
        for base in bases:
            found.setdefault(base, set()).add(form)
    return {k: tuple(sorted(v, key=lambda f: (-frequency(f), f))) for k, v in found.items()}


@cache
def _frequencies() -> dict[str, float]:
    import wordfreq

    return wordfreq.get_frequency_dict("en", wordlist="best")  # type: ignore[no-any-return]


def frequency(word: str) -> float:
    """How often English uses a word form: its share of all words; 0 if it isn't in the list."""
    return _frequencies().get(word.lower(), 0.0)


def _used(*forms: str) -> str:
    """The form that is used most; of unused ones the first."""
    return max(forms, key=lambda form: (frequency(form), -forms.index(form)))


def _doubles(base: str) -> bool:
    """Whether the last letter may be doubled: consonant, vowel, consonant."""
    return (
        len(base) > 2
        and base[-1] not in _VOWELS + "wxy"
        and base[-2] in _VOWELS
        and (base[-3] not in _VOWELS or base[-3:-1] == "ui")
    )


def _with_s(base: str) -> str:
    if base.endswith(("s", "x", "z", "ch", "sh")):
        return base + "es"
    if base.endswith("y") and base[-2:-1] not in _VOWELS:
        return base[:-1] + "ies"
    if base.endswith("o"):
        return _used(base + "es", base + "s")
    return base + "s"


def _with(base: str, ending: str) -> str:
    """``base`` with *ed* or *ing*."""
    if base.endswith("ie") and ending == "ing":
        return base[:-2] + "ying"
    if base.endswith("ic"):
        return base + "k" + ending
    if base.endswith("e") and not (ending == "ing" and base.endswith(("ee", "oe", "ye"))):
        return base[:-1] + ending
    if ending == "ed" and base.endswith("y") and base[-2:-1] not in _VOWELS:
        return base[:-1] + "ied"
    return _used(base + ending, base + base[-1] + ending) if _doubles(base) else base + ending


@cache
def verb_forms(lemma: str) -> VerbForms | None:
    """The forms of a verb, or None for *be*, modals and words that are no verbs."""
    if lemma == "be" or lemma not in lemmas("VERB") or not lemma.isalpha():
        return None
    third = {"have": "has", "do": "does", "go": "goes"}.get(lemma, _with_s(lemma))
    ing = _with(lemma, "ing")
    regular = _with(lemma, "ed")
    if lemma in _UNCHANGED:
        return VerbForms(lemma, third, lemma, lemma, ing)
    changed = [
        f
        for f in _irregular("VERB").get(lemma, ())
        if not f.endswith(("ing", "s", "'")) and f not in _BE and frequency(f) > 0
    ]
    past, participle = _past_and_participle(lemma, changed, regular)
    return VerbForms(lemma, third, past, participle, ing)


def _past_and_participle(lemma: str, changed: list[str], regular: str) -> tuple[str, str]:
    if not changed or (regular not in changed and frequency(regular) > frequency(changed[0])):
        return regular, regular
    if lemma in _COME_BACK:
        return changed[0], lemma
    with_u = [f for f in changed if "u" in f and f.replace("u", "a") in changed]
    if with_u:
        return with_u[0].replace("u", "a"), with_u[0]
    in_n = [f for f in changed if f.endswith(("n", "ne")) and f != lemma]
    others = [f for f in changed if f not in in_n]
    if in_n and others:
        return others[0], in_n[0]
    if in_n:  # *show, showed, shown*; but *win* has only *won*
        both = frequency(regular) > frequency(in_n[0]) / 20
        return (regular if both else _PAST_OF.get(lemma, in_n[0])), in_n[0]
    return changed[0], changed[0]


@cache
def is_past(form: str) -> bool:
    """Whether a form is an irregular past or participle of some verb, whatever else it may be:
    *wound*, *lay*, *found*, *felt*. A verb's own plain form (*come*) doesn't count."""
    bases = _table("lemma_exc")["VERB"].get(form, ())
    return form not in bases and bool(bases) and not form.endswith(("ing", "s"))


@cache
def plural(lemma: str) -> str:
    """The plural of a noun."""
    forms = [f for f in _irregular("NOUN").get(lemma, ()) if frequency(f) > 0]
    regular = _with_s(lemma)
    return _used(regular, *forms)

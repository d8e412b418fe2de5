"""The signals of a passage: what each analyzer finds, put together in reading order."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from itertools import islice
from typing import Any, Literal, get_args

from rwtools.clue import Clue, Kind, in_order
from rwtools.errors import InputError, UsageError
from rwtools.text import MAX_CHARACTERS, Text, check_passage, parse, parse_many

__all__ = ["REVEAL", "Form", "Reveal", "check_kinds", "clues_of", "hint", "hint_many", "revealed"]

Form = Literal["auto", "prose", "verse"]
Reveal = Literal["where", "why", "all"]
REVEAL: tuple[Reveal, ...] = get_args(Reveal)
KINDS: tuple[Kind, ...] = get_args(Kind)

_BATCH = 32  # passages whose boundaries are judged at once
_WHERE = ("kind", "start", "end", "quote")
_WHY = (*_WHERE, "label", "sense", "rule", "explanation")


def hint(
    passage: str,
    *,
    target: str | None = None,
    kinds: Collection[str] | None = None,
    form: Form = "auto",
    all_words: bool = False,
    limit: int = MAX_CHARACTERS,
    second_witness: bool = False,
) -> list[Clue]:
    """All clues of one passage, sorted by start, longest first.

    ``target`` asks for the meaning of one word of the passage, however common it is; ``kinds``
    keeps only these kinds of clue; ``all_words`` explains common words too; ``limit`` is the
    longest passage taken, in characters; ``second_witness`` loads the judge (0.3 GB) and drops
    alarms on sentence boundaries that it speaks against. Raises `PassageError` for a passage that
    cannot be read and `InputError` for a target that does not occur or a kind that does not exist.
    """
    check_passage(passage, limit=limit)
    check_kinds(kinds)
    check_target(passage, target)
    text = parse(passage, verse=None if form == "auto" else form == "verse")
    clues = clues_of(text, target=target, kinds=kinds, all_words=all_words)
    if second_witness:
        from rwtools.rules.witness import confirmed

        return confirmed(passage, clues)
    return clues


def hint_many(
    passages: Iterable[str], *, kinds: Collection[str] | None = None, all_words: bool = False
) -> Iterator[list[Clue]]:
    """The clues of each passage of a stream, in order; parsed in batches, one batch in memory.

    The passages are taken as checked (see `check_passage`); verse is recognised by its lines.
    """
    from rwtools import rules

    check_kinds(kinds)
    texts = parse_many(passages)
    while batch := list(islice(texts, _BATCH)):
        if kinds is None or {"punctuation", "grammar"} & set(kinds):
            rules.survey(batch)
        for text in batch:
            yield clues_of(text, kinds=kinds, all_words=all_words)


def clues_of(
    text: Text,
    *,
    target: str | None = None,
    kinds: Collection[str] | None = None,
    all_words: bool = False,
) -> list[Clue]:
    """The clues of a passage that is parsed already."""
    from rwtools import rules, transitions, vocabulary

    wanted = set(kinds or KINDS)
    found: list[Clue] = []
    if "transition" in wanted:
        found += transitions.find(text)
    if "meaning" in wanted:
        found += vocabulary.find(text, target=target, all_words=all_words)
    if wanted & {"punctuation", "grammar"}:
        found += [clue for clue in rules.check(text) if clue.kind in wanted]
    return in_order(_settled(found))


def _settled(clues: list[Clue]) -> list[Clue]:
    """Drop an *or* read as a choice where it gives a second name: both cannot be true."""
    naming = {
        (cue.start, cue.end)
        for clue in clues
        if clue.kind == "meaning"
        for cue in clue.evidence
        if cue.role == "cue"
    }
    return [c for c in clues if c.label != "alternative" or (c.start, c.end) not in naming]


def check_kinds(kinds: Collection[str] | None) -> None:
    """Raise `UsageError` for a kind of clue that does not exist."""
    for kind in kinds or ():
        if kind not in KINDS:
            raise UsageError(
                f"there is no kind {kind!r}; there are {', '.join(KINDS)}", field="kinds"
            )


def check_target(passage: str, target: str | None) -> None:
    """Raise `InputError` unless the target occurs in the passage."""
    if target is not None and (not target.strip() or target not in passage):
        raise InputError(f"{target!r} does not occur in the passage", field="target")


def revealed(clue: Clue, level: Reveal = "all") -> dict[str, Any]:
    """A clue as data, holding back what a learner who tries first does not want to see yet.

    ``where``: only the place; ``why``: the label and the reason too; ``all``: everything, with
    what joins what and the correction.
    """
    data = clue.to_dict()
    if level == "all":
        return data
    return {name: data[name] for name in (_WHERE if level == "where" else _WHY)}

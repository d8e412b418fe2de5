"""From a draft to an item: cut the passage, put in the blank, mix the choices, move the quotes."""

from __future__ import annotations

import hashlib
import random
from collections.abc import Sequence

from rwtools.clue import Span
from rwtools.drills.making.draft import Draft, Option
from rwtools.drills.making.window import LONGEST, SHORTEST, window
from rwtools.items.model import BLANK, LETTERS, Item, Quote
from rwtools.text import Text, trim

__all__ = ["build", "frame", "pick", "reorder"]

_MARKS = " \n,;:—–-"


def pick(options: Sequence[Option], count: int = 3) -> list[Option]:
    """The first ``count`` options of different groups and different texts (fewer if need be)."""
    found: list[Option] = []
    groups: set[str] = set()
    for option in options:
        group = option.group or option.text
        if group not in groups and option.text not in {o.text for o in found}:
            found.append(option)
            groups.add(group)
        if len(found) == count:
            break
    return found


def frame(draft: Draft, text: Text, sound: list[bool], rng: random.Random) -> Span | None:
    """The part of the passage that the item shows; None where none fits round the place."""
    spans = [draft.place, *(span for span, _ in draft.evidence)]
    start, end = min(s.start for s in spans), max(s.end for s in spans)
    return window(text, sound, start, end, rng.randrange(SHORTEST + 15, LONGEST - 30))


def build(
    draft: Draft,
    wrong: Sequence[Option],
    text: Text,
    shown: Span,
    rng: random.Random,
    *,
    source: str,
) -> Item:
    """The item of a draft with these wrong choices, its passage cut to the characters ``shown``."""
    place = draft.place
    before = text.quote(shown.start, place.start)
    after = text.quote(place.end, shown.end)
    middle = text.quote(place.start, place.end) if draft.target else BLANK
    passage = before + middle + after
    shift = len(middle) - len(place)
    evidence: list[Quote] = []
    for span, role in draft.evidence:
        for part in [span] if draft.target else _outside(text, span, place):
            move = -shown.start + (shift if part.start >= place.end else 0)
            a, b = part.start + move, part.end + move
            evidence.append(Quote(start=a, end=b, quote=passage[a:b], role=role))
    choices = [draft.key, *(option.text for option in wrong)]
    name = hashlib.sha256(f"{draft.skill}\n{passage}\n{sorted(choices)}".encode()).hexdigest()
    order = list(range(len(choices)))
    # The content counts too: a caller that starts every text with one seed gets mixed keys.
    random.Random(f"{rng.random()} {name}").shuffle(order)
    return Item(
        id=f"{draft.skill}-{name[:12]}",
        skill=draft.skill,
        passage=passage,
        target=text.quote(place.start, place.end) if draft.target else None,
        question=draft.question,
        choices=[choices[i] for i in order],
        answer=LETTERS[order.index(0)],
        rationale=_rationale(draft, wrong),
        evidence=sorted(evidence, key=lambda q: (q.start, q.end)),
        difficulty=draft.hardness,
        source=source,
    )


def _rationale(draft: Draft, wrong: Sequence[Option]) -> str:
    """Why the key is right, and what each wrong choice would break."""
    if not draft.names_faults:
        return draft.rationale
    return " ".join([draft.rationale, *dict.fromkeys(option.why for option in wrong)])


def _outside(text: Text, span: Span, place: Span) -> list[Span]:
    """The parts of a span that the blank leaves standing."""
    if not span.overlaps(place):
        return [span]
    parts = []
    for start, end in ((span.start, place.start), (place.end, span.end)):
        if start < end:
            part = trim(text.passage, start, end, marks=_MARKS)
            if len(part) > 1:
                parts.append(part)
    return parts


def reorder(item: Item, letter: str) -> Item:
    """The same item with its key at another letter; the other choices keep their order."""
    key = item.key
    if key is None:
        return item
    choices = [choice for n, choice in enumerate(item.choices) if n != key]
    choices.insert(LETTERS.index(letter), item.choices[key])
    return item.model_copy(update={"choices": choices, "answer": letter})

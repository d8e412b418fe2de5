"""Transition drafts: a connective of the passage taken out; words of other relations beside it."""

from __future__ import annotations

import random
from collections.abc import Iterator

from rwtools.clue import Span
from rwtools.drills.making.draft import Draft, Option
from rwtools.drills.making.phrases import brief
from rwtools.text import Text, trim
from rwtools.transitions import relation_of

__all__ = ["NEAR", "drafts"]

# Connectives that learners should know, by the relation that they show first. Which relation is
# first: `relation_of` (a test compares); the choice of words: common practice, no published source.
ADVERBS: dict[str, tuple[str, ...]] = {
    "contrast": ("by contrast", "on the other hand", "conversely"),
    "concession": ("however", "nevertheless", "even so", "nonetheless"),
    "cause": ("therefore", "as a result", "consequently", "for this reason"),
    "addition": ("in addition", "furthermore", "moreover"),
    "similarity": ("similarly", "likewise", "in the same way"),
    "example": ("for example", "for instance"),
    "detail": ("in particular", "more precisely"),
    "restatement": ("in other words", "put differently"),
    "substitution": ("instead",),
    "alternative": ("alternatively",),
    "sequence": ("eventually", "afterward", "subsequently", "later"),
    "simultaneity": ("meanwhile", "in the meantime"),
}
# Further connectives that may be taken out (as wrong choices they would be too vague or too rare).
_ALSO_KEYS: dict[str, str] = {
    "in contrast": "contrast",
    "thus": "cause",
    "hence": "cause",
    "accordingly": "cause",
    "as a consequence": "cause",
    "additionally": "addition",
    "that is": "restatement",
    "specifically": "detail",
    "more specifically": "detail",
    "to illustrate": "example",
    "at the same time": "simultaneity",
    "rather": "substitution",
    "on the contrary": "substitution",
    "then": "sequence",
    "finally": "sequence",
    "otherwise": "alternative",
}
# Those that sound natural between two commas in the middle of a clause.
_MEDIAL = frozenset(
    "by contrast|on the other hand|however|nevertheless|therefore|as a result|consequently|"
    "in addition|furthermore|moreover|similarly|likewise|for example|for instance|in particular|"
    "in other words|instead|meanwhile|eventually|then|thus".split("|")
)
SUBORDINATORS: dict[str, tuple[str, ...]] = {
    "cause": ("because",),
    "concession": ("although", "even though"),
    "condition": ("unless",),
    "purpose": ("so that",),
    "sequence": ("before", "until", "after"),
    "contrast": ("whereas",),
    "similarity": ("as if",),
}
_SUBORDINATE_KEYS = {
    "because": "cause",
    "although": "concession",
    "though": "concession",
    "even though": "concession",
    "if": "condition",
    "unless": "condition",
    "so that": "purpose",
    "before": "sequence",
    "until": "sequence",
    "after": "sequence",
    "whereas": "contrast",
}

# Relations that can hold at one place at once: a word of the one is no wrong choice for the other.
NEAR: dict[str, frozenset[str]] = {
    "contrast": frozenset({"concession", "substitution", "alternative", "simultaneity"}),
    "concession": frozenset(
        {"contrast", "substitution", "alternative", "simultaneity", "addition"}
    ),
    "cause": frozenset({"sequence", "restatement", "detail", "addition"}),
    "addition": frozenset({"similarity", "detail", "sequence", "simultaneity", "example", "cause"}),
    "similarity": frozenset({"addition", "simultaneity", "restatement"}),
    "example": frozenset({"detail", "restatement", "addition", "cause"}),
    "detail": frozenset({"example", "restatement", "addition", "cause", "similarity"}),
    "restatement": frozenset({"detail", "example", "cause", "similarity", "addition"}),
    "substitution": frozenset({"contrast", "concession", "alternative", "restatement", "detail"}),
    "alternative": frozenset({"contrast", "substitution", "concession", "condition"}),
    "sequence": frozenset({"cause", "addition", "simultaneity", "condition"}),
    "simultaneity": frozenset({"sequence", "addition", "contrast", "concession", "cause"}),
    "condition": frozenset({"cause", "sequence", "alternative", "similarity"}),
    "purpose": frozenset({"cause"}),
}

_MEANS = {
    "contrast": "These two are set side by side because they differ.",
    "concession": "The first makes you expect something, and the second says that it is not so.",
    "cause": "The first is the reason, and the second is its result.",
    "addition": "The second adds one more point of the same kind.",
    "similarity": "The second is like the first.",
    "example": "The second is one case of what the first says in general.",
    "detail": "The second says more exactly what the first says.",
    "restatement": "The second says the same thing again in other words.",
    "substitution": "The second takes the place of the first.",
    "alternative": "The second is another choice, in case the first does not hold.",
    "sequence": "The second comes later in time than the first.",
    "simultaneity": "The second goes on at the same time as the first.",
}
_MEANS_CLAUSE = {
    "cause": 'The words after "{key}" give the reason for the rest.',
    "concession": 'The words after "{key}" make you expect the opposite of the rest.',
    "condition": 'The words after "{key}" say on what condition the rest is true.',
    "purpose": 'The words after "{key}" give the goal of the rest.',
    "sequence": 'The two parts are two steps in time, and "{key}" puts them in order.',
    "contrast": 'The two parts differ, and "{key}" sets them side by side.',
}
_QUESTIONS = (
    "Which choice shows how the two ideas are connected?",
    "Which word or phrase links the ideas in the right way?",
)
_HARD = {"restatement": 2, "detail": 2, "substitution": 2, "alternative": 2, "similarity": 1}


def drafts(text: Text, rng: random.Random) -> Iterator[Draft]:
    """All transition drafts of a passage, in reading order."""
    for first, last in _spelled(text):
        form = " ".join(t.lower for t in text.tokens[first:last])
        draft = _adverb(text, first, last, form, rng) or _subordinator(text, first, last, form, rng)
        if draft is not None:
            yield draft


_KEYS = {f: r for r, fs in ADVERBS.items() for f in fs} | _ALSO_KEYS
_BY_FIRST: dict[str, list[tuple[str, ...]]] = {}
for _form in {*_KEYS, *_SUBORDINATE_KEYS}:
    _BY_FIRST.setdefault(_form.split()[0], []).append(tuple(_form.split()))
for _forms in _BY_FIRST.values():
    _forms.sort(key=len, reverse=True)


def _spelled(text: Text) -> Iterator[tuple[int, int]]:
    """Places (token ranges) where one of our connectives is spelled out, the longest at each."""
    for token in text.tokens:
        for form in _BY_FIRST.get(token.lower, ()):
            last = token.i + len(form)
            if tuple(t.lower for t in text.tokens[token.i : last]) == form:
                yield token.i, last
                break


def _like(form: str, sample: str) -> str:
    """``form`` with a capital where ``sample`` has one."""
    return form[0].upper() + form[1:] if sample[:1].isupper() else form


def _adverb(text: Text, first: int, last: int, form: str, rng: random.Random) -> Draft | None:
    relation = _KEYS.get(form)
    if relation is None or last >= len(text.tokens) or text.tokens[last].text != ",":
        return None
    sentence = text.sentences[text.tokens[first].sent]
    before = text.tokens[first - 1] if first > sentence.first else None
    medial = False
    if before is None:
        if sentence.index == 0:
            return None
        other = text.sentences[sentence.index - 1]
        left = Span(other.start, other.end)
    elif before.text == ";":
        left = trim(text.passage, sentence.start, before.start)
    elif before.text == "," and form in _MEDIAL and sentence.index > 0:
        if not _parenthetic(text, first, last):
            return None
        medial = True
        begins = _after_break(text, sentence.start, first)
        if begins == sentence.start:
            other = text.sentences[sentence.index - 1]
            left = Span(other.start, other.end)
        else:
            left = trim(text.passage, sentence.start, begins, marks=";:—–()")
    else:
        return None
    key = text.quote(text.tokens[first].start, text.tokens[last - 1].end)
    options = _options(relation, key, medial, rng)
    if len({o.group for o in options}) < 3:
        return None
    right = trim(text.passage, text.tokens[last].end, sentence.end)
    evidence = [(left, "arg1"), (right, "arg2")]
    if medial:
        begins = _after_break(text, sentence.start, first)
        opening = trim(text.passage, begins, text.tokens[first].start, marks=",")
        if _two_sentences(text, opening, right):
            return None
        evidence = [(left, "arg1"), (opening, "arg2"), (right, "arg2")]
        right = trim(text.passage, begins, sentence.end)
    link = Span(text.tokens[first].start, text.tokens[last].end)
    shown = brief(text, right, skip=link, joint=_joint(text, right, link) if medial else " ")
    rationale = (
        f'First the text says: "{brief(text, left)}" Then it says: "{shown}" '
        f'{_MEANS[relation]} "{_like(form, "A")}" says just this.'
    )
    return Draft(
        skill="transition",
        point=relation,
        place=Span(text.tokens[first].start, text.tokens[last - 1].end),
        key=key,
        options=tuple(options),
        question=rng.choice(_QUESTIONS),
        rationale=rationale,
        evidence=tuple(evidence),
        hardness=min(4, 1 + _HARD.get(relation, 0) + medial),
    )


def _parenthetic(text: Text, first: int, last: int) -> bool:
    """Whether a connective between commas belongs to the sentence's main clause."""
    sentence = text.sentences[text.tokens[first].sent]
    head = text.tokens[last - 1]
    above = text.tokens[head.head]
    while above.dep != "ROOT" and above.head != above.i and above.dep in ("pobj", "advmod", "prep"):
        above = text.tokens[above.head]
    # After its verb a connective may belong to what follows only; an order opens with its verb.
    before = first < above.i or above.i == sentence.first
    return above.dep == "ROOT" and before and first - sentence.first <= 8


def _two_sentences(text: Text, opening: Span, rest: Span) -> bool:
    """Whether a sentence stands on each side of a connective, so that commas cannot be right."""
    found = [
        c.head
        for c in text.clauses
        if c.finite and c.subject is not None and c.kind == "independent"
    ]
    heads = [text.tokens[head].start for head in found]
    return any(opening.start <= h < opening.end for h in heads) and any(
        rest.start <= h < rest.end for h in heads
    )


def _joint(text: Text, part: Span, link: Span) -> str:
    """What stands between the words round a connective that is left out: nothing inside a clause,
    a comma behind an opening phrase, and dots where that is not sure."""
    own = [
        c
        for c in text.clauses
        if c.finite
        and c.subject is not None
        and c.kind == "independent"
        and part.start <= c.subject.start < part.end
    ]
    if len(own) != 1 or own[0].subject is None:
        return " ... "
    subject = own[0].subject
    if subject.start >= link.end:
        return ", "
    return " " if subject.end <= link.start else " ... "


def _options(relation: str, key: str, medial: bool, rng: random.Random) -> list[Option]:
    """Wrong choices of relations that cannot hold here too, one form for each relation."""
    near = NEAR[relation]
    found = []
    for other, forms in ADVERBS.items():
        usable = [f for f in forms if not medial or f in _MEDIAL]
        if other == relation or other in near or not usable:
            continue
        form = _like(rng.choice(usable), key)
        why = f'"{form}" would say something else: {_MEANS[other][0].lower()}{_MEANS[other][1:]}'
        found.append(Option(form, other, why, other))
    rng.shuffle(found)
    return found


def _subordinator(text: Text, first: int, last: int, form: str, rng: random.Random) -> Draft | None:
    relation = _SUBORDINATE_KEYS.get(form)
    if relation is None:
        return None
    marker = text.tokens[last - 1] if form != "even though" else text.tokens[first + 1]
    clause = next((c for c in text.clauses if c.marker in (first, marker.i) and c.finite), None)
    if clause is None or clause.subject is None or clause.parent is None:
        return None
    parent = text.clause_of_head.get(clause.parent)
    if parent is None or not parent.finite or clause.head - first > 18:
        return None
    if parent.kind == "dependent" and (
        parent.reason != "complement"
        or (parent.marker is not None and text.tokens[parent.marker].lower != "that")
    ):
        return None  # what is joined would be a part of a part
    if form == "so that" and text.tokens[clause.head].pos not in ("VERB", "AUX"):
        return None
    place = Span(text.tokens[first].start, text.tokens[last - 1].end)
    sentence = text.sentences[text.tokens[first].sent]
    previous = text.tokens[first - 1] if first > sentence.first else None
    if previous is not None and previous.lower in ("even", "only", "just", "as", "soon", "what"):
        return None
    opens = previous is None
    if not opens and parent.head > first:
        return None  # it stands inside its main clause, whose words lie on both sides
    inner = trim(text.passage, place.end, clause.end)
    if opens:
        # The parser may end the clause too early; the comma shows where it really does.
        comma = next(
            (
                t
                for t in text.tokens[clause.head : sentence.last]
                if t.text == "," and t.end > clause.end
            ),
            None,
        )
        if comma is None:
            return None
        inner = trim(text.passage, place.end, comma.start)
        outer = trim(text.passage, comma.end, sentence.end)
    else:
        begins = parent.verb.start if parent.subject is None else parent.subject.start
        begins = max(begins, _after_break(text, parent.start, first))
        outer = trim(text.passage, begins, place.start, marks=",;:")
    if len(outer) < 12 or len(inner) < 12 or outer.overlaps(inner):
        return None
    key = text.quote(place.start, place.end)
    near = NEAR[relation]
    options = []
    for other, forms in SUBORDINATORS.items():
        usable = [f for f in forms if opens or f != "whereas"]
        if (
            not usable
            or other == relation
            or other in near
            or (opens and other in ("purpose", "similarity"))
        ):
            continue
        word = _like(rng.choice(usable), key)
        options.append(Option(word, other, f'"{word}" would show another relation.', other))
    rng.shuffle(options)
    if len(options) < 3:
        return None
    rationale = (
        f'One part says: "{brief(text, outer)}" The other says: "{brief(text, inner)}" '
        + _MEANS_CLAUSE[relation].format(key=form)
    )
    return Draft(
        skill="transition",
        point=relation,
        place=place,
        key=key,
        options=tuple(options),
        question="Which word links the two parts of the sentence in the right way?",
        rationale=rationale,
        evidence=((outer, "arg1"), (inner, "arg2")),
        hardness=2 if relation in ("purpose", "contrast", "condition") else 1,
    )


def _after_break(text: Text, start: int, first: int) -> int:
    """Where the stretch before a word begins: behind the last dash, semicolon or colon."""
    for token in reversed(text.tokens_in(start, text.tokens[first].start)):
        if token.text in ("—", "–", "--", ";", ":", "(", ")"):
            return token.end
    return start


def agrees(form: str, relation: str) -> bool:
    """Whether the lexicon of connectives gives this relation to the form at all."""
    return any(r == relation for r, _, _ in relation_of(form))

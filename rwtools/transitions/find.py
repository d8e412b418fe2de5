"""Find the connectives of a text and say what they join."""

from __future__ import annotations

from collections.abc import Sequence

from rwtools.clue import Clue, Evidence, Span, in_order
from rwtools.text import Text
from rwtools.transitions.arguments import arguments, looks_back
from rwtools.transitions.candidates import Candidate, candidates, plausible
from rwtools.transitions.features import (
    finder_features,
    manner_of_text,
    sense_features,
)
from rwtools.transitions.forms import (
    BARELY,
    DEGREES,
    concedes,
    follows_at_once,
    fronts_degree,
    renames,
    threatens,
    unclear_front,
)
from rwtools.transitions.lexicon import connectives, relation_names
from rwtools.transitions.model import load
from rwtools.transitions.settled import settled, waits
from rwtools.transitions.wording import told

__all__ = ["RULES", "find", "resolve"]

RULES = ("transition-connective", "transition-pair")
_OPENING = frozenset({",", ";", ":", "—", "--"})
_OPENERS = frozenset({"rather", "still"})
_STILL = 0.9  # their usage is low, since most of their places tell a time or a degree
FLOOR = 0.15
"""The least confidence of a clue. On the training part of the treebank 7 of 5,857 lie below: F1 of
finding .935 with and without them, so recall needs none."""
_SETTLED = 0.9  # how far a relation is trusted that the forms of the verbs settle


def resolve(
    found: Sequence[Candidate], probabilities: Sequence[float], threshold: float
) -> list[int]:
    """Indices of the candidates to keep: the likeliest first, none sharing a word with another."""
    taken: set[int] = set()
    kept: list[int] = []
    for index in sorted(range(len(found)), key=lambda k: (-probabilities[k], k)):
        if probabilities[index] < threshold:
            break
        words = found[index].tokens()
        if not words & taken:
            taken |= words
            kept.append(index)
    return sorted(kept)


def find(text: Text) -> list[Clue]:
    """All connectives in use, each as a clue of kind ``transition``.

    ``label`` is the relation, ``sense`` its PDTB-3 level-2 sense. Evidence: ``arg1`` and ``arg2``
    (what is joined; arg2 is the part that the connective belongs to), for a cause also ``reason``
    and ``result`` (the same spans again, named by their part), for a pair ``cue``, its second half.
    ``confidence`` is how often such a clue is right about both place and relation.
    """
    found = [c for c in candidates(text) if plausible(text, c) and not unclear_front(text, c)]
    found = [c for c in found if c.form not in DEGREES or fronts_degree(text, c)]
    found = [c for c in found if c.form not in BARELY or follows_at_once(text, c)]
    if not found:
        return []
    known = connectives()
    model = load()
    manner = manner_of_text(text)
    features = [finder_features(text, c, manner) for c in found]
    chances = model.finding([(known[c.form], f) for c, f in zip(found, features, strict=True)])
    raised = [_raised(text, c, chance) for c, chance in zip(found, chances.tolist(), strict=True)]
    clues = []
    for index in resolve(found, raised, model.threshold):
        candidate = found[index]
        connective = known[candidate.form]
        shares = model.relations(connective, [*features[index], *sense_features(text, candidate)])
        best = int(shares.argmax())
        sense = model.senses[best]
        direction = connective.direction(sense)
        confidence = model.calibrated(float(raised[index] * shares[best]))
        forced = settled(text, candidate, sense)
        if forced is not None:
            sense, direction = forced
            confidence = max(confidence, model.calibrated(float(raised[index] * _SETTLED)))
        if sense == "comparison.concession" and looks_back(text, candidate):
            direction = "denial"
        if direction == "later" and waits(text, candidate):
            direction = "earlier"
        if confidence >= FLOOR:
            clues.append(_clue(text, candidate, sense, direction, confidence))
    return in_order(clues)


def _raised(text: Text, candidate: Candidate, chance: float) -> float:
    """The model's chance that a candidate is in use as a link, or more where its form says so."""
    if (
        opens_with_half(text, candidate)
        or fronts_degree(text, candidate)
        or renames(text, candidate)
        or threatens(text, candidate)
        or follows_at_once(text, candidate)
        or concedes(text, candidate) is not None
    ):
        return 1.0
    if candidate.form in _OPENERS and opens_clause(text, candidate):
        return max(chance, _STILL)
    if (
        set_off(text, candidate)
        or leads_to_subject(text, candidate)
        or after_auxiliary(text, candidate)
    ):
        return max(chance, connectives()[candidate.form].usage)
    return chance


_CORRELATES = frozenset({"not just", "not merely", "not only", "not simply"})


def opens_with_half(text: Text, candidate: Candidate) -> bool:
    """Whether *not only* and its like open a sentence whose other half begins with *but*: *Not only
    did the cats survive, but they also outlived him* (common practice, no published source)."""
    if candidate.second is None or candidate.form.split(" ... ")[0] not in _CORRELATES:
        return False
    first, second = text.tokens[candidate.first], text.tokens[candidate.second[0]]
    return first.i == text.sentences[first.sent].first and second.lower == "but"


def set_off(text: Text, candidate: Candidate) -> bool:
    """Whether marks set an adverb off: at the start of its clause or between marks, a comma after.

    Set off so, a word that links is in use as a link (common practice, no published source). The
    treebank has too few of the rarer ones (*by contrast* once) to teach a model that.
    """
    if candidate.second is not None or connectives()[candidate.form].pos != "adverb":
        return False
    tokens, first, last = text.tokens, candidate.first, candidate.last
    if last >= len(tokens) or tokens[last].text != ",":
        return False
    opens = first == text.sentences[tokens[first].sent].first
    if opens or tokens[first - 1].text not in _OPENING:
        return opens
    return not _between_phrases(text, first, last)


def opens_clause(text: Text, candidate: Candidate) -> bool:
    """Whether an adverb with a comma after it stands first in its sentence, or behind a semicolon
    or dash. *Still* there means "even so", *rather* "instead" (common practice, no published
    source)."""
    tokens, first = text.tokens, candidate.first
    opens = first == text.sentences[tokens[first].sent].first
    return set_off(text, candidate) and (opens or tokens[first - 1].text in (";", "—", "--"))


def _between_phrases(text: Text, first: int, last: int) -> bool:
    """Whether an adverb between commas stands behind *and* before a mere phrase: *people with hopes
    and, above all, with rights*. There it adds weight and joins no statements."""
    tokens = text.tokens
    if first < 2 or tokens[first - 1].text != "," or tokens[first - 2].tag != "CC":
        return False
    rest = tokens[last + 1 : text.sentences[tokens[first].sent].last]
    return not any(t.tag in ("VBD", "VBZ", "VBP", "MD") for t in rest) or rest[0].tag == "IN"


def leads_to_subject(text: Text, candidate: Candidate) -> bool:
    """Whether a linking adverb of several words opens a sentence and its subject comes next, with
    no comma between: *In short he disliked talk* (common practice, no published source)."""
    first, last = candidate.first, candidate.last
    if candidate.second is not None or connectives()[candidate.form].pos != "adverb":
        return False
    if last - first < 2 or last >= len(text.tokens) or text.tokens[last].pos not in _OPENS_SUBJECT:
        return False
    sentence = text.sentences[text.tokens[first].sent]
    if first != sentence.first:
        return False
    return any(
        token.dep in ("nsubj", "nsubjpass")
        and text.subtree(token.i)[0] == last
        and _is_main(text, token.head)
        for token in text.tokens[last : sentence.last]
    )


def _is_main(text: Text, verb: int) -> bool:
    """Whether a verb is the sentence's own, or that of its part before a semicolon or the like."""
    token = text.tokens[verb]
    if token.dep == "ROOT":
        return True
    between = text.tokens[verb : token.head]
    return token.dep in ("ccomp", "parataxis") and any(t.text in (";", ":", "—") for t in between)


_OPENS_SUBJECT = frozenset({"DET", "PRON", "PROPN"})

_ALWAYS_LINKS = 0.85
"""The share of its uses in the treebank in which an adverb links, from which on it is taken for a
link wherever it may stand as one (*therefore*, *nevertheless*, *hence*; not *then* or *also*)."""


def after_auxiliary(text: Text, candidate: Candidate) -> bool:
    """Whether an adverb that nearly always links stands after the first auxiliary of its clause,
    with a sentence before it to look back to: "The road is therefore closed."

    An ordinary place of linking adverbs (Quirk, Greenbaum, Leech and Svartvik 1985, "A
    Comprehensive Grammar of the English Language", 8.135 f., the section from memory); the treebank
    has too few there to teach a model that.
    """
    first = candidate.first
    known = connectives()[candidate.form]
    if candidate.second is not None or known.pos != "adverb" or known.usage < _ALWAYS_LINKS:
        return False
    token = text.tokens[first]
    if token.sent == 0 or first == text.sentences[token.sent].first:
        return False
    return text.tokens[first - 1].pos == "AUX" and token.pos == "ADV"


def _clue(
    text: Text, candidate: Candidate, sense: str, direction: str | None, confidence: float
) -> Clue:
    rule = RULES[0] if candidate.second is None else RULES[1]
    span = text.span(candidate.first, candidate.last - 1)
    arg1, arg2 = arguments(text, candidate)
    evidence: list[Evidence] = []
    second: Span | None = None
    if candidate.second is not None:
        second = text.span(candidate.second[0], candidate.second[1] - 1)
        evidence.append(text.evidence(second, "cue"))
    evidence += [text.evidence(s, r) for s, r in ((arg1, "arg1"), (arg2, "arg2")) if s]
    label = relation_names()[sense]
    if label == "cause":
        reason, result = (arg2, arg1) if direction == "reason" else (arg1, arg2)
        evidence += [text.evidence(s, r) for s, r in ((reason, "reason"), (result, "result")) if s]
    use = (candidate.form, label, direction)
    return Clue(
        kind="transition",
        start=span.start,
        end=span.end,
        quote=text.quote(span.start, span.end),
        label=label,
        rule=rule,
        explanation=told(text, rule, use, (span, second), (arg1, arg2)),
        confidence=confidence,
        sense=sense,
        evidence=tuple(evidence),
    )

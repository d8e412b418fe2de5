"""A comma closes a clause or a long phrase that comes before the main clause."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.clue import Fix, Span
from rwtools.rules.boundaries import THRESHOLD, boundaries
from rwtools.rules.doers import is_state
from rwtools.rules.inversion import is_inverted
from rwtools.rules.model import Finding, Rule
from rwtools.rules.nouns import is_human
from rwtools.rules.openers import bare_link
from rwtools.rules.phrases import clear, prose, short
from rwtools.rules.places import FINITE
from rwtools.text import Clause, Sentence, Text

__all__ = ["RULE", "find"]

_PERSONS = frozenset({"i", "we", "he", "she", "they", "you", "everyone", "nobody"})
_SUBJECTS = ("nsubj", "nsubjpass", "csubj", "csubjpass", "expl")


def find(text: Text) -> list[Finding]:
    """Fault span: zero width, after the introduction. Fix: a comma. Sound: the comma there."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    for suspect in boundaries(text).of("intro"):
        if suspect.probability < THRESHOLD:
            continue
        place = suspect.place
        at = text.tokens[place.left].end
        opening = text.span(place.first, place.left)
        rest = text.span(place.right, place.last)
        yield Finding(
            at,
            at,
            "fault",
            suspect.probability,
            {
                "left": short(text, opening.start, opening.end),
                "right": short(text, rest.start, rest.end),
                "word": text.tokens[place.right].text,
            },
            (text.evidence(opening, "clause"), text.evidence(rest, "clause")),
            (Fix(at, at, ","),),
        )
    for sentence in prose(text):
        yield from _bare_links(text, sentence)
    for sentence in text.sentences:
        found = _sound(text, sentence)
        if found is not None:
            yield found


def _bare_links(text: Text, sentence: Sentence) -> Iterator[Finding]:
    """*However the bridge stood*: the comma after a linking word or phrase, at the head of a
    sentence or after its semicolon."""
    last = sentence.last - 1
    semicolons = [t.i for t in text.sentence_tokens(sentence) if t.text == ";"]
    for first in (sentence.first, *(i + 1 for i in semicolons)):
        end = bare_link(text, first, last)
        if end is None:
            continue
        at = text.tokens[end].end
        stop = next((i - 1 for i in semicolons if i > end), last)
        while text.tokens[stop].is_punct:
            stop -= 1
        link, rest = text.span(first, end), text.span(end + 1, stop)
        yield Finding(
            at,
            at,
            "fault",
            0.9,
            {
                "left": link.of(text.passage),
                "right": short(text, rest.start, rest.end),
                "word": text.tokens[end + 1].text,
            },
            (text.evidence(link, "cue"), text.evidence(rest, "clause")),
            (Fix(at, at, ","),),
            "fault-link",
        )


def _sound(text: Text, sentence: Sentence) -> Finding | None:
    """The comma that closes an introductory clause, where the parse shows one plainly."""
    comma = next(
        (t.i for t in text.sentence_tokens(sentence) if t.text == "," and t.i > sentence.first + 1),
        None,
    )
    if comma is None or comma + 1 >= sentence.last:
        return None
    clause = _introduction(text, sentence, comma)
    if clause is None or clause.parent is None or is_inverted(text, sentence.first, comma - 1):
        return None
    main = text.clause_of_head[clause.parent]
    if main.subject is None or _is_statement(text, main.subject):
        return None
    if not clause.finite and not _fits(text, clause, comma):
        return None
    if text.tokens[comma + 1].lower in ("but", "so", "yet"):
        return None  # joined twice: another rule speaks of that
    opening = text.span(sentence.first, comma - 1)
    return Finding(
        text.tokens[comma].start,
        text.tokens[comma].end,
        "sound",
        0.9,
        {
            "left": short(text, opening.start, opening.end),
            "subject": short(text, main.subject.start, main.subject.end),
        },
        (
            text.evidence(opening, "clause"),
            text.evidence(main.subject, "subject"),
            text.evidence(main.verb, "verb"),
        ),
        (),
        "sound" if clause.finite else "sound-phrase",
    )


def _fits(text: Text, clause: Clause, comma: int) -> bool:
    """Whether the subject can well be the doer of a phrase that names none: a person of what is
    done or wanted, a thing of what was done to it. Else even a right comma is not worth praise."""
    subject = text.child(clause.parent, *_SUBJECTS) if clause.parent is not None else None
    if subject is None or text.child(clause.head, *_SUBJECTS) is not None:
        return subject is not None
    opening = text.tokens[text.sentences[subject.sent].first : comma]
    action = next((t for t in opening if t.i == clause.head), opening[0])
    if any(text.tokens[i].tag == "PRP$" for i in text.children[subject.i]):
        return False  # *Born in May, her first book ...*: the owner may be meant
    person = subject.lower in _PERSONS or subject.pos == "PROPN" or is_human(subject)
    if action.tag == "VBN" and opening[0].lower not in ("having", "being", "to"):
        thing = subject.lower in ("it", "they") or (subject.pos == "NOUN" and not person)
        return person if is_state(text, action) else thing
    return person


def _is_statement(text: Text, subject: Span) -> bool:
    """Whether a "subject" has a verb of its own and no word that makes it dependent: a wrong
    parse."""
    inside = text.tokens_in(subject.start, subject.end)
    finite = any(t.tag in FINITE for t in inside)
    return finite and not any(t.tag in ("WDT", "WP", "WP$", "WRB", "IN") for t in inside)


def _introduction(text: Text, sentence: Sentence, comma: int) -> Clause | None:
    """The dependent clause that fills the sentence up to its first comma, before the subject."""
    for clause in text.clauses:
        if not sentence.first <= clause.head < comma or clause.kind != "dependent":
            continue
        if text.tokens[clause.head].dep != "advcl" or clause.parent is None:
            continue
        subject = text.child(clause.parent, *_SUBJECTS)
        parent = text.clause_of_head[clause.parent]
        if (
            clause.parent > comma
            and parent.finite
            and subject is not None
            and comma < subject.i < clause.parent
            and clause.end <= text.tokens[comma].start
            and clause.start <= text.tokens[sentence.first + 1].start
        ):
            return clause
    return None


RULE = Rule("missing-comma-after-introduction", find)

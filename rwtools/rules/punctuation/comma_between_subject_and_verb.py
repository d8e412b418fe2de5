"""One comma does not part a subject from its verb, or a verb from its object or complement."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.clue import Span
from rwtools.rules.absolutes import says_of_noun
from rwtools.rules.asides import unopened
from rwtools.rules.model import Finding, Rule
from rwtools.rules.phrases import BE, CLAUSE_TAKERS, clear, cut_mark, prose, short, verb_group
from rwtools.text import Sentence, Text, Token

__all__ = ["RULE", "find"]

# Verbs whose sense waits for an infinitive.
_TAKE_INFINITIVE = frozenset(
    "learn want try decide hope need seem begin plan refuse promise agree attempt choose expect "
    "fail intend manage prefer tend wish continue start offer prepare long aim afford".split()
)
_TELL = frozenset("tell inform assure remind convince persuade warn show teach advise".split())
# Forms that can be nothing but a finite verb.
_PLAIN_VERBS = frozenset(
    "am is are was were has have had does do did can could may might must shall should will "
    "would".split()
)
_FINITE = frozenset({"VBZ", "VBP", "VBD", "MD"})
_PAIRED = frozenset({"—", "–", "--", "(", ")", "[", "]", ":", ";", '"', "“", "”", "``", "''"})
_ASIDES = frozenset({"sure", "honest", "fair", "begin", "start", "say", "put", "name", "speak"})


def find(text: Text) -> list[Finding]:
    """Fault span: the comma. Fix: take it away."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    for sentence in prose(text):
        commas = [i for i in range(sentence.first, sentence.last) if text.tokens[i].text == ","]
        for comma in commas:
            if sentence.first < comma < sentence.last - 2:
                found = (
                    _subject_verb(text, sentence, comma)
                    or _verb_that(text, sentence, comma)
                    or _verb_infinitive(text, comma)
                    or _verb_object(text, sentence, comma)
                )
                if found is not None:
                    yield found


def _subject_verb(text: Text, sentence: Sentence, comma: int) -> Finding | None:
    verb = _verb_starting_at(text, comma + 1)
    if verb is None:
        return None
    action = _action_as_subject(text, sentence, comma)
    if action is not None:
        return _fault(text, comma, action, verb, "fault")
    subject = text.child(verb.i, "nsubj", "nsubjpass", "csubj", "csubjpass")
    if subject is None or subject.i > comma or subject.tag in ("WDT", "WP", "EX"):
        return None
    if subject.lower.endswith(("self", "selves")):
        return None
    phrase = text.subtree(subject.i)
    first = phrase[0]
    if phrase[-1] not in (comma - 1, comma):
        return None
    inner = text.tokens[first:comma]
    if any(t.text == "," or t.text in _PAIRED for t in inner):
        return None  # a series, or an interruption that this comma may close
    if any(t.lower in ("who", "which") and t.i > first for t in inner) and subject.pos == "PROPN":
        return None  # a name takes a pair of commas: another rule's matter
    if (aside := unopened(text, sentence)) is not None and aside[1] == comma:
        return None  # "My brother a nurse, works ...": its first comma is missing
    if not _opening_done(text, sentence, first):
        return None
    later = any(t.text == "," or t.text in _PAIRED for t in text.tokens[comma + 1 : sentence.last])
    if later and text.tokens[comma + 1].lower not in _PLAIN_VERBS:
        return None  # a participle with its closing comma, a series, or "..., said Mira, ..."
    return _fault(text, comma, text.span(first, comma - 1), verb, "fault")


def _opening_done(text: Text, sentence: Sentence, first: int) -> bool:
    """Whether nothing, or one introductory phrase with its comma, comes before the subject."""
    before = text.tokens[sentence.first : first]
    if not any(t.text in _PAIRED or t.text == "," for t in before):
        return True
    opener = text.tokens[sentence.first]
    return (
        before[-1].text == ","
        and not any(t.text in _PAIRED or t.text == "," for t in before[:-1])
        and opener.tag in ("IN", "RB")
        and text.tokens[first].pos in ("DET", "NOUN", "PRON", "PROPN", "ADJ", "NUM")
        and text.tokens[opener.head].i >= first
        and text.subtree(opener.i)[-1] == first - 2
    )


def _action_as_subject(text: Text, sentence: Sentence, comma: int) -> Span | None:
    """An action that is the subject: ``Running in the rain, is fun``."""
    opener = text.tokens[sentence.first]
    before = text.tokens[sentence.first : comma]
    if opener.tag not in ("VBG", "TO") or text.tokens[comma + 1].lower not in ("is", "was"):
        return None
    if any(t.text in _PAIRED or t.text == "," or t.tag in _FINITE for t in before):
        return None
    return text.span(sentence.first, comma - 1)


def _verb_starting_at(text: Text, index: int) -> Token | None:
    """The finite verb whose group begins at a token."""
    token = text.tokens[index]
    head = token if token.dep not in ("aux", "auxpass") else text.tokens[token.head]
    if head.pos not in ("VERB", "AUX") or token.tag not in _FINITE:
        return None
    return head if verb_group(text, head.i)[0] == index else None


def _verb_that(text: Text, sentence: Sentence, comma: int) -> Finding | None:
    that = text.tokens[comma + 1]
    said = text.tokens[comma - 1]
    if that.lower == "that" and that.tag == "IN" and _takes_clause(text, sentence, said):
        return _fault_after(
            text, comma, said, text.span(that.i, min(that.i + 4, sentence.last - 1))
        )
    if that.lower in ("if", "whether") and _asks(text, sentence, said, that):
        return _fault_after(
            text, comma, said, text.span(that.i, min(that.i + 4, sentence.last - 1))
        )
    if that.lower != "that" or that.dep != "mark":
        return None
    clause = text.tokens[that.head]
    verb = text.tokens[clause.head]
    if clause.dep not in ("ccomp", "attr", "acl") or not sentence.first <= verb.i < comma:
        return None
    if verb.pos not in ("VERB", "AUX") or verb.tag == "VBG":
        return None
    between = text.tokens[verb.i + 1 : comma]
    told = text.child(verb.i, "dobj", "dative")
    if any(t.tag not in ("PRP", "RP", "RB") for t in between) and (
        verb.lemma not in _TELL or told is None or text.subtree(told.i)[-1] != comma - 1
    ):
        return None  # "that ..." explains a noun or repeats a clause
    if any(t.text == "," or t.text in _PAIRED for t in text.tokens[sentence.first : comma]):
        return None
    return _fault_after(text, comma, verb, text.phrase(clause.i))


def _asks(text: Text, sentence: Sentence, verb: Token, opener: Token) -> bool:
    """*He asked, if the shop was open*: what is asked, not a condition (*ask, if you wish*)."""
    if verb.lemma not in ("ask", "wonder") or verb.tag not in ("VBD", "VBZ"):
        return False
    marks = text.tokens[sentence.first : verb.i] + text.tokens[opener.i : sentence.last]
    if any(t.text == "," or t.text in _PAIRED for t in marks):
        return False
    clause = text.tokens[opener.head]
    return clause.pos in ("VERB", "AUX") and clause.lemma not in ("want", "wish", "like", "please")


def _takes_clause(text: Text, sentence: Sentence, verb: Token) -> bool:
    """Whether a verb that takes a clause stands here, with no mark before it."""
    if verb.pos != "VERB" or verb.lemma not in CLAUSE_TAKERS or verb.tag == "VBN":
        return False
    before = text.tokens[sentence.first : verb.i]
    if any(t.text == "," or t.text in _PAIRED for t in before):
        return False
    return not (len(before) == 1 and before[0].lower in ("you", "i"))  # "You know, that ..."


def _verb_infinitive(text: Text, comma: int) -> Finding | None:
    verb, to = text.tokens[comma - 1], text.tokens[comma + 1]
    if to.tag != "TO" or verb.lemma not in _TAKE_INFINITIVE or not verb.tag.startswith("VB"):
        return None
    infinitive = text.tokens[to.head]
    if infinitive.tag != "VB" or infinitive.lemma in _ASIDES or infinitive.i <= to.i:
        return None
    if text.child(verb.i, "dobj") is not None:
        return None
    return _fault_after(text, comma, verb, text.span(to.i, infinitive.i))


def _verb_object(text: Text, sentence: Sentence, comma: int) -> Finding | None:
    verb, after = text.tokens[comma - 1], text.tokens[comma + 1]
    if verb.tag not in ("VBZ", "VBP", "VBD", "VB") or after.tag not in ("DT", "PRP$"):
        return None
    noun = text.child(verb.i, "dobj", "attr")
    if noun is None or noun.i < comma or text.subtree(noun.i)[0] != comma + 1:
        return None
    if any(t.tag in ("JJR", "RBR") for t in text.tokens[sentence.first : comma]):
        return None  # "the more ..., the ..."
    if says_of_noun(noun, text.tokens[noun.i + 1] if noun.i + 1 < sentence.last else None):
        return None  # "the house burned, its roof a torch"
    rest = text.tokens[sentence.first : comma] + text.tokens[comma + 1 : sentence.last]
    if any(t.text == "," or t.text in _PAIRED for t in rest):
        return None
    return _fault_after(text, comma, verb, text.phrase(noun.i))


def _fault(text: Text, comma: int, subject: Span, verb: Token, variant: str) -> Finding:
    first, last = verb_group(text, verb.i)
    group = text.span(first, last)
    mark = text.tokens[comma]
    return Finding(
        mark.start,
        mark.end,
        "fault",
        0.95,
        {"left": short(text, subject.start, subject.end), "right": group.of(text.passage)},
        (text.evidence(subject, "subject"), text.evidence(group, "verb")),
        (cut_mark(text, comma),),
        variant,
    )


def _fault_after(text: Text, comma: int, verb: Token, rest: Span) -> Finding:
    mark = text.tokens[comma]
    rest = Span(max(rest.start, text.tokens[comma + 1].start), max(rest.end, mark.end + 1))
    return Finding(
        mark.start,
        mark.end,
        "fault",
        0.95,
        {"left": verb.text, "right": short(text, rest.start, rest.end)},
        (
            text.evidence(text.span(verb.i, verb.i), "verb"),
            text.evidence(rest, "clause"),
        ),
        (cut_mark(text, comma),),
        "fault-be" if verb.lower in BE else "fault-object",
    )


RULE = Rule("comma-between-subject-and-verb", find)

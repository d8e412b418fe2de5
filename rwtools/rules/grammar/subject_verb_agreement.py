"""A verb takes its number from its subject, not from a nearer noun."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.clue import Fix, Span
from rwtools.rules.model import Finding, Rule
from rwtools.rules.nouns import UNCOUNTED
from rwtools.rules.number import Number, number_of
from rwtools.rules.phrases import CLAUSE_TAKERS, clear, prose, short, verb_group
from rwtools.rules.verbs import SINGULAR_FORM, describes_part, of_number, verb_number
from rwtools.text import Clause, Text, Token

__all__ = ["RULE", "find"]

_UNREAL = frozenset(
    {"if", "though", "although", "unless", "whether", "lest", "as", "like", "until"}
)
_DEMAND = frozenset(
    "suggest recommend require request insist demand propose ask urge advise order command wish "
    "mandate stipulate decree plea prayer condition insistence essential important necessary "
    "vital crucial imperative better desirable requirement recommendation proposal suggestion "
    "rather".split()
)
_BARE_TAKERS = frozenset("let make see hear watch help have feel notice bid observe".split())
_FINITE_TAGS = frozenset({"VBZ", "VBP", "VBD", "MD"})
_BREAKS = frozenset({"(", ")", ":", ";", '"', "“", "”", "—", "–", "[", "]", "/"})
_COMMON = 3.0  # on the Zipf scale: once in a million words
_SAME_PAST = frozenset(
    "hurt cut put set let read cost hit shut split spread cast bet quit wet burst rid bid shed "
    "slit thrust upset broadcast forecast knit sweat beat".split()
)
_PREPOSITIONS = frozenset(
    "of in on at by for with from to about into over under through between among after before "
    "during against without within across behind beyond near toward towards upon like as than "
    "along around above below beneath beside besides despite except inside outside off onto since "
    "until throughout concerning regarding including via per versus".split()
)
_TERMS = frozenset("term word name concept phrase title expression label".split())
_BEFORE_NOUN = frozenset({"ADJ", "ADV", "DET", "NOUN", "NUM", "PRON"})
_POINTING = {"this": "these", "that": "those"}
_STAND = frozenset("be hang stand lie come sit live grow go remain exist appear".split())


def find(text: Text) -> list[Finding]:
    """Fault span: the finite verb. Fix: its other number. Sound: the verb, where a noun of the
    other number stands between it and its subject."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    whole = {s.index for s in prose(text)}
    for clause in text.clauses:
        head = text.tokens[clause.head]
        if head.sent in whole and clause.finite:
            found = _in_clause(text, clause)
            if found is not None:
                yield found


def _in_clause(text: Text, clause: Clause) -> Finding | None:
    verb = text.tokens[verb_group(text, clause.head)[0]]
    shown = verb_number(verb)
    if not shown or verb.is_blank or not verb.text.isalpha() or verb.lower == "be":
        return None
    if verb.lemma == "do" and verb.i != clause.head:
        following = next((t for t in text.tokens[verb.i + 1 :] if t.pos != "ADV"), verb)
        if following.i != clause.head and following.lower not in ("not", "n't", "n’t"):
            return None  # a question: the subject comes after
    subject = text.child(clause.head, "nsubj", "nsubjpass", "expl")
    if subject is None:  # the parser may take a subject after the verb for an object
        after = text.child(clause.head, "dobj", "attr")
        return None if after is None else _inverted(text, clause, verb, after, shown)
    if subject.dep == "expl" and subject.lower == "there":
        return _there(text, clause, verb, shown)
    if subject.i > verb.i:
        return _inverted(text, clause, verb, subject, shown)
    if subject.tag in ("WDT", "WP") or (subject.lower == "that" and clause.reason == "relative"):
        return _relative(text, clause, verb, subject, shown)
    if _unreal(text, clause, verb) or describes_part(text, text.subtree(subject.i)[0]):
        return None
    if subject.lower.removesuffix("s") in UNCOUNTED and subject.tag == "NNS":
        return None  # the noun is at fault, and its verb goes with it
    number, key, reason = number_of(text, subject, verb)
    if not number:
        return None
    if number == shown:
        return _sound(text, verb, key, number)
    if not _trusted(text, clause, verb, subject, shown, reason):
        return None
    if subject.lower in _POINTING and _names_many(text, verb):
        return _pointing(text, verb, subject)
    return _fault(text, verb, subject, key, number, reason)


def _trusted(
    text: Text, clause: Clause, verb: Token, subject: Token, shown: Number, reason: str
) -> bool:
    """Whether the parser can be believed that this is the verb's subject.

    It errs where a phrase before the subject could be the subject too (an action, a clause, the
    left part of a list), and where marks or another verb stand between.
    """
    first = text.sentences[verb.sent].first
    start = text.subtree(subject.i)[0]
    if sum(text.tokens[i].dep in ("nsubj", "nsubjpass") for i in text.children[verb.head]) > 1:
        return False
    if not _known(subject) or not _known(verb) or verb.lower in _SAME_PAST:
        return False
    head = text.tokens[clause.head]
    above = text.tokens[head.head]
    if head.dep in ("acl", "relcl") and above.dep == "ROOT" and above.pos == "NOUN":
        return False  # no verb is left for the sentence: its own was taken for another's
    if text.passage[verb.end : verb.end + 1] in ("-", "‑"):
        return False
    after = text.tokens[subject.i + 1]
    if after.text in ("'s", "’s", "'", "’"):
        return False  # the noun owns something, or another rule speaks of its apostrophe
    if after.tag == "VBG" and shown == "many":
        return False  # "light detecting cells": one name of several words
    if after.i != verb.i and after.pos in ("NOUN", "PROPN", "NUM", "ADJ"):
        return False
    if subject.tag == "DT" and after.i == verb.i and verb.tag == "VBP" and verb.pos == "VERB":
        return False  # "this move" may be a noun
    if verb.lemma == "do" and "?" in text.passage[verb.end : text.sentences[verb.sent].end]:
        return False
    if start > first and not _may_precede_subject(text.tokens[start - 1]):
        return False
    between = text.tokens[subject.i + 1 : verb.i]
    if any(t.text in _BREAKS or t.tag == "MD" for t in between):
        return False
    if any(t.dep == "prep" and t.tag == "IN" and t.lower not in _PREPOSITIONS for t in between):
        return False
    if sum(t.text == "," for t in between) % 2:
        return False
    inner = [t for t in between if t.tag in _FINITE_TAGS]
    if inner and not any(t.lower in ("who", "which", "that", "whose", "whom") for t in between):
        return False
    if len(inner) > 1 or any(t.lower in ("where", "when", "why", "how") for t in between):
        return False
    for i in range(subject.i + 1, verb.i):
        if text.tokens[i].tag == "DT" and text.tokens[i - 1].pos == "NOUN":
            return False  # "in the way these parts are made": a clause without a link
    joins = _joins_clause(text, clause, subject, verb, shown)
    begin = start if joins else _clause_start(text, first, start)
    opening = text.tokens[begin : subject.i]
    if shown == "one":
        pair = ("either", "neither") if reason == "nearest" else ()
        if any(
            (t.tag in ("VBG", "CC") and t.lower not in pair) or t.lower in _TERMS for t in opening
        ):
            return False
        if opening and opening[0].lower.endswith("ing"):
            return False  # an action is the subject: "smoking pipes is ..."
        if opening and opening[0].pos == "ADP":
            return False
        if (
            subject.pos != "PRON"
            and subject.text[0].isupper()
            and (subject.i != first or any(t.text[0].isupper() for t in between))
        ):
            return False  # a name or a title
        return not any(t.pos == "NUM" for t in opening)
    if any(t.tag in ("WP", "WDT", "WRB") for t in text.tokens[start : subject.i]):
        return False  # a clause is the subject: "whom the gods love die"
    if reason != "nearest" and any(t.tag == "CC" or t.text == "," for t in opening if t.i >= start):
        return False
    if any(
        t.tag == "MD"
        or (t.tag == "CC" and t.lower not in ("either", "neither", "but"))
        or t.lower in ("do", "does", "did", "let")
        for t in opening
    ):
        return False
    if reason == "nearest":
        return True
    alone = subject.lower in ("each", "either", "neither", "everyone", "everybody", "he", "she")
    return alone or not any(t.lower in ("and", "or", "plus") for t in between)


def _known(token: Token) -> bool:
    """Whether a word is common enough that its form can be trusted (no name of a species)."""
    from wordfreq import zipf_frequency  # only where a fault is suspected: it loads a word list

    return bool(zipf_frequency(token.lemma, "en") >= _COMMON)


def _may_precede_subject(token: Token) -> bool:
    """Whether a word or mark can stand right before the first word of a subject."""
    if token.is_punct:
        return token.text in (",", ";", ":", "—", "–", '"', "“", "(")
    if token.lower in ("after", "before", "since", "until", "than", "like", "that", "which"):
        return token.dep == "mark" and token.lower == "that" and token.tag == "IN"
    if token.pos in ("SCONJ", "CCONJ", "ADV") or token.dep == "mark":
        return True
    return token.tag in ("WRB", "WDT", "WP") or token.lower in ("not", "only", "so")


def _clause_start(text: Text, first: int, start: int) -> int:
    at = start
    while at > first and text.tokens[at - 1].text not in (",", ";", ":", "—", "("):
        at -= 1
    if at == first and text.tokens[at].tag == "CC" and at < start:
        at += 1  # *But each of them ...*: it joins no two subjects
    return at


def _joins_clause(text: Text, clause: Clause, subject: Token, verb: Token, shown: Number) -> bool:
    """Whether the word before the subject joins its clause to one that has a subject of its own:
    *The oil went to the tanners and | even the tiles was sold*.

    No comma may stand in the clause before, which might then hold a list. A single noun before a
    plural verb may be the second half of one subject (*the life of a child and its mother are*),
    unless a comma stands before the link.
    """
    start = text.subtree(subject.i)[0]
    head, link = text.tokens[clause.head], text.tokens[max(start - 1, 0)]
    if head.dep != "conj" or link.tag != "CC" or link.head != head.head:
        return False
    if any(t.pos not in _BEFORE_NOUN or t.lower == "least" for t in text.tokens[start : subject.i]):
        return False
    if any(t.tag in _FINITE_TAGS for t in text.tokens[subject.i + 1 : verb.i]):
        return False
    other = text.child(head.head, "nsubj", "nsubjpass", "expl")
    if other is None or other.i > link.i:
        return False
    comma = text.tokens[link.i - 1].text == ","
    if any(t.text == "," for t in text.tokens[other.i : link.i - comma]):
        return False
    if subject.tag == "PRP" and subject.i + 1 == verb.i:  # *times and he have*: no second half
        return text.tokens[head.head].lemma not in CLAUSE_TAKERS - {"be"}
    return shown == "one" or (comma and verb.lower in SINGULAR_FORM)


def _unreal(text: Text, clause: Clause, verb: Token) -> bool:
    """Whether a form without -s may be a subjunctive (``if he were``, ``ask that he go``) or a
    bare infinitive (``let him go``)."""
    if verb_number(verb) != "many":
        return False
    above = text.tokens[text.tokens[clause.head].head]
    marker = None if clause.marker is None else text.tokens[clause.marker].lower
    after = text.tokens[verb.i + 1] if verb.i + 1 < len(text.tokens) else verb
    if marker == "lest" or (verb.lower == "were" and after.lower == "to"):
        return True
    if verb.lower in ("need", "dare") and after.lower in ("not", "n't", "only"):
        return True
    if verb.lower == "were" and (
        marker in _UNREAL or above.lemma in ("wish", "suppose", "imagine", "if", "though", "rather")
    ):
        return True
    if text.tokens[clause.head].dep in ("ccomp", "xcomp", "acl") and (
        above.lemma in _DEMAND or above.lemma in _BARE_TAKERS
    ):
        return True
    first = text.sentences[verb.sent].first
    return any(
        t.lemma in _DEMAND and t.i < verb.i for t in text.tokens[max(first, verb.i - 8) : verb.i]
    ) and verb.lower not in ("are", "were", "do")


def _there(text: Text, clause: Clause, verb: Token, shown: Number) -> Finding | None:
    noun = text.child(clause.head, "attr", "nsubj", "dobj")
    if noun is None or noun.i < verb.i or verb.lower not in ("is", "are", "was", "were"):
        return None
    if text.child(noun.i, "conj", "cc") is not None or _unreal(text, clause, verb):
        return None
    between = text.tokens[verb.i + 1 : noun.i]
    if any(
        t.pos not in ("DET", "ADJ", "NUM", "ADV", "PART") and t.dep != "compound" for t in between
    ):
        return None
    if (
        noun.i + 1 < len(text.tokens)
        and text.tokens[noun.i + 1].pos in ("NOUN", "PROPN", "VERB")
        and text.tokens[noun.i + 1].tag not in ("VBG", "VBN")
    ):
        return None
    number, key, reason = number_of(text, noun, verb)
    if not number or number == shown:
        return None
    return _fault(text, verb, noun, key, number, reason, "fault-there")


def _inverted(
    text: Text, clause: Clause, verb: Token, subject: Token, shown: Number
) -> Finding | None:
    """``On the wall hangs two pictures``: a place first, then the verb, then its subject."""
    first = text.tokens[text.sentences[verb.sent].first]
    head = text.tokens[clause.head]
    if (
        subject.i < verb.i
        or head.i != verb.i
        or head.lemma not in _STAND
        or first.tag != "IN"
        or head.dep != "ROOT"
    ):
        return None
    between = text.tokens[first.i : verb.i]
    if any(t.is_punct or t.pos in ("VERB", "AUX") or t.tag in ("PRP", "WP") for t in between):
        return None
    if text.tokens[verb.i - 1].pos != "NOUN" or text.child(subject.i, "conj", "cc") is not None:
        return None
    if any(t.is_punct or t.pos == "ADP" for t in text.tokens[verb.i + 1 : subject.i]):
        return None
    number, key, reason = number_of(text, subject, verb)
    if not number or number == shown:
        return None
    return _fault(text, verb, subject, key, number, reason, "fault-inverted")


def _names_many(text: Text, verb: Token) -> bool:
    """Whether a plural noun after a form of *be* says what the subject is."""
    named = text.child(verb.i, "attr")
    return verb.lemma == "be" and named is not None and named.tag == "NNS"


def _pointing(text: Text, verb: Token, subject: Token) -> Finding:
    """``This are the books``: what is pointed at is more than one."""
    named = text.child(verb.i, "attr")
    assert named is not None
    new = _POINTING[subject.lower]
    new = new.capitalize() if subject.text[0].isupper() else new
    return Finding(
        subject.start,
        subject.end,
        "fault",
        0.8,
        {"word": subject.text, "form": new, "verb": verb.text, "key": named.text},
        (
            text.evidence(text.span(named.i, named.i), "cue"),
            text.evidence(text.span(verb.i, verb.i), "verb"),
        ),
        (Fix(subject.start, subject.end, new),),
        "fault-pointing",
    )


def _relative(
    text: Text, clause: Clause, verb: Token, subject: Token, shown: Number
) -> Finding | None:
    """``the books that was lost``: the verb follows the noun before who, which or that."""
    if clause.reason != "relative" or subject.lower not in ("who", "that"):
        return None
    antecedent = text.tokens[subject.i - 1]
    if antecedent.pos != "NOUN" or antecedent.i != text.tokens[clause.head].head:
        return None
    if antecedent.dep in ("pobj", "conj") or text.child(antecedent.i, "conj", "cc", "prep"):
        return None
    start = text.subtree(antecedent.i)[0]
    if text.tokens[start].tag not in ("DT", "PRP$") or any(
        t.pos != "ADV" for t in text.tokens[subject.i + 1 : verb.i]
    ):
        return None
    if not _known(antecedent):
        return None
    if any(t.tag in ("CC", "VBG") or t.is_punct for t in text.tokens[start : subject.i]):
        return None
    number, _, _ = number_of(text, antecedent, verb, alone=True)
    if not number or number == shown or _unreal(text, clause, verb):
        return None
    return _fault(text, verb, antecedent, antecedent, number, "", "fault-relative")


def _fault(
    text: Text,
    verb: Token,
    subject: Token,
    key: Token,
    number: Number,
    reason: str,
    variant: str = "",
) -> Finding | None:
    new = of_number(verb, number)
    if new is None:
        return None
    whole = text.phrase(subject.i)
    if subject.i < verb.i:
        whole = Span(whole.start, min(whole.end, text.tokens[verb.i - 1].end))
    return Finding(
        verb.start,
        verb.end,
        "fault",
        0.8,
        {
            "verb": verb.text,
            "form": new,
            "subject": short(text, whole.start, whole.end),
            "key": key.text,
            "number": "only one" if number == "one" else "more than one",
        },
        (
            text.evidence(text.span(key.i, key.i), "subject"),
            text.evidence(text.span(verb.i, verb.i), "verb"),
        ),
        (Fix(verb.start, verb.end, new),),
        variant or (f"fault-{reason}" if reason else "fault"),
    )


def _sound(text: Text, verb: Token, key: Token, number: Number) -> Finding | None:
    """Worth showing where a noun of the other number stands between subject and verb."""
    between = text.tokens[key.i + 1 : verb.i]
    if len(between) < 3:
        return None
    others = [
        t
        for t in between
        if t.pos == "NOUN" and number_of(text, t, verb, alone=True)[0] not in ("", number)
    ]
    near = text.tokens[verb.i - 1]
    if not others or (others[-1].i != near.i and near.text not in (",", "—", ")")):
        return None
    return Finding(
        verb.start,
        verb.end,
        "sound",
        0.9,
        {
            "verb": verb.text,
            "key": key.text,
            "number": "only one" if number == "one" else "more than one",
            "other": others[-1].text,
        },
        (
            text.evidence(text.span(key.i, key.i), "subject"),
            text.evidence(text.span(verb.i, verb.i), "verb"),
        ),
    )


RULE = Rule("subject-verb-agreement", find)

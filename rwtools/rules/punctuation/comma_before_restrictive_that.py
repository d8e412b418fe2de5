"""No comma comes before a ``that`` clause that says which one is meant."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.clue import Fix
from rwtools.rules.model import Finding, Rule
from rwtools.rules.phrases import CLAUSE_TAKERS, clear, cut_mark, is_plural, prose, short
from rwtools.text import Sentence, Text, Token

__all__ = ["RULE", "find"]

_ALONE = frozenset({"is", "was", "'s"})
_PAIRED = frozenset({"—", "–", "--", ":", ";"})


def find(text: Text) -> list[Finding]:
    """Fault span: the comma before ``that``. Fix: take it (and its partner) away."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    for sentence in prose(text):
        for comma in range(sentence.first + 1, sentence.last - 2):
            if text.tokens[comma].text == "," and text.tokens[comma + 1].lower == "that":
                found = _at(text, sentence, comma)
                if found is not None:
                    yield found


def _at(text: Text, sentence: Sentence, comma: int) -> Finding | None:
    that = text.tokens[comma + 1]
    verb = text.tokens[that.head]
    noun = _antecedent(text, comma, verb) or _before_verb(text, comma)
    if noun is not None and verb.i < comma:
        verb = text.tokens[that.i + 1]
    if text.tokens[sentence.first].lower == "that" and verb.lemma == "be":
        return None  # that is not a comet, that is a planet
    if noun is None or noun.i < sentence.first or verb.i < comma or verb.i >= sentence.last:
        return None
    if any(
        t.text == "," or t.text in _PAIRED or t.tag in ("WDT", "CC")
        for t in text.tokens[sentence.first + 1 : comma]
    ):
        return None  # the comma may close an interruption or part the members of a list
    if any(t.pos in ("VERB", "AUX") for t in text.tokens[noun.i + 1 : comma]):
        return None
    last = text.subtree(verb.i)[-1]
    while last > verb.i and text.tokens[last].is_punct:
        last -= 1
    fixes: list[Fix] = [cut_mark(text, comma)]
    after = last + 1
    if after < sentence.last - 1 and text.tokens[after].text == ",":
        fixes.append(cut_mark(text, after))
    clause = text.span(that.i, last)
    start = text.subtree(noun.i)[0]
    antecedent = text.span(start, comma - 1)
    mark = text.tokens[comma]
    return Finding(
        mark.start,
        mark.end,
        "fault",
        0.9,
        {
            "noun": short(text, antecedent.start, antecedent.end),
            "clause": short(text, clause.start, clause.end),
        },
        (text.evidence(antecedent, "antecedent"), text.evidence(clause, "clause")),
        tuple(fixes),
    )


def _before_verb(text: Text, comma: int) -> Token | None:
    """The noun right before the comma where a verb follows *that* at once (``a rate, that
    shows``), whatever the parser makes of it. *That is* and *that was* may open a sentence."""
    noun, verb = text.tokens[comma - 1], text.tokens[comma + 2]
    if noun.pos != "NOUN" or verb.tag not in ("VBZ", "VBP", "VBD", "MD"):
        return None
    before = text.tokens[text.sentences[noun.sent].first : comma]
    opener = next((t for t in before if t.pos not in ("CCONJ", "ADV")), noun)
    if opener.pos in ("ADP", "SCONJ") or any(t.pos == "SCONJ" or t.tag == "WRB" for t in before):
        return None  # the comma may end an introduction
    if verb.lemma in ("be", "mean") and (
        text.tokens[comma + 1].tag != "WDT" or verb.lower in _ALONE
    ):
        return None
    if verb.tag in ("VBD", "MD") and text.tokens[comma + 1].tag != "WDT":
        return None  # "..., that would help": perhaps two sentences run together
    plural_verb = verb.tag == "VBP"
    if verb.tag in ("VBZ", "VBP") and is_plural(noun) != plural_verb:
        return None
    return noun


def _antecedent(text: Text, comma: int, verb: Token) -> Token | None:
    """The noun before the comma that the clause of ``verb`` tells about.

    Misled by the comma, the parser may hang the clause on the verb before it (``sold the boat,
    that her uncle had built``) or that verb on the clause.
    """
    that, head = text.tokens[comma + 1], text.tokens[verb.head]
    if verb.dep == "relcl" and that.dep in ("nsubj", "nsubjpass", "dobj", "pobj"):
        return head if head.i < comma and head.pos in ("NOUN", "PROPN", "PRON") else None
    main = head if verb.dep in ("ccomp", "advcl") and that.dep == "mark" else None
    if verb.dep == "ROOT" and that.dep in ("nsubj", "nsubjpass", "dobj"):
        main = next(
            (text.tokens[i] for i in text.children[verb.i] if text.tokens[i].dep == "ccomp"), None
        )
    if main is None or main.i > comma or main.lemma in CLAUSE_TAKERS:
        return None
    noun = text.child(main.i, "dobj")
    if noun is None or noun.pos != "NOUN" or text.subtree(noun.i)[-1] != comma - 1:
        return None
    return noun


RULE = Rule("comma-before-restrictive-that", find)

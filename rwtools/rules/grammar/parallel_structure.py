"""What ``and`` joins has the same form: *reading and swimming*, *to read and to swim*."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.clue import Fix, Span
from rwtools.rules.model import Finding, Rule
from rwtools.rules.phrases import clear, prose
from rwtools.text import Sentence, Text, Token

__all__ = ["RULE", "find"]

_VOWELS = "aeiou"
_DEGREE = frozenset("very quite so too rather really more most always often also".split())
_FINITE = frozenset({"VBD", "VBZ", "VBP"})


def find(text: Text) -> list[Finding]:
    """Fault span: the part in another form. Fix: the form of the others, or ``and`` for the
    comma of a list that is over."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    for sentence in prose(text):
        for token in text.sentence_tokens(sentence):
            found = None
            if token.tag == "CC" and token.lower in ("and", "or"):
                found = (
                    _neither_or(text, sentence, token)
                    or _to_and_ing(text, sentence, token)
                    or _list_over(text, sentence, token)
                    or _clause_in_list(text, sentence, token)
                )
            elif token.lower == "than":
                found = _than(text, sentence, token)
            if found is not None:
                yield found


def _neither_or(text: Text, sentence: Sentence, token: Token) -> Finding | None:
    """``neither rich or famous``: *nor* joins the second part. Not where a *nor* comes as well, nor
    where *neither* is no partner (*neither side*, *neither of them*)."""
    if token.lower != "or" or token.i + 2 >= sentence.last:
        return None
    words = text.sentence_tokens(sentence)
    partner = next((t for t in words if t.lower == "neither" and t.i < token.i), None)
    if partner is None or partner.dep not in ("preconj", "cc") or partner.head != token.head:
        return None
    between = text.tokens[partner.i + 1 : token.i]
    if any(t.lower in ("nor", "or") for t in words if t.i != token.i):
        return None
    if not between or any(t.is_punct or t.tag in _FINITE for t in between):
        return None
    return Finding(
        token.start,
        token.end,
        "fault",
        0.85,
        {"other": partner.text, "word": token.text, "form": "nor"},
        (text.evidence(text.span(partner.i, partner.i), "cue"),),
        (Fix(token.start, token.end, "nor"),),
        "fault-pair",
    )


def _infinitive(text: Text, token: Token) -> Token | None:
    """The *to* of an infinitive."""
    mark = text.child(token.i, "aux")
    return mark if mark is not None and mark.tag == "TO" and token.tag == "VB" else None


def _is_ing(token: Token) -> bool:
    return token.lower.endswith("ing") and len(token.text) > 5 and token.tag in ("VBG", "NN")


def _to_and_ing(text: Text, sentence: Sentence, link: Token) -> Finding | None:
    if link.i + 3 >= sentence.last or link.i - 2 <= sentence.first:
        return None
    after = text.tokens[link.i + 1]
    if after.tag == "VBG" and after.dep == "conj":
        return _ing_after_to(text, sentence, link, after)
    second = text.tokens[link.i + 2]
    if after.tag == "TO" and second.tag == "VB" and second.dep == "conj":
        return _to_after_ing(text, sentence, link, second)
    return None


def _ing_after_to(text: Text, sentence: Sentence, link: Token, ing: Token) -> Finding | None:
    """``to answer letters and keeping the minutes``."""
    head = text.tokens[ing.head]
    if _infinitive(text, head) is None or head.dep not in ("xcomp", "conj", "dep"):
        return None
    chain = head
    while chain.dep in ("conj", "dep") and chain.head != chain.i:
        chain = text.tokens[chain.head]
    mark = _infinitive(text, chain)
    if mark is None or chain.dep != "xcomp" or chain.i > link.i:
        return None
    if text.child(ing.i, "dobj", "ccomp", "prt") is None:
        return None  # "food and lodging"
    if any(t.tag == "VBG" for t in text.tokens[sentence.first : chain.i]):
        return None
    between = text.tokens[chain.i + 1 : link.i]
    if any(t.tag == "VBG" or t.tag in _FINITE or t.lower in ("by", "of", "for") for t in between):
        return None  # the -ing form may go with one of these
    new = f"to {ing.lemma}"
    return _fault(
        text,
        (ing.start, ing.end),
        text.quote(mark.start, chain.end),
        new,
        "fault-infinitive",
        [text.span(mark.i, chain.i), text.span(ing.i, ing.i)],
    )


def _to_after_ing(text: Text, sentence: Sentence, link: Token, verb: Token) -> Finding | None:
    """``likes reading, swimming, and to hike``."""
    at = text.tokens[verb.head]
    while at.dep == "conj" and at.head != at.i and _is_ing(at):
        at = text.tokens[at.head]
    if _is_ing(at) and at.dep == "advcl":
        at = _first_of_list(text, at) or at
    if not _is_ing(at) or at.dep not in ("dobj", "xcomp", "pcomp", "pobj", "attr"):
        return None
    if at.i > link.i or at.i < sentence.first:
        return None
    owner = text.tokens[at.i - 1]
    if owner.pos not in ("VERB", "AUX", "ADP") or owner.lemma == "go":
        return None
    if any(t.tag in _FINITE or t.tag == "TO" for t in text.tokens[at.i : link.i]):
        return None
    mark = text.tokens[verb.i - 1]
    return _fault(
        text,
        (mark.start, verb.end),
        at.text,
        _gerund(verb.lemma),
        "fault-ing",
        [text.span(at.i, at.i), text.span(mark.i, verb.i)],
    )


def _first_of_list(text: Text, ing: Token) -> Token | None:
    """The -ing form right before a comma and this one, which the parser took for a clause of its
    own: *likes swimming, | running and ...*."""
    if ing.i < 2 or text.tokens[ing.i - 1].text != ",":
        return None
    first = text.tokens[ing.i - 2]
    return first if _is_ing(first) and first.head == ing.head and first.dep == "dobj" else None


def _clause_in_list(text: Text, sentence: Sentence, link: Token) -> Finding | None:
    """``is clear, persuasive, and it convinces``: a clause as third part of a list."""
    if link.i - 5 < sentence.first or link.i + 2 >= sentence.last:
        return None
    words = list(text.tokens[sentence.first : link.i])
    if words.pop().text != ",":
        return None
    parts = []
    for _ in range(2):
        part = words.pop()
        if part.pos not in ("ADJ", "VERB") or not (part.tag in ("JJ", "VBN") and words):
            return None
        parts.append(part)
        if len(parts) == 1 and words.pop().text != ",":
            return None
        if words and words[-1].pos == "ADV" and words[-1].lower in _DEGREE:
            words.pop()
    if not words or words[-1].lemma != "be" or parts[0].lower == parts[1].lower:
        return None
    subject, verb = text.tokens[link.i + 1], text.tokens[link.i + 2]
    if subject.tag != "PRP" or verb.tag not in _FINITE | {"MD"}:
        return None
    second, first = parts
    comma = text.tokens[first.i + 1]
    return Finding(
        subject.start,
        verb.end,
        "fault",
        0.8,
        {
            "word": text.quote(subject.start, verb.end),
            "one": first.text,
            "two": second.text,
        },
        (
            text.evidence(text.span(first.i, second.i), "arg1"),
            text.evidence(text.span(subject.i, verb.i), "verb"),
        ),
        (Fix(comma.start, comma.end, " and"),),
        "fault-clause",
    )


def _than(text: Text, sentence: Sentence, than: Token) -> Finding | None:
    """``Riding is better than to walk``."""
    first = text.tokens[sentence.first]
    if than.i + 2 >= sentence.last or not first.lower.endswith("ing") or len(first.text) < 6:
        return None
    head = text.tokens[first.head]
    if first.dep not in ("nsubj", "csubj") or head.lemma != "be" or head.i > than.i:
        return None
    mark, verb = text.tokens[than.i + 1], text.tokens[than.i + 2]
    if mark.tag != "TO" or verb.tag != "VB":
        return None
    return _fault(
        text,
        (mark.start, verb.end),
        first.text,
        _gerund(verb.lemma),
        "fault-ing",
        [text.span(first.i, first.i), text.span(mark.i, verb.i)],
    )


def _list_over(text: Text, sentence: Sentence, link: Token) -> Finding | None:
    """``bought bread, milk, and went home``: the list is over before the second verb."""
    if link.i + 2 >= sentence.last or text.tokens[link.i - 1].text != ",":
        return None
    verb = text.tokens[link.i + 1]
    first_verb = text.tokens[verb.head]
    if text.tokens[verb.i + 1].pos in ("NOUN", "PROPN"):
        return None
    if verb.dep != "conj" or verb.tag not in _FINITE or first_verb.tag not in _FINITE:
        return None
    if text.child(verb.i, "nsubj", "nsubjpass", "expl") is not None or first_verb.i > link.i:
        return None
    member = text.child(first_verb.i, "dobj", "acomp", "attr")
    if member is None or member.i > link.i:
        return None
    partner = text.child(member.i, "conj")
    if partner is None or partner.pos != member.pos or text.child(member.i, "cc") is not None:
        return None
    if text.child(partner.i, "conj", "cc") is not None or partner.i > link.i:
        return None
    commas = [t for t in text.tokens[sentence.first : link.i] if t.text == ","]
    if len(commas) != 2 or not member.i < commas[0].i < partner.i < commas[1].i:
        return None
    if any(t.tag in _FINITE for t in text.tokens[first_verb.i + 1 : link.i]):
        return None
    if any(t.tag == "CC" for t in text.tokens[first_verb.i : link.i]):
        return None
    mark = commas[0]
    one = text.tokens[commas[0].i - 1]
    return Finding(
        verb.start,
        verb.end,
        "fault",
        0.85,
        {"word": verb.text, "one": one.text, "two": text.tokens[commas[1].i - 1].text},
        (
            text.evidence(text.span(member.i, partner.i), "arg1"),
            text.evidence(text.span(verb.i, verb.i), "verb"),
        ),
        (Fix(mark.start, mark.end, " and"),),
        "fault-list",
    )


def _gerund(base: str) -> str:
    """The -ing form of a verb (``hike`` -> ``hiking``, ``swim`` -> ``swimming``)."""
    if base.endswith("ie"):
        return base[:-2] + "ying"
    if base.endswith("e") and not base.endswith(("ee", "oe", "ye")) and len(base) > 2:
        return base[:-1] + "ing"
    ends = len(base) >= 3 and base[-1] not in _VOWELS + "wxy" and base[-2] in _VOWELS
    if ends and base[-3] not in _VOWELS and sum(c in _VOWELS for c in base) == 1:
        return base + base[-1] + "ing"
    return base + "ing"


def _fault(
    text: Text, place: tuple[int, int], other: str, new: str, variant: str, evidence: list[Span]
) -> Finding:
    start, end = place
    return Finding(
        start,
        end,
        "fault",
        0.85,
        {"word": text.quote(start, end), "other": other, "form": new},
        (text.evidence(evidence[0], "arg1"), text.evidence(evidence[1], "arg2")),
        (Fix(start, end, new),),
        variant,
    )


RULE = Rule("parallel-structure", find)

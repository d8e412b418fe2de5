"""A noun phrase set beside a term between commas: "a stoma, a tiny pore, ..."."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.text import Text, Token
from rwtools.vocabulary.by_words import (
    AGENTS,
    MEASURES,
    PERSONS,
    TENSED,
    is_scene,
    opens_clause,
    opens_sentence,
    rare_word,
    set_beside,
)
from rwtools.vocabulary.describing import descriptions
from rwtools.vocabulary.familiarity import is_name, rarity, zipf
from rwtools.vocabulary.model import Gloss
from rwtools.vocabulary.phrases import (
    VAGUE,
    agree,
    core,
    is_list,
    noun_phrase,
    phrase_before,
    span,
    term_of,
    words_in,
)
from rwtools.vocabulary.view import View

_CLOSERS = frozenset({",", ".", ";", ":", "?", "!", ")", "\u2014", "--", "\u2013", '"', "''"})
_QUOTES = frozenset({'"', "''", "\u201d", "\u2019"})
_OPENING_QUOTES = frozenset({'"', "``", "\u201c", "\u2018"})
_NAMING = frozenset({"call", "term", "name", "dub"})
_ARTICLES = frozenset({"a", "an", "the", "any", "one"})


def find(view: View) -> Iterator[Gloss]:
    """A noun phrase right after a comma after a noun, closed by a mark, outside lists; words that
    describe, after any mark."""
    text, tokens = view.text, view.text.tokens
    yield from descriptions(view)
    for comma in view.at(","):
        if comma < 1 or comma + 2 >= len(tokens) or tokens[comma - 1].is_punct:
            continue
        if _ends_speech(text, comma):
            continue
        beside = set_beside(text, comma)
        if beside is not None:
            beside = (_named(text, beside[0]), *beside[1:])
        if beside is not None and (view.wants(*beside[0]) or _opens(view, beside[0])):
            yield Gloss(
                span(text, *beside[0]),
                span(text, comma + 1, beside[2]),
                "definition",
                "clause" if beside[3] else _way(text, beside[0]),
                cue=text.span(comma, comma),
            )
            continue
        noun = _gloss_noun(text, comma)
        if noun is None:
            continue
        first, last = _after(text, comma), noun_phrase(text, noun.i)[1]
        term = _term(text, comma, noun)
        if term is None or not _set_beside(text, comma, noun, term, last):
            continue
        mark = text.span(comma, comma)
        if view.wants(*term) and _says_what(text, noun, first, last, term):
            here, gloss = span(text, *term), span(text, first, last)
            yield Gloss(here, gloss, "definition", _way(text, term), cue=mark)
        yield from _name_last(view, comma, noun, last)


def _way(text: Text, term: tuple[int, int]) -> str:
    """A thing gets a second name, a quality a description."""
    named = text.tokens[term[1]]
    return "quality" if named.pos == "ADJ" or named.dep == "acomp" else "after"


def _named(text: Text, term: tuple[int, int]) -> tuple[int, int]:
    """The name alone where a verb gives it to a thing: "call this trait | neoteny"."""
    noun = text.tokens[term[1]]
    pointer = text.child(noun.i, "det")
    given = text.tokens[noun.head].lemma in _NAMING and noun.dep in ("dobj", "oprd")
    common = all(zipf(t.lower) > zipf(noun.lower) for t in text.tokens[term[0] : term[1]])
    if given and pointer is not None and rare_word(noun) and common:
        return term[1], term[1]
    return term


def _opens(view: View, term: tuple[int, int]) -> bool:
    """Whether a rare word at a sentence's head is no name, though the parser takes it for one."""
    if view.asked or term[0] != term[1]:
        return False
    return opens_sentence(view.text, term[0]) and rare_word(view.text.tokens[term[0]])


def _after(text: Text, comma: int) -> int:
    """The first word after a comma: the comma may stand inside a closing quotation mark."""
    quoted = comma + 2 < len(text.tokens) and text.tokens[comma + 1].text in _QUOTES
    return comma + 2 if quoted else comma + 1


def _ends_speech(text: Text, comma: int) -> bool:
    """Whether a quotation ends at the comma that is longer than a quoted term: what follows tells
    who spoke."""
    if _after(text, comma) == comma + 1:
        return False
    return not any(t.text in _OPENING_QUOTES for t in text.tokens[max(comma - 4, 0) : comma])


def _gloss_noun(text: Text, comma: int) -> Token | None:
    """The noun that heads the phrase right after a comma."""
    start = _after(text, comma)
    opening = text.tokens[start]
    if opening.pos == "DET" and opening.lower in _ARTICLES:
        noun = text.tokens[opening.head]
    else:
        noun = next((t for t in text.tokens[start : start + 5] if t.dep == "appos"), opening)
    if noun.pos != "NOUN" or noun.i <= comma or core(text, noun.i)[0] not in (comma + 1, start):
        return None
    return noun


def _term(text: Text, comma: int, noun: Token) -> tuple[int, int] | None:
    """The term: the noun that the parser sets the phrase beside, else the one at the comma."""
    if noun.dep == "appos":
        head = text.tokens[noun.head]
        if head.i < comma and head.pos in ("NOUN", "PROPN", "X") and _reaches(text, head.i, comma):
            return term_of(text, *core(text, head.i))
    term = phrase_before(text, comma)
    if term is None or text.tokens[term[1]].pos in ("ADV", "VERB"):
        return None
    return term


def _reaches(text: Text, head: int, comma: int) -> bool:
    """Whether only words of the head's own phrase stand between it and the comma."""
    if head == comma - 1:
        return True
    inside = set(text.subtree(head))
    between = text.tokens[head + 1 : comma]
    return len(between) <= 6 and all(t.i in inside and not t.is_punct for t in between)


def _set_beside(text: Text, comma: int, noun: Token, term: tuple[int, int], last: int) -> bool:
    """Whether the phrase after the comma is set beside the term, and no item of a list."""
    tokens = text.tokens
    after = tokens[last + 1] if last + 1 < len(tokens) else None
    start = text.sentences[noun.sent].first
    opens = all(t.pos == "DET" or t.is_punct for t in tokens[start : term[0]])
    if not opens and not any(t.tag in TENSED for t in tokens[start:comma]):
        return False  # a phrase before the clause: "floating within the fluid, the embryo ..."
    if after is not None and after.text not in _CLOSERS:
        return False
    if opens_clause(text, comma) and tokens[last + 1 : last + 2] and tokens[last + 1].text != ",":
        return False  # "Whereas the first was terse, the second rambles on."
    follows = [t.lower for t in tokens[last + 1 : last + 3]]
    if follows in ([",", "and"], [",", "or"], [",", "but"]):
        return False
    if is_list(text, _after(text, comma), last) and text.child(noun.i, "relcl", "acl") is None:
        return False
    if noun.dep == "appos":
        return not _listed(text, comma, noun, term)
    opening = tokens[_after(text, comma)].lower
    if opening not in ("a", "an", "the"):
        return False
    if noun.dep == "conj":  # the parser often takes a pair without *and* for a list
        head = tokens[noun.head]
        pair = text.child(head.i, "cc") is None and text.child(noun.i, "cc", "conj") is None
        return pair and head.pos in ("NOUN", "PROPN") and not _listed(text, comma, noun, term)
    if tokens[term[1]].pos == "ADJ" and noun.head < comma:
        return opening != "the"  # a quality and a thing make no list: "as inimical, a place ..."
    if noun.dep in ("nsubj", "nsubjpass"):  # "Somatic cells, the cells that ..., are ..."
        verb = tokens[noun.head]
        return (
            opens
            and after is not None
            and after.text == ","
            and last + 2 < len(tokens)
            and tokens[last + 2].pos in ("VERB", "AUX", "ADV")
            and verb.i > last
            and last > noun.i
        )
    return False


def _listed(text: Text, comma: int, noun: Token, term: tuple[int, int]) -> bool:
    """Whether term and phrase are items of one list."""
    head = text.tokens[term[1]]
    if head.dep == "conj" and any(
        t.text == "," for t in text.tokens[text.tokens[head.head].i : term[0]]
    ):
        return True
    if any(text.tokens[i].dep == "conj" and i != noun.i for i in text.children[head.i]):
        return True
    if term[0] and text.tokens[term[0] - 1].text == "," and head.dep in ("conj", "appos"):
        return True
    return sum(text.tokens[i].dep == "appos" for i in text.children[noun.head]) > 1


def _says_what(text: Text, noun: Token, first: int, last: int, term: tuple[int, int]) -> bool:
    """Whether the phrase can say what the term is."""
    opening = text.tokens[first]
    if (
        noun.lemma in MEASURES
        or noun.lemma in VAGUE
        or noun.lemma == "one"
        or is_name(text, text.tokens[term[1]])
    ):
        return False
    named = text.tokens[term[1]].lemma
    if any(t.lemma == named and t.i != noun.i for t in text.tokens[first : last + 1]):
        return False
    if is_scene(text, first, last) or (opening.lower == "the" and _doing(text, noun)):
        return False  # "to a halt, the wheel pointing at him": no name for it
    if len(words_in(text, first, last)) < 2 or text.tokens[term[1]].dep == "conj":
        return False
    before = text.tokens[term[0] - 1] if term[0] else None
    if before is not None and before.pos in ("DET", "PRON") and term[0] > 1:
        before = text.tokens[term[0] - 2]
    listing = before is not None and before.text == ","
    if listing and any(t.dep == "cc" for t in text.tokens[first : last + 1]):
        return False
    if any(is_name(text, t) for t in text.tokens[first : noun.i + 1]) or _names_it(text, noun):
        return False
    capital = text.tokens[term[0]].text[:1].isupper() and text.tokens[term[1]].tag in ("NNP", "NN")
    if capital and noun.tag == "NN" and (noun.lemma in PERSONS or noun.lemma.endswith(AGENTS)):
        return False  # "Popeye, a familiar cartoon character"
    if capital and opening.lower == "the" and last - first < 3:
        return False  # "Adele, the maid"
    if not agree(text.tokens[term[1]], noun, opening):
        return False
    if opening.lower in _ARTICLES:
        return noun.lemma != text.tokens[term[1]].lemma or last > noun.i
    told = text.child(noun.i, "prep", "relcl", "acl") is not None
    return (
        noun.tag == "NNS" and told and opening.pos not in ("PRON", "NUM") and opening.tag != "PRP$"
    )


def _doing(text: Text, noun: Token) -> bool:
    """Whether an *-ing* form hangs on a noun; before *of* it is a noun ("the keeping of")."""
    after = [text.tokens[i] for i in text.subtree(noun.i) if i > noun.i]
    if not after or after[0].tag == "VBG":
        return bool(after)
    return noun.lower.endswith("ing") and after[0].lower != "of"


def _names_it(text: Text, noun: Token) -> bool:
    """Whether the phrase goes on to name something itself ("a reflex called ...")."""
    naming = text.child(noun.i, "acl")
    return naming is not None and naming.lower in ("called", "named", "known", "termed")


def _name_last(view: View, comma: int, noun: Token, last: int) -> Iterator[Gloss]:
    """The other way round: "a tiny pore, the stoma, ..."."""
    text = view.text
    term = term_of(text, comma + 1, last)
    before = text.tokens[comma - 1]
    if text.tokens[comma + 1].lower in ("a", "an") or text.tokens[comma + 1].pos == "PRON":
        return
    if last != noun.i or not view.wants(*term) or before.pos != "NOUN" or is_name(text, noun):
        return
    outer = core(text, before.i)
    if text.tokens[outer[0]].lower not in ("a", "an") or outer[1] - outer[0] < 2:
        return
    if rarity(text, *term) < rarity(text, *outer):
        mark = text.span(comma, comma)
        yield Gloss(span(text, *term), span(text, *outer), "definition", "before", cue=mark)

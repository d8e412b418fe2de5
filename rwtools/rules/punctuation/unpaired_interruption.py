"""Words that interrupt a clause have a mark on both sides, and the same mark."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.clue import Fix, Span
from rwtools.rules.asides import (
    TIMES,
    can_be_subject,
    clause_after_relative,
    is_who_is_for_whose,
    past_after_relative,
    unopened,
    verb_after_one,
)
from rwtools.rules.friends import SPEECH
from rwtools.rules.model import Finding, Rule
from rwtools.rules.nouns import is_person
from rwtools.rules.phrases import DASHES, clear, prose, short, verb_group
from rwtools.text import Clause, Sentence, Text, Token

__all__ = ["RULE", "find"]

_SUBJECTS = ("nsubj", "nsubjpass")
_RELATIVES = frozenset({"which", "who", "whose", "whom", "where"})
# Set phrases that interrupt; each is set off on both sides between a subject and its verb.
_ASIDES = (
    ("for", "example"),
    ("for", "instance"),
    ("in", "fact"),
    ("of", "course"),
    ("on", "the", "other", "hand"),
    ("on", "the", "contrary"),
    ("after", "all"),
    ("to", "say", "the", "least"),
    ("to", "be", "sure"),
    ("however",),
    ("moreover",),
    ("nevertheless",),
    ("furthermore",),
)
_BY_FIRST = {words[0]: tuple(w for w in _ASIDES if w[0] == words[0]) for words in _ASIDES}
_ARTICLES = frozenset({"the", "a", "an", "his", "her", "their", "our", "my"})
_INNER = frozenset({"relcl", "acl", "amod", "compound", "ccomp"})
_FINITE = frozenset({"VBZ", "VBP", "VBD", "MD"})
_NEVER_BARE = frozenset(
    {"for example", "for instance", "however", "to say the least", "on the contrary"}
)
_WORKS = frozenset(
    "album book drama essay film memoir novel opera painting play poem sculpture song story "
    "symphony".split()
)
_KIN = frozenset(
    "husband wife brother sister father mother son daughter uncle aunt cousin friend neighbor "
    "neighbour colleague boss teacher captain owner mayor king queen president founder inventor "
    "author leader director governor chairman".split()
)


def find(text: Text) -> list[Finding]:
    """Fault span: the odd mark, or zero width where the missing mark belongs. Sound: the pair,
    from the first mark to the last."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    for sentence in prose(text):
        marks = [
            t
            for t in text.sentence_tokens(sentence)
            if t.text in DASHES or t.text in (",", "(", ")")
        ]
        brackets = _open_bracket(text, sentence)
        if brackets is not None:
            yield brackets
            continue
        lone = _bare_aside(text, sentence) or _one_comma(text, sentence)
        lone = lone or next(filter(None, _in_openings(text, sentence)), None)
        if lone is not None:
            yield lone
            continue
        for clause in text.clauses:
            if not sentence.first <= clause.head < sentence.last or not clause.finite:
                continue
            found = _in_clause(text, sentence, clause) if marks else None
            if found is not None:
                yield found
        yield from _asides(text, sentence)


def _open_bracket(text: Text, sentence: Sentence) -> Finding | None:
    """A round bracket that is never closed."""
    opened: list[int] = []
    for at in range(sentence.start, sentence.end):
        if text.passage[at] == "(":
            opened.append(at)
        elif text.passage[at] == ")":
            if not opened:
                return None  # "a)", a face, or a bracket opened in the sentence before
            opened.pop()
    if len(opened) != 1 or ")" in text.passage[sentence.end : sentence.end + 400].split("(")[0]:
        return None
    token = text.token_at(opened[0])
    last = text.tokens[sentence.last - 1]
    place = last.start if last.is_punct else last.end
    if token is None or token.text != "(" or not sentence.first < token.i < sentence.last - 2:
        return None
    end = place
    for t in text.tokens[token.i + 1 : sentence.last - 1]:
        if t.text in (",", ";", ":") or t.text in DASHES:
            place = end = t.start
            if t.text == "," and text.tokens[t.i + 1].tag in _FINITE:
                end = t.end  # the comma stood in for the bracket
            break
    inner = short(text, token.start, place)
    return Finding(
        token.start,
        token.end,
        "fault",
        0.9,
        {"inner": inner, "mark": "("},
        (text.evidence(Span(token.start, place), "clause"),),
        (Fix(place, end, ")"),),
        "fault-bracket",
    )


def _in_clause(text: Text, sentence: Sentence, clause: Clause) -> Finding | None:
    """Look between the subject's own words and the verb of one clause."""
    subject = text.child(clause.head, *_SUBJECTS)
    if subject is None or subject.i > clause.head or subject.pos == "PRON":
        return None
    verb_first, _ = verb_group(text, clause.head)
    between = range(subject.i + 1, verb_first)
    marks = [i for i in between if text.tokens[i].text == "," or text.tokens[i].text in DASHES]
    if not marks or any(text.tokens[i].text in ("(", ")", ":", ";", '"', "“") for i in between):
        return None
    closes = marks[-1] == verb_first - 1
    if len(marks) == 2 and closes:
        return _two_marks(text, sentence, clause, subject, marks[0], marks[1])
    if len(marks) == 1 and not closes:
        return _not_closed(text, sentence, clause, subject, marks[0], verb_first)
    if len(marks) == 1 and closes:
        return _not_opened(text, clause, subject, marks[0])
    return None


def _two_marks(
    text: Text, sentence: Sentence, clause: Clause, subject: Token, first: int, last: int
) -> Finding | None:
    left, right = text.tokens[first], text.tokens[last]
    inner = text.span(first + 1, last - 1)
    if first + 1 >= last:
        return None
    opens = text.tokens[first + 1]
    if left.text == right.text:
        if opens.lower in ("and", "or") or not _interrupts(text, subject, first, last):
            return None
        pair = "commas" if left.text == "," else "dashes"
        head = text.span(text.subtree(subject.i)[0], first - 1)
        return Finding(
            left.start,
            right.end,
            "sound",
            0.9,
            {
                "pair": pair,
                "inner": short(text, inner.start, inner.end),
                "subject": short(text, head.start, head.end),
                "verb": clause.verb.of(text.passage),
            },
            (
                text.evidence(head, "subject"),
                text.evidence(inner, "clause"),
                text.evidence(clause.verb, "verb"),
            ),
        )
    others = [
        t for t in text.sentence_tokens(sentence) if t.text in DASHES and t.i not in (first, last)
    ]
    if others or not _interrupts(text, subject, first, last):
        return None
    passage = text.passage
    spaced = passage[left.start - 1].isspace()
    if right.text == ",":
        start, dash = right.start, left.text
        new = f" {dash}" if spaced else dash
        end = right.end
        if not spaced and end < len(passage) and passage[end] == " ":
            end += 1
    else:
        start, end, new = right.start, right.end, ","
        if passage[start - 1] == " ":
            start -= 1
        if end < len(passage) and not passage[end].isspace():
            new = ", "
    return Finding(
        right.start,
        right.end,
        "fault",
        0.9,
        {
            "inner": short(text, inner.start, inner.end),
            "first": _name(left),
            "last": _name(right),
        },
        (
            text.evidence(Span(left.start, left.end), "cue"),
            text.evidence(inner, "clause"),
            text.evidence(clause.verb, "verb"),
        ),
        (Fix(start, end, new),),
        "fault-mixed",
    )


def _name(token: Token) -> str:
    return "comma" if token.text == "," else "dash"


def _interrupts(text: Text, subject: Token, first: int, last: int) -> bool:
    """Whether the words between two marks hang together as one addition to the subject."""
    inside = range(first + 1, last)
    heads = {text.tokens[i].head for i in inside} - set(inside)
    return len(heads) <= 1 and (subject.i in heads or text.tokens[subject.i].head in heads)


def _not_closed(
    text: Text, sentence: Sentence, clause: Clause, subject: Token, mark: int, verb_first: int
) -> Finding | None:
    """``Farragut, who was born in Tennessee was ...``: the second mark is missing."""
    opener, token = text.tokens[mark + 1], text.tokens[mark]
    inner = range(mark + 1, verb_first)
    heads = {text.tokens[i].head for i in inner} - set(inner)
    if heads != {subject.i} or len(inner) < 2 or subject.tag in ("WDT", "WP"):
        return None
    if is_who_is_for_whose(text, opener.i):
        return None  # the parser takes the noun for the end of the clause
    before = text.tokens[sentence.first : subject.i]
    opened = [t for t in before if t.text == ","]
    start = text.subtree(subject.i)[0]
    joined = text.tokens[clause.head].dep == "conj" and start > 1  # "..., and the team, whose ..."
    joined = joined and text.tokens[start - 1].tag == "CC" and text.tokens[start - 2].text == ","
    if (
        opened
        and not joined
        and (
            before[0].pos not in ("ADP", "SCONJ", "ADV")
            or start != opened[-1].i + 1
            or len(opened) > 1
        )
    ):
        return None
    linked = next(text.tokens[i] for i in inner if text.tokens[i].head == subject.i)
    dash = token.text in DASHES
    relative = linked.dep == "relcl" and opener.lower in _RELATIVES
    relative = relative and any(text.tokens[i].tag in _FINITE for i in inner)
    if not relative and not can_be_subject(subject, text.tokens[verb_first]):
        return None  # beside a whole relative clause the verb may be in the wrong number
    named = linked.dep == "appos" and _starts(text, sentence, subject) and len(inner) <= 8
    if named and subject.pos == "PROPN":
        named = opener.lower in _ARTICLES
    elif named:
        named = linked.pos == "PROPN" and subject.lemma in _KIN
    if not (relative or named or (dash and linked.dep in ("appos", "relcl", "acl"))):
        return None
    if relative and any(text.tokens[i].tag in ("CC",) for i in inner) and not dash:
        last_verb = text.tokens[verb_first - 1]
        if last_verb.pos in ("VERB", "AUX", "CCONJ") or _closes_later(text, sentence, verb_first):
            return None
    place = text.tokens[verb_first - 1].end
    new = token.text if dash else ","
    gap = place + 1 if dash and text.passage[place : place + 1] == " " else place
    words = text.span(mark + 1, verb_first - 1)
    return Finding(
        place,
        place,
        "fault",
        0.9,
        {
            "inner": short(text, words.start, words.end),
            "mark": "dash" if dash else "comma",
            "verb": clause.verb.of(text.passage),
        },
        (
            text.evidence(Span(token.start, token.end), "cue"),
            text.evidence(words, "clause"),
            text.evidence(clause.verb, "verb"),
        ),
        (Fix(place, gap, new),),
        "fault-open",
    )


def _closes_later(text: Text, sentence: Sentence, first: int) -> bool:
    """Whether a comma with a finite verb right behind it closes the aside after all: *where ten
    seats are filled by lot and five more are bought, shows ...*."""
    return any(
        text.tokens[i].text == "," and text.tokens[i + 1].tag in _FINITE
        for i in range(first, sentence.last - 1)
    )


def _one_comma(text: Text, sentence: Sentence) -> Finding | None:
    """A subject, one comma, an addition, and then the verb, with no second comma.

    Where the only comma of a sentence comes before any finite verb and an addition to the
    subject follows it, the verb of the sentence lies beyond that addition.
    """
    tokens = text.sentence_tokens(sentence)
    commas = [t.i for t in tokens if t.text == ","]
    others = (t.text in DASHES or t.text[-1] in ':;()"“”?!' for t in tokens)
    if not commas or any(others):
        return None
    comma = commas[0]
    last = commas[1] if len(commas) > 1 else sentence.last
    name = text.tokens[sentence.first : comma]
    if len(name) > 1 and name[-1].lower in ("here", "there"):
        name = name[:-1]
    if not name or not _is_name(name) or comma + 3 >= last:
        return None
    after = text.tokens[comma + 1 : last]
    if len(commas) > 1 and any(t.tag == "CC" for t in after):
        return None  # perhaps a list
    finite = [t for t in after if t.tag in _FINITE and t.dep not in _INNER]
    opener = after[0]
    relative = opener.lower in _RELATIVES and not is_who_is_for_whose(text, opener.i)
    if relative:
        root = [t for t in finite if _is_main(text, t)]
        verb = root[0] if len(finite) > 1 and root and root[0] is not finite[0] else None
        if text.tokens[text.tokens[comma].head].dep == "ROOT" and not root:
            verb = past_after_relative(text, comma, last)
    elif opener.tag in ("VBN", "VBG") or (opener.lower in ("a", "an") and len(name) > 1):
        verb = finite[0] if finite and _is_main(text, finite[0]) else None
        if opener.lower in ("a", "an") and not finite:
            verb = verb_after_one(after)
        elif opener.lower in ("a", "an") and finite[0].dep == "appos":
            verb = finite[0]  # the parser takes the whole aside for a clause
        inner = after[: verb.i - comma - 1] if verb is not None else ()
        if opener.lower not in ("a", "an") and any(
            t.tag == "PRP" or t.dep == "mark" for t in inner
        ):
            verb = None  # the verb has a subject of its own: "Mara, seeing that it rained ..."
    elif _takes_name(name):
        verb = _after_name(after)
    else:
        return None
    if verb is None or verb.i < comma + 2:
        return None
    noun = _noun_of(text, name)
    subject = text.child(_verb_of(text, verb), *_SUBJECTS) if relative else None
    own = subject is not None and subject.i == noun.i
    misread = verb.tag in ("VBN", "NNS")
    if not own and not misread and not can_be_subject(noun, verb):
        return None  # where the parse is sure, the verb may be in the wrong number
    if text.tokens[verb.i - 1].tag in ("CC", "PRP", "TO", "IN", "WDT", "WP"):
        return None
    place = verb.i - 1
    while text.tokens[place].pos == "ADV" and place > comma + 2:
        place -= 1
    words = text.span(comma + 1, place)
    group = text.span(verb.i, verb.i)
    return Finding(
        words.end,
        words.end,
        "fault",
        0.9,
        {
            "inner": short(text, words.start, words.end),
            "mark": "comma",
            "verb": group.of(text.passage),
        },
        (
            text.evidence(text.span(sentence.first, comma - 1), "subject"),
            text.evidence(words, "clause"),
            text.evidence(group, "verb"),
        ),
        (Fix(words.end, words.end, ","),),
        "fault-open",
    )


def _bare_aside(text: Text, sentence: Sentence) -> Finding | None:
    """``My brother a nurse, works ...``: the first of the two commas is missing."""
    found = unopened(text, sentence)
    if found is None:
        return None
    last, comma = found
    return _unopened(
        text,
        text.span(sentence.first, last),
        text.span(last + 1, comma - 1),
        text.tokens[comma],
        text.span(comma + 1, comma + 1),
    )


def _in_openings(text: Text, sentence: Sentence) -> Iterator[Finding | None]:
    """The same in each part of a sentence, from one semicolon to the next."""
    start = sentence.first
    for token in text.sentence_tokens(sentence):
        if token.text == ";" or token.i == sentence.last - 1:
            end = token.i if token.text == ";" else sentence.last
            if end > start:
                yield _in_opening(text, start, end)
            start = token.i + 1


def _in_opening(text: Text, first: int, last: int) -> Finding | None:
    """``In the second, which nobody saw until he died he set down ...``: an introductory phrase
    with an addition, and no comma before the main clause."""
    tokens = text.tokens[first:last]
    commas = [t.i for t in tokens if t.text == ","]
    opener = next((t for t in tokens if t.tag != "CC"), tokens[0])
    if len(commas) != 1 or opener.tag != "IN" or opener.dep == "mark":
        return None
    if any(t.tag in _FINITE for t in text.tokens[opener.i : commas[0]]):
        return None
    start = clause_after_relative(text, commas[0], last)
    if start is None:
        return None
    words, mark = text.span(commas[0] + 1, start - 1), text.tokens[commas[0]]
    rest = text.span(start, start + 1)
    return Finding(
        words.end,
        words.end,
        "fault",
        0.9,
        {
            "inner": short(text, words.start, words.end),
            "mark": "comma",
            "verb": rest.of(text.passage),
        },
        (
            text.evidence(Span(mark.start, mark.end), "cue"),
            text.evidence(words, "clause"),
            text.evidence(rest, "verb"),
        ),
        (Fix(words.end, words.end, ","),),
        "fault-open",
    )


def _takes_name(words: tuple[Token, ...]) -> bool:
    """Whether words name one of the kind that a name is set beside: *the editor*, *her first
    novel*. Words that describe may stand before the subject: *A tireless worker, Ada came ...*,
    *The daughter of a smith, Ada came ...*."""
    noun = words[-1]
    if words[0].lower in ("a", "an") or any(t.pos == "ADP" for t in words):
        return False
    return is_person(noun) or noun.lemma in _WORKS


def _after_name(words: tuple[Token, ...]) -> Token | None:
    """The finite verb right after a name or a title, with words enough after it."""
    end = next((n for n, t in enumerate(words) if not _is_of_name(t)), len(words))
    while end and words[end - 1].text.islower():
        end -= 1
    at = end
    while at < len(words) and words[at].tag == "RB":
        at += 1  # Mrs. Olin | always told
    if not end or at + 1 >= len(words) or words[at].tag not in _FINITE:
        return None
    # "My dear, Ada said" and no more: words spoken
    told = words[at + 1].lower in ("that", "me", "us", "him", "them")
    return words[at] if told or words[at].lemma not in SPEECH else None


def _is_of_name(token: Token) -> bool:
    return token.text[:1].isupper() or token.lower in ("of", "the", "and", "in")


def _is_main(text: Text, verb: Token) -> bool:
    """Whether the parser takes a finite verb (or the verb it helps) for the sentence's own."""
    head = text.tokens[verb.head] if verb.dep in ("aux", "auxpass") else verb
    return head.dep == "ROOT"


def _is_name(words: tuple[Token, ...]) -> bool:
    """Whether words can only be a subject: a noun with what goes before it and of-phrases."""
    noun = next((t for t in words if t.pos in ("NOUN", "PROPN")), None)
    if noun is None or words[-1].pos not in ("NOUN", "PROPN", "NUM"):
        return False
    if noun.lemma in TIMES or words[0].tag not in ("DT", "PRP$", "NNP", "NNS", "NNPS", "NN"):
        return False
    return all(
        t.pos in ("NOUN", "PROPN", "DET", "ADJ", "NUM", "ADP", "PART", "PRON") for t in words
    ) and not any(t.tag in ("PRP", "JJR", "RBR", "EX") for t in words)


def _noun_of(text: Text, words: tuple[Token, ...]) -> Token:
    """The noun that the words are about: the last one before any preposition."""
    end = next((n for n, t in enumerate(words) if t.pos == "ADP"), len(words))
    return words[max(0, end - 1)]


def _starts(text: Text, sentence: Sentence, subject: Token) -> bool:
    """Whether a name, or a noun with its owner or article, opens the sentence as subject."""
    first = text.tokens[sentence.first : subject.i + 1]
    if text.subtree(subject.i)[0] != sentence.first:
        return False
    if subject.pos == "PROPN":
        return all(t.pos == "PROPN" for t in first)
    return all(t.pos in ("DET", "PRON", "PROPN", "PART", "ADJ", "NOUN") for t in first)


def _not_opened(text: Text, clause: Clause, subject: Token, mark: int) -> Finding | None:
    """``Naxon the cashier, has fled`` or ``Mara who was ill, is ...``: the first is missing."""
    token = text.tokens[mark]
    if token.text != "," or subject.pos != "PROPN":
        return None
    relative = text.child(subject.i, "relcl", "appos")
    if relative is None or relative.i > mark:
        return None
    members = text.subtree(relative.i)
    first = text.tokens[members[0]]
    if first.i != subject.i + 1 or members[-1] not in (mark - 1, mark):
        return None
    if relative.dep == "relcl" and first.lower not in ("who", "which"):
        return None
    if relative.dep == "appos" and first.lower not in (
        "the",
        "a",
        "an",
        "his",
        "her",
        "their",
        "our",
    ):
        return None
    sentence = text.sentences[subject.sent]
    if any(t.text == "," for t in text.tokens[sentence.first : mark]):
        return None
    head = Span(text.phrase(subject.i).start, subject.end)
    return _unopened(text, head, text.span(first.i, mark - 1), token, clause.verb)


def _unopened(text: Text, subject: Span, words: Span, mark: Token, verb: Span) -> Finding:
    place = subject.end
    return Finding(
        place,
        place,
        "fault",
        0.9,
        {
            "inner": short(text, words.start, words.end),
            "subject": short(text, subject.start, place),
        },
        (
            text.evidence(words, "clause"),
            text.evidence(Span(mark.start, mark.end), "cue"),
            text.evidence(verb, "verb"),
        ),
        (Fix(place, place, ","),),
        "fault-close",
    )


def _asides(text: Text, sentence: Sentence) -> Iterator[Finding]:
    """``for example``, ``however`` and the like beside the verb, set off on one side only."""
    for start in range(sentence.first + 1, sentence.last - 2):
        for words in _BY_FIRST.get(text.tokens[start].lower, ()):
            last = start + len(words) - 1
            if last + 1 < sentence.last and words == tuple(
                t.lower for t in text.tokens[start : last + 1]
            ):
                found = _check_aside(text, sentence, start, last)
                if found is not None:
                    yield found
                break


def _check_aside(text: Text, sentence: Sentence, start: int, last: int) -> Finding | None:
    opened = text.tokens[start - 1].text == ","
    closed = text.tokens[last + 1].text == ","
    if closed and last + 2 >= sentence.last:
        return None
    left = text.tokens[start - 2] if opened else text.tokens[start - 1]
    right = text.tokens[last + 2] if closed else text.tokens[last + 1]
    words = text.span(start, last)
    bare = not opened and not closed
    if opened == closed and not (bare and words.of(text.passage).lower() in _NEVER_BARE):
        return None
    if left.i < sentence.first or right.i >= sentence.last or right.is_punct:
        return None
    before_verb = left.pos in ("NOUN", "PROPN", "PRON") and right.tag in _FINITE
    before_verb = before_verb and text.child(_verb_of(text, right), *_SUBJECTS, "attr") is not None
    after_verb = left.tag in _FINITE and left.pos == "AUX" and not bare
    if not (before_verb or after_verb):
        return None
    fixes = []
    if not opened:
        fixes.append(Fix(left.end, left.end, ","))
    if not closed:
        fixes.append(Fix(words.end, words.end, ","))
    place = fixes[0].start
    return Finding(
        place,
        place,
        "fault",
        0.9,
        {"inner": words.of(text.passage), "left": left.text, "right": right.text},
        (text.evidence(words, "clause"),),
        tuple(fixes),
        "fault-aside",
    )


def _verb_of(text: Text, token: Token) -> int:
    return token.head if token.dep in ("aux", "auxpass") else token.i


RULE = Rule("unpaired-interruption", find)

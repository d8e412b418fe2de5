"""Set patterns that ask for one form: *of whom*, *between her and me*, *demand that he go*, and an
opening phrase that describes the subject.

Each check looks at the words beside the gap and says which choices break the pattern, and why.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from rwtools.clue import Span
from rwtools.items.case import Case
from rwtools.items.forms import Form, Subject, form_of, is_open_after_there, sentence_at
from rwtools.items.openings import describes, describes_nobody
from rwtools.items.placing import Placed
from rwtools.items.subjects import by_order, leading_noun, noun_number
from rwtools.text import Text, Token

__all__ = ["Broken", "broken", "is_plain_form", "is_unreal"]

Broken = tuple[str, Span | None]
"""Why a choice breaks a pattern, and the words of the item's passage that ask for it."""

_PREPOSITIONS = frozenset(
    "of to for with from by in on at among amongst between about behind without under over against "
    "through during after before near beside except like".split()
)
_SUBJECTS = frozenset("i he she we they".split())
_OBJECTS = frozenset("me him her us them".split())
_FINITE = ("VBD", "VBZ", "VBP", "MD")
_NOMINAL = ("NOUN", "PROPN", "PRON")
_PARTS = frozenset("all any both each few many most neither none one several some two".split())
# verbs of saying and thinking, behind which a clause may begin without "that"
_OPINION = frozenset(
    "agree argue assume believe claim conclude expect fear feel guess hope imagine insist know "
    "predict say suppose suspect swear tell think".split()
)
_DEMAND = re.compile(
    r"\b((?:demand|insist|recommend|suggest|propos|requir|request|order|urg|ask)\w*|vital|essential|"
    r"important|necessary|crucial)\s+that\b[^.;:?!]*$",
    re.IGNORECASE,
)
_UNREAL = re.compile(r"\b(if|as if|as though|wish(?:es|ed)?)\b[^.;:?!,]*$", re.IGNORECASE)
_WOULD = re.compile(r"\b(would|could|might|'d)\b", re.IGNORECASE)
_EACH = re.compile(
    r"\b(each|one|neither|either|every one) of (?:the|these|those|his|her|its) \w+", re.I
)
_PASSIVE = re.compile(
    r"\b(?:is|are|was|were|been|be|being)\s+(?:\w+ly\s+)?\w+(?:ed|en|wn|lt|ght|ung|orn|ade|id|eard)\b"
)
_ING_OPENING = re.compile(
    r"^\W*(?:(?:while|when|after|before|by|without|on|in|since|although|though)\s+)?"
    r"(?:having\s+\w+|being\s+\w+|not\s+\w+ing|\w+ing)\b|^\W*(?:in order )?to\s+\w+",
    re.IGNORECASE,
)
# a person by form: a pronoun, or a name that owns nothing (a choice in mid-sentence has no other
# capital)
_PERSON = re.compile(
    r"(?:I|[Ww]e|[Yy]ou|[Hh]e|[Ss]he|[Tt]hey)\b|(?:[A-Z]\w+ )+(?![A-Z]\w*['’])[a-z]"
)
# *our mood*, *the driver's tea*, *Ada Reed's fame*: what somebody has, not somebody
_OWNED = re.compile(
    r"(?:my|our|his|her|its|their)\b|(?:the|an?) \w+['’]s?\s|(?:[A-Z]\w+ )*[A-Z]\w*['’]s?\s"
)
_THOSE = re.compile(r"\W*(?:un)?like (that|those)\b.*,\s*$", re.IGNORECASE)
_NO_DOER = re.compile(r"(?i)(?:it|there|this|that)\s+(?:is|was|were|are|had|has|seemed|would)\b")


def _before(case: Case) -> str:
    """The words of the gap's sentence before the gap."""
    text, where = case.texts[0], case.choices[0]
    first, _ = sentence_at(text, where)
    return text.passage[text.tokens[first].start : where.start]


def is_plain_form(case: Case) -> Span | None:
    """The word such as *demanded* after whose *that* the verb stays in its plain form."""
    before = _before(case)
    found = _DEMAND.search(before)
    if found is None:
        return None
    at = case.gap[0] - len(before) + found.start(1)
    return Span(at, at + len(found[1]))


def is_unreal(case: Case) -> Span | None:
    """The *if* (or *wish*) of an unreal case, where *were* goes with any subject."""
    before = _before(case)
    found = _UNREAL.search(before)
    if found is None:
        return None
    if found[1].lower() == "if" and not _WOULD.search(case.item.passage, case.gap[1]):
        return None
    at = case.gap[0] - len(before) + found.start(1)
    return Span(at, at + len(found[1]))


def broken(case: Case) -> list[Broken | None]:
    """For each choice the pattern that it breaks, if any."""
    found: list[Broken | None] = [None] * len(case.choices)
    for check in (_relative, _pronoun, _plain, _opening, _compared, _joined):
        for n, why in check(case):
            found[n] = found[n] or why
    return found


def _plain_words(case: Case) -> list[str]:
    return [c.words.strip().lower().replace("’", "'") for c in case.choices]


def _with_object(case: Case, words: list[str]) -> tuple[Text, Placed]:
    """The passage filled with *whom*, if that is a choice: after *who* the parser makes the next
    word a verb where it can."""
    n = words.index("whom") if "whom" in words else 0
    return case.texts[n], case.choices[n]


def _beside(
    case: Case, text: Text | None = None, where: Placed | None = None
) -> tuple[Token | None, list[Token]]:
    """The word before the gap, and the words after it in the same sentence."""
    text, where = text or case.texts[0], where or case.choices[0]
    before = [t for t in text.tokens if t.end <= where.start and not t.is_punct]
    token = text.token_at(where.start)
    sent = token.sent if token is not None else -1
    after = [t for t in text.tokens if t.start >= where.end and t.sent == sent]
    return before[-1] if before else None, after


def _at(case: Case, token: Token) -> Span:
    return Span(*case.choices[0].back(token.start, token.end))


def _relative(case: Case) -> Iterator[tuple[int, Broken]]:
    words = _plain_words(case)
    if not {"who", "whom"} & set(words):
        return
    text, where = _with_object(case, words)
    last, after = _beside(case, text, where)
    clause = []
    for token in after:
        if token.is_punct:
            break
        clause.append(token)
    finite = [k for k, t in enumerate(clause) if t.tag in _FINITE or _thinks(clause, k)]
    subject_needed = object_needed = False
    if last is not None and last.lower in _PREPOSITIONS:
        yield from _behind_preposition(case, words, last, clause)
        return
    verb = None
    if finite:
        first = finite[0]
        lead = [t for t in clause[:first] if t.pos not in ("ADV", "PART")]
        follow = first + 1
        while follow < len(clause) and (
            clause[follow].pos == "ADV" or clause[follow].tag in ("VB", "VBN")
        ):
            follow += 1
        inner = follow < len(clause) and clause[follow].tag in _FINITE
        group = [t.lemma for t in clause[first:follow] if t.pos in ("VERB", "AUX")]
        ends = last is not None and text.passage[last.end : where.start].strip() == ","
        before = _since_mark(text, where)
        verb = clause[first]
        subjects = _bare_nouns(lead)
        if not subjects:
            subject_needed = not lead or lead[0].pos == "ADP"
        elif inner and (ends or _has_verb(before) or len(finite) > 2 or _is_opinion(group)):
            subject_needed, verb = True, clause[follow]  # whom | we agreed | would sing
        else:
            object_needed = True
        owned = object_needed and lead[0].tag in ("NN", "NNS")  # whose | friends came
    if verb is None:
        return
    shown = Span(*where.back(verb.start, verb.end))
    for n, word in enumerate(words):
        if subject_needed and word in ("whom", "whose"):
            yield (
                n,
                (f"“{verb.text}” needs a subject, and “{word}” cannot be one.", shown),
            )
        if object_needed and (word == "who" or (word == "whose" and not owned)):
            why = (
                f"“{verb.text}” has its subject already, so “{word}” has nothing to do in the "
                "clause; the object form is needed."
            )
            yield n, (why, shown)


def _behind_preposition(
    case: Case, words: list[str], last: Token, clause: list[Token]
) -> Iterator[tuple[int, Broken]]:
    """*Three sons, one of whom was blind*, but *three sons, one of them blind*: a relative word
    needs a verb in its clause, and *them* ties no clause to what stands before."""
    before = _since_mark(case.texts[0], case.choices[0])
    held = _has_verb(before)
    linked = any(t.tag == "CC" for t in before[-5:])
    verbs = sum(t.tag in _FINITE for t in clause)
    maybe = any(t.tag == "VBN" and t.lower.endswith("ed") for t in clause)  # carved
    tie = _tie_in(case)
    for n, word in enumerate(words):
        why = ""
        if word in ("they", "he"):
            why = f"After “{last.text}” the object form is needed, so “{word}” is wrong."
        elif word in ("who", "that"):
            why = f"After “{last.text}” the clause begins with “whom”, not “{word}”."
        elif word == "them" and not linked and verbs >= (1 if held else 2):
            why = f"“them” cannot tie the clause to the noun before it; {tie} can."
        elif word in ("whom", "which") and held and not verbs and not maybe and clause:
            why = f"“{word}” begins a clause, which needs a verb that shows time; none follows."
        if why:
            yield n, (why, _at(case, last))


def _tie_in(case: Case) -> str:
    """The relative words of the choices that can follow a preposition."""
    words = _plain_words(case)
    if "whom" in words and "which" in words:
        return "“whom” (for people) or “which” (for things)"
    return "“which”" if "which" in words else "“whom”"


def _since_mark(text: Text, where: Placed) -> list[Token]:
    """The words before the gap since the last full stop, semicolon, colon or dash."""
    words: list[Token] = []
    for token in text.tokens:
        if token.end > where.start:
            break
        words = [] if token.text in (".", "?", "!", ";", ":", "—", "--") else [*words, token]
    return words


def _has_verb(words: list[Token]) -> bool:
    """Whether a clause before the gap has its verb already, so that another verb after the gap
    belongs to the relative clause (*They hired a man who | we said | would sing*)."""
    return any(t.tag in _FINITE for t in words)


def _thinks(clause: list[Token], k: int) -> bool:
    """Whether a past form of thinking stands between its subject and another verb, where the tagger
    takes it for a participle: *whom the judges | believed | had won*."""
    token = clause[k]
    if k == 0 or token.tag != "VBN" or token.lemma not in _OPINION:
        return False
    before = next((t for t in reversed(clause[:k]) if t.pos != "ADV"), token)
    after = next((t for t in clause[k + 1 :] if t.pos != "ADV"), token)
    return before.pos in _NOMINAL and after.tag in _FINITE


def _is_opinion(group: list[str]) -> bool:
    return bool(group) and group[-1] in _OPINION


def _bare_nouns(words: list[Token]) -> list[Token]:
    """The nouns of a stretch that no preposition holds and that tell no time; in *most of the
    judges* the word for the part."""
    found, held = [], False
    for k, token in enumerate(words):
        if token.lower in _PARTS and [t.lower for t in words[k + 1 : k + 2]] == ["of"]:
            found.append(token)
        elif token.pos == "ADP":
            held = True
        elif token.pos in _NOMINAL and token.tag != "PRP$":
            if not held and token.dep != "npadvmod":
                found.append(token)
            held = False
    return found


def _pronoun(case: Case) -> Iterator[tuple[int, Broken]]:
    words = _plain_words(case)
    yield from _each(case, words)
    yield from _one_noun(case, words)
    yield from _self(case, words)
    if not (set(words) & _SUBJECTS and set(words) & _OBJECTS):
        return
    last, after = _beside(case)
    verb = after[0] if after and after[0].tag in _FINITE else None
    before = _before(case).split()
    ruler = None
    if last is not None and last.lower in _PREPOSITIONS:
        ruler = last.text
    elif last is not None and last.lower in ("and", "or"):
        ruler = next((w for w in reversed(before[-5:-1]) if w.lower() in _PREPOSITIONS), None)
        ruler = ruler or _verb_before_pair(case)
    for n, word in enumerate(words):
        if ruler and verb is None and word in _SUBJECTS:
            yield (
                n,
                (
                    f"After “{ruler}” the object form is needed, so “{word}” is wrong.".replace(
                        "“i”", "“I”"
                    ),
                    _last_place(case, ruler),
                ),
            )
        if verb is not None and not ruler and word in _OBJECTS:
            yield n, (f"“{verb.text}” needs a subject form, not “{word}”.", _at(case, verb))


def _verb_before_pair(case: Case) -> str | None:
    """The verb whose object is a noun joined to the gap: *chose | the baker and ____*."""
    text, where = case.texts[0], case.choices[0]
    words = [t for t in text.tokens if t.end <= where.start]
    at = len(words) - 2
    while at >= 0 and words[at].pos in ("ADJ", "DET", "NOUN", "NUM", "PRON", "PROPN", "PART"):
        at -= 1
    if at < 0 or at == len(words) - 2 or words[at].pos != "VERB":
        return None
    return words[at].text


def _joined(case: Case) -> Iterator[tuple[int, Broken]]:
    """*On the wall | hang a map and a lamp*: several nouns joined by *and*, behind the verb."""
    found = [form_at(text, where) for text, where in zip(case.texts, case.choices, strict=True)]
    if not any(form is not None and form.number == "plural" for form in found):
        return
    for n, (text, where) in enumerate(zip(case.texts, case.choices, strict=True)):
        subject, form = by_order(text, where), found[n]
        if subject is None or subject[2] != "plural" or subject[0].start < where.end:
            continue
        words = subject[1].of(text.passage)
        if form is None or form.number != "singular" or " and " not in words:
            continue
        if is_open_after_there(text, Subject(*subject)):
            continue
        why = (
            f"“{where.words.strip()}” is singular, but the subject after it, “{words}”, is plural: "
            "“and” joins more than one."
        )
        yield n, (why, Span(*where.back(subject[1].start, subject[1].end)))


def form_at(text: Text, where: Placed) -> Form | None:
    """The verb form of a choice, by the tag of its first word."""
    token = next((t for t in text.tokens if t.end > where.start), None)
    return form_of(where.words, token.tag if token else "")


def _each(case: Case, words: list[str]) -> Iterator[tuple[int, Broken]]:
    """*Each of the sisters kept her letters*: one at a time."""
    found = _EACH.search(_before(case))
    if found is None or not set(words) & {"their", "them", "themselves"}:
        return
    if not set(words) & {"his", "her", "its", "it", "him", "himself", "herself", "itself"}:
        return
    at = case.gap[0] - len(_before(case)) + found.start()
    for n, word in enumerate(words):
        if word in ("their", "them", "themselves"):
            yield n, (f"“{found[1]}” means one at a time, but “{word}” means more than one.",
                      Span(at, at + len(found[0])))  # fmt: skip


def _self(case: Case, words: list[str]) -> Iterator[tuple[int, Broken]]:
    """*The guide asked Pedro and | myself*: such a word points back to its subject (common rule of
    grammar handbooks, from memory). *Yourself* is left out, for a command names nobody."""
    text, where = case.texts[0], case.choices[0]
    first, last = sentence_at(text, where)
    around = [t for t in text.tokens[first:last] if not where.touches(t.start, t.end)]
    named = {t.lower for t in around}
    for n, word in enumerate(words):
        owner = {"myself": "I", "ourselves": "we"}.get(word)
        finite = any(t.tag in _FINITE for t in around)
        if (
            owner is None
            or not finite
            or named & {owner.lower(), "i", "we", "me", "my", "us", "our"}
        ):
            continue
        yield n, (f"“{word}” points back to “{owner}”, which this sentence lacks.", None)


def _one_noun(case: Case, words: list[str]) -> Iterator[tuple[int, Broken]]:
    """*When two staves are struck together, | they ring*: the opening clause has but one noun."""
    text, where = case.texts[0], case.choices[0]
    first, _ = sentence_at(text, where)
    before = [t for t in text.tokens[first:] if t.end <= where.start]
    if not {"it", "they"} <= set(words) or len(before) < 4:
        return
    marks = [t for t in before if t.is_punct]
    if before[0].dep not in ("mark", "advmod") or len(marks) != 1 or before[-1] is not marks[0]:
        return
    nouns = [t for t in before if t.pos in _NOMINAL]
    if len(nouns) != 1 or nouns[0].tag not in ("NN", "NNS"):
        return
    noun = nouns[0]
    many = noun.tag == "NNS"
    wrong = "it" if many else "they"
    why = (
        f"“{wrong}” means {'one thing' if many else 'more than one'}, but “{noun.text}”, for which "
        f"it would stand, means {'more than one' if many else 'one'}."
    )
    yield words.index(wrong), (why, _at(case, noun))


def _last_place(case: Case, word: str) -> Span | None:
    at = case.item.passage.rfind(word, 0, case.gap[0])
    return None if at < 0 else Span(at, at + len(word))


def _plain(case: Case) -> Iterator[tuple[int, Broken]]:
    ruler = is_plain_form(case)
    if ruler is None:
        return
    for n, choice in enumerate(case.choices):
        form = form_at(case.texts[n], choice)
        if form is None or form.kind not in ("finite", "ing"):
            continue
        if form.number == "singular" or form.tense in ("past", "future") or form.kind == "ing":
            why = (
                f"After “{ruler.of(case.item.passage)} that”, the verb stays in its plain form; "
                f"“{choice.words}” is not plain."
            )
            yield n, (why, ruler)


def _opening(case: Case) -> Iterator[tuple[int, Broken]]:
    before = _before(case)
    if not before.rstrip().endswith(",") or not all(
        len(c.words.split()) >= 3 for c in case.choices
    ):
        return
    start = case.gap[0] - len(before)
    opening = Span(start, start + len(before.rstrip(" ,")))
    if describes_nobody(before):
        yield from _joined_to_opening(case, opening)
    if not describes(case.texts[0], case.choices[0]):
        return
    yield from _joined_to_opening(case, opening)
    doer = bool(_ING_OPENING.match(before))
    some_person = any(_PERSON.match(c.words.strip()) for c in case.choices)
    for n, choice in enumerate(case.choices):
        words = choice.words.strip()
        main = re.split(r"\b(?:because|after|before|when|while|until|which|that|who)\b", words)[0]
        first = words.split()[0].lower()
        if _NO_DOER.match(words) or first.endswith("ing"):
            yield (
                n,
                (
                    f"The opening words describe somebody or something, and “{first}” is not it.",
                    opening,
                ),
            )
        elif doer and some_person and not _PERSON.match(words) and _OWNED.match(words):
            yield (
                n,
                (
                    "The opening words tell what somebody does, but here something that belongs to "
                    "somebody stands right after them.",
                    opening,
                ),
            )
        elif doer and _PASSIVE.search(main) and not _PERSON.match(words):
            yield (
                n,
                (
                    "The opening words tell what somebody does, but here the subject does "
                    "nothing; something is done to it.",
                    opening,
                ),
            )


def _joined_to_opening(case: Case, opening: Span) -> Iterator[tuple[int, Broken]]:
    """*Speaking of bread, | and the oven is hot*: nothing for *and* to join to."""
    for n, choice in enumerate(case.choices):
        word = choice.words.split()[0].lower()
        if word in ("and", "but", "or", "nor"):
            why = (
                f"“{word}” joins a part to another one, but before it stands only an opening, "
                "which is no full part."
            )
            yield n, (why, opening)


def _compared(case: Case) -> Iterator[tuple[int, Broken]]:
    """*Unlike those of its relatives, | the eggs of the gecko ...*: what is compared belongs to
    somebody on both sides, and is one or many on both."""
    found = _THOSE.match(_before(case))
    if found is None:
        return
    wanted = "plural" if found[1].lower() == "those" else "singular"
    subjects = [_owned_noun(text, c) for text, c in zip(case.texts, case.choices, strict=True)]
    fits = [owned and noun_number(noun) == wanted for noun, owned in subjects if noun is not None]
    if len(fits) < len(subjects) or not any(fits):
        return
    start = case.gap[0] - len(_before(case))
    those = Span(start + found.start(1), start + found.end(1))
    for n, ((noun, _), fit) in enumerate(zip(subjects, fits, strict=True)):
        if not fit and noun is not None:
            why = (
                f"“{found[1]}” stands for something that belongs to somebody, so the subject must "
                f"be of that kind and number too. “{noun.text}” is not."
            )
            yield n, (why, those)


def _owned_noun(text: Text, placed: Placed) -> tuple[Token | None, bool]:
    """The head of the phrase with which a choice begins, and whether it belongs to somebody: *the
    eggs of*, *the gecko's eggs*, *its eggs*."""
    inside = [t for t in text.tokens if placed.start <= t.start and t.end <= placed.end]
    noun = leading_noun(inside)
    if noun is None:
        return None, False
    before = [t.tag for t in inside if t.i < noun.i]
    after = [t.lower for t in inside if t.i == noun.i + 1]
    return noun, "POS" in before or "PRP$" in before or after == ["of"]

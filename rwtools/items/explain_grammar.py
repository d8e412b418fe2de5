"""The way to the answer of a grammar item, in steps."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from rwtools.clue import Span
from rwtools.items.case import Case
from rwtools.items.forms import (
    Form,
    Subject,
    complete_with,
    is_open_after_there,
    number_of_pronoun,
    sentence_at,
    subject_at,
    time_words,
)
from rwtools.items.grammar import forms, kind
from rwtools.items.model import Quote
from rwtools.items.openings import Opening, opening_of
from rwtools.items.patterns import broken, is_plain_form, is_unreal
from rwtools.items.steps import (
    Explained,
    Path,
    best_of,
    named,
    quote,
    said,
    speaking_words,
    surprising_words,
)
from rwtools.text import Text, Token

__all__ = ["explain"]

Reason = tuple[str, list[Quote]]
_LONG_FORM = {
    "it's": "it is” or “it has", "they're": "they are", "you're": "you are",
    "who's": "who is” or “who has", "there's": "there is", "that's": "that is",
    "we're": "we are", "thats": "", "its'": "",
}  # fmt: skip
_OWNERS = {"its": "it", "their": "they", "your": "you", "whose": "who", "theirs": "they"}
_JOINING = {"and", "or", "nor"}
_TENSE = {
    "present": "present", "past": "past", "future": "future", "conditional": "“would” kind",
}  # fmt: skip
_WHEN = {
    ("present", ""): "speaks of the present", ("past", ""): "speaks of the past",
    ("future", ""): "speaks of the future",
    ("present", "perfect"): "joins the past with the present",
    ("past", "perfect"): "names a point in the past by which something else was done",
    ("future", "perfect"): "names a point in the future by which something will be done",
}  # fmt: skip
_SHOWS_TIME = frozenset({"VBD", "VBZ", "VBP"})
_PLAIN_AFTER = frozenset(
    "to can could may might must shall should will would do does did don't doesn't didn't don’t "
    "doesn’t didn’t cannot can't can’t won't won’t".split()
)
_CASES = {
    "who": "for a person who does something", "whom": "for a person to whom something is done",
    "whose": "for something that belongs to the noun before it",
    "which": "for things, not people", "that": "for the noun before it, without a comma",
    "who's": "as a short form of “who is”", "what": "for “the thing that”",
    "where": "for a place", "when": "for a time",
}  # fmt: skip


def explain(case: Case, chances: Sequence[float]) -> Explained:
    """What the form depends on, where that stands, and how each choice agrees with it."""
    best = best_of(chances)
    what = kind(case)
    path = Path()
    if what == "verb":
        reasons = _verb(case, best, path)
    elif what in ("pronoun", "sound-alike"):
        reasons = _pronoun(case, best, path, what)
    elif what == "relative":
        reasons = _relative(case, best, path)
    elif what == "modifier":
        reasons = _modifier(case, best, path)
    else:
        reasons = _other(case, best, path, what)
    for n, pattern in enumerate(broken(case)):
        if pattern is not None and n != best:
            why, span = pattern
            reasons[n] = (why, quote(case, span, "cue") if span is not None else reasons[n][1])
    for n, (text, evidence) in enumerate(reasons):
        if n != best:
            path.add(
                f"Test {named(case.choices[n].words.rstrip(' .'))}.", text, evidence, _rule(case, n)
            )
    return Explained(path.steps, reasons)


def _rule(case: Case, n: int) -> str | None:
    faults = [f for f in case.faults[n] if f.confidence >= 0.5]
    return max(faults, key=lambda f: f.confidence).rule if faults else None


def _spans(case: Case, n: int, *spans: tuple[Span, str]) -> list[Quote]:
    """Spans of the n-th filled passage as evidence in the item's own."""
    found = []
    for span, role in spans:
        found += quote(case, Span(*case.choices[n].back(span.start, span.end)), role)
    return found


def _words(text: Text, span: Span, most: int = 8) -> str:
    cut = span.of(text.passage).replace("____", "…").split()
    if len(cut) > most:
        cut = [*cut[: most - 2], "…", *cut[-2:]]
    return "“" + " ".join(cut).strip(" ,;:") + "”"


def _around(case: Case) -> list[Quote]:
    """The sentence with the blank, as evidence."""
    text, where = case.texts[0], case.choices[0]
    first, last = sentence_at(text, where)
    span = Span(*where.back(text.tokens[first].start, text.tokens[last - 1].end))
    return quote(case, span, "clause")


# ---------------------------------------------------------------- verbs


def _verb(case: Case, best: int, path: Path) -> list[Reason]:
    shapes = forms(case)
    subject = _subject(case, best)
    numbers = {s.number for s in shapes if s is not None and s.number}
    kinds = {s.kind for s in shapes if s is not None}
    series = _series(case, best)
    times = _times(case, best)
    own = shapes[best]
    point = _point(case, best, own)
    if series is not None:
        return _by_series(case, best, path, series)
    ruler = _plain_after(case, own)
    if ruler is not None:
        return _by_plain_form(case, best, path, ruler)
    path.add(
        "The choices are forms of one verb. Find its subject, and the time that is spoken of.",
        *_who_and_when(case, best, subject, times, point),
    )
    reasons: list[Reason] = []
    if own is not None and own.kind == "finite" and kinds - {"finite"}:
        path.add(
            "Ask whether the sentence has another main verb.",
            f"It has none, so the blank needs a verb that shows time, such as "
            f"{named(case.choices[best].words)}.",
            _around(case),
        )
    elif own is not None and own.kind != "finite" and "finite" in kinds:
        main = _main_verb(case, best)
        path.add(
            "Ask whether the sentence has another main verb.",
            f"It has one already: {_words(case.texts[best], main)}."
            if main is not None
            else "The blank is no main verb: its words only add to the sentence.",
            _spans(case, best, (main, "verb")) if main is not None else _around(case),
        )
    plain, unreal = is_plain_form(case), is_unreal(case)
    if plain is not None:
        path.add(
            "Look at the word before “that”.",
            f"{said(case, plain)} asks for something. After it, the verb stays in its plain form, "
            "without an ending.",
            quote(case, plain, "cue"),
        )
    elif unreal is not None and case.choices[best].words.lower().startswith("were"):
        path.add(
            "Ask whether the passage speaks of something real.",
            f"{said(case, unreal)} brings in a case that is only imagined, so “were” is used with "
            "any subject.",
            quote(case, unreal, "cue"),
        )
    elif (
        subject is not None
        and len(numbers) > 1
        and own is not None
        and own.number == subject.number
    ):
        path.add(
            "Ask whether the subject is one or more than one.",
            f"{_named_subject(case, best, subject)} is {subject.number}"
            + _distractor(case, best, subject)
            + f", so the verb must be {own.number}.",
            _spans(case, best, (subject.head, "subject"), (subject.phrase, "subject")),
            "subject-verb-agreement",
        )
    if own is not None and own.kind == "finite":
        path.add(
            "Choose the form that fits both.",
            f"{named(case.choices[best].words)} does.",
            _around(case),
        )
    for n, shape in enumerate(shapes):
        if n == best:
            reasons.append((_verb_fits(case, best, subject, own), _around(case)))
        else:
            reasons.append(
                _against_point(case, best, n, shape, point)
                or _against_verb(case, best, n, subject, shape, own, times)
            )
    return reasons


def _subject(case: Case, best: int) -> Subject | None:
    found = subject_at(case.texts[best], case.choices[best])
    if found is not None:
        return found
    for n, text in enumerate(case.texts):
        other = subject_at(text, case.choices[n])
        if other is not None and other.phrase.end <= case.gap[0]:
            return other
    return None


def _who_and_when(
    case: Case,
    best: int,
    subject: Subject | None,
    times: list[tuple[Span, str, str]],
    point: tuple[Span, Span, str] | None,
) -> tuple[str, list[Quote]]:
    text = case.texts[best]
    findings, evidence = [], []
    if subject is not None and len(subject.phrase.of(text.passage).split()) <= 14:
        findings.append(f"The subject is {_words(text, subject.phrase)}.")
        evidence += _spans(case, best, (subject.phrase, "subject"))
    if point is not None:
        cue, verb, tense = point
        findings.append(
            f"After {_words(text, cue)} stands {_words(text, verb)}, which "
            + (
                "is past. What was done before that takes “had” and a participle."
                if tense == "past"
                else "speaks of a coming time. What will be done by then takes “will have” and a "
                "participle."
            )
        )
        evidence += _spans(case, best, (cue, "cue"), (verb, "verb"))
    elif times:
        span, tense, aspect = times[0]
        findings.append(f"{_words(text, span)} {_WHEN[tense, aspect]}.")
        evidence += _spans(case, best, (span, "cue"))
    else:
        near = [
            (span, tense)
            for span, tense in _near_verbs(case, best)
            if subject is None or not subject.phrase.overlaps(span)  # the herbs that they gathered
        ]
        if near:
            names = " and ".join(_words(text, span) for span, _ in near)
            findings.append(f"Verbs near by: {names} ({near[0][1]}).")
            evidence += _spans(case, best, *((span, "verb") for span, _ in near))
    if not findings:
        return "The passage has no signal of time, and the subject is not clear.", _around(case)
    return " ".join(findings), evidence


def _times(case: Case, best: int) -> list[tuple[Span, str, str]]:
    text, where = case.texts[best], case.choices[best]
    first, last = sentence_at(text, where)
    found = time_words(text.passage, text.tokens[first].start, text.tokens[last - 1].end)
    return [t for t in found if not where.touches(t[0].start, t[0].end)]


def _point(case: Case, best: int, own: Form | None) -> tuple[Span, Span, str] | None:
    """The *by the time* of the sentence, the verb of its clause and that verb's tense, where the
    likeliest choice is the perfect form that goes with it (spans of the filled passage)."""
    if own is None or not own.perfect or own.tense not in ("past", "future"):
        return None
    text, where = case.texts[best], case.choices[best]
    first, last = sentence_at(text, where)
    for token in text.tokens[first : last - 2]:
        if [t.lower for t in text.tokens[token.i : token.i + 3]] != ["by", "the", "time"]:
            continue
        verb = next((t for t in text.tokens[token.i + 3 : last] if t.tag in _SHOWS_TIME), None)
        if verb is None or where.touches(verb.start, verb.end):
            return None
        if (verb.tag == "VBD") != (own.tense == "past"):
            return None
        return text.span(token.i, token.i + 2), Span(verb.start, verb.end), own.tense
    return None


def _against_point(
    case: Case, best: int, n: int, shape: Form | None, point: tuple[Span, Span, str] | None
) -> Reason | None:
    """What *by the time* says against a form of another time, or one that is not perfect."""
    if point is None or shape is None or shape.kind != "finite":
        return None
    choice, verb = named(case.choices[n].words), _words(case.texts[best], point[1])
    evidence = _spans(case, best, (point[0], "cue"), (point[1], "verb"))
    if shape.tense == point[2] and not shape.perfect:
        other = "“had”" if shape.tense == "past" else "“will have”"
        return (
            f"{choice} does not show that this comes before {verb}; for that, {other} and a "
            "participle are needed.",
            evidence,
        )
    if shape.tense in ("past", "present", "future") and shape.tense != point[2]:
        is_ = "is past" if point[2] == "past" else "speaks of a coming time"
        if shape.tense == "present":
            return f"{choice} does not show that this is done before {verb}.", evidence
        return f"{choice} is {shape.tense}, but {verb} {is_}.", evidence
    return None


def _plain_after(case: Case, own: Form | None) -> Span | None:
    """The *to*, modal or form of *do* right before the gap, where a plain form is the answer."""
    plain = own is not None and (
        own.kind == "bare" or (own.kind, own.number, own.tense) == ("finite", "plural", "present")
    )
    before = case.item.passage[: case.gap[0]].rstrip()
    word = before.rsplit(None, 1)[-1] if before else ""
    if not plain or word.lower() not in _PLAIN_AFTER:
        return None
    return Span(len(before) - len(word), len(before))


def _by_plain_form(case: Case, best: int, path: Path, ruler: Span) -> list[Reason]:
    word, right = said(case, ruler), named(case.choices[best].words)
    evidence = quote(case, ruler, "cue")
    path.add(
        "Look at the word right before the blank.",
        f"After {word} a verb stands in its plain form, without an ending.",
        evidence,
    )
    path.add("Choose the plain form.", f"It is {right}.", evidence + _around(case))
    return [
        (
            f"{right} is the plain form that {word} asks for."
            if n == best
            else f"{named(choice.words)} is not the plain form that {word} asks for.",
            evidence,
        )
        for n, choice in enumerate(case.choices)
    ]


def _near_verbs(case: Case, best: int) -> list[tuple[Span, str]]:
    """Up to two finite verbs of the sentence, else of the next ones, of the commonest tense."""
    text, where = case.texts[best], case.choices[best]
    first, last = sentence_at(text, where)
    names = {"VBD": "past", "VBZ": "present", "VBP": "present"}
    found = [
        (first <= t.i < last, t)
        for t in text.tokens
        if t.tag in names and not where.touches(t.start, t.end)
    ]
    inside = [t for own, t in found if own] or [t for _, t in found]
    if not inside:
        return []
    tense = Counter(names[t.tag] for t in inside).most_common(1)[0][0]
    return [(Span(t.start, t.end), tense) for t in inside if names[t.tag] == tense][:2]


def _main_verb(case: Case, best: int) -> Span | None:
    text, where = case.texts[best], case.choices[best]
    first, last = sentence_at(text, where)
    for clause in text.clauses:
        inside = first <= clause.head < last
        outside = not where.touches(clause.verb.start, clause.verb.end)
        if inside and outside and clause.finite and clause.kind == "independent":
            return clause.verb
    return None


def _series(case: Case, best: int) -> list[Span] | None:
    """Verbs that stand in one list with the choice."""
    text, where = case.texts[best], case.choices[best]
    before = text.passage[max(0, where.start - 6) : where.start].rstrip()
    if not before.endswith(("and", "or", ",")):
        return None
    for token in text.tokens_in(where.start, where.end):
        if token.dep != "conj" or where.touches(*_edges(text, token.head)):
            continue
        group = [token.head]
        while text.tokens[group[0]].dep == "conj" and not where.touches(
            *_edges(text, text.tokens[group[0]].head)
        ):
            group.insert(0, text.tokens[group[0]].head)
        return [_with_to(text, i) for i in group]
    return None


def _edges(text: Text, index: int) -> tuple[int, int]:
    return text.tokens[index].start, text.tokens[index].end


def _with_to(text: Text, index: int) -> Span:
    first = index
    if index and text.tokens[index - 1].tag == "TO":
        first = index - 1
    return text.span(first, index)


def _by_series(case: Case, best: int, path: Path, series: list[Span]) -> list[Reason]:
    text = case.texts[best]
    listed = " and ".join(_words(text, span) for span in series)
    evidence = _spans(case, best, *((span, "verb") for span in series))
    path.add(
        "The blank continues a list. Look at the form of the members before it.",
        f"Before it {'stands' if len(series) == 1 else 'stand'} {listed}.",
        evidence,
    )
    path.add(
        "All members of a list have one form.",
        f"{named(case.choices[best].words)} has the form of {listed}.",
        evidence,
        "parallel-structure",
    )
    return [
        (
            f"{named(c.words)} has the same form as {listed}."
            if n == best
            else f"{named(c.words)} breaks the list: it does not have the form of {listed}.",
            evidence,
        )
        for n, c in enumerate(case.choices)
    ]


def _named_subject(case: Case, best: int, subject: Subject) -> str:
    """The subject's head word, or the whole phrase where nouns are joined and the head alone does
    not show the number (*the cat and the dog*, *neither the rain nor the strikes*)."""
    text = case.texts[best]
    words = subject.phrase.of(text.passage).lower().split()
    joined = not _JOINING.isdisjoint(words)
    head = text.token_at(subject.head.start)
    many = head is not None and head.tag in ("NNS", "NNPS")
    many = many or (not joined and subject.head.of(text.passage)[-1:] == "s")
    shown = many == (subject.number == "plural")
    if words[0] in ("neither", "either") and joined:
        return _words(text, subject.phrase)
    return _words(text, subject.head if shown or not joined else subject.phrase)


def _distractor(case: Case, best: int, subject: Subject) -> str:
    """A noun between subject and verb that has the other number."""
    text, where = case.texts[best], case.choices[best]
    for token in reversed(text.tokens):
        if subject.head.end <= token.start and token.end <= where.start and token.pos == "NOUN":
            number = "plural" if token.tag == "NNS" else "singular"
            if number != subject.number:
                return f" (not “{token.text}”, which only stands nearer)"
            return ""
    return ""


def _verb_fits(case: Case, best: int, subject: Subject | None, own: Form | None) -> str:
    choice = named(case.choices[best].words)
    plain, unreal = is_plain_form(case), is_unreal(case)
    if plain is not None and own is not None and own.number != "singular":
        return f"{choice} is the plain form that {said(case, plain)} asks for."
    if unreal is not None and choice.startswith("“were"):
        return f"{choice} goes with any subject where {said(case, unreal)} only imagines something."
    if subject is not None and own is not None and own.number == subject.number:
        return f"{choice} agrees with its subject, {_named_subject(case, best, subject)}."
    if subject is not None and own is not None and _after_there(case, best, subject, own):
        return f"{choice} agrees with the nearest noun, as many writers have it after “there”."
    if own is not None and own.number and subject is not None:
        return f"{choice} reads most smoothly with the words around it."
    if own is not None and own.kind == "finite":
        return f"{choice} gives the sentence its verb, in the right time."
    return f"{choice} adds to the sentence without making a second main verb."


def _after_there(case: Case, best: int, subject: Subject, shape: Form) -> bool:
    """Whether a singular verb after *there* may go with the first of several joined nouns: *there
    was a lamp and two picks*."""
    return shape.number == "singular" and is_open_after_there(case.texts[best], subject)


def _against_verb(
    case: Case,
    best: int,
    n: int,
    subject: Subject | None,
    shape: Form | None,
    own: Form | None,
    times: list[tuple[Span, str, str]],
) -> Reason:
    choice, text = named(case.choices[n].words), case.texts[best]
    if shape is None or own is None:
        return _by_surprise(case, best, n)
    if shape.kind != "finite" and own.kind == "finite":
        return f"With {choice} the sentence has no main verb.", _around(case)
    if shape.kind == "finite" and own.kind != "finite":
        main = _main_verb(case, best)
        if main is not None:
            return (
                f"{choice} would be a second main verb beside {_words(text, main)}, with nothing "
                "to join the two.",
                _spans(case, best, (main, "verb")),
            )
        return f"{choice} would be a main verb, and there is no place for one.", _around(case)
    if subject is not None and shape.number and shape.number != subject.number:
        usage = ""
        if _after_there(case, best, subject, shape):
            usage = " (In speech and in some books, the nearest noun alone counts after “there”.)"
        return (
            f"{choice} is {shape.number}, but its subject {_named_subject(case, best, subject)} is "
            f"{subject.number}.{usage}",
            _spans(case, best, (subject.head, "subject")),
        )
    if subject is not None and shape.number == "plural" and _after_there(case, best, subject, own):
        return (
            f"{choice} counts all of {_named_subject(case, best, subject)}, as most grammar books "
            "ask; usage is divided here.",
            _spans(case, best, (subject.phrase, "subject")),
        )
    if shape.tense and own.tense and (shape.tense, shape.perfect) != (own.tense, own.perfect):
        if times and shape.tense != times[0][1]:
            return (
                f"{choice} does not go with {_words(text, times[0][0])}.",
                _spans(case, best, (times[0][0], "cue")),
            )
        near = _near_verbs(case, best)
        if near and shape.tense != near[0][1] and own.tense == near[0][1]:
            return (
                f"{choice} leaves the time of {_words(text, near[0][0])}, which is {near[0][1]}.",
                _spans(case, best, (near[0][0], "verb")),
            )
    if shape.kind != own.kind:
        return f"{choice} has not the form that these words ask for.", _around(case)
    return _by_surprise(case, best, n)


def _by_surprise(case: Case, best: int, n: int) -> Reason:
    words = surprising_words(case, best, n)
    choice = named(case.choices[n].words)
    if words is None:
        return f"{choice} fits the words around it less well.", _around(case)
    return f"{choice} does not go with {said(case, words)}.", quote(case, words, "cue")


# ---------------------------------------------------------------- pronouns and sound-alikes


def _pronoun(case: Case, best: int, path: Path, what: str) -> list[Reason]:
    right = case.choices[best].words
    number = number_of_pronoun(right)
    noun = _antecedent(case, best, right, number)
    text = case.texts[best]
    evidence = _spans(case, best, (noun, "antecedent")) if noun is not None else _around(case)
    after = case.item.passage[case.gap[1] :][:40].split(".")[0]
    if noun is not None:
        path.add(
            "Ask which word in the passage the pronoun stands for.",
            f"It stands for {_words(text, noun)}" + (f", which is {number}." if number else "."),
            evidence,
            "pronoun-agreement",
        )
    else:
        path.add(
            "Ask what the word in the blank has to do.",
            "The passage names no word that it stands for; the words around it decide.",
            evidence,
        )
    if what == "sound-alike":
        long = _LONG_FORM.get(right.lower().replace("’", "'"))
        owner = _OWNERS.get(right.lower())
        path.add(
            "These words sound alike. Say each in its long form.",
            f"Here {named(right)} means “{long}”."
            if long
            else f"Here something belongs to {'it' if owner == 'it' else 'them or him'}: "
            f"“{' '.join(after.split()[:2])}”. No long form fits."
            if owner
            else f"Only {named(right)} makes sense with “{' '.join(after.split()[:3])}”.",
            evidence + quote(case, Span(case.gap[1], case.gap[1] + len(after)), "cue"),
        )
    path.add("Choose the form that matches.", f"{named(right)} does.", evidence)
    reasons: list[Reason] = []
    for n, choice in enumerate(case.choices):
        word = choice.words.lower().replace("’", "'")
        if n == best:
            reasons.append(
                (f"{named(right)} matches {_words(text, noun)}." if noun is not None
                 else f"{named(right)} fits the words around it.", evidence)
            )  # fmt: skip
        elif word in ("its'", "thats", "their's", "her's", "your's"):
            reasons.append((f"{named(choice.words)} is not an English form.", evidence))
        elif word in _LONG_FORM:
            reasons.append(
                (f"{named(choice.words)} means “{_LONG_FORM[word]}”, which makes no sense here.",
                 quote(case, Span(case.gap[1], case.gap[1] + len(after)), "cue") or evidence)
            )  # fmt: skip
        elif word in ("there", "then", "than", "to", "too", "two"):
            reasons.append(_by_surprise(case, best, n))
        elif noun is not None and number and number_of_pronoun(word) not in (None, number):
            reasons.append(
                (f"{named(choice.words)} is {number_of_pronoun(word)}, but {_words(text, noun)} is "
                 f"{number}.", evidence)
            )  # fmt: skip
        elif word in _OWNERS and right.lower() not in _OWNERS:
            reasons.append(
                (f"{named(choice.words)} says that something belongs to somebody, and nothing "
                 "that is owned follows.", evidence)
            )  # fmt: skip
        elif noun is not None:
            reasons.append(
                (f"{named(choice.words)} has not the form that “{_words(text, noun).strip('“”')}” "
                 "needs in this place.", evidence)
            )  # fmt: skip
        else:
            reasons.append(_by_surprise(case, best, n))
    return reasons


def _antecedent(case: Case, best: int, right: str, number: str | None) -> Span | None:
    """The nearest noun before the gap that the pronoun can stand for; its subject first."""
    text, where = case.texts[best], case.choices[best]
    word = right.lower().replace("’", "'")
    same = {
        "your": "you", "yourself": "you", "yours": "you", "you're": "you", "our": "we", "us": "we",
        "ourselves": "we", "my": "i", "myself": "i", "me": "i", "oneself": "one", "one's": "one",
    }.get(word)  # fmt: skip
    if same:
        for token in text.tokens:
            if token.lower == same and not where.touches(token.start, token.end):
                return Span(token.start, token.end)
        return None
    if number is None:
        return None
    done_to = next((t for t in text.tokens if t.start == where.start), None)
    as_object = done_to is not None and done_to.dep == "dobj"
    fitting: list[Token] = []
    for token in text.tokens:
        if token.pos not in ("NOUN", "PROPN") or where.touches(token.start, token.end):
            continue
        if token.end > where.start and fitting:
            break
        plural = token.tag in ("NNS", "NNPS")
        if plural == (number == "plural") and token.dep not in ("compound", "npadvmod"):
            fitting.append(token)
    if not fitting:
        return None
    subjects = [t for t in fitting if t.dep in ("nsubj", "nsubjpass")]
    objects = [
        t for t in fitting if as_object and t.dep == "dobj" and done_to and t.sent == done_to.sent
    ]
    chosen = (objects or subjects or fitting)[-1]
    first = chosen.i
    members = set(text.subtree(chosen.i))
    while first - 1 in members and not text.tokens[first - 1].is_punct:
        first -= 1
    return text.span(first, chosen.i)


# ---------------------------------------------------------------- the rest


def _relative(case: Case, best: int, path: Path) -> list[Reason]:
    start, end = case.gap
    passage = case.item.passage
    before = passage[:start].rstrip(" ,")
    at = len(before)
    for _ in range(3):  # the noun, perhaps with "most of" or "in" after it
        at = max(before.rfind(" ", 0, at), 0)
    noun = Span(at + (at > 0), len(before))
    stop = min((i for i in (passage.find(m, end) for m in ",.;") if i >= 0), default=len(passage))
    clause = Span(end, stop)
    evidence = quote(case, noun, "antecedent") + quote(case, clause, "clause")
    right = case.choices[best].words
    path.add(
        "Look at the noun before the blank and at the clause after it.",
        f"Before the blank stands {said(case, noun)}; after it comes {said(case, clause)}.",
        evidence,
    )
    path.add(
        "Ask what the word does in its clause.",
        f"{named(right)} is used {_CASES.get(right.lower(), 'for the noun before it')}, and "
        "that is what the clause needs.",
        evidence,
    )
    reasons: list[Reason] = []
    for n, choice in enumerate(case.choices):
        use = _CASES.get(choice.words.lower().replace("’", "'"))
        if n == best:
            reasons.append((f"{named(right)} fits the noun and the clause.", evidence))
        elif use:
            reasons.append(
                (f"{named(choice.words)} is used {use}; {said(case, clause)} does not need that.",
                 evidence)
            )  # fmt: skip
        else:
            reasons.append(_by_surprise(case, best, n))
    return reasons


def _modifier(case: Case, best: int, path: Path) -> list[Reason]:
    text, where = case.texts[best], case.choices[best]
    first, _ = sentence_at(text, where)
    opening = Span(*where.back(text.tokens[first].start, where.start))
    evidence = quote(case, opening, "clause")
    starts = [" ".join(c.words.split()[:3]) + " …" for c in case.choices]
    described = opening_of(case)
    if not evidence or described is None:
        return _other(case, best, path, "form")
    if len(set(described.subjects)) == len(starts):
        starts = list(described.subjects)
    path.add(
        "The sentence opens with words that describe something. Ask whom or what.",
        f"{said(case, opening)} describes what is named right after the comma.",
        evidence,
        "dangling-modifier",
    )
    path.add(
        "Put that first.",
        f"Of the beginnings, “{starts[best]}” is what the opening words can best describe.",
        evidence,
    )
    return [
        (
            f"“{starts[n]}” can be described by {said(case, opening)}."
            if n == best
            else _misdescribed(described, n),
            evidence,
        )
        for n in range(len(case.choices))
    ]


def _misdescribed(described: Opening, n: int) -> str:
    """What a choice would say of its subject: that the price, not the mural, had been painted."""
    head, whole = described.heads[n], described.subjects[n]
    if head == whole:
        return f"This would say that “{whole}” {described.told}; the passage does not mean that."
    return (
        f"The main word of “{whole}” is “{head.split()[-1]}”. So this would say that “{head}” "
        f"{described.told}; the passage does not mean that."
    )


def _other(case: Case, best: int, path: Path, what: str) -> list[Reason]:
    right = named(case.choices[best].words)
    words = speaking_words(case, best)
    start = case.gap[0]
    before = case.item.passage[:start].rstrip()
    left = Span(max(0, before.rfind(" ", 0, max(len(before) - 18, 0)) + 1), len(before))
    evidence = quote(case, left, "cue")
    if words is not None:
        evidence += quote(case, words, "cue")
    action = {
        "comparison": "The sentence compares two things. Ask what the second one is.",
        "possessive": "Ask whether something belongs to the word, and if it means one or more.",
    }.get(what, "Read the choices with the words on both sides.")
    path.add(
        action,
        f"Before the blank stands {said(case, left)}"
        + (f", and after it {said(case, words)}." if words is not None else "."),
        evidence,
    )
    path.add(
        "Choose the form that these words ask for.",
        f"It is {right}.",
        evidence + (_around(case) if words is None else []),
    )
    reasons: list[Reason] = []
    whole = complete_with(case.texts, case.choices)
    for n, choice in enumerate(case.choices):
        faults = sorted(case.faults[n], key=lambda f: -f.confidence)
        if n == best:
            reasons.append((f"{right} goes with the words on both sides.", evidence))
        elif faults and faults[0].confidence >= 0.5:
            reasons.append((faults[0].explanation, evidence))
        elif whole[best] and not whole[n]:
            reasons.append((f"With {named(choice.words)} this is no full sentence.", evidence))
        else:
            reasons.append(_by_surprise(case, best, n))
    return reasons

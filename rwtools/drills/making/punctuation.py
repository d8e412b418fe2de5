"""Punctuation drafts: a sound boundary, and ways to mark it that break a named rule."""

from __future__ import annotations

import random
from collections.abc import Iterator

from rwtools.clue import Span
from rwtools.drills.making.draft import Draft, Option
from rwtools.drills.making.phrases import brief, capital, clear_subject, small
from rwtools.text import Clause, Sentence, Text, Token, trim

__all__ = ["FAULTS", "drafts"]

FAULTS: dict[str, tuple[str, str]] = {
    "comma splice": ("comma-splice", "A comma alone cannot join two complete sentences."),
    "fused": (
        "fused-sentence",
        "Two complete sentences cannot follow each other without a mark.",
    ),
    "fragment": (
        "sentence-fragment",
        "The part that is cut off by a full stop cannot stand as a sentence.",
    ),
    "semicolon": (
        "semicolon-unequal-parts",
        "A semicolon needs a complete sentence on both sides.",
    ),
    "colon": (
        "colon-after-incomplete-clause",
        "A colon needs a complete sentence before it.",
    ),
    "idle colon": (
        "colon-without-explanation",
        "A colon promises a list or an explanation, and none follows.",
    ),
    "comma before verb": (
        "comma-between-subject-and-verb",
        "One comma must not cut the subject off from its verb.",
    ),
    "mark before verb": (
        "comma-between-subject-and-verb",
        "No semicolon, colon or dash parts a subject from its verb.",
    ),
    "one mark": (
        "unpaired-interruption",
        "Extra information in the middle of a sentence needs a mark at both ends.",
    ),
    "two marks": (
        "unpaired-interruption",
        "Extra information needs the same mark at both ends.",
    ),
    "late comma": (
        "comma-after-conjunction",
        "The comma belongs before the joining word, not after it.",
    ),
    "comma before that": (
        "comma-between-subject-and-verb",
        'A comma must not cut the verb off from its "that" clause.',
    ),
    "no comma": (
        "missing-comma-after-introduction",
        "A comma shows where the opening part ends.",
    ),
    "no colon": ("missing-mark-before-list", "The list needs a colon to announce it."),
    "question mark": (
        "question-mark",
        "A direct question ends with a question mark; a statement does not.",
    ),
}
"""What is wrong with a choice: the rule that it breaks, and a plain sentence."""

_QUESTIONS = (
    "Which choice marks this place correctly?",
    "Which choice has the right punctuation?",
    "Which way of writing these words is correct?",
)
_JOINERS = frozenset({"and", "but", "so", "yet", "or", "nor", "for"})
_LINKERS = frozenset(
    "however therefore nevertheless moreover furthermore consequently instead otherwise thus hence "
    "meanwhile similarly likewise nonetheless".split()
)
_DASHES = frozenset({"—", "–", "--"})


def drafts(text: Text, rng: random.Random) -> Iterator[Draft]:
    """All punctuation drafts of a passage."""
    if text.verse:
        return
    for maker in _MAKERS:
        for draft in maker(text, rng):
            if _plain(text, draft.place):
                yield draft


def _plain(text: Text, place: Span) -> bool:
    """Whether a place holds words and one mark only, outside quotation marks."""
    quote = text.quote(place.start, place.end)
    if "\n" in quote or any(c in '"“”()[]_*' or c.isdigit() for c in quote):
        return False
    before = text.quote(0, place.start)
    sentence = text.token_at(place.start)
    if sentence is not None:
        before = text.quote(text.sentences[sentence.sent].start, place.start)
    return before.count("“") == before.count("”") and before.count('"') % 2 == 0


def _word(token: Token) -> bool:
    return token.text[0].isalpha() and token.text.replace("-", "").replace("’", "").isalpha()


def _lowered(text: Text, token: Token) -> str | None:
    """A sentence's first word as it would be inside a sentence; None where that is not sure."""
    if token.text == "I" or token.text.startswith(("I'", "I’")):
        return token.text
    if token.pos == "PROPN" or token.tag in ("NNP", "NNPS"):
        return None
    if not token.text[1:].islower() and len(token.text) > 1:
        return None
    if token.pos not in ("DET", "PRON", "ADP", "ADV", "NOUN", "ADJ") or not _word(token):
        return None
    if token.pos in ("NOUN", "ADJ") and not _common(text, token):
        return None
    return token.lower


def _common(text: Text, token: Token) -> bool:
    from rwtools.text.forms import lemmas

    return token.lemma in lemmas("NOUN" if token.pos == "NOUN" else "ADJ")


def _independent(text: Text, sentence: Sentence) -> Clause | None:
    """The main clause of a sentence, if it has a subject and a finite verb."""
    for clause in text.clauses:
        if sentence.start <= clause.start < sentence.end and clause.reason == "main":
            return clause if clause.finite and clause.subject is not None else None
    return None


def _opening(text: Text, sentence: Sentence, clause: Clause) -> tuple[int, int] | None:
    """Tokens of a short phrase before the subject and of its comma (``In winter,``)."""
    if clause.subject is None:
        return None
    for i in range(sentence.first + 1, min(sentence.first + 6, sentence.last)):
        token = text.tokens[i]
        if token.text == ",":
            after = text.tokens[i + 1]
            starts = text.token_at(clause.subject.start)
            return (sentence.first, i) if starts is not None and starts.i == after.i else None
        if token.is_punct or token.pos in ("VERB", "AUX"):
            return None
    return None


def _made(
    text: Text,
    point: str,
    place: Span,
    key: str,
    wrong: list[tuple[str, str]],
    rationale: str,
    evidence: list[tuple[Span, str]],
    hardness: int,
    rng: random.Random,
) -> Draft | None:
    options, seen = [], {key}
    for choice, fault in wrong:
        if choice not in seen:
            seen.add(choice)
            rule, why = FAULTS[fault]
            options.append(Option(choice, rule, why, choice))
    if len(options) < 3:
        return None
    return Draft(
        skill="punctuation",
        point=point,
        place=place,
        key=key,
        options=tuple(options),
        question=rng.choice(_QUESTIONS),
        rationale=rationale,
        evidence=tuple(evidence),
        hardness=hardness,
        names_faults=True,
    )


def _quoted(text: Text, span: Span) -> str:
    return brief(text, span).rstrip(".")


def two_sentences(text: Text, rng: random.Random) -> Iterator[Draft]:
    """A full stop or question mark between two complete sentences."""
    for one, two in zip(text.sentences, text.sentences[1:], strict=False):
        left, right = _independent(text, one), _independent(text, two)
        mark, last = text.tokens[one.last - 1], text.tokens[one.last - 2]
        first = text.tokens[two.first]
        if left is None or right is None or mark.text not in (".", "?") or not _word(last):
            continue
        gap = text.quote(mark.end, first.start)
        if gap.strip() or "\n" in gap or two.last - two.first < 5:
            continue
        low = _lowered(text, first)
        if low is None or first.pos == "SCONJ" or first.tag in ("WRB", "WP", "WDT"):
            continue
        draft = _sentence_end(text, one, two, right, low, rng)
        if draft is not None:
            yield draft


def _sentence_end(
    text: Text, one: Sentence, two: Sentence, right: Clause, low: str, rng: random.Random
) -> Draft | None:
    mark, last, first = (
        text.tokens[one.last - 1],
        text.tokens[one.last - 2],
        text.tokens[two.first],
    )
    w, up = last.text, first.text
    left_span = trim(text.passage, one.start, mark.start)
    right_span = trim(text.passage, two.start, two.end, marks=".?!")
    evidence = [(left_span, "clause"), (right_span, "clause")]
    both = (
        f'"{_quoted(text, left_span)}" and "{_quoted(text, right_span)}" can each stand as a '
        "sentence."
    )
    place = Span(last.start, first.end)
    if mark.text == "?":
        wrong = [
            (f"{w}. {up}", "question mark"),
            (f"{w}, {low}", "comma splice"),
            (f"{w} {low}", "fused"),
        ]
        if text.tokens[one.first].tag not in ("WRB", "WP", "WDT", "MD", "VBZ", "VBD", "VBP"):
            return None
        why = f'"{_quoted(text, left_span)}" has the word order of a direct question.'
        return _made(text, "question", place, f"{w}? {up}", wrong, why, evidence, 1, rng)
    opening = _opening(text, two, right)
    if opening is not None and rng.random() < 0.8:
        begin, comma = opening
        phrase = text.quote(text.tokens[begin].start, text.tokens[comma - 1].end)
        after = text.tokens[comma + 1]
        inner = low + phrase[len(up) :]
        wrong = [
            (f"{w}, {inner}, {after.text}", "comma splice"),
            (f"{w} {inner}, {after.text}", "comma splice"),
            (f"{w} {inner} {after.text}", "fused"),
        ]
        why = (
            f'{both} "{capital(phrase)}" belongs to the second one, so the full stop comes '
            "before it."
        )
        return _made(
            text,
            "sentence-end",
            Span(last.start, after.end),
            f"{w}. {phrase}, {after.text}",
            wrong,
            why,
            evidence,
            3,
            rng,
        )
    moved = _moved(text, two, right, low)
    if moved is None:
        return None
    until, broken = moved
    rest = text.quote(first.end, until)
    wrong = [
        (f"{w}, {low}{rest}", "comma splice"),
        (f"{w} {low}{rest}", "fused"),
        (f"{w} {broken}", "comma before verb"),
    ]
    why = f"{both} A full stop is needed between them."
    return _made(
        text,
        "sentence-end",
        Span(last.start, until),
        f"{w}. {up}{rest}",
        wrong,
        why,
        evidence,
        2,
        rng,
    )


def _moved(text: Text, two: Sentence, right: Clause, low: str) -> tuple[int, str] | None:
    """A short subject that opens the sentence, then the verb: ``the millers, ground``."""
    if right.subject is None or right.subject.start != two.start:
        return None
    subject = text.tokens_in(right.subject.start, right.subject.end)
    verb = text.token_at(right.verb.start)
    if verb is None or len(subject) > 3 or any(t.is_punct for t in subject):
        return None
    if verb.i != subject[-1].i + 1 or verb.text[0] in "'’" or not _word(verb):
        return None
    words = low + text.quote(two.start + len(subject[0].text), right.subject.end)
    return verb.end, f"{words}, {verb.text}"


def semicolons(text: Text, rng: random.Random) -> Iterator[Draft]:
    """A semicolon between two complete sentences, with or without a linking adverb."""
    for token in text.tokens:
        if token.text != ";":
            continue
        sentence = text.sentences[token.sent]
        if not sentence.first + 3 < token.i < sentence.last - 3:
            continue
        last, first = text.tokens[token.i - 1], text.tokens[token.i + 1]
        clauses = [c for c in text.clauses if c.finite and c.kind == "independent" and c.subject]
        left = [c for c in clauses if sentence.start <= text.tokens[c.head].start < token.start]
        right = [c for c in clauses if token.end <= text.tokens[c.head].start < sentence.end]
        if not left or not right or not _word(last) or not _word(first):
            continue
        left_span = trim(text.passage, sentence.start, token.start)
        right_span = trim(text.passage, token.end, sentence.end, marks=".?!")
        evidence = [(left_span, "clause"), (right_span, "clause")]
        both = (
            f'"{_quoted(text, left_span)}" and "{capital(_quoted(text, right_span))}" can each '
            "stand as a sentence."
        )
        w, f = last.text, first.text
        after = text.tokens[token.i + 2]
        if first.lower in _LINKERS and after.text == ",":
            follows = text.tokens[token.i + 3]
            if not _word(follows):
                continue
            wrong = [
                (f"{w}, {f}, {follows.text}", "comma splice"),
                (f"{w} {f}, {follows.text}", "comma splice"),
                (f"{w}, {f} {follows.text}", "comma splice"),
            ]
            why = f'{both} A word like "{f}" does not join them, so a semicolon is needed.'
            draft = _made(
                text,
                "semicolon-before-linker",
                Span(last.start, follows.end),
                f"{w}; {f}, {follows.text}",
                wrong,
                why,
                evidence,
                3,
                rng,
            )
        else:
            clause = min(right, key=lambda c: c.start)
            if clause.subject is None or clause.subject.start != first.start:
                continue
            subject = text.tokens_in(first.start, clause.subject.end)
            verb = text.token_at(clause.verb.start)
            if verb is None or len(subject) > 3 or verb.i != subject[-1].i + 1 or not _word(verb):
                continue
            name = text.quote(first.start, clause.subject.end)
            wrong = [
                (f"{w}, {name} {verb.text}", "comma splice"),
                (f"{w} {name} {verb.text}", "fused"),
                (f"{w} {name}, {verb.text}", "comma before verb"),
            ]
            draft = _made(
                text,
                "semicolon",
                Span(last.start, verb.end),
                f"{w}; {name} {verb.text}",
                wrong,
                f"{both} No joining word stands between them, so a semicolon is needed.",
                evidence,
                2,
                rng,
            )
        if draft is not None:
            yield draft


def joined_sentences(text: Text, rng: random.Random) -> Iterator[Draft]:
    """A comma before a word that joins two complete sentences (``, but``)."""
    for token in text.tokens:
        if token.lower not in _JOINERS or token.tag != "CC" or token.i < 4:
            continue
        comma = text.tokens[token.i - 1]
        sentence = text.sentences[token.sent]
        if comma.text != "," or token.i + 3 >= sentence.last:
            continue
        last, first = text.tokens[token.i - 2], text.tokens[token.i + 1]
        right = next(
            (
                c
                for c in text.clauses
                if c.reason == "coordinated"
                and c.finite
                and c.subject is not None
                and c.subject.start == first.start
            ),
            None,
        )
        left = _independent(text, sentence)
        if right is None or left is None or left.head > token.i or not _word(last):
            continue
        if not _word(first) or first.pos in ("SCONJ", "ADV", "ADP"):
            continue
        commas = [t for t in text.tokens[sentence.first : sentence.last] if t.text == ","]
        if len(commas) > 2:
            continue
        w, j, f = last.text, token.text, first.text
        wrong = [
            (f"{w} {j}, {f}", "late comma"),
            (f"{w}, {j}, {f}", "late comma"),
            (f"{w}: {j} {f}", "idle colon"),
        ]
        left_span = trim(text.passage, sentence.start, comma.start)
        right_span = trim(text.passage, first.start, sentence.end, marks=".?!")
        why = (
            f'"{_quoted(text, left_span)}" and "{capital(_quoted(text, right_span))}" can each '
            f'stand as a sentence. "{capital(j)}" joins them, with one comma before it.'
        )
        draft = _made(
            text,
            "joining-word",
            Span(last.start, first.end),
            f"{w}, {j} {f}",
            wrong,
            why,
            [(left_span, "clause"), (right_span, "clause")],
            2,
            rng,
        )
        if draft is not None:
            yield draft


def extra_information(text: Text, rng: random.Random) -> Iterator[Draft]:
    """The second mark of a pair round extra words between a subject and its verb."""
    for clause in text.clauses:
        if not clause.finite or clause.subject is None or clause.kind != "independent":
            continue
        if not clear_subject(text, clause):
            continue
        verb = text.token_at(clause.verb.start)
        if verb is None or verb.i < 4:
            continue
        mark, last = text.tokens[verb.i - 1], text.tokens[verb.i - 2]
        subject = _head_of(text, clause)
        if mark.text != "," or subject is None or not _word(last) or not _word(verb):
            continue
        extra = [
            i
            for i in text.children[subject.i]
            if text.tokens[i].dep in ("appos", "relcl", "acl") and subject.i < i < mark.i
        ]
        inside = text.tokens[subject.i + 1 : mark.i]
        commas = [t for t in inside if t.text == ","]
        if len(extra) != 1 or len(commas) != 1 or any(t.text in (";", ":", "—") for t in inside):
            continue
        first = text.subtree(extra[0])[0]
        if first != commas[0].i + 1 or text.subtree(extra[0])[-1] != last.i:
            continue
        w, v = last.text, verb.text
        name = text.phrase(subject.i)
        core = trim(text.passage, name.start, commas[0].start)
        added = trim(text.passage, commas[0].end, mark.start)
        wrong = [
            (f"{w} {v}", "one mark"),
            (f"{w}; {v}", "mark before verb"),
            (f"{w}—{v}", "two marks"),
            (f"{w}: {v}", "mark before verb"),
        ]
        wrong = [wrong[0], *rng.sample(wrong[1:], 3)]
        why = (
            f'The subject is "{_quoted(text, core)}" and its verb is "{v}". '
            f'"{capital(_quoted(text, added))}" is extra information between them, with a comma '
            "before it, so there must be a comma after it."
        )
        draft = _made(
            text,
            "extra-information",
            Span(last.start, verb.end),
            f"{w}, {v}",
            wrong,
            why,
            [(core, "subject"), (added, "clause"), (clause.verb, "verb")],
            2 if len(inside) < 9 else 3,
            rng,
        )
        if draft is not None:
            yield draft


def _head_of(text: Text, clause: Clause) -> Token | None:
    subject = text.child(clause.head, "nsubj", "nsubjpass")
    return subject if subject is not None and subject.i < clause.head else None


def opening_parts(text: Text, rng: random.Random) -> Iterator[Draft]:
    """The comma after a dependent part that opens a sentence."""
    for clause in text.clauses:
        if clause.kind != "dependent" or clause.reason not in ("subordinator", "participle"):
            continue
        token = text.tokens[clause.head]
        sentence = text.sentences[token.sent]
        if clause.start != sentence.start or (
            clause.reason == "subordinator" and not clause.finite
        ):
            continue
        parent = text.clause_of_head.get(-1 if clause.parent is None else clause.parent)
        if parent is None or parent.kind != "independent" or not parent.finite:
            continue
        end = text.token_at(clause.end - 1)
        if end is None or end.i + 2 >= sentence.last:
            continue
        mark, first = text.tokens[end.i + 1], text.tokens[end.i + 2]
        inside = text.tokens[sentence.first : end.i]
        if mark.text != "," or any(t.text == "," for t in inside) or len(inside) < 3:
            continue
        if parent.subject is None or parent.subject.start != first.start or not _word(end):
            continue
        if not _word(first):
            continue
        w, f = end.text, first.text
        opening = trim(text.passage, clause.start, clause.end)
        main = trim(text.passage, first.start, sentence.end, marks=".?!")
        wrong = [
            (f"{w}; {f}", "semicolon"),
            (f"{w}. {capital(f)}", "fragment"),
            (f"{w}: {f}", "colon"),
            (f"{w} {f}", "no comma"),
        ]
        keep = wrong[:3] if len(inside) < 5 or rng.random() < 0.5 else [*wrong[:2], wrong[3]]
        why = (
            f'"{_quoted(text, opening)}" cannot stand as a sentence. It depends on '
            f'"{_quoted(text, main)}", so a comma joins the two.'
        )
        draft = _made(
            text,
            "opening-part",
            Span(end.start, first.end),
            f"{w}, {f}",
            keep,
            why,
            [(opening, "clause"), (main, "clause")],
            2,
            rng,
        )
        if draft is not None:
            yield draft


def closing_parts(text: Text, rng: random.Random) -> Iterator[Draft]:
    """The comma before a dependent part that closes a sentence (``, which``, ``, turning``)."""
    for clause in text.clauses:
        if clause.kind != "dependent":
            continue
        first = text.token_at(clause.start)
        if first is None or first.i < 5:
            continue
        sentence = text.sentences[first.sent]
        mark, last = text.tokens[first.i - 1], text.tokens[first.i - 2]
        which = clause.reason == "relative" and first.lower in ("which", "who", "whose", "where")
        ing = clause.reason == "participle" and first.tag == "VBG" and first.i == clause.head
        if ing and (first.dep != "advcl" or text.tokens[first.head].i == last.i):
            continue  # beside a noun it may name it, and a colon could stand there too
        though = clause.reason == "subordinator" and first.lower in (
            "although",
            "though",
            "whereas",
        )
        if mark.text != "," or not (which or ing or though) or not _word(last):
            continue
        if clause.end < sentence.end - 2 or first.i - sentence.first < 5:
            continue
        main = _independent(text, sentence)
        if main is None or main.head > first.i:
            continue
        w, f = last.text, first.text
        part = trim(text.passage, clause.start, clause.end, marks=".")
        whole = trim(text.passage, sentence.start, mark.start)
        wrong = [
            (f"{w}; {f}", "semicolon"),
            (f"{w}. {capital(f)}", "fragment"),
            (f"{w}: {f}", "idle colon"),
        ]
        why = (
            f'"{capital(_quoted(text, part))}" cannot stand as a sentence. It adds to '
            f'"{_quoted(text, whole)}", so a comma joins it.'
        )
        draft = _made(
            text,
            "closing-part",
            Span(last.start, first.end),
            f"{w}, {f}",
            wrong,
            why,
            [(whole, "clause"), (part, "clause")],
            2,
            rng,
        )
        if draft is not None:
            yield draft


def subject_and_verb(text: Text, rng: random.Random) -> Iterator[Draft]:
    """No mark between a long subject and its verb."""
    for clause in text.clauses:
        if not clause.finite or clause.subject is None or clause.kind != "independent":
            continue
        if not clear_subject(text, clause):
            continue
        subject = text.tokens_in(clause.subject.start, clause.subject.end)
        verb = text.token_at(clause.verb.start)
        if verb is None or not 5 <= len(subject) <= 16 or any(t.is_punct for t in subject):
            continue
        head = _head_of(text, clause)
        if head is None or head.i > subject[-1].i - 3 or verb.i != subject[-1].i + 1:
            continue
        sentence = text.sentences[verb.sent]
        last = subject[-1]
        opens = subject[0].i == sentence.first or text.tokens[subject[0].i - 1].text == ","
        if not opens or not _word(last) or not _word(verb):
            continue
        w, v = last.text, verb.text
        wrong = [
            (f"{w}, {v}", "comma before verb"),
            (f"{w}; {v}", "mark before verb"),
            (f"{w}: {v}", "colon"),
            (f"{w}—{v}", "mark before verb"),
        ]
        wrong = [wrong[0], *rng.sample(wrong[1:], 3)]
        why = (
            f'"{capital(_quoted(text, clause.subject))}" is the whole subject, and "{v}" is '
            "its verb."
        )
        draft = _made(
            text,
            "subject-and-verb",
            Span(last.start, verb.end),
            f"{w} {v}",
            wrong,
            why,
            [(clause.subject, "subject"), (clause.verb, "verb")],
            3 if len(subject) > 7 else 2,
            rng,
        )
        if draft is not None:
            yield draft


def that_clauses(text: Text, rng: random.Random) -> Iterator[Draft]:
    """No mark between a verb and its *that* clause."""
    for clause in text.clauses:
        if clause.reason != "complement" or clause.marker is None or not clause.finite:
            continue
        that = text.tokens[clause.marker]
        if that.lower != "that" or that.i < 3 or clause.start != that.start:
            continue
        verb = text.tokens[that.i - 1]
        if text.tokens[clause.head].head != verb.i or verb.pos != "VERB":
            continue
        above = text.clause_of_head.get(verb.i)
        if above is None or not above.finite or above.subject is None or not _word(verb):
            continue
        v = verb.text
        wrong = [
            (f"{v}, that", "comma before that"),
            (f"{v}: that", "colon"),
            (f"{v}; that", "semicolon"),
        ]
        part = trim(text.passage, clause.start, clause.end, marks=".")
        why = (
            f'"{capital(v)}" needs the words "{_quoted(text, part)}" to be complete, so no '
            "mark may stand between them."
        )
        draft = _made(
            text,
            "verb-and-that",
            Span(verb.start, that.end),
            f"{v} that",
            wrong,
            why,
            [(above.subject, "subject"), (part, "clause")],
            2,
            rng,
        )
        if draft is not None:
            yield draft


def lists(text: Text, rng: random.Random) -> Iterator[Draft]:
    """A colon that announces a list or a name after a complete sentence."""
    for token in text.tokens:
        if token.text != ":" or token.i < 4:
            continue
        sentence = text.sentences[token.sent]
        if token.i >= sentence.last - 3 or token.i - sentence.first < 4:
            continue
        last, first = text.tokens[token.i - 1], text.tokens[token.i + 1]
        main = _independent(text, sentence)
        if main is None or main.head >= token.i or not _word(last) or not _word(first):
            continue
        if last.pos not in ("NOUN", "PRON", "PROPN", "ADJ") or not first.text.islower():
            continue
        right_clauses = [
            c
            for c in text.clauses
            if c.finite
            and token.end <= text.tokens[c.head].start < sentence.end
            and c.kind == "independent"
        ]
        right = trim(text.passage, token.end, sentence.end, marks=".?!")
        left = trim(text.passage, sentence.start, token.start)
        w, f = last.text, first.text
        listed = text.quote(right.start, right.end)
        if right_clauses or ";" in listed or "," not in listed:
            continue
        wrong = [
            (f"{w}; {f}", "semicolon"),
            (f"{w}. {capital(f)}", "fragment"),
            (f"{w} {f}", "no colon"),
        ]
        why = (
            f'"{_quoted(text, left)}" is complete, and "{small(_quoted(text, right))}" is the '
            "list that it announces."
        )
        draft = _made(
            text,
            "list",
            Span(last.start, first.end),
            f"{w}: {f}",
            wrong,
            why,
            [(left, "clause"), (right, "list")],
            2,
            rng,
        )
        if draft is not None:
            yield draft


_MAKERS = (
    two_sentences,
    semicolons,
    joined_sentences,
    extra_information,
    opening_parts,
    closing_parts,
    subject_and_verb,
    that_clauses,
    lists,
)

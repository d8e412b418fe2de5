"""Grammar drafts: agreement, verb form, tense, pronoun, possessive, modifier."""

from __future__ import annotations

import random
from collections.abc import Iterator

from rwtools.clue import Span
from rwtools.drills.making.draft import Draft, Option
from rwtools.drills.making.phrases import brief, capital, clear_subject
from rwtools.text import Clause, Text, Token, trim
from rwtools.text.forms import frequency, lemmas, plural, verb_forms

__all__ = ["drafts"]

_SINGULAR_DETERMINERS = frozenset({"a", "an", "this", "that", "each", "every", "another", "one"})
# Nouns that writers count either way: no agreement is decided by them.
_EITHER_WAY = frozenset(
    "group number majority minority variety series team family staff committee council pair set "
    "range lot couple percent half rest data media people police public crowd audience class "
    "population government company remainder total part species".split()
)
_PAST_TIMES = frozenset({"yesterday", "ago"})
_QUESTIONS = ("Which form fits the sentence?", "Which choice is correct here?")


def drafts(text: Text, rng: random.Random) -> Iterator[Draft]:
    """All grammar drafts of a passage."""
    for maker in _MAKERS:
        for draft in maker(text, rng):
            quote = text.quote(draft.place.start, draft.place.end)
            if not any(c in '"“”\n()' for c in quote):
                yield draft


def _draft(
    point: str,
    place: Span,
    key: str,
    wrong: list[tuple[str, str, str]],
    rationale: str,
    evidence: list[tuple[Span, str]],
    hardness: int,
    rng: random.Random,
    question: str = "",
) -> Draft | None:
    seen = {key}
    options = []
    for choice, fault, why in wrong:
        if choice not in seen:
            seen.add(choice)
            options.append(Option(choice, fault, why, choice))
    if len(options) < 3:
        return None
    return Draft(
        skill="grammar",
        point=point,
        place=place,
        key=key,
        options=tuple(options),
        question=question or rng.choice(_QUESTIONS),
        rationale=rationale,
        evidence=tuple(evidence),
        hardness=hardness,
    )


def _subject(text: Text, head: int) -> Token | None:
    found = text.child(head, "nsubj", "nsubjpass")
    return found if found is not None and found.i < head else None


def _number(text: Text, noun: Token) -> str | None:
    """``singular`` or ``plural``, or None where it is not sure."""
    if noun.lemma in _EITHER_WAY or noun.lower in _EITHER_WAY:
        return None
    if any(text.tokens[i].dep in ("cc", "conj") for i in text.children[noun.i]):
        return None
    if noun.text[0].isupper() and noun.i != text.sentences[noun.sent].first:
        return None  # a name
    if noun.tag == "NNS" and noun.lower.endswith("s") and not noun.lower.endswith("ics"):
        return "plural"
    if noun.tag == "NNS" and noun.lower in ("children", "men", "women", "mice", "bacteria"):
        return "plural"
    if noun.tag == "NN" and noun.lower in lemmas("NOUN") and not noun.lower.endswith("ics"):
        return "singular"
    return None


def _quoted(text: Text, span: Span) -> str:
    return brief(text, span).rstrip(".")


def agreement(text: Text, rng: random.Random) -> Iterator[Draft]:
    """Subject and verb with other nouns between them."""
    for clause in text.clauses:
        verb = _finite_word(text, clause)
        subject = _subject(text, clause.head)
        if verb is None or subject is None or not clause.finite or not clear_subject(text, clause):
            continue
        number = _number(text, subject)
        between = text.tokens[subject.i + 1 : verb.i]
        if number is None or not between or verb.i - subject.i > 16:
            continue
        if _may_be_two(text, subject, between):
            continue
        other = "NN" if number == "plural" else "NNS"
        rival = next(
            (t for t in reversed(between) if t.tag == other and not _inside_word(text, t)), None
        )
        if rival is None and len(between) < 3:
            continue
        pair = _both_numbers(text, verb, clause)
        if pair is None:
            continue
        singular, many = pair
        key = singular if number == "singular" else many
        if key != verb.text:
            continue
        wrong = many if number == "singular" else singular
        forms = _more_forms(text, verb, clause, "plural" if number == "singular" else "singular")
        opposite = "plural" if number == "singular" else "singular"
        why = f'This form is {opposite}, but "{subject.text}" is {number}.'
        core = text.span(subject.i, subject.i)
        rationale = (
            f'The subject is "{subject.text}", which is {number}'
            + (f'; "{rival.text}" only stands nearer to the verb' if rival else "")
            + f'. So the verb must be {number} too: "{key}".'
        )
        draft = _draft(
            "agreement",
            Span(verb.start, verb.end),
            key,
            [(choice, "subject-verb-agreement", why) for choice in (wrong, *forms)],
            rationale,
            [(core, "subject"), (_inner(text, between), "between")],
            2 + (rival is not None and verb.i - subject.i > 5),
            rng,
        )
        if draft is not None:
            yield draft


def _may_be_two(text: Text, subject: Token, between: tuple[Token, ...]) -> bool:
    """Whether *and* after brackets or a name may add a second subject that the parse misses."""
    joined = any(t.lower in ("and", "or", "nor") for t in between)
    opens = subject.i == text.sentences[subject.sent].first
    return joined and (opens or any(t.text in ("(", ")") for t in between))


def _inside_word(text: Text, token: Token) -> bool:
    """Whether a noun only helps to build another word: *truth* in *truth-bearing*, *cell walls*."""
    return token.dep in ("compound", "npadvmod") or text.passage[token.end : token.end + 1] == "-"


def _inner(text: Text, between: tuple[Token, ...]) -> Span:
    return trim(text.passage, between[0].start, between[-1].end, marks=",—–;:")


def _finite_word(text: Text, clause: Clause) -> Token | None:
    """The word of a clause's verb group that shows tense."""
    auxiliaries = [
        text.tokens[i]
        for i in text.children[clause.head]
        if text.tokens[i].dep in ("aux", "auxpass")
    ]
    word = auxiliaries[0] if auxiliaries else text.tokens[clause.head]
    return word if word.tag in ("VBZ", "VBP", "VBD") and word.text.isalpha() else None


_PAIRS = {
    "is": ("is", "are"),
    "are": ("is", "are"),
    "was": ("was", "were"),
    "were": ("was", "were"),
    "has": ("has", "have"),
    "have": ("has", "have"),
    "does": ("does", "do"),
    "do": ("does", "do"),
}


def _both_numbers(text: Text, verb: Token, clause: Clause) -> tuple[str, str] | None:
    if verb.lower in _PAIRS:
        return _PAIRS[verb.lower]
    if verb.i != clause.head or verb.tag not in ("VBZ", "VBP"):
        return None
    forms = verb_forms(verb.lemma)
    return None if forms is None else (forms.third, forms.base)


def _more_forms(text: Text, verb: Token, clause: Clause, number: str) -> list[str]:
    """Other forms of the same verb that have the wrong number."""
    plural_form = number == "plural"
    word = verb.lower
    main = text.tokens[clause.head]
    if verb.i == clause.head and word not in _PAIRS:
        forms = verb_forms(verb.lemma)
        if forms is None:
            return []
        be, have = ("are", "have") if plural_form else ("is", "has")
        past = "were" if plural_form else "was"
        return [f"{have} {forms.participle}", f"{be} {forms.ing}", f"{past} {forms.ing}"]
    if word in ("is", "are", "was", "were"):
        alone = verb.i == clause.head
        passive = any(
            text.tokens[i].dep == "auxpass" and i == verb.i for i in text.children[clause.head]
        )
        found = ["are", "were"] if plural_form else ["is", "was"]
        if alone or passive:
            found.append("have been" if plural_form else "has been")
            return found
        if main.tag == "VBG":
            found.append("have been" if plural_form else "has been")
            return found
    return []


def finite_verbs(text: Text, rng: random.Random) -> Iterator[Draft]:
    """The one finite verb of a sentence: a bare participle or infinitive would leave a fragment."""
    for clause in text.clauses:
        if clause.reason != "main" or not clause.finite or clause.subject is None:
            continue
        if not clear_subject(text, clause):
            continue
        head = text.tokens[clause.head]
        if (
            any(text.tokens[i].dep in ("conj", "aux", "neg", "prt") for i in text.children[head.i])
            or _subject(text, head.i) is None
        ):
            continue
        sentence = text.sentences[head.sent]
        rivals = [
            c
            for c in text.clauses
            if c.finite
            and c.kind == "independent"
            and c.head != head.i
            and sentence.start <= c.start < sentence.end
        ]
        auxiliary = [i for i in text.children[head.i] if text.tokens[i].dep == "auxpass"]
        between = head.i - _subject(text, head.i).i  # type: ignore[union-attr]
        if rivals or head.lemma == "be" or between < 4:
            continue
        forms = verb_forms(head.lemma)
        if forms is None:
            continue
        if auxiliary:
            first = text.tokens[auxiliary[0]]
            if (
                len(auxiliary) != 1
                or first.i + 1 != head.i
                or first.lower not in ("is", "are", "was", "were")
            ):
                continue
            place = Span(first.start, head.end)
            wrong = [
                f"being {head.text}",
                f"having been {head.text}",
                f"to be {head.text}",
                f"which {first.text} {head.text}",
            ]
        else:
            if head.tag not in ("VBD", "VBZ", "VBP") or head.text[0].isupper():
                continue
            place = Span(head.start, head.end)
            wrong = [
                forms.ing,
                f"having {forms.participle}",
                f"to {forms.base}",
                f"to have {forms.participle}",
            ]
        key = text.quote(place.start, place.end)
        kept = [wrong[0], *rng.sample(wrong[1:], 3)]
        why = "With this form the sentence has no complete verb."
        rationale = (
            f'The subject is "{_quoted(text, clause.subject)}", and it needs a complete verb. '
            f'Only "{key}" shows a time; with the other forms the sentence has no main verb.'
        )
        draft = _draft(
            "finite-verb",
            place,
            key,
            [(choice, "sentence-fragment", why) for choice in kept],
            rationale,
            [(clause.subject, "subject")],
            2 if between < 7 else 3,
            rng,
        )
        if draft is not None:
            yield draft


def participles(text: Text, rng: random.Random) -> Iterator[Draft]:
    """A participle that opens a part after a comma: a finite verb there would be one too many."""
    for clause in text.clauses:
        head = text.tokens[clause.head]
        if clause.reason != "participle" or head.tag != "VBG" or clause.start != head.start:
            continue
        if head.i < 4 or text.tokens[head.i - 1].text != "," or clause.parent is None:
            continue
        sentence = text.sentences[head.sent]
        above = text.clause_of_head.get(clause.parent)
        if above is None or not above.finite or above.head > head.i or above.kind != "independent":
            continue
        if clause.end < sentence.end - 2:
            continue
        forms = verb_forms(head.lemma)
        subject = _subject(text, above.head)
        if forms is None or subject is None or (subject.tag == "PRP" and subject.lower == "i"):
            continue
        who = "they" if subject.tag in ("NNS", "NNPS") else "it"
        wrong = [
            (forms.past, "comma-splice", "A second main verb needs a joining word before it."),
            (forms.third, "comma-splice", "A second main verb needs a joining word before it."),
            (
                f"{who} {forms.past}",
                "comma-splice",
                "With this form a comma alone joins two complete sentences.",
            ),
        ]
        whole = trim(text.passage, sentence.start, text.tokens[head.i - 1].start)
        rationale = (
            f'"{_quoted(text, whole)}" is complete. What follows the comma only adds to it, so '
            f'"{head.text}" fits. A second complete verb would need a word such as "and".'
        )
        draft = _draft(
            "participle",
            Span(head.start, head.end),
            head.text,
            wrong,
            rationale,
            [(whole, "clause"), (above.verb, "verb")],
            3,
            rng,
        )
        if draft is not None:
            yield draft


def tenses(text: Text, rng: random.Random) -> Iterator[Draft]:
    """A past verb beside words that name a time in the past."""
    for clause in text.clauses:
        head = text.tokens[clause.head]
        if not clause.finite or head.tag != "VBD" or clause.kind != "independent":
            continue
        if any(text.tokens[i].dep in ("aux", "auxpass") for i in text.children[head.i]):
            continue
        subject = _subject(text, head.i)
        when = _past_time(text, clause)
        forms = verb_forms(head.lemma)
        if subject is None or when is None or forms is None or head.text != forms.past:
            continue
        many = subject.tag in ("NNS", "NNPS") or subject.lower in ("they", "we", "you", "i")
        if any(text.tokens[i].dep == "conj" for i in text.children[subject.i]):
            many = True
        if subject.lower == "i":
            continue
        present = forms.base if many else forms.third
        have = "have" if many else "has"
        time = _quoted(text, when)
        why = f'This form does not go with "{time}", a time that is over.'
        wrong = [
            (f"will {forms.base}", "tense", why),
            (f"{have} {forms.participle}", "tense", why),
            (present, "tense", why),
        ]
        rationale = (
            f'"{capital(time)}" names a time that is over, so the verb must be in the simple past: '
            f'"{head.text}".'
        )
        draft = _draft(
            "tense",
            Span(head.start, head.end),
            head.text,
            wrong,
            rationale,
            [(when, "time"), (text.span(subject.i, subject.i), "subject")],
            1,
            rng,
            question="Which verb form fits the time that the text speaks of?",
        )
        if draft is not None:
            yield draft


def _past_time(text: Text, clause: Clause) -> Span | None:
    """Words of this clause that name a past time: *in 1861*, *a century ago*, *yesterday*."""
    for i in text.children[clause.head]:
        token = text.tokens[i]
        if token.lower in _PAST_TIMES:
            return text.phrase(i)
        if token.dep == "prep" and token.lower in ("in", "on", "during", "until", "by"):
            years = [
                text.tokens[j]
                for j in text.subtree(i)
                if text.tokens[j].text.rstrip("s").isdigit()
                and 1000 <= int(text.tokens[j].text.rstrip("s")) <= 2015
                and len(text.tokens[j].text.rstrip("s")) == 4
            ]
            span = text.phrase(i)
            if years and len(span) < 40 and token.lower != "by":
                return span
    return None


_OWNERS = {"its": "singular", "their": "plural"}


def owners(text: Text, rng: random.Random) -> Iterator[Draft]:
    """*its* or *their* with an owner that stands earlier in the same sentence or the one before."""
    for token in text.tokens:
        if token.lower not in _OWNERS or token.tag != "PRP$":
            continue
        owner = _owner(text, token, _OWNERS[token.lower])
        if owner is None:
            continue
        thing = text.tokens[token.head]
        if thing.pos not in ("NOUN", "PROPN") or thing.i < token.i:
            continue
        big = token.text[0].isupper()
        singular = token.lower == "its"
        other, sounds_alike = (
            ("their", ("it's", "its'")) if singular else ("its", ("they're", "there"))
        )
        explained = (
            '"It\'s" is short for "it is" or "it has".'
            if singular
            else '"They\'re" is short for "they are"; "there" names a place.'
        )
        number = f'"{owner.text}" is {_OWNERS[token.lower]}.'
        shapes = [(other, "pronoun-agreement", number)]
        shapes += [(word, "its-and-it-is", explained) for word in sounds_alike]
        rationale = (
            f'"{capital(thing.text)}" belongs to "{owner.text}", which is '
            f'{_OWNERS[token.lower]}, so "{token.lower}" is the right owner word. ' + explained
        )
        draft = _draft(
            "owner-pronoun",
            Span(token.start, token.end),
            token.text,
            [(capital(w) if big else w, fault, why) for w, fault, why in shapes],
            rationale,
            [(text.span(owner.i, owner.i), "antecedent"), (text.span(thing.i, thing.i), "owned")],
            1 if owner.sent == token.sent else 2,
            rng,
        )
        if draft is not None:
            yield draft


def _owner(text: Text, pronoun: Token, number: str) -> Token | None:
    """The noun that a possessive points back to, where no other noun of the sentence could be it.

    It is a subject before the pronoun; a second noun of the same number would make the owner a
    matter of opinion, and one of the other number after it would make a wrong choice possible.
    """
    sentence = text.sentences[pronoun.sent]
    owner: Token | None = None
    for token in text.tokens[sentence.first : pronoun.i]:
        if token.pos not in ("NOUN", "PROPN") or token.dep in ("compound", "npadvmod"):
            continue
        own = _number(text, token)
        if token.lower == "one" or (own is None and token.pos == "PROPN"):
            return None
        if own == number:
            if owner is not None:
                return None
            owner = token if token.dep in ("nsubj", "nsubjpass") else None
            if owner is None:
                return None
        elif owner is not None or own is None:
            return None
    if owner is None or any(
        t.lower in ("he", "she", "they", "it", "we", "you", "i")
        for t in text.tokens[sentence.first : owner.i]
    ):
        return None
    return owner if pronoun.i - owner.i < 25 else None


def possessives(text: Text, rng: random.Random) -> Iterator[Draft]:
    """The apostrophe of an owner, and none in a plain plural beside it."""
    for mark in text.tokens:
        if mark.tag != "POS" or mark.i < 1:
            continue
        noun = text.tokens[mark.i - 1]
        if (
            noun.end != mark.start
            or noun.tag not in ("NN", "NNS", "NNP")
            or not noun.text.isalpha()
        ):
            continue
        thing = text.tokens[noun.head]
        if thing.i <= mark.i or thing.i > mark.i + 3 or thing.pos != "NOUN":
            continue
        curly = "’" if "’" in mark.text else "'"
        middle = text.quote(mark.end, thing.start)
        name, owned = noun.text, thing.text
        place = Span(noun.start, thing.end)
        key = text.quote(place.start, place.end)
        owner = text.quote(noun.start, mark.end)
        if thing.tag == "NNS" and owned.endswith("s") and len(owned) > 3:
            one = owned[:-2] + "y" if owned.endswith("ies") else owned[:-1]
            if not frequency(one):
                continue
            bare = name if name.endswith("s") else name + "s"
            wrong = [
                (f"{owner}{middle}{one}{curly}s", "apostrophe-possessive"),
                (f"{bare}{middle}{owned}{curly}", "apostrophe-possessive"),
                (f"{bare}{middle}{owned}", "apostrophe-possessive"),
                (f"{owner}{middle}{owned}{curly}", "apostrophe-possessive"),
            ]
            why = f'"{capital(owned)}" is a plain plural and owns nothing here.'
            text_why = (
                f'The {owned} belong to "{name}", so "{name}" takes the apostrophe: '
                f'"{owner}". "{capital(owned)}" only says that there is more than one, so it '
                "takes none."
            )
        elif noun.tag == "NNP" and not name.endswith("s"):
            wrong = [
                (f"{name}s{middle}{owned}", "apostrophe-possessive"),
                (f"{name}s{curly}{middle}{owned}", "apostrophe-possessive"),
                (f"{owner}{middle}{owned}{curly}s", "apostrophe-possessive"),
            ]
            why = "The name of one owner takes an apostrophe and then an s."
            text_why = (
                f"The {owned} belongs to {name}. The name of one owner takes an apostrophe and "
                f'then an s: "{owner}".'
            )
        elif noun.tag == "NN" and _one(text, noun):
            many = plural(noun.lemma)
            wrong = [
                (f"{many}{middle}{owned}", "apostrophe-possessive"),
                (f"{many}{curly}{middle}{owned}", "apostrophe-possessive"),
                (f"{name}{middle}{owned}", "apostrophe-possessive"),
            ]
            why = f"There is one {name} here, and it needs an apostrophe and then an s."
            text_why = (
                f"The text speaks of one {name}, and the {owned} belongs to it. One owner takes an "
                f'apostrophe and then an s: "{owner}".'
            )
        else:
            continue
        lead = text.sentences[noun.sent]
        evidence = [(trim(text.passage, lead.start, lead.end), "clause")]
        draft = _draft(
            "possessive",
            place,
            key,
            [(w, f, why) for w, f in wrong],
            text_why,
            evidence,
            2,
            rng,
        )
        if draft is not None:
            yield draft


def _one(text: Text, noun: Token) -> bool:
    """Whether a word beside a singular noun says that there is only one."""
    return any(text.tokens[i].lower in _SINGULAR_DETERMINERS for i in text.children[noun.i])


def comparatives(text: Text, rng: random.Random) -> Iterator[Draft]:
    """The comparative before *than*."""
    for token in text.tokens:
        if token.tag != "JJR" or not token.lower.endswith("er") or token.i + 1 >= len(text.tokens):
            continue
        ahead = text.tokens[token.i + 1 : token.i + 5]
        than = next((t for t in ahead if t.lower == "than"), None)
        base = token.lemma
        top = token.lower[:-1] + "st"
        if than is None or not frequency(top) or base == token.lower or not frequency(base):
            continue
        why = 'Two things are compared with "than", so the form in -er is needed, once.'
        wrong = [
            (f"more {token.lower}", "comparison", why),
            (top, "comparison", why),
            (base, "comparison", why),
        ]
        rationale = (
            f'The word "than" shows that two things are compared, so "{token.text}" is needed. '
            f'It has the ending -er already, so "more" would say it twice.'
        )
        sentence = text.sentences[token.sent]
        evidence = [(text.span(than.i, than.i), "cue")]
        subject = next(
            (c.subject for c in text.clauses if c.head == token.head and c.subject), None
        )
        if subject is not None and subject.end <= token.start:
            evidence.append((subject, "subject"))
        if token.start == sentence.start:
            continue
        draft = _draft(
            "comparison",
            Span(token.start, token.end),
            token.text,
            wrong,
            rationale,
            evidence,
            1,
            rng,
        )
        if draft is not None:
            yield draft


def danglers(text: Text, rng: random.Random) -> Iterator[Draft]:
    """An opening participle whose doer must be the subject that follows the comma."""
    for clause in text.clauses:
        head = text.tokens[clause.head]
        sentence = text.sentences[head.sent]
        if clause.reason != "participle" or clause.start != sentence.start or clause.parent is None:
            continue
        main = text.clause_of_head.get(clause.parent)
        if main is None or main.reason != "main" or not main.finite or main.subject is None:
            continue
        verb, subject = text.tokens[main.head], _subject(text, main.head)
        thing = text.child(main.head, "dobj")
        comma = text.token_at(main.subject.start - 2)
        if subject is None or thing is None or comma is None or comma.text != ",":
            continue
        if verb.tag not in ("VBD", "VBZ", "VBP") or text.span(verb.i, verb.i) != main.verb:
            continue
        forms = verb_forms(verb.lemma)
        phrase = text.phrase(thing.i)
        owner = main.subject
        simple = len(owner) < 40 and len(phrase) < 50 and phrase.start == verb.end + 1
        if (
            forms is None
            or not simple
            or not clause.end < owner.start
            or owner.end + 1 != verb.start
        ):
            continue
        by = text.quote(owner.start, owner.end)
        if subject.tag == "PRP":
            by = {"he": "him", "she": "her", "they": "them", "we": "us", "i": "me"}.get(
                by.lower(), by
            )
        if thing.tag in ("PRP", "DT", "WDT") or any(
            t.is_punct for t in text.tokens_in(owner.start, phrase.end)
        ):
            continue
        many = thing.tag in ("NNS", "NNPS")
        be = ("were" if many else "was") if verb.tag == "VBD" else ("are" if many else "is")
        it = "was" if verb.tag == "VBD" else "is"
        thing_words = text.quote(phrase.start, phrase.end)
        who, did = text.quote(owner.start, owner.end), verb.text
        wrong = [
            f"{thing_words} {be} {forms.participle} by {by}",
            f"it {it} {thing_words} that {who} {did}",
            f"there {be} {thing_words} that {who} {did}",
        ]
        opening = trim(text.passage, clause.start, clause.end)
        why = f'Then "{_quoted(text, opening)}" would not describe "{who}".'
        rationale = (
            f'"{_quoted(text, opening)}" describes "{who}", so these words must follow the comma '
            "directly, as the subject."
        )
        draft = _draft(
            "opening-modifier",
            Span(owner.start, phrase.end),
            f"{who} {did} {thing_words}",
            [(w, "dangling-modifier", why) for w in wrong],
            rationale,
            [(opening, "modifier")],
            3,
            rng,
            question="Which choice completes the sentence so that it says what the writer means?",
        )
        if draft is not None:
            yield draft


_MAKERS = (
    agreement,
    finite_verbs,
    participles,
    tenses,
    owners,
    possessives,
    comparatives,
    danglers,
)

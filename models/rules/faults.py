"""Make faults in edited sentences, to measure how many of them the rules find.

Each maker takes a parsed text and one of its sentences, and returns the damaged sentence with the
character at which it was damaged, or None where it finds nothing to damage. They read the parse
of the *sound* sentence; the rules see only the damaged one, parsed anew.
"""

from __future__ import annotations

import itertools
import random
from collections.abc import Callable

from rwtools.rules.phrases import commas_between, verb_group
from rwtools.text import Sentence, Text

Made = tuple[str, int] | None
Maker = Callable[[Text, Sentence, random.Random], Made]

_PLAIN_NUMBER = {"is": "are", "are": "is", "was": "were", "were": "was", "has": "have",
                 "have": "has", "does": "do", "do": "does"}  # fmt: skip
_SPLIT = {"and", "but", "so", "or"}
_ADVERBS = {"however", "therefore", "moreover", "nevertheless", "consequently", "furthermore"}
_PARTICIPLES = {"gone": "went", "taken": "took", "written": "wrote", "seen": "saw",
                "given": "gave", "become": "became", "begun": "began", "done": "did",
                "known": "knew", "shown": "showed", "grown": "grew", "chosen": "chose",
                "broken": "broke", "driven": "drove"}  # fmt: skip


def _edit(text: Text, sentence: Sentence, start: int, end: int, new: str) -> Made:
    whole = text.passage[sentence.start : sentence.end]
    at, stop = start - sentence.start, end - sentence.start
    return whole[:at] + new + whole[stop:], at


def _tokens(text: Text, sentence: Sentence):
    return text.sentence_tokens(sentence)


def _pick(rng: random.Random, options: list):
    return rng.choice(options) if options else None


def _pair(text: Text, sentence: Sentence):
    """This sentence and the next, where both can stand alone and the next has its own subject."""
    if sentence.index + 1 >= len(text.sentences):
        return None
    following = text.sentences[sentence.index + 1]
    gap = text.passage[sentence.end : following.start]
    if gap != " " or text.passage[sentence.end - 1] != ".":
        return None
    for one in (sentence, following):
        if not 5 <= one.last - one.first <= 25:
            return None
        heads = [
            c for c in text.clauses
            if one.first <= c.head < one.last and c.kind == "independent" and c.finite and c.subject
        ]  # fmt: skip
        if not heads:
            return None
    first = text.tokens[following.first]
    if first.pos not in ("PRON", "DET", "NOUN") or first.tag in ("WP", "WDT"):
        return None
    left = text.passage[sentence.start : sentence.end - 1]
    right = text.passage[following.start : following.end]
    lowered = right if first.text == "I" else right[0].lower() + right[1:]
    return left, lowered


def comma_splice(text: Text, sentence: Sentence, rng: random.Random) -> Made:
    pair = _pair(text, sentence)
    return None if pair is None else (f"{pair[0]}, {pair[1]}", len(pair[0]))


def fused_sentence(text: Text, sentence: Sentence, rng: random.Random) -> Made:
    pair = _pair(text, sentence)
    return None if pair is None else (f"{pair[0]} {pair[1]}", len(pair[0]))


def adverb_as_conjunction(text: Text, sentence: Sentence, rng: random.Random) -> Made:
    pair = _pair(text, sentence)
    if pair is None:
        return None
    word = rng.choice(["however", "therefore", "moreover", "consequently"])
    return f"{pair[0]}, {word}, {pair[1]}", len(pair[0])


def sentence_fragment(text: Text, sentence: Sentence, rng: random.Random) -> Made:
    for comma in commas_between(text, sentence.first + 5, sentence.last - 5):
        word = text.tokens[comma + 1]
        if word.lower in ("which", "although", "whereas", "because") and not commas_between(
            text, comma + 1, sentence.last
        ):
            made = _edit(text, sentence, text.tokens[comma].start, word.start + 1,
                         f". {word.text[0].upper()}")  # fmt: skip
            return made[0], made[1] + 2
    return None


def semicolon_unequal_parts(text: Text, sentence: Sentence, rng: random.Random) -> Made:
    for comma in commas_between(text, sentence.first + 4, sentence.last - 4):
        if text.tokens[comma + 1].lower in ("which", "although", "whereas", "including"):
            mark = text.tokens[comma]
            return _edit(text, sentence, mark.start, mark.end, ";")
    return None


def missing_comma_after_introduction(text: Text, sentence: Sentence, rng: random.Random) -> Made:
    first = text.tokens[sentence.first]
    if first.lower not in ("when", "if", "although", "because", "while", "after", "as", "since"):
        return None
    commas = commas_between(text, sentence.first, sentence.last)
    for clause in text.clauses:
        if clause.start == first.start and clause.kind == "dependent" and clause.finite and commas:
            mark = text.tokens[commas[0]]
            if clause.end == mark.start:
                return _edit(text, sentence, mark.start, mark.end, "")
    return None


def missing_comma_before_conjunction(text: Text, sentence: Sentence, rng: random.Random) -> Made:
    for comma in commas_between(text, sentence.first + 3, sentence.last - 4):
        word, start = text.tokens[comma + 1], text.tokens[comma + 2].start
        if word.lower in _SPLIT and any(
            c.start == start and c.kind == "independent" and c.reason == "coordinated" and c.finite
            for c in text.clauses
        ):
            mark = text.tokens[comma]
            return _edit(text, sentence, mark.start, mark.end, "")
    return None


def comma_before_second_verb(text: Text, sentence: Sentence, rng: random.Random) -> Made:
    if commas_between(text, sentence.first, sentence.last):
        return None
    for token in _tokens(text, sentence):
        if token.dep == "conj" and token.pos == "VERB" and token.tag in ("VBZ", "VBD", "VBP"):
            before = text.tokens[token.i - 1]
            if before.lower == "and" and text.child(token.i, "nsubj") is None:
                place = text.tokens[before.i - 1].end
                return _edit(text, sentence, place, place, ",")
    return None


def colon_after_incomplete_clause(text: Text, sentence: Sentence, rng: random.Random) -> Made:
    tokens = _tokens(text, sentence)
    for token in tokens[4:-5]:
        if text.tokens[token.i + 1].pos in ("VERB", "ADV", "ADP"):
            continue  # "are made of", "include not only"
        ready = token.lower == "including" or (
            token.lower in ("as", "of", "are", "include")
            and (token.lower != "as" or text.tokens[token.i - 1].lower == "such")
            and (token.lower != "of" or text.tokens[token.i - 1].lemma in ("consist", "compose"))
        )
        if ready and len(commas_between(text, token.i, sentence.last)) >= 2:
            return _edit(text, sentence, token.end, token.end, ":")
    return None


def comma_between_subject_and_verb(text: Text, sentence: Sentence, rng: random.Random) -> Made:
    if commas_between(text, sentence.first, sentence.last):
        return None
    for clause in text.clauses:
        if not sentence.first <= clause.head < sentence.last or clause.kind != "independent":
            continue
        subject = text.child(clause.head, "nsubj", "nsubjpass")
        if subject is None or not clause.finite or text.tokens[clause.head].i < subject.i:
            continue
        members = text.subtree(subject.i)
        first, _ = verb_group(text, clause.head)
        if len(members) >= 4 and members[-1] + 1 == first:
            place = text.tokens[members[-1]].end
            return _edit(text, sentence, place, place, ",")
    return None


def comma_between_verb_and_that(text: Text, sentence: Sentence, rng: random.Random) -> Made:
    for token in _tokens(text, sentence)[2:-3]:
        before = text.tokens[token.i - 1]
        opens = token.lower == "that" and token.dep == "mark" and before.pos in ("VERB", "AUX")
        if (
            opens
            and text.tokens[token.head].dep == "ccomp"
            and not commas_between(text, sentence.first, token.i)
        ):
            return _edit(text, sentence, before.end, before.end, ",")
    return None


def comma_before_restrictive_that(text: Text, sentence: Sentence, rng: random.Random) -> Made:
    for token in _tokens(text, sentence)[2:-3]:
        before = text.tokens[token.i - 1]
        relative = token.lower == "that" and token.tag == "WDT" and before.pos == "NOUN"
        if relative and not commas_between(text, sentence.first, sentence.last):
            return _edit(text, sentence, before.end, before.end, ",")
    return None


def comma_after_conjunction(text: Text, sentence: Sentence, rng: random.Random) -> Made:
    commas = commas_between(text, sentence.first, sentence.last)
    if len(commas) != 1 or text.tokens[commas[0] + 1].lower not in ("but", "and"):
        return None
    mark, word = text.tokens[commas[0]], text.tokens[commas[0] + 1]
    made = _edit(text, sentence, mark.start, word.end, f" {word.text},")
    return made[0], made[1] + len(word.text) + 1


def interruption_not_closed(text: Text, sentence: Sentence, rng: random.Random) -> Made:
    commas = commas_between(text, sentence.first, sentence.last)
    for first, last in itertools.pairwise(commas):
        if text.tokens[first + 1].lower in ("which", "who", "a", "an", "however") and any(
            verb_group(text, c.head)[0] == last + 1 and text.child(c.head, "nsubj", "nsubjpass")
            and text.child(c.head, "nsubj", "nsubjpass").i < first
            for c in text.clauses if c.finite
        ):  # fmt: skip
            mark = text.tokens[last]
            return _edit(text, sentence, mark.start, mark.end, "")
    return None


def interruption_mixed(text: Text, sentence: Sentence, rng: random.Random) -> Made:
    made = interruption_not_closed(text, sentence, rng)
    if made is None:
        return None
    damaged, at = made
    return damaged[:at] + "—" + damaged[at:].lstrip(" "), at


def its_for_it_is(text: Text, sentence: Sentence, rng: random.Random) -> Made:
    options = []
    swap = {"its": "it's", "their": rng.choice(["they're", "there"]), "whose": "who's"}
    for token in _tokens(text, sentence):
        if token.lower in swap and token.tag in ("PRP$", "WP$"):
            options.append((token.start, token.end, swap[token.lower]))
        elif token.lower in ("it", "they") and text.tokens[token.i + 1].text[1:] in ("s", "re"):
            new = "its" if token.lower == "it" else "their"
            options.append((token.start, text.tokens[token.i + 1].end, new))
        elif token.lower == "there" and token.dep == "expl":
            options.append((token.start, token.end, "their"))
    choice = _pick(rng, options)
    if choice is None:
        return None
    start, end, new = choice
    if text.passage[start].isupper():
        new = new[0].upper() + new[1:]
    return _edit(text, sentence, start, end, new)


def apostrophe_left_out(text: Text, sentence: Sentence, rng: random.Random) -> Made:
    options = []
    for token in _tokens(text, sentence)[1:-1]:
        if token.tag == "POS":
            owner = text.tokens[token.i - 1]
            if owner.pos == "NOUN" and owner.text.islower():
                options.append((owner.start, token))
    choice = _pick(rng, options)
    if choice is None:
        return None
    start, mark = choice
    made = _edit(text, sentence, mark.start, mark.end, mark.text[1:])
    return made[0], start - sentence.start


def apostrophe_in_plural(text: Text, sentence: Sentence, rng: random.Random) -> Made:
    options = [
        t for t in _tokens(text, sentence)
        if t.tag == "NNS" and t.text == t.lemma + "s" and t.dep in ("nsubj", "nsubjpass")
    ]  # fmt: skip
    noun = _pick(rng, options)
    return None if noun is None else _edit(text, sentence, noun.start, noun.end, noun.lemma + "'s")


def contraction(text: Text, sentence: Sentence, rng: random.Random) -> Made:
    for token in _tokens(text, sentence):
        if token.text in ("n't", "n’t"):
            made = _edit(text, sentence, token.start, token.end, "nt")
            return made[0], text.tokens[token.i - 1].start - sentence.start
    return None


def verb_number(text: Text, sentence: Sentence, rng: random.Random) -> Made:
    """Change the number of one verb that has a subject of its own."""
    options = []
    for clause in text.clauses:
        if not sentence.first <= clause.head < sentence.last or not clause.finite:
            continue
        subject = text.child(clause.head, "nsubj", "nsubjpass")
        if subject is None or subject.tag not in ("NN", "NNS", "PRP"):
            continue
        if subject.tag == "PRP" and subject.lower in ("i", "you"):
            continue
        finite = text.tokens[verb_group(text, clause.head)[0]]
        if finite.lower in _PLAIN_NUMBER and subject.tag != "PRP":
            options.append((finite, _PLAIN_NUMBER[finite.lower]))
        elif finite.tag == "VBZ" and finite.text == finite.lemma + "s":
            options.append((finite, finite.lemma))
        elif finite.tag == "VBP" and finite.pos == "VERB" and finite.text == finite.lemma:
            ends = finite.text.endswith(("s", "sh", "ch", "x", "o", "y", "z"))
            if not ends:
                options.append((finite, finite.text + "s"))
    choice = _pick(rng, options)
    if choice is None:
        return None
    return _edit(text, sentence, choice[0].start, choice[0].end, choice[1])


def pronoun_case(text: Text, sentence: Sentence, rng: random.Random) -> Made:
    swap = {"him": "he", "her": "she", "them": "they", "us": "we", "me": "I"}
    for token in _tokens(text, sentence):
        if token.lower in swap and token.tag == "PRP" and token.dep in ("pobj", "dobj"):
            new = f"others and {swap[token.lower]}"
            made = _edit(text, sentence, token.start, token.end, new)
            return made[0], made[1] + len("others and ")
    return None


def verb_form(text: Text, sentence: Sentence, rng: random.Random) -> Made:
    for token in _tokens(text, sentence):
        if token.tag == "VBN" and token.lower in _PARTICIPLES and token.i > sentence.first:
            before = text.tokens[token.i - 1]
            if before.lower in ("has", "have", "had", "be", "been", "is", "are", "was", "were"):
                return _edit(text, sentence, token.start, token.end, _PARTICIPLES[token.lower])
        if token.lower == "have" and text.tokens[token.i - 1].lower in (
            "could", "would", "should", "must", "might"
        ):  # fmt: skip
            return _edit(text, sentence, token.start, token.end, "of")
    return None


def than_then(text: Text, sentence: Sentence, rng: random.Random) -> Made:
    for token in _tokens(text, sentence)[1:-1]:
        if token.lower == "than" and text.tokens[token.i - 1].lower != "other":
            return _edit(text, sentence, token.start, token.end, "then")
    return None


def comma_before_list(text: Text, sentence: Sentence, rng: random.Random) -> Made:
    for token in _tokens(text, sentence)[3:-4]:
        such = token.lower == "as" and text.tokens[token.i - 1].lower == "such"
        if such or (token.lower == "including" and text.tokens[token.i - 1].text == ","):
            return _edit(text, sentence, token.end, token.end, ",")
    return None


def quotation_without_comma(text: Text, sentence: Sentence, rng: random.Random) -> Made:
    for comma in commas_between(text, sentence.first + 1, sentence.last - 3):
        after = text.tokens[comma + 1]
        if text.tokens[comma - 1].lemma in ("say", "write", "ask", "reply", "declare") and (
            after.text in ('"', "“")
        ):
            mark = text.tokens[comma]
            return _edit(text, sentence, mark.start, mark.end, "")
    return None


# What is damaged -> the rules that should find it.
MAKERS: dict[str, tuple[Maker, tuple[str, ...]]] = {
    "comma_splice": (comma_splice, ("comma-splice",)),
    "fused_sentence": (fused_sentence, ("fused-sentence",)),
    "adverb_as_conjunction": (adverb_as_conjunction, ("adverb-as-conjunction", "comma-splice")),
    "sentence_fragment": (sentence_fragment, ("sentence-fragment",)),
    "semicolon_unequal_parts": (semicolon_unequal_parts, ("semicolon-unequal-parts",)),
    "missing_comma_after_introduction": (
        missing_comma_after_introduction, ("missing-comma-after-introduction",)),
    "missing_comma_before_conjunction": (
        missing_comma_before_conjunction, ("missing-comma-before-conjunction",)),
    "comma_before_second_verb": (comma_before_second_verb, ("comma-before-second-verb",)),
    "colon_after_incomplete_clause": (
        colon_after_incomplete_clause, ("colon-after-incomplete-clause",)),
    "comma_between_subject_and_verb": (
        comma_between_subject_and_verb, ("comma-between-subject-and-verb",)),
    "comma_between_verb_and_that": (
        comma_between_verb_and_that, ("comma-between-subject-and-verb",)),
    "comma_before_restrictive_that": (
        comma_before_restrictive_that, ("comma-before-restrictive-that",)),
    "comma_after_conjunction": (comma_after_conjunction, ("comma-after-conjunction",)),
    "interruption_not_closed": (interruption_not_closed, ("unpaired-interruption",)),
    "interruption_mixed": (interruption_mixed, ("unpaired-interruption",)),
    "its_for_it_is": (its_for_it_is, ("its-and-it-is",)),
    "apostrophe_left_out": (apostrophe_left_out, ("apostrophe-possessive",)),
    "apostrophe_in_plural": (apostrophe_in_plural, ("apostrophe-possessive",)),
    "contraction": (contraction, ("apostrophe-contraction",)),
    "comma_before_list": (comma_before_list, ("series-comma",)),
    "quotation_without_comma": (quotation_without_comma, ("quotation-comma",)),
    "verb_number": (verb_number, ("subject-verb-agreement",)),
    "pronoun_case": (pronoun_case, ("pronoun-agreement",)),
    "verb_form": (verb_form, ("verb-form",)),
    "than_then": (than_then, ("word-confusion",)),
}  # fmt: skip

"""The way to the answer of a punctuation item, in steps."""

from __future__ import annotations

from collections.abc import Sequence

from rwtools.clue import Clue, Span
from rwtools.items.case import Case
from rwtools.items.halves import verb_of
from rwtools.items.model import Quote
from rwtools.items.punctuation import (
    ENDING,
    apostrophe_faults,
    fault_weight,
    is_question,
    mark_fit,
    misses_question,
    opens_with_coordinator,
)
from rwtools.items.seams import SURE, Facts, Seam, bare, crossing, split_words
from rwtools.items.steps import Explained, Path, best_of, named, quote, speaking_words
from rwtools.items.subjects import leading_noun
from rwtools.items.whole import parsed_whole
from rwtools.text import Clause, Text

__all__ = ["explain"]

_MARK = {
    "none": "no mark", "comma": "a comma", "semicolon": "a semicolon", "colon": "a colon",
    "stop": "a period", "question": "a question mark", "dash": "a dash", "bracket": "a bracket",
}  # fmt: skip
_OBJECTS = frozenset({"dobj", "attr", "ccomp", "xcomp", "acomp", "oprd", "dative"})
_INSIDE = frozenset({"det", "amod", "compound", "poss", "nummod", "nmod", "aux", "auxpass", "neg"})
_ASIDE = frozenset({"which", "who", "whom", "whose"})
_ASKING = frozenset("who whom whose which what when where why how".split())
_NAMES = frozenset({"DET", "PROPN", "NOUN"})
_TIMES = frozenset(
    "second minute hour day night morning afternoon evening week month season spring summer autumn "
    "fall winter year decade century time today yesterday tomorrow monday tuesday wednesday "
    "thursday friday saturday sunday".split()
)
_FINITE = frozenset({"VBD", "VBZ", "VBP", "MD"})
Reason = tuple[str, list[Quote]]


def _short(words: str, most: int = 9) -> str:
    cut = words.replace("____", "…").split()
    if len(cut) > most:
        half = most // 2
        cut = [*cut[: most - half], "…", *cut[-half:]]
    text = " ".join(cut).strip(" ,;:.—")
    return f"“{text.replace('“', '‘').replace('”', '’')}”"


class _Seen:
    """One seam of the likeliest choice, with the words on either side as the reader sees them."""

    def __init__(self, case: Case, seam: Seam, facts: Facts) -> None:
        self.case, self.seam, self.facts = case, seam, facts
        where = seam.placed
        start, left, right, end = facts.at
        self.aside_end = _end_of_aside(facts, where.passage)
        end = self.aside_end or end
        self.left = _short(where.passage[start:left])
        self.right = _short(where.passage[right:end])
        self.left_quotes = quote(case, Span(*where.back(start, left)), "clause")
        self.right_quotes = quote(case, Span(*where.back(right, end)), "clause")

    def standing(self, mark: str) -> tuple[bool | None, bool | None]:
        """Whether each side could be a sentence. Where that is unclear, a mark of the likeliest
        choice that ends a sentence takes it for one, and any other mark says nothing (None)."""
        taken = True if mark in ENDING else None
        chances = (self.facts.left_chance, self.facts.right_chance)
        left, right = (chance >= 0.5 if _is_sure(chance) else taken for chance in chances)
        return left, True if self.asks else right

    @property
    def asks(self) -> bool:
        """Whether the right side is a direct question that a question word opens."""
        tokens = self.facts.joined.tokens[self.facts.cut :]
        return self.facts.asks and bool(tokens) and tokens[0].lower in _ASKING

    @property
    def renames(self) -> bool:
        """Whether the aside that begins here is a second name, not a clause: *a cottage by the
        sea*."""
        tokens = self.facts.joined.tokens[self.facts.cut :]
        return self.aside_end is not None and tokens[0].lower not in _ASIDE

    @property
    def spoken(self) -> bool:
        """Whether a quotation begins or ends here."""
        return any(q in self.seam.gap for q in '"“”')

    @property
    def both(self) -> list[Quote]:
        """The words on both sides as evidence."""
        return self.left_quotes + self.right_quotes

    def bond(self) -> tuple[str, str, str] | None:
        """How a word left of the seam and one right of it belong together: kind and both words."""
        tokens = self.facts.joined.tokens
        found = crossing(self.facts)
        for token, rightward in found:
            head = tokens[token.head]
            if token.dep in ("nsubj", "nsubjpass", "csubj") and not rightward:
                return "subject", _noun(self.facts.joined, token.i, self.facts.cut), head.text
        for token, rightward in found:
            head = tokens[token.head]
            if token.dep in _OBJECTS and rightward and head.pos in ("VERB", "AUX"):
                return "object", head.text, _noun(self.facts.joined, token.i, None)
            if token.dep in ("pobj", "pcomp") and rightward:
                return "preposition", head.text, token.text
            if token.dep in _INSIDE and not rightward:
                return "inside", token.text, head.text
        return None


def _end_of_aside(facts: Facts, passage: str) -> int | None:
    """Where a clause with *which* or *who* at the head of the right stretch is closed by a comma
    with the main verb after it: *which had been closed | , reopened*."""
    tokens, right = facts.joined.tokens[facts.cut :], facts.at[2]
    if not tokens or (tokens[0].lower not in _ASIDE and not _renames(facts)):
        return None
    has_verb = any(t.tag in _FINITE for t in facts.left.tokens)
    verbs = _FINITE if has_verb else _FINITE | {"VBN"}  # reopened, where a verb is still missing
    for comma in tokens:
        following = next((t for t in tokens if t.i > comma.i and t.pos != "ADV"), None)
        at = right + comma.start - tokens[0].start
        if comma.text == "," and following is not None and following.tag in verbs:
            return at if passage[at : at + 1] == "," else None
    return None


def _renames(facts: Facts) -> bool:
    """Whether a second name may begin the right stretch: on the left stands a noun phrase alone
    that is no time, and on the right another one, without a verb up to its comma."""
    left = [t for t in facts.left.tokens if not t.is_punct]
    tokens = facts.joined.tokens[facts.cut :]
    comma = next((k for k, t in enumerate(tokens) if t.text == ","), 0)
    noun = leading_noun(left)
    if noun is None or not comma or left[0].pos == "ADV" or noun.lemma.lower() in _TIMES:
        return False
    if any(t.pos in ("VERB", "AUX", "ADV") or t.dep == "mark" for t in left):
        return False
    if tokens[0].pos not in _NAMES or any(t.tag in _FINITE for t in tokens[:comma]):
        return False
    return left[-1] is noun and leading_noun(list(tokens[:comma])) is not None


def _noun(text: Text, head: int, before: int | None) -> str:
    """A noun with the words before it that belong to it."""
    members = [i for i in text.subtree(head) if i <= head and (before is None or i < before)]
    first = head
    while first - 1 in members:
        first -= 1
    first = max(first, head - 4)
    return text.passage[text.tokens[first].start : text.tokens[head].end]


def explain(case: Case, chances: Sequence[float]) -> Explained:
    """Where the choices differ, what stands on either side, and what that asks of the mark."""
    best = best_of(chances)
    path = Path()
    alike = _alike(case, best)
    if not case.seams[best] or len(alike) == 1:
        return _by_words(case, best)
    seen = _main(case, best)
    path.add(
        "The choices differ in their marks. Read the words on both sides of the place first.",
        f"On the left stands {seen.left}, on the right {seen.right}.",
        seen.both,
    )
    marks = [{case.seams[n][k].mark for n in alike} for k in range(len(case.seams[best]))]
    if all(len(found) == 1 for found in marks):
        if len(alike) < len(case.seams):
            return _by_words(case, best)
        if "bracket" in (seen.seam.mark, *(s.mark for s in case.seams[best])):
            return _by_brackets(case, best, path, seen)
        return _apostrophes(case, best, path)
    if seen.seam.mark != "bracket" and not seen.spoken:
        path.add("Ask whether each side could be a sentence of its own.", _sides(seen), seen.both)
    ask, why, rule = _requirement(seen)
    path.add("Ask what kind of mark this place needs.", f"{ask} {why}", seen.both, rule)
    path.add(
        "Choose the wording that does this.",
        f"{named(case.choices[best].words)} puts {_MARK[seen.seam.mark]} there.",
        seen.both,
    )
    reasons: list[Reason] = []
    clues: list[Clue] = []
    for n, choice in enumerate(case.choices):
        if n == best:
            reasons.append((f"{ask} {why}", seen.both))
            continue
        against = _against if n in alike else _with_other_words
        text, evidence, rule = against(case, best, n)
        reasons.append((text, evidence))
        path.add(f"Test {named(choice.words)}.", text, evidence, rule)
    return Explained(path.steps, reasons, clues)


def _alike(case: Case, best: int) -> list[int]:
    """The choices with as many places between words as the likeliest one, itself among them."""
    return [n for n, seams in enumerate(case.seams) if len(seams) == len(case.seams[best])]


def _with_other_words(case: Case, best: int, other: int) -> tuple[str, list[Quote], str | None]:
    """What is wrong with a choice that has a word more or less: a rule it breaks, or its word."""
    placed = case.choices[other]
    for fault in sorted(case.faults[other], key=lambda f: -f.confidence):
        if fault.confidence >= 0.5:
            spans = [Span(*placed.back(e.start, e.end)) for e in fault.evidence]
            evidence = [q for span in spans for q in quote(case, span, "clause")]
            return fault.explanation, evidence, fault.rule
    words = speaking_words(case, best)
    evidence = quote(case, words, "cue") if words is not None else []
    right = {bare(word) for word in split_words(case.choices[best].words).words}
    more = [word for word in split_words(placed.words).words if bare(word) not in right]
    if more:
        return f"The word “{more[0]}” does not fit the link between the two sides.", evidence, None
    return f"{named(placed.words)} leaves out a word that the link needs.", evidence, None


def _main(case: Case, best: int) -> _Seen:
    """The seam that decides most: where most other choices have another mark, and among those
    where the mark fits best against theirs."""
    gains = []
    for k, (seam, facts) in enumerate(zip(case.seams[best], case.facts[best], strict=True)):
        gain, others = 0.0, 0
        for n, seams in enumerate(case.seams):
            if n != best and len(seams) == len(case.seams[best]) and seams[k].mark != seam.mark:
                gain += mark_fit(seam, facts) - mark_fit(seams[k], case.facts[n][k])
                others += 1
        gains.append((others, gain, -k))
    k = -max(gains)[2]
    return _Seen(case, case.seams[best][k], case.facts[best][k])


def _is_sure(chance: float) -> bool:
    return not 1 - SURE < chance < SURE


def _sides(seen: _Seen) -> str:
    facts = seen.facts
    left = _why(facts.left, seen.left, facts.left_chance)
    right = _why(facts.right, seen.right, facts.right_chance)
    if facts.supposes:
        word = facts.left.tokens[0].text
        left = (
            f"{seen.left} cannot stand alone: it asks nothing, and “{word}” before its subject "
            "does the work of “if”."
        )
    elif seen.seam.mark == "question" and is_question(facts):
        left = f"{seen.left} is a direct question."
    if facts.gapped:
        right = (
            f"In {seen.right} a comma stands for the verb “{verb_of(facts.left)}”, so it counts as "
            "a whole part beside the first."
        )
    elif seen.asks:
        right = f"{seen.right} is a direct question, and it can stand alone."
    elif seen.renames:
        right = f"{seen.right} has no verb of its own: what comes after it belongs to {seen.left}."
    return f"{left} {right}"


def _why(text: Text, words: str, chance: float) -> str:
    """Whether words can stand alone, with the subject and verb, or what is missing.

    Subject, verb and what is missing come from the parse, so they are named only where the parse
    says the same as all witnesses together.
    """
    complete = chance >= 0.5
    if not _is_sure(chance):
        return (
            f"Whether {words} can stand alone is hard to tell: look for its verb, and ask who or "
            "what does it."
        )
    if parsed_whole(text) != complete:
        return f"{words} {'can' if complete else 'cannot'} stand alone."
    clause = next((c for c in text.clauses if c.kind == "independent" and c.finite), None)
    if complete:
        if clause is None or clause.subject is None:
            return f"{words} can stand alone."
        subject = _short(clause.subject.of(text.passage), 6)
        verb = _verb(text, clause.head)
        return f"{words} can stand alone: its subject is {subject} and its verb “{verb}”."
    first = next((c for c in text.clauses if c.finite), None)
    if first is None:
        return f"{words} cannot stand alone: it has no subject with a verb that shows time."
    marker = text.tokens[first.marker].text if first.marker is not None else None
    if marker is not None and first.kind == "dependent":
        if _leads(text, first):
            return f"{words} cannot stand alone, because of the word “{marker.lower()}”."
        return (
            f"{words} cannot stand alone: it has no main verb. “{_verb(text, first.head)}” only "
            f"belongs to the part with “{marker.lower()}”."
        )
    return f"{words} cannot stand alone as it is."


def _leads(text: Text, clause: Clause) -> bool:
    """Whether a clause's marker stands at the head of the words, with at most an *and*, an adverb
    or a preposition before it."""
    before = text.tokens[: clause.marker or 0]
    return all(t.is_punct or t.pos in ("ADP", "ADV", "CCONJ", "SCONJ") for t in before)


def _verb(text: Text, head: int) -> str:
    clause = text.clause_of_head.get(head)
    return text.tokens[head].text if clause is None else clause.verb.of(text.passage)


def _requirement(seen: _Seen) -> tuple[str, str, str | None]:
    """What the place asks for, why, and the rule's id if a rule of the list covers it."""
    mark = seen.seam.mark
    left, right = seen.standing(mark)
    both = left is True and right is True
    if seen.spoken:
        return (
            "Speech begins or ends here.",
            "The marks have to show where the spoken words stop and whether the sentence goes on "
            f"after them; {_MARK[mark]} does this.",
            None,
        )
    if mark == "bracket":
        return (
            "A bracket opens or closes here.",
            "Brackets come in pairs, so the other one of the pair decides.",
            "unpaired-interruption",
        )
    if mark == "question":
        return (
            f"{seen.left} has the word order of a question.",
            "It needs a question mark at its end.",
            None,
        )
    if mark == "semicolon" and seen.facts.gapped:
        return (
            f"Two equal parts meet here, and {seen.right} takes its verb from the first.",
            "Its comma stands for that verb, so a stronger mark, a semicolon, parts the two.",
            None,
        )
    if mark in ("stop", "semicolon") and both:
        return (
            "Two parts that could both be sentences meet here.",
            "A comma is too weak between them; a period or a semicolon is needed.",
            "comma-splice",
        )
    if mark == "semicolon":
        return (
            "The parts of this list have commas inside them, or are long.",
            "Semicolons show where one part ends and the next begins.",
            None,
        )
    if mark == "colon":
        complete = "is complete and " if left else ""
        return (
            f"The left side, {seen.left}, {complete}announces something.",
            f"{seen.right} says what it is, so a colon opens it.",
            "colon-after-incomplete-clause",
        )
    if mark == "comma":
        return _comma(seen)
    if mark == "dash":
        pair = "—" in seen.case.item.passage or "–" in seen.case.item.passage
        return (
            f"The sentence breaks here, between {seen.left} and {seen.right}.",
            "The passage has another dash, and the two dashes make a pair."
            if pair
            else "A dash can mark a break that a comma would hide.",
            "unpaired-interruption" if pair else None,
        )
    if mark == "stop":
        return (
            f"The sentence ends after {seen.left}.",
            "What follows starts a new one.",
            None,
        )
    return _nothing(seen)


def _comma(seen: _Seen) -> tuple[str, str, str | None]:
    facts = seen.facts
    left, right = seen.standing("comma")
    opening = facts.joined.tokens[facts.cut].lower if facts.cut < len(facts.joined.tokens) else ""
    if opens_with_coordinator(facts) and facts.left_complete and facts.right_complete:
        return (
            f"Two complete parts are joined by “{opening}”."
            if left and right
            else f"The parts on both sides of “{opening}” look complete.",
            f"A comma stands before “{opening}”.",
            "missing-comma-before-conjunction",
        )
    bond = seen.bond()
    earlier = "," in facts.left.passage
    if bond is not None and bond[0] == "subject" and earlier:
        return (
            f"Words are put in between “{bond[1]}” and its verb “{bond[2]}”.",
            "They began with a comma, so a comma must close them too.",
            "unpaired-interruption",
        )
    if seen.renames:
        return (
            f"{seen.right} is a second name for {seen.left}, put in before the main verb.",
            "It ends with a comma, so a comma must open it too.",
            "unpaired-interruption",
        )
    if seen.aside_end is not None:
        return (
            f"{seen.right} is put in after {seen.left}, and the main verb comes only after it.",
            "It ends with a comma, so a comma must open it too.",
            "unpaired-interruption",
        )
    if left is False and right is True:
        return (
            f"{seen.left} only leads up to the main part.",
            f"A comma shows where the main part, {seen.right}, begins.",
            "missing-comma-after-introduction",
        )
    if left is True and right is False:
        return (
            f"{seen.right} is no sentence; it adds something to {seen.left}.",
            "A comma ties it to the sentence.",
            None,
        )
    are = "seem to be" if left is None or right is None else "are"
    return (
        f"{seen.left} and {seen.right} {are} parts of one sentence with a small break between "
        "them.",
        "A comma marks the break.",
        None,
    )


def _nothing(seen: _Seen) -> tuple[str, str, str | None]:
    bond = seen.bond()
    if bond is not None:
        return f"{_tie(bond)}.", "No mark may stand between them.", _tie_rule(bond)
    return (
        f"The words at the end of {seen.left} and at the start of {seen.right} belong together.",
        "No mark may stand between them.",
        None,
    )


def _tie(bond: tuple[str, str, str]) -> str:
    kind, one, two = bond
    if kind == "subject":
        return f"“{one}” is the subject and “{two}” is its verb"
    if kind == "object":
        return f"“{two}” completes the verb “{one}”"
    if kind == "preposition":
        return f"“{one}” needs “{two}” after it"
    return f"“{one}” belongs to “{two}”"


def _tie_rule(bond: tuple[str, str, str]) -> str | None:
    return "comma-between-subject-and-verb" if bond[0] == "subject" else None


def _against(case: Case, best: int, other: int) -> tuple[str, list[Quote], str | None]:
    """What is wrong with a choice: a rule it breaks, or what its mark does to the two sides."""
    placed = case.choices[other]
    differing = [
        k
        for k, (one, two) in enumerate(zip(case.seams[best], case.seams[other], strict=True))
        if one.mark != two.mark or one.gap.strip() != two.gap.strip()
    ]
    k = differing[0] if differing else 0
    seen = _Seen(case, case.seams[other][k], case.facts[other][k])
    right_one = _Seen(case, case.seams[best][k], case.facts[best][k])
    weights = {
        id(fault): fault_weight(fault, case.seams[other], case.facts[other])
        for fault in case.faults[other]
    }
    for fault in sorted(case.faults[other], key=lambda f: -weights[id(f)]):
        if weights[id(fault)] >= 0.5:
            if fault.rule == "semicolon-unequal-parts" and right_one.seam.mark != "comma":
                break  # the rule's own words advise a comma
            evidence = [
                q
                for e in fault.evidence
                for q in quote(case, Span(*placed.back(e.start, e.end)), e.role)
            ]
            return fault.explanation, evidence or seen.both, fault.rule
    words = [split_words(case.choices[m].words).words for m in (best, other)]
    if not differing or (words[0] != words[1] and apostrophe_faults(placed.words, "")):
        return _wrong_forms(placed.words, case.choices[best].words), seen.both, None
    text, rule = _verdict(seen, right_one)
    return text, seen.both, rule


def _verdict(seen: _Seen, right_one: _Seen) -> tuple[str, str | None]:
    facts, mark, wanted = seen.facts, seen.seam.mark, right_one.seam.mark
    left, right = seen.standing(wanted)
    both = left is True and right is True
    if right_one.spoken and mark != "question":
        if mark == "none":
            return "No mark stands between the speech and the words around it.", None
        if mark != wanted:
            return (
                f"{_MARK[mark].capitalize()} cuts the speech off from the words that go with it.",
                None,
            )
    if wanted == "bracket":
        return "The other bracket of the pair stays alone.", "unpaired-interruption"
    if mark == wanted:
        return "The mark is right, but the capital, the space or the quotation mark is not.", None
    if right_one.facts.gapped and wanted == "semicolon":
        return _against_gapped(seen), None
    if misses_question(seen.seam, facts):
        if mark == "question":
            return (
                f"{seen.left} does not ask anything directly, so it takes no question mark.",
                None,
            )
        return f"{seen.left} is a question, and a period does not show that.", None
    if wanted == "question" and is_question(right_one.facts):
        return f"{seen.left} is a question, and {_MARK[mark]} does not show that.", None
    if both and mark == "comma" and not opens_with_coordinator(facts) and wanted != "none":
        return (
            f"A comma alone cannot join two sentences: {seen.left} and {seen.right} could each "
            "stand alone.",
            "comma-splice",
        )
    if both and mark == "none" and not opens_with_coordinator(facts) and wanted != "none":
        return (
            f"Without a mark, two sentences run into each other: {seen.left} and {seen.right}.",
            "fused-sentence",
        )
    sure = _is_sure(facts.left_chance) and _is_sure(facts.right_chance)
    capital = seen.seam.placed.passage[facts.at[2] :][:1].isupper()
    if mark == "semicolon" and wanted == "stop" and both and (sure or capital):
        return _against_semicolon(seen), None
    if mark in ENDING and (left is False or right is False):
        weak = seen.right if right is False else seen.left
        missing = f"{weak} is none"
        if left is False and right is False:
            missing = f"neither {seen.left} nor {seen.right} is one"
        rule = "sentence-fragment" if mark == "stop" else "semicolon-unequal-parts"
        return f"{_MARK[mark].capitalize()} needs a sentence on both sides, but {missing}.", rule
    if mark == "colon" and left is False:
        return (
            f"A colon needs a complete statement before it, but {seen.left} is not complete.",
            "colon-after-incomplete-clause",
        )
    bond = right_one.bond()
    if wanted == "none":
        if bond is not None:
            return f"{_tie(bond)}; {_MARK[mark]} may not part them.", _tie_rule(bond)
        return f"{_MARK[mark].capitalize()} parts words that belong together here.", None
    if mark == "none" and right_one.aside_end is not None:
        return (
            f"The comma at the end of {right_one.right} then has no partner at its beginning.",
            "unpaired-interruption",
        )
    if mark == "none":
        return (
            f"Without a mark, nothing shows where {seen.left} ends and {seen.right} begins.",
            None,
        )
    if mark == "colon":
        return f"After a colon you expect what was announced, but {seen.right} is not that.", None
    if wanted == "colon" and (mark == "comma" or seen.asks):
        small = "A comma only makes a small break. " if mark == "comma" else ""
        return (
            f"{small}{right_one.left} announces what follows, and {_MARK[mark]} does not show "
            "that.",
            None,
        )
    if mark == "comma":
        return f"A comma is not the mark for the break between {seen.left} and {seen.right}.", None
    if mark == "dash":
        return f"A dash makes a break here that has no partner and no reason: {seen.right}.", None
    if left is None or right is None:
        return (
            f"{_MARK[mark].capitalize()} ends a thought, but {seen.right} seems to belong to it.",
            None,
        )
    return (
        f"{_MARK[mark].capitalize()} ends the thought too early: {seen.right} still belongs to it.",
        None,
    )


def _against_semicolon(seen: _Seen) -> str:
    """What is wrong with a semicolon where a period fits."""
    where, facts = seen.seam.placed, seen.facts
    first = facts.joined.tokens[facts.cut]
    word = where.passage[facts.at[2] :].split()[0].strip(",;:.?!")
    if word[:1].isupper() and first.pos != "PROPN" and word != "I":
        return (
            "After a semicolon the same sentence goes on, but the capital of "
            f"“{word}” begins a new one."
        )
    return f"A semicolon ties {seen.left} and {seen.right} more closely than these thoughts need."


def _against_gapped(seen: _Seen) -> str:
    """What is wrong with another mark where a comma stands for the verb of the second part."""
    mark = seen.seam.mark
    if mark == "none":
        return f"Without a mark, nothing shows where {seen.left} ends and {seen.right} begins."
    if seen.facts.gapped and mark == "comma":
        return (
            f"With a comma before {seen.right} too, the parts look like a list, and nothing shows "
            "that a verb is left out."
        )
    if mark == "comma":
        return (
            f"{seen.right} has no verb of its own, and no mark shows where it was left out. Some "
            "books print it so; the semicolon with a comma is clearer."
        )
    return (
        f"{_MARK[mark].capitalize()} cuts {seen.right} off from the first part, from which it "
        "takes its verb."
    )


def _by_brackets(case: Case, best: int, path: Path, seen: _Seen) -> Explained:
    """Choices that all have the bracket and differ in the mark beside it."""

    def beside(n: int) -> tuple[str, str]:
        """What stands before and after the bracket in a choice."""
        gap = next((s.gap for s in case.seams[n] if s.mark == "bracket"), "")
        before, _, after = gap.strip().replace("(", ")").partition(")")
        return before.strip(), after.strip()

    inside, outside = beside(best)
    finding = "The bracket ends the aside. The main sentence needs no other mark here."
    if outside:
        finding = "The bracket ends the aside. The mark after it belongs to the main sentence."
    elif inside:
        finding = "The mark belongs to the aside, so it stands inside the bracket."
    path.add("Ask what the bracket closes, and what the main sentence needs.", finding,
             seen.both)  # fmt: skip
    path.add(
        "Choose the wording that does this.",
        f"{named(case.choices[best].words)} does.",
        seen.both,
    )
    reasons: list[Reason] = []
    for n, choice in enumerate(case.choices):
        if n == best:
            reasons.append((finding, seen.both))
            continue
        own_inside, own_outside = beside(n)
        text = "This is not the mark that the sentence needs beside the bracket."
        if own_inside and not inside:
            text = "The mark stands inside the bracket, but it does not belong to the aside."
        elif outside and not own_outside:
            text = "The main sentence needs a mark here, and there is none."
        elif own_outside and not outside:
            text = "The main sentence goes on here, so no mark may cut it."
        reasons.append((text, seen.both))
        path.add(f"Test {named(choice.words)}.", text, seen.both)
    return Explained(path.steps, reasons)


def _by_words(case: Case, best: int) -> Explained:
    path = Path()
    cut = [tuple(bare(w) for w in split_words(c.words).words) for c in case.choices]
    owner = any(mark in case.choices[best].words for mark in "'’")
    if len(set(cut)) == 1 or (owner and cut.count(cut[best]) > 1):
        start, end = case.gap
        passage = case.item.passage
        sides = quote(case, Span(max(0, passage.rfind(".", 0, start) + 1), start), "clause")
        path.add(
            "The choices differ in apostrophes. Look at the words beside the place.",
            f"The words before it are {_short(' '.join(passage[:start].split()[-6:]))}; after it "
            f"comes {_short(passage[end : _next_words(passage, end, 5)])}.",
            sides + quote(case, Span(end, _next_words(passage, end)), "cue"),
        )
        return _apostrophes(case, best, path)
    words = speaking_words(case, best)
    evidence = quote(case, words, "cue") if words is not None else []
    path.add(
        "The choices differ in words too. Read each with the words after it.",
        f"{_short(words.of(case.item.passage))} fits {named(case.choices[best].words)} best."
        if words is not None
        else "The passage has no single signal that decides.",
        evidence,
    )
    reasons = [
        (f"{named(c.words)} {'reads best' if n == best else 'reads less well'} here.", evidence)
        for n, c in enumerate(case.choices)
    ]
    return Explained(path.steps, reasons)


def _next_words(passage: str, start: int, count: int = 3) -> int:
    at = start
    for _ in range(count):
        while at < len(passage) and passage[at].isspace():
            at += 1
        while at < len(passage) and not passage[at].isspace():
            at += 1
    return at


def _apostrophes(case: Case, best: int, path: Path) -> Explained:
    start, end = case.gap
    passage = case.item.passage
    evidence = quote(case, Span(end, _next_words(passage, end)), "cue")
    before = quote(case, Span(passage.rfind(" ", 0, max(start - 12, 0)) + 1, start), "cue")
    chosen = split_words(case.choices[best].words).words
    path.add(
        "Ask of each word whether something belongs to it, and whether it means one or more.",
        " ".join(_owner(word, chosen[n + 1 :]) for n, word in enumerate(chosen)),
        before + evidence,
    )
    path.add(
        "Choose the wording that shows this.",
        f"{named(case.choices[best].words)} does.",
        before + evidence,
    )
    reasons: list[Reason] = []
    for n, choice in enumerate(case.choices):
        if n == best:
            reasons.append((f"{named(choice.words)} shows who owns what.", before + evidence))
            continue
        text = _wrong_forms(choice.words, case.choices[best].words)
        reasons.append((text, before + evidence))
        path.add(f"Test {named(choice.words)}.", text, before + evidence)
    return Explained(path.steps, reasons)


def _owner(word: str, after: Sequence[str]) -> str:
    plain = word.replace("’", "'")
    owned = f" What follows, “{after[0]}”, belongs to it." if after else ""
    if plain.endswith("s'"):
        return f"“{word}” is more than one owner.{owned}"
    if plain.endswith("'s"):
        return f"“{word}” is one owner, or a plural without s.{owned}"
    if plain.endswith("s"):
        return f"“{word}” owns nothing here; it is a simple plural or verb."
    return ""


def _wrong_forms(words: str, right: str) -> str:
    for one, two in zip(split_words(words).words, split_words(right).words, strict=False):
        if one.replace("’", "'") == two.replace("’", "'"):
            continue
        plain = one.replace("’", "'")
        if apostrophe_faults(one, "") or plain.endswith("'s'"):
            return f"“{one}” is not an English form; the passage needs “{two}”."
        if plain.endswith("s'"):
            return f"“{one}” would mean that several own what follows; here it must be “{two}”."
        if plain.endswith("'s"):
            return f"“{one}” would make this word an owner, or mean “is”; here it must be “{two}”."
        return f"“{one}” has no apostrophe, so nothing shows an owner; here it must be “{two}”."
    return "The mark after these words does not belong there."

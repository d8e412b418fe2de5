"""Relations that grammar settles, where the model's shares would mislead.

The treebank has few commands and little speech, so a model of its counts reads *while* before a
command as a concession, and *or* after one as a choice. Here the forms of the two verbs decide.
"""

from __future__ import annotations

from rwtools.text import Text, Token
from rwtools.text.clauses import own_subject
from rwtools.transitions.candidates import Candidate
from rwtools.transitions.features import sides
from rwtools.transitions.forms import concedes

__all__ = ["commands", "in_speech", "settled", "waits"]

_FINITE = frozenset({"VBD", "VBZ", "VBP", "MD"})
_BARE = frozenset({"VB", "VBP"})
_SPARED = frozenset({"RB", "UH", "CC"})
_DETERMINERS = frozenset({"DT", "PRP$"})
_OPENING_QUOTES = frozenset({"“", '"', "``"})
_CLOSING_QUOTES = frozenset({"”", '"', "''"})
# Verbs of state hold at one time with anything, so *while* with them may well concede.
_STATES = frozenset(
    "acknowledge admit agree appear appreciate be believe belong concede contain cost deserve "
    "doubt exist grant have know lack like love matter mean need own prefer realise realize "
    "recognise recognize remain resemble respect seem support sympathise sympathize think "
    "understand want"
    .split()
)  # fmt: skip
_LONGEST_FRAME = 8  # words that say who speaks
_CONCLUDING = frozenset({"must", "shall", "will", "’ll", "'ll", "’d", "'d", "may", "can", "might"})
_POINTING = frozenset({"it", "that", "this"})
_NEEDED = frozenset({"must", "should", "need", "ought"})
_FUTURE = frozenset({"will", "'ll", "’ll", "shall", "wo", "would", "'d", "’d"})


def settled(text: Text, candidate: Candidate, sense: str) -> tuple[str, str | None] | None:
    """The sense and the direction that the forms around a connective settle (None: they settle
    nothing). ``sense`` is the likeliest one so far."""
    form = candidate.form
    if concedes(text, candidate) is not None:
        return "comparison.concession", "expectation"
    if form == "as" and (_likens(text, candidate) or _imagines(text, candidate)):
        return "comparison.similarity", None
    if form == "rather":
        return "expansion.substitution", "chosen"
    if form == "lest":
        return "contingency.purpose", "goal"  # so that ... not
    if form == "now that":
        return "contingency.cause", "reason"
    if form == "and" and sense == "contingency.cause" and _behind_speech(text, candidate):
        return "expansion.conjunction", None
    if form in ("while", "whilst") and sense == "comparison.concession":
        return ("temporal.synchronous", None) if _goes_on_meanwhile(text, candidate) else None
    if form == "whilst" and sense == "temporal.synchronous" and _is_state(text, candidate):
        return "comparison.concession", "expectation"  # as *while*; the treebank has four of it
    if form in ("or", "or else", "otherwise") and _if_not(text, candidate):
        return "contingency.negative-condition", "consequence"
    if form == "then" and _in_that_case(text, candidate):
        return "contingency.condition", "consequence"
    if form in ("i.e.", "that is", "that is to say"):
        return "expansion.equivalence", None  # the treebank never marks them as links
    if form == "namely":
        return "expansion.level-of-detail", "detail"
    return None


def waits(text: Text, candidate: Candidate) -> bool:
    """Whether *not until* opens a sentence: *Not until the fog lifted did the ferry sail*. What
    *until* brings in comes first in time then: the other clause says what did happen."""
    first = candidate.first
    if candidate.form not in ("till", "until") or first == 0:
        return False
    word = text.tokens[first - 1]
    return word.lower == "not" and word.i == text.sentences[word.sent].first


def _likens(text: Text, candidate: Candidate) -> bool:
    """Whether *as* joins two clauses with the same verb: *I loathed it as a prisoner loathes his
    cell*. That likens the two and gives no reason (common practice, no published source). A subject
    that points back, or a modal, makes it a reason: *Don't make jokes, as this can make you foes*.
    """
    both = sides(text, candidate)
    if both.left is None or both.right is None:
        return False
    one, other = text.tokens[both.left], text.tokens[both.right]
    if other.lemma == "do" and _ends_with(text, other):
        subject = own_subject(text, other.i)  # *He sang as his father did*
        return subject is not None and subject.pos in ("NOUN", "PROPN")
    if one.pos != "VERB" or other.pos != "VERB" or one.lemma != other.lemma:
        return False
    subject, modal = own_subject(text, other.i), text.child(other.i, "aux")
    return (subject is None or subject.lower not in _POINTING) and (
        modal is None or modal.tag != "MD"
    )


def _ends_with(text: Text, verb: Token) -> bool:
    """Whether a mark or the end of the text comes right after a verb."""
    return verb.i + 1 == len(text.tokens) or text.tokens[verb.i + 1].is_punct


def _imagines(text: Text, candidate: Candidate) -> bool:
    """Whether *as* likens an act to one that is only thought of: *She took it, as one might lift a
    dead moth*. Its subject is *one* or means anybody (*as a child would*), and no pronoun is its
    object: *He took a coat, as one might need it* gives a reason."""
    both = sides(text, candidate)
    if both.left is None or both.right is None:
        return False
    verb = text.tokens[both.right]
    modal = verb if verb.tag == "MD" else text.child(verb.i, "aux")
    if modal is None or modal.lower not in ("might", "would"):
        return False
    if verb.lemma in _STATES | {"be"} or text.tokens[both.left].pos != "VERB":
        return False
    subject, thing = own_subject(text, verb.i), text.child(verb.i, "dobj")
    if subject is None or (thing is not None and thing.pos == "PRON"):
        return False
    article = text.child(subject.i, "det")
    anybody = article is not None and article.lower in ("a", "an")
    return (subject.lower == "one" and subject.pos in ("PRON", "NUM", "NOUN")) or anybody


def _behind_speech(text: Text, candidate: Candidate) -> bool:
    """Whether *and* stands behind the words that say who spoke: *“Are you coming?” he asked, and
    the girl nodded*. The second clause answers what was said, not that it was said."""
    tokens, end = text.tokens, candidate.first
    if end < 4 or tokens[end - 1].text != ",":
        return False
    closed = end - 2
    while closed > 0 and not tokens[closed].is_punct:
        closed -= 1
    frame = tokens[closed + 1 : end - 1]
    # the mark before the closing one tells speech from a word that is named
    spoken = tokens[closed].text in _CLOSING_QUOTES and tokens[closed - 1].is_punct
    return spoken and len(frame) <= _LONGEST_FRAME and any(t.tag in _FINITE for t in frame)


# ---------------------------------------------------------------- commands


def commands(text: Text, first: int, last: int) -> bool:
    """Whether a stretch of a sentence is a command: *Warm the oil slowly*. The parser often takes
    its first word for a noun or an adjective; then the determiner right behind it, and no finite
    verb after that, tell it from one."""
    words = [t for t in text.tokens[first:last] if not t.is_punct]
    while words and (words[0].tag in _SPARED or words[0].lower == "please"):
        words.pop(0)
    if not words:
        return False
    verb = words[0]
    if verb.lower in ("do", "don") and len(words) > 1 and words[1].lower in ("not", "n't", "n’t"):
        return verb.lower == "don" or own_subject(text, verb.i) is None
    if verb.tag in _BARE:
        return (
            verb.pos == "VERB"
            and verb.dep not in ("aux", "auxpass")
            and _lacks_subject(text, verb, first)
        )
    if verb.tag not in ("NN", "JJ", "NNP") or len(words) < 2:
        return False
    return words[1].tag in _DETERMINERS and not any(t.tag in _FINITE for t in words[1:])


def _lacks_subject(text: Text, verb: Token, first: int) -> bool:
    subject = own_subject(text, verb.i)
    return subject is None or subject.i < first


# ---------------------------------------------------------------- while


def _goes_on_meanwhile(text: Text, candidate: Candidate) -> bool:
    """Whether *while* can only mean "at the same time": something goes on in its clause, and a
    command follows (*While they soften, crush the thyme*), or something happens during what the
    progressive shows (*While the boys were sleeping, the river rose*).

    The progressive as a frame in time: Quirk, Greenbaum, Leech and Svartvik (1985), "A
    Comprehensive Grammar of the English Language", 4.36 (the section from memory).
    """
    tokens = text.tokens
    both = sides(text, candidate)
    if both.right is None:
        return False
    verb = tokens[both.right]
    if verb.pos != "VERB" or verb.lemma in _STATES:
        return False
    auxiliaries = [tokens[c] for c in text.children[verb.i] if tokens[c].dep == "aux"]
    if any(a.tag == "MD" for a in auxiliaries):
        return False
    if _command_beside(text, candidate):
        return True
    framed = verb.tag == "VBG" and any(a.lower in ("was", "were") for a in auxiliaries)
    if not framed or both.left is None:
        return False
    main = tokens[both.left]
    denied = text.child(main.i, "neg") is not None
    return main.tag == "VBD" and main.lemma not in _STATES and not denied


def _is_state(text: Text, candidate: Candidate) -> bool:
    """Whether the clause of a connective says how something is, not what goes on."""
    right = sides(text, candidate).right
    if right is None:
        return False
    verb = text.tokens[right]
    return verb.lemma == "be" or verb.lemma in _STATES


def _command_beside(text: Text, candidate: Candidate) -> bool:
    """Whether a command stands before the conjunction, or after the comma that ends its clause."""
    sentence = text.sentences[text.tokens[candidate.first].sent]
    if any(not t.is_punct for t in text.tokens[sentence.first : candidate.first]):
        if text.tokens[candidate.first - 1].is_punct:
            return False
        return commands(text, sentence.first, candidate.first)
    commas = (t.i for t in text.tokens[candidate.last : sentence.last] if t.text == ",")
    return any(commands(text, comma + 1, sentence.last) for comma in commas)


# ---------------------------------------------------------------- or


def _if_not(text: Text, candidate: Candidate) -> bool:
    """Whether *or* means "if not": after a command or what must be done comes what will happen
    otherwise (*Warm the oil slowly, or it will smoke*).

    Quirk, Greenbaum, Leech and Svartvik (1985), 13.31, *or* with a negative condition (the section
    from memory).
    """
    tokens = text.tokens
    first, last = _clause_before(text, candidate)
    if first >= last:
        return False
    body = candidate.last
    while body < len(tokens) and tokens[body].text == ",":
        body += 1
    end = text.sentences[tokens[candidate.first].sent].last
    verb = next((t for t in tokens[body:end] if t.tag in _FINITE or t.is_punct), None)
    if verb is None or verb.lower not in _FUTURE or verb.tag != "MD" or verb.i == body:
        return False
    if commands(text, first, last):
        return verb.lower not in ("would", "'d", "’d")
    before = tokens[first:last]
    modal = next((t for t in before if t.tag in _FINITE), None)
    if modal is None:
        return False
    if modal.lower == "should" and tokens[body].lower not in ("you", "it"):
        # *He should paint the door, or he will mend the lock* may well offer a choice
        return False
    if modal.lower in _NEEDED and modal.tag in ("MD", "VBP"):
        return True
    after = tokens[modal.i + 1 : modal.i + 3]
    had_to = modal.lemma in ("have", "need") and [t.lower for t in after][:1] == ["to"]
    better = modal.lower in ("had", "'d", "’d") and [t.lower for t in after][:1] == ["better"]
    return had_to or better


def _clause_before(text: Text, candidate: Candidate) -> tuple[int, int]:
    """The words before a link, back to a stronger mark; where it opens its sentence, the sentence
    before."""
    tokens = text.tokens
    sentence = text.sentences[tokens[candidate.first].sent]
    last = candidate.first
    while last > sentence.first and (tokens[last - 1].is_punct or tokens[last - 1].tag == "CC"):
        last -= 1
    if last == sentence.first:
        if sentence.index == 0:
            return 0, 0
        sentence = text.sentences[sentence.index - 1]
        last = sentence.last
    first = last
    while first > sentence.first and tokens[first - 1].text not in (";", ":", "—"):
        first -= 1
    return first, last


# ---------------------------------------------------------------- then


def _in_that_case(text: Text, candidate: Candidate) -> bool:
    """Whether *then* at the head of a sentence means "in that case": in speech, before a present
    state (*Then we are colleagues*), before what must be so (*Then you must be her brother*), or as
    the first word of a reply before what somebody will do.

    Conjuncts of inference: Quirk, Greenbaum, Leech and Svartvik (1985), 8.137 (the section from
    memory).
    """
    tokens = text.tokens
    sentence = text.sentences[tokens[candidate.first].sent]
    before = tokens[sentence.first : candidate.first]
    if any(not t.is_punct for t in before):
        return False
    rest = tokens[candidate.last : sentence.last]
    if _asks(rest):
        return True
    verb = next((t for t in rest if t.tag in _FINITE or t.is_punct), None)
    if verb is None or verb.tag not in ("VBP", "VBZ", "MD") or verb.i == candidate.last:
        return False
    subject = rest[: verb.i - candidate.last]
    if subject[0].lower in ("there", "here") or not _stands_as_subject(subject):
        return False
    following = next((t for t in tokens[verb.i + 1 : sentence.last] if t.pos != "ADV"), None)
    state = following is not None and following.lemma in ("be", "have")
    if verb.lower == "must" and state:
        return True
    if not in_speech(text, candidate.first):
        return False
    if verb.tag == "MD":
        return verb.lower in _CONCLUDING and _replies(text, candidate.first)
    if verb.lemma not in _STATES or (following is not None and following.tag in ("VBG", "VBN")):
        return False
    timed = subject[0].lower == "it" and verb.lemma == "be"
    return not timed


def _asks(words: tuple[Token, ...]) -> bool:
    """Whether *why* or a present auxiliary before its subject opens a question: *Then is it true?*
    Not *Then what happened?*, which asks for the next event."""
    if len(words) < 3 or not any(t.text == "?" for t in words):
        return False
    present = words[0].pos == "AUX" and words[0].tag in ("VBZ", "VBP")
    return words[0].lower == "why" or (present and words[1].pos in ("PRON", "DET", "PROPN"))


def _stands_as_subject(words: tuple[Token, ...]) -> bool:
    return words[0].pos in ("PRON", "DET", "NOUN", "PROPN", "NUM") and all(
        t.pos in ("PRON", "DET", "NOUN", "PROPN", "NUM", "ADJ", "ADV", "ADP", "PART") for t in words
    )


def in_speech(text: Text, index: int) -> bool:
    """Whether a word stands between quotation marks, counted from the start of its paragraph."""
    start = text.tokens[index].start
    opened = text.passage.rfind("\n\n", 0, start) + 1
    before = text.passage[opened:start]
    return before.rfind("“") > before.rfind("”") or before.count('"') % 2 == 1


def _replies(text: Text, index: int) -> bool:
    """Whether a word opens speech right behind other speech, so that somebody else speaks."""
    tokens = text.tokens
    return (
        index >= 2
        and tokens[index - 1].text in _OPENING_QUOTES
        and tokens[index - 2].text in _CLOSING_QUOTES
    )

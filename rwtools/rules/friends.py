"""False friends: patterns that look like a boundary fault and are sound.

Series of short clauses, tag questions, quotations, asides, *the more ..., the more ...*, contact
clauses (*the book the man wrote*), introductory clauses, commands. They speak against a suspicion
whatever a model says.
"""

from __future__ import annotations

from functools import cache
from itertools import pairwise, takewhile

from rwtools.resources import artifact, load_json
from rwtools.rules.absolutes import is_absolute, is_part_described
from rwtools.rules.links import link_length
from rwtools.rules.pairs import is_balanced
from rwtools.rules.places import ADVERBS, FINITE, Place
from rwtools.text import Sentence, Text, Token
from rwtools.text.clauses import own_subject

__all__ = [
    "JOINING",
    "SPEECH",
    "agrees",
    "false_friend",
    "is_bare",
    "is_command",
    "is_whole",
    "leaves_gap",
    "may_be_fragment",
    "needless",
    "opens_dependent",
    "possible",
]

_TAG_WORDS = frozenset(
    "is are was were do does did has have had can could will would should must may might am "
    "isn't aren't wasn't weren't don't doesn't didn't hasn't haven't hadn't can't couldn't won't "
    "wouldn't shouldn't ain't isn aren wasn weren don doesn didn hasn haven hadn wouldn couldn "
    "shouldn so neither nor ca wo".split()
)
SPEECH = frozenset(
    "say ask cry call reply answer shout whisper exclaim wonder murmur add tell yell mutter "
    "demand remark think believe suppose guess know fear hope suspect imagine claim insist "
    "argue note explain write report announce declare warn suggest conclude recall observe "
    "promise admit see hear feel mean pray wish assume find show prove ensure understand learn "
    "realize decide agree feel indicate state notice remember".split()
)
_SEEMING = frozenset({"appear", "seem", "turn", "happen"})
_OPENERS = frozenset(
    "because although though since while when whenever if unless until till after before as "
    "whereas once lest whether wherever where that who which whom whose what how why".split()
)
_LATE = frozenset(
    "whereas such when after because if while until as since where although though".split()
)


# ---------------------------------------------------------------- is it a whole sentence?


def is_whole(text: Text) -> bool:
    """Whether a stretch parsed alone stands as a sentence: its root is a finite verb, not made
    dependent, with a subject that begins it (after adverbs, phrases closed by a comma, or an
    introductory clause)."""
    root = next((t for t in text.tokens if t.dep == "ROOT"), None)
    clause = None if root is None else text.clause_of_head.get(root.i)
    if clause is None or not clause.finite or clause.kind != "independent":
        return False
    subject = own_subject(text, clause.head)
    if subject is None:
        return False
    words = [t for t in text.tokens if not t.is_punct]
    k = 0
    while k < len(words) - 1 and words[k].tag in ("CC", "RB"):
        k += 1
    linked = words[0].lower in ADVERBS and words[1].lower != "of"  # instead of
    opener = words[k].lower in _OPENERS and words[k].tag not in ("DT", "PRP")
    if text.passage.endswith("?"):
        return True
    start = text.subtree(subject.i)[0]
    if subject.dep == "csubj" or words[k].dep in ("nsubj", "nsubjpass"):
        return True  # what remains | demands patience
    if opener and not (linked and words[k].dep == "prep"):
        return any(t.text == "," for t in text.tokens[words[k].i : start])
    if subject.i > clause.head:
        return subject.dep == "expl" or text.tokens[clause.head].pos == "AUX" or start > 2
    if start == 0 or text.tokens[start - 1].pos not in ("NOUN", "PROPN", "NUM"):
        return True
    if start == link_length(text.tokens):
        return True  # for instance | a smuggler appears in both
    return linked and _fronts(text, clause.head, start)


_ADVERBIAL = frozenset({"advmod", "npadvmod", "prep", "neg", "punct", "cc"})


def _fronts(text: Text, head: int, start: int) -> bool:
    """Whether only adverbials of its verb stand before the subject of a stretch that a linking
    adverb opens: *however in winter | the wind came through*. Without the adverb the phrase could
    be the end of what came before. Where a bare *be* has only the phrase to complete it, the phrase
    is what *however* grades: *however in need of repair it was*."""
    bare = text.tokens[head].lemma == "be" and text.child(head, *_COMPLEMENTS) is None
    return not bare and all(
        text.tokens[i].dep in _ADVERBIAL for i in text.children[head] if i < start
    )


def is_command(text: Text) -> bool:
    """Whether a stretch parsed alone is a command: ``Bring the lamp``."""
    words = [t for t in text.tokens if not t.is_punct and t.tag not in ("RB", "UH", "CC")]
    if not words or words[0].tag not in ("VB", "VBP"):
        return False
    return words[0].dep == "ROOT" and own_subject(text, words[0].i) is None


# ---------------------------------------------------------------- places


def possible(text: Text, place: Place) -> set[str]:
    """Which faults no known pattern rules out at a place."""
    joined = text.tokens[place.right].tag == "CC"
    if place.kind == "semicolon":
        return set() if false_friend(text, place) else {"unequal"}
    found = set()
    if joined:
        label = "second" if place.kind == "comma" else "compound"
        if not needless(text, place, label):
            found.add(label)
    elif not false_friend(text, place):
        found.add("strong")
    if place.kind == "none" and not joined and _introduces(text, place):
        found.add("intro")
    return found


def _introduces(text: Text, place: Place) -> bool:
    """Whether the left side may be an introductory clause or participle phrase."""
    opening = text.tokens[place.first : min(place.first + 3, place.left + 1)]
    return any(t.tag in ("IN", "WRB", "VBG", "VBN", "TO") for t in opening) and not needless(
        text, place, "intro"
    )


def false_friend(text: Text, place: Place) -> bool:
    """Whether a known pattern makes the place sound in spite of two finite verbs."""
    tokens = text.tokens
    left, right = place.left, place.right
    between = text.passage[tokens[left].end : tokens[right].start]
    if place.kind == "semicolon":
        sentence = text.sentences[tokens[left].sent]
        if sum(t.text == ";" for t in text.sentence_tokens(sentence)) > 1:
            return True
        if _ellipsis(text, place):
            return True
        halves = ((place.first, left), (right, place.last))
        return all(
            _verb_to_spare(text, [t for t in tokens[a : b + 1] if not t.is_punct])
            for a, b in halves
        )
    if any(c in '"“”‘([{:' for c in between) or "--" in between or "—" in between:
        return True
    words_right = [t for t in tokens[right : place.last + 1] if not t.is_punct]
    words_left = [t for t in tokens[place.first : left + 1] if not t.is_punct]
    if len(words_right) < 2 or len(words_left) < 2 or "." in between:
        return True
    stands = place.kind == "comma" and words_left[-1].dep in _NOUN_ROLES  # appears in both, | it
    if words_left[-1].tag in ("CC", "IN", "TO") or (words_left[-1].tag == "DT" and not stands):
        return True
    if len(words_left) == 2 and words_left[0].tag != "PRP":
        return True
    if _in_brackets(text, place) or _half_open(text, place):
        return True
    if words_left[0].tag in ("VBG", "VBN") and not any(
        t.text == "," or t.lower in _AFTER_ACTION for t in tokens[place.first : left + 1]
    ):
        return True
    if words_right[0].text[:1].isupper() and words_right[0].tag in ("WP", "WRB", "WDT", "MD"):
        return True  # the question is, Who pays?
    last_mark = text.passage[text.sentences[tokens[left].sent].end - 1]
    if last_mark == "?" and len(words_right) <= 4 and _is_tag(words_right):
        return True
    if _waits(text, place):
        return True
    if words_right[0].tag in ("WP", "WRB") and words_left[-1].lemma in SPEECH:
        return True
    if words_right[0].tag == "CC" or _ties(text, words_right):
        return True
    if words_right[0].lower == "however" and _to_whatever_degree(words_right):
        return True
    if place.kind == "comma":
        return _comma_friend(text, place, words_left, words_right)
    return _gap_friend(text, words_left, words_right)


def _ellipsis(text: Text, place: Place) -> bool:
    """``By his watch it is three; by hers, five minutes past.`` A verb that is left out."""
    left = text.tokens[place.first : place.left + 1]
    right = text.tokens[place.right : place.last + 1]
    first = list(takewhile(lambda t: t.text != ",", right))  # "others by land, carrying flour"
    if any(t.tag in FINITE or t.tag in ("VB", "WDT") for t in right):
        return False
    if any(t.tag in ("VBG", "VBN") for t in first):
        return False
    opened = right[0].tag in ("IN", "WRB") and right[0].lower in _OPENERS | _TIED
    return not opened and _verb_to_spare(text, [t for t in left if not t.is_punct])


def _in_brackets(text: Text, place: Place) -> bool:
    sentence = text.sentences[text.tokens[place.left].sent]
    before = text.passage[sentence.start : text.tokens[place.left].end]
    return before.count("(") > before.count(")") or before.count("[") > before.count("]")


def _is_tag(words: list[Token]) -> bool:
    """``haven't you?``, ``did they?``: an auxiliary and a pronoun, no more."""
    own = ("yours", "mine", "ours", "theirs", "hers", "his")
    known = all(t.lower in _TAG_WORDS or t.tag in ("PRP", "RB", "EX") for t in words)
    return known and words[0].lower in _TAG_WORDS and words[-1].lower not in own


_NOUN_ROLES = frozenset({"attr", "conj", "dobj", "nsubj", "pobj"})
_FIXED = {("of", "course"), ("at", "least"), ("at", "most"), ("in", "fact"), ("after", "all")}


def _half_open(text: Text, place: Place) -> bool:
    """Whether the left side's last part is only a phrase before the right side: *..., and in turn
    | the crop fails*; *..., and, of those, | one fails*."""
    tokens = text.tokens
    start = place.left
    while start > place.first and tokens[start - 1].text != "," and tokens[start - 1].tag != "CC":
        start -= 1
    part = tokens[start : place.left + 1]
    if any(t.tag in FINITE for t in part) or start == place.first:
        return False
    before = tokens[start - 1]
    if before.text == "," and tokens[start - 2].tag == "CC":
        return True
    if place.kind == "none" and before.text == "," and part[0].lower in ADVERBS:
        return [t.tag for t in part[1:2]] == ["IN"]  # the fault is before "however in winter"
    return before.tag == "CC" and part[0].tag in ("IN", "RB") and part[0].head >= place.right


_TIED = frozenset("which who whom whose so especially particularly including namely".split())


def _ties(text: Text, words: list[Token]) -> bool:
    """Whether the right side opens with a word that ties it to the left side."""
    word = words[0]
    if word.lower == "that":
        return words[1].lower not in ("is", "was", "will", "would", "means", "'s", "’s")
    if word.lower in _TIED or (word.lower == "such" and words[1].lower in ("as", "that")):
        return True
    if word.lower == "however" and words[1].tag in ("JJ", "RB"):
        return words[1].lower not in _AFTER_HOWEVER  # however old they were
    fixed = (word.lower, words[1].lower) in _FIXED
    if word.tag == "IN" and not fixed and word.lower not in _OPENERS:
        # a phrase in front needs its comma to be one, else it belongs to the left side
        return not any(text.tokens[i].text == "," for i in range(word.i, words[:9][-1].i))
    return word.lower in _LATE and word.tag in ("IN", "WRB", "JJ")


def _waits(text: Text, place: Place) -> bool:
    """Whether the left side is an introductory clause that still waits for its main clause: it
    opens with a subordinator (maybe after a phrase) and has no finite verb to spare."""
    tokens = text.tokens[place.first : place.left + 1]
    opener = next(
        (
            t
            for t in tokens
            if t.lower in _OPENERS and t.tag in ("IN", "WRB", "RB") and t.lower != "that"
            and (t.i == place.first or text.tokens[t.i - 1].is_punct
                 or text.tokens[t.i - 1].tag in ("CC", "RB"))
        ),
        None,
    )  # fmt: skip
    if opener is None and len(tokens) > 1 and _whatever(tokens):
        opener = tokens[0]  # had they known, ...; however hard they tried, ...
    if opener is None or any(t.tag in FINITE for t in tokens[: opener.i - place.first]):
        return False
    after = tokens[opener.i - place.first + 1 :]
    verb = next((t.i for t in after if t.tag in FINITE), None)
    if verb is not None and any(t.text == "," and t.i < verb for t in after):
        return False  # since 2019, the shop has ...: a phrase, and the main clause after it
    finite = sum(t.tag in FINITE for t in after)
    inner = sum(t.tag in ("WDT", "WP", "WRB") or t.dep == "mark" for t in after)
    return finite <= inner + 1


def _whatever(tokens: tuple[Token, ...]) -> bool:
    """Whether a clause opens with an auxiliary before its subject, or with *however* in the sense
    of *no matter how*: no comma keeps the word apart."""
    first = tokens[0].lower
    return first in ("had", "were", "should") or (first == "however" and tokens[1].text != ",")


def agrees(text: Text, offset: int, side: Text) -> bool:
    """Whether the verb that makes a stretch (which begins at ``offset``) a sentence when parsed
    alone is read as a finite verb in its own place too."""
    root = next((t for t in side.tokens if t.dep == "ROOT"), None)
    if root is None:
        return False
    group = [root, *(side.tokens[i] for i in side.children[root.i])]
    verbs = [t for t in group if t.tag in FINITE]
    there = [text.token_at(offset + t.start) for t in verbs]
    if not any(t is not None and t.tag in FINITE for t in there):
        return False
    main = text.token_at(offset + root.start)
    # not so where it describes a noun of the same side: "the stages each cell goes through"
    return main is None or not (
        main.dep in ("relcl", "acl") and offset <= text.tokens[main.head].start < main.start
    )


def _comma_friend(
    text: Text, place: Place, words_left: list[Token], words_right: list[Token]
) -> bool:
    tokens = text.tokens
    if is_balanced(text, words_left, words_right):
        return True
    if _has_absolute(text, place) or is_part_described(words_left, words_right):
        return True
    if _not_only(words_left, words_right):
        return True
    asked = text.passage[text.sentences[tokens[place.left].sent].end - 1] == "?"
    if len(words_right) < 3 and not asked and not _tells_enough(words_right):
        return True
    commas = [t.i for t in tokens[place.first : place.last + 1] if t.text == ","]
    if len(commas) >= 2 and _series(text, place, commas, words_right):
        return True
    if _is_told_of(words_right):
        return True
    if words_right[0].lower == "then" and any(
        t.lower in ("if", "when", "where", "since", "once") for t in words_left
    ):
        return True
    # man proposes, God disposes: two very short halves of one build
    if len(commas) == 1 and len(words_left) <= 3 and len(words_right) <= 3:
        return [t.pos == "VERB" for t in words_left] == [t.pos == "VERB" for t in words_right]
    return _aside(place, tokens) or _aside_before(place, tokens)


def _has_absolute(text: Text, place: Place) -> bool:
    """Whether the part before or after a comma, as far as the next comma, is only a noun with a
    participle. After a whole clause and before another it tells nothing of how those are joined."""
    tokens = text.tokens
    start = place.left
    while start > place.first and tokens[start - 1].text != ",":
        start -= 1
    if is_absolute(tokens[start : place.left + 1]):
        return not any(t.tag in FINITE for t in tokens[place.first : start])
    end = takewhile(lambda t: t.text != ",", tokens[place.right : place.last + 1])
    return is_absolute([t for t in end if not t.is_punct])


def _tells_enough(words: list[Token]) -> bool:
    """Whether so few words may be a sentence, and do not say who speaks: *Dolan refused*."""
    if words[0].pos in ("PRON", "DET"):
        return True
    return words[0].pos == "PROPN" and words[-1].tag == "VBD" and words[-1].lemma not in SPEECH


def _is_told_of(words: list[Token]) -> bool:
    """Whether a noun only has a participle with its doer: *pingos, | mounds pushed up by ice*."""
    verbs = [k for k, t in enumerate(words) if t.tag in FINITE or t.pos == "AUX"]
    if len(verbs) != 1 or words[verbs[0]].tag != "VBD":
        return False
    k = verbs[0]
    after = [t for t in words[k + 1 : k + 4] if t.tag not in ("RB", "RP")]
    noun = words[k - 1] if k else words[0]
    return noun.pos == "NOUN" and bool(after) and after[0].lower == "by"


def _to_whatever_degree(words: list[Token]) -> bool:
    """``however old they were``: *however* before an adjective or adverb and a subject; and before
    *you* or *one* it may mean *in whatever way*: ``however you look at it``."""
    if len(words) > 1 and words[1].lower in ("you", "one") and words[1].tag in ("PRP", "CD"):
        return True
    if len(words) < 3 or words[1].pos not in ("ADJ", "ADV"):
        return False
    return words[1].lower not in _AFTER_HOWEVER and words[2].tag in ("PRP", "DT", "EX", "PRP$")


# adverbs that have no degrees, so that *however* before them can only link
_AFTER_HOWEVER = frozenset(
    "only then still now also even just never always sometimes here there again already today "
    "tonight tomorrow yesterday".split()
)


def _not_only(words_left: list[Token], words_right: list[Token]) -> bool:
    """``It not only asserts X, it also asserts Y``: a pair that common practice lets stand."""
    left = [t.lower for t in words_left]
    return any(a in ("not", "n't") and b in ("only", "just", "merely") for a, b in pairwise(left))


def _series(text: Text, place: Place, commas: list[int], words: list[Token]) -> bool:
    """I came, I saw, I conquered; or three clauses or more with *and* before the last."""
    parts = [
        [t for t in text.tokens[a + 1 : b] if not t.is_punct]
        for a, b in pairwise([place.first - 1, *commas, place.last + 1])
    ]
    while parts and not any(t.tag in FINITE for t in parts[0]):
        parts = parts[1:]  # an introductory phrase
    if len(parts) < 3 or not all(any(t.tag in FINITE for t in part) for part in parts):
        return False
    if words[0].lower in JOINING:
        return False  # it is deep, | however the ford is safe, and it is used: no list goes on so
    return parts[-1][0].tag == "CC" or _short_and_alike(parts)


JOINING = frozenset(
    "however therefore moreover furthermore nevertheless nonetheless consequently hence".split()
)
"""Linking adverbs that set a clause against what stands before it, so that it begins anew."""


_VERY_SHORT, _SHORT, _LONGEST = 3, 4, 5  # words of all clauses, of most, of one
_OPENS_NOUN = frozenset("DT PRP$ NN NNS NNP NNPS JJ CD".split())


def _short_and_alike(parts: list[list[Token]]) -> bool:
    """Whether clauses are so short, and so much of one build, that commas may part them: *The gate
    swung apart, the bridge fell, the portcullis was drawn up* (Strunk, rule 5)."""
    lengths = [len(part) for part in parts]
    longest = max(lengths)
    if min(lengths) < 2 or longest > _LONGEST or sum(lengths) > _SHORT * len(parts):
        return False
    heads = [next((t for t in part if t.tag != "RB"), part[0]) for part in parts]
    kinds = {t.lower if t.pos == "PRON" else t.tag in _OPENS_NOUN for t in heads}
    return longest <= _VERY_SHORT or len(kinds) == 1


def _aside(place: Place, tokens: tuple[Token, ...]) -> bool:
    """A clause of thinking or saying set between commas (*it appeared*, *he told the council*), or
    a bare one that closes the sentence (*she said*)."""
    end = place.right
    while end <= place.last and tokens[end].text != ",":
        end += 1
    inner = [t for t in tokens[place.right : end] if not t.is_punct]
    speaks = any(t.lemma in SPEECH | _SEEMING for t in inner if t.pos in ("VERB", "AUX"))
    if end <= place.last:
        return len(inner) <= 6 and speaks
    return len(inner) <= 3 and speaks and inner[-1].pos in ("VERB", "AUX", "PROPN", "PRON")


_HEADS = frozenset(
    "way ways time times day days moment reason reasons everything anything something nothing all "
    "those one ones kind kinds thing things extent degree place places fact year years week".split()
)
_COMPLEMENTS = ("dobj", "attr", "acomp", "ccomp", "xcomp", "oprd", "dative", "auxpass", "expl")
_INSIDE = ("amod", "compound", "det", "nmod", "nummod", "poss", "predet")
_OBJECTS = ("dobj", "oprd", "dative", "attr", "prt")
_TRANSITIVE = frozenset(
    "use make take get give find need want have hold know see feel call put bring keep buy build "
    "write read like love collect produce provide require cause show tell send meet follow choose "
    "support carry catch wear create receive".split()
)


def _aside_before(place: Place, tokens: tuple[Token, ...]) -> bool:
    """In such weather, I have found, it is best to stay at home."""
    start = place.left
    while start > place.first and tokens[start - 1].text != ",":
        start -= 1
    inner = tokens[start : place.left + 1]
    return start > place.first and len(inner) <= 4 and inner[-1].lemma in SPEECH | {"seem"}


def _gap_friend(text: Text, words_left: list[Token], words_right: list[Token]) -> bool:
    before, word = words_left[-1], words_right[0]
    if word.pos == "ADV" and word.lower not in ADVERBS | {"here", "there", "now"}:
        return True  # an adverb goes with what stands before it
    verb = next((t.i for t in words_right if t.tag in FINITE), word.i)
    ahead = text.tokens[word.i : verb]
    if word.pos == "ADP" and any(t.text == "," for t in ahead):
        return True  # a phrase that goes on with the clause before it
    if any(a.text == "," and b.tag == "CC" for a, b in pairwise(ahead)):
        return True  # the verb belongs to a clause that *and* joins further on
    opens = word.tag in ("DT", "PRP", "PRP$", "EX", "IN") or word.lower in ADVERBS
    if not opens and before.dep in _INSIDE and text.tokens[before.head].i >= word.i:
        return True  # an adjective or a noun before its noun
    top = word
    while top.dep in _INSIDE and top.head > top.i:
        top = text.tokens[top.head]
    if top.head == before.i and before.pos in ("VERB", "AUX") and top.dep in _OBJECTS:
        return True  # a verb before its object
    if top.dep in ("appos", "compound") and top.pos == "PROPN" and top.head == before.i:
        return True
    if len(word.text) <= 2 and word.text[:1].isupper() and word.text != "I":
        return True
    if before.tag in ("PRP$", "POS", "WDT", "WP", "WRB") or (before.tag == "JJ" and not opens):
        return True
    if before.lower in _HEADS or (before.pos == "NUM" and not opens and word.pos != "PRON"):
        return True
    if word.tag in ("JJR", "RBR") or any(t.tag in ("JJR", "RBR") for t in words_right[1:2]):
        return True  # the further one is from it the less perfect things become
    if before.pos in ("VERB", "AUX") and (before.lemma in SPEECH or before.tag == "VBG"):
        return True  # you know it is late
    if before.dep in ("dobj", "dative") and text.tokens[before.head].lemma in SPEECH:
        return True  # I told her it was late
    return word.text[:1].isupper() and word.lower != "i" and word.pos != "PROPN"


def leaves_gap(text: Text, offset: int, side: Text) -> bool:
    """Whether a stretch parsed alone lacks what its verb takes, as a contact clause does (*the
    book | the man wrote*, *the cause | they fought for*): its missing part is the noun before.
    Where it opens with a pronoun and the whole parse reads it as a relative clause, only a plain
    complement speaks against.
    """
    root = next((t for t in side.tokens if t.dep == "ROOT"), None)
    if root is None:
        return True
    for i in side.children[root.i]:
        if side.tokens[i].dep == "prep" and not side.children[i]:
            return True
    there = text.token_at(offset + root.start)
    first = side.tokens[0]
    if first.lower in ADVERBS:
        return False
    if there is not None and there.dep in ("relcl", "acl") and first.tag == "PRP":
        return side.child(root.i, "dobj", "attr", "acomp") is None
    if side.child(root.i, *_COMPLEMENTS) is not None:
        return False
    after = [t for t in side.tokens[root.i + 1 :] if not t.is_punct]
    return not after or after[0].tag in ("TO", "WRB") or root.lemma in _TRANSITIVE


def needless(text: Text, place: Place, label: str) -> bool:
    """Whether a missing or needless comma is one that good editors allow at this place."""
    tokens = text.tokens
    word = tokens[place.right]
    if label == "second":
        after = tokens[place.right + 1] if place.right < place.last else word
        others = [
            t for t in tokens[place.first : place.last + 1] if t.text == "," and t.i != place.mark
        ]
        rest = place.last - place.right
        return (
            word.lower not in ("and", "or")
            or bool(others)
            or rest > 9
            or place.left - place.first > 14
            or after.pos not in ("VERB", "AUX")
        )
    if label == "compound":
        return _may_go_without(text, place)
    if label == "intro":
        left = tokens[place.left]
        opener = tokens[place.first]
        clause = opener.lower in _OPENERS and any(
            t.tag in FINITE for t in tokens[place.first : place.left + 1]
        )
        starts = word.tag in ("PRP", "DT", "EX", "NN", "NNS", "NNP", "NNPS", "PRP$")
        waits = left.pos in ("AUX", "ADP", "DET", "CCONJ", "SCONJ") and left.dep != "prt"
        return (
            not starts
            or not (clause or opener.tag in ("VBG", "VBN"))
            or waits
            or left.tag in ("TO", "MD", "POS")
            or tokens[place.first].tag == "TO"
            or (left.pos == "VERB" and left.tag in ("VB", "VBG"))
        )
    return False


def _may_go_without(text: Text, place: Place) -> bool:
    """Whether a conjunction between clauses needs no comma: it joins dependent clauses, or the
    clauses are short, or *and* joins two of one build."""
    tokens = text.tokens
    word, after = tokens[place.right], tokens[min(place.right + 1, place.last)]
    if word.tag != "CC" or tokens[place.left].tag == "IN" or _in_brackets(text, place):
        return True
    if after.lower in _OPENERS and after.tag in ("IN", "WRB", "WDT", "WP"):
        return True
    if after.tag in ("VBG", "VBN", "VB") or after.lower in ("that", "instead", "rather", "also"):
        return True
    start = place.left
    while start > place.first and tokens[start - 1].text != ",":
        start -= 1
    left = [t for t in tokens[start : place.left + 1] if not t.is_punct]
    if any(t.lower in ("not", "n't") for t in left) and any(t.lower == "only" for t in left):
        return True
    if any(t.tag in ("WDT", "WP", "WRB") or t.dep == "mark" for t in left):
        return True
    if not any(t.tag in FINITE for t in left) or left[0].tag in ("VB", "IN"):
        return True
    right = [t for t in tokens[place.right + 1 : place.last + 1] if not t.is_punct]
    if not any(t.tag in FINITE for t in right):
        return True
    least = 2 if word.lower in ("but", "yet", "so") else 8
    return min(len(left), len(right)) <= least


# ---------------------------------------------------------------- sentences


_SET_APART = frozenset('"“”()[]:•')


def may_be_fragment(text: Text, sentence: Sentence) -> bool:
    """Whether a sentence could be a fragment: not a heading, quotation, citation or command, and
    without an independent clause of its own."""
    body = text.passage[sentence.start : sentence.end]
    tokens = text.sentence_tokens(sentence)
    words = [t for t in tokens if not t.is_punct]
    if len(words) < 3 or body[-1] != "." or any(t.is_blank for t in tokens):
        return False
    if not _SET_APART.isdisjoint(body) or words[0].text[:1].islower():
        return False
    if words[0].tag in ("LS", "CD", "VB", "VBP", "MD"):
        return False
    if words[1].tag in ("DT", "PRP$", "PRP") and words[0].lower in _finite_forms():
        return False  # a command, whatever the tag: *Lay the chain on the table*
    if words[0].tag == "VBG" and not any(t.text == "," for t in tokens):
        return not any(t.tag in FINITE for t in words)  # finding it took four days
    if _in_quotation(text, sentence):
        return False
    if words[0].lower in ("which", "who", "whom", "whose"):
        return True
    if words[0].lower in ("what", "how", "whatever", "whoever"):
        return False
    return not (_has_main_clause(text, sentence, words) or _verb_to_spare(text, words))


def opens_dependent(text: Text, sentence: Sentence) -> bool:
    """Whether a sentence opens with a word that plainly makes a part of it dependent: a
    subordinator, relative word, participle, or a word that brings examples."""
    word = next((t for t in text.sentence_tokens(sentence) if not t.is_punct), None)
    return word is not None and (
        word.lower in _OPENERS | _TIED | {"such", "like"}
        or word.tag in ("VBG", "VBN", "IN", "TO", "WDT", "WP")
    )


def _has_main_clause(text: Text, sentence: Sentence, words: list[Token]) -> bool:
    """Whether the parse shows an independent clause: after a comma, where a subordinator opens."""
    opener = words[0].lower in _OPENERS and words[0].tag in ("IN", "WRB")
    comma = next((t.end for t in text.sentence_tokens(sentence) if t.text == ","), None)
    for clause in text.clauses:
        head = text.tokens[clause.head]
        if head.sent != sentence.index or clause.subject is None:
            continue
        independent = clause.finite and clause.kind == "independent"
        # an -ed form after its subject may be a past tense that the tagger took for a participle
        perhaps = head.dep == "ROOT" and head.tag in ("VBN", "VB") and not opener
        if not (independent or perhaps) or clause.subject.start > clause.verb.start:
            continue
        if not opener or (comma is not None and clause.subject.start >= comma):
            return True
    return False


def _verb_to_spare(text: Text, words: list[Token]) -> bool:
    """Whether there are more words that may be finite verbs than words that make one dependent,
    whatever the parse says. Behind an opener or a participle only what follows a comma counts."""
    if words[0].lower in ("which", "who", "whom", "whose"):
        return False
    opener = words[0].lower in _OPENERS and words[0].tag in ("IN", "WRB")
    part = words
    if opener or (words[0].tag in ("VBG", "VBN") and words[0].dep != "amod"):
        commas = text.tokens[words[0].i : words[-1].i]
        comma = next((t.i for t in commas if t.text == ","), None)
        if comma is None:
            return words[0].tag == "VBG" and _action_is_subject(text, words)
        part = [t for t in words if t.i > comma]
    finite = sum(t.tag in FINITE or _may_be_finite(text, t) for t in part)
    return finite > _clauses_marked(text, part)


def _action_is_subject(text: Text, words: list[Token]) -> bool:
    """``Finding it took four days``: the action is the subject of a finite verb (but not in
    ``Meaning they lack one``, where the verb belongs to what is meant)."""
    marked = _clauses_marked(text, words)
    sure = sum(t.tag in FINITE or t.lower in _AFTER_ACTION for t in words)
    if sure > marked and any(t.lower in _AFTER_ACTION for t in words):
        return True
    means = words[0].lemma in SPEECH or words[0].lemma == "mean"
    finite = sum(t.tag in FINITE or _may_be_finite(text, t) for t in words[1:])
    return not means and finite > marked


def _clauses_marked(text: Text, part: list[Token]) -> int:
    """How many words make a finite verb after them dependent (before the next such word)."""
    marked, waiting = 0, False
    for t in part:
        if t.tag in ("WDT", "WP", "WRB") or (t.dep == "mark" and t.tag == "IN"):
            waiting = True
        elif waiting and (t.tag in FINITE or _may_be_finite(text, t)):
            marked += 1
            waiting = False
    return marked


def is_bare(text: Text, sentence: Sentence) -> bool:
    """Whether no word of a sentence could be its finite verb: none has such a form, but for those
    behind a relative word or subordinator (*the best | that appeared*) and those whose place is a
    noun's (*of work*). A noun after a noun may be a verb that the tagger missed."""
    behind = False
    tokens = text.sentence_tokens(sentence)
    for before, token in zip((None, *tokens), tokens, strict=False):
        if token.tag in ("WDT", "WP", "WRB", "WP$") or (token.tag == "IN" and token.dep == "mark"):
            behind = True
        elif token.is_punct:
            behind = behind and token.text != ","
        elif before is None or token.tag in ("VBG", "RB", "IN"):
            continue
        elif token.tag in FINITE or token.lower in _finite_forms():
            if behind:
                behind = False
            elif token.tag in FINITE or before.tag not in _BEFORE_NOUN:
                return False
        elif _is_missed_verb(before, token):
            return False
    return True


def _is_missed_verb(before: Token, token: Token) -> bool:
    """Whether the tagger may have taken a verb for a noun (*the vacuole | shrinks*, *larvae |
    overwinter*, *this | results in*)."""
    if token.tag == "NNS" and token.lower.endswith("s"):
        one = before.lower in ("this", "that", "each", "it")
        return one or before.pos in ("NOUN", "PROPN", "ADV", "PRON")
    return token.tag in ("NN", "JJ", "VB") and before.tag in ("NNS", "NNPS", "RB")


_BEFORE_NOUN = frozenset("IN DT PRP$ TO JJ JJR JJS POS CC ,".split())
_AFTER_ACTION = frozenset("is was means requires involves takes makes gives helps can may".split())
_OBJECT_TAGS = frozenset("DT PRP$ PRP NN NNS NNP NNPS JJ CD".split())
_AFTER_VERB = _OBJECT_TAGS | {"IN", "TO", "RB", "RP"}


def _may_be_finite(text: Text, token: Token) -> bool:
    """Whether a word with another tag is often a finite verb and stands where one could."""
    if token.i == 0 or token.i + 1 >= len(text.tokens):
        return False
    before, after = text.tokens[token.i - 1], text.tokens[token.i + 1]
    if token.tag in ("NNS", "NNPS") and after.tag in ("DT", "PRP$") and before.pos == "NOUN":
        return token.lower.endswith("s")
    forms = _finite_forms()
    word = token.lower
    if word not in forms:
        # plants | release: the plain form after a plural, where "releases" is a known verb
        plural = before.tag in ("NNS", "NNPS")
        return plural and after.tag in _OBJECT_TAGS and (word + "s" in forms or word + "d" in forms)
    if before.pos not in ("NOUN", "PROPN", "PRON", "ADV") and before.text != ",":
        return False
    if token.tag == "VBN":
        return after.tag in _OBJECT_TAGS
    if token.tag in ("NN", "NNS", "NNP", "NNPS", "JJ", "VB"):
        return after.tag in _AFTER_VERB or after.is_punct
    return False


@cache
def _finite_forms() -> frozenset[str]:
    return frozenset(load_json(artifact("boundary", "finite.json"))["words"])


def _in_quotation(text: Text, sentence: Sentence) -> bool:
    before = text.passage[: sentence.start]
    paragraph = before[before.rfind("\n\n") + 1 :]
    if paragraph.count("“") > paragraph.count("”"):
        return True
    return paragraph.count('"') % 2 == 1

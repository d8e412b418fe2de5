"""The form of a verb fits the helper before it: *has gone*, *did not go*, *could have gone*."""

from __future__ import annotations

from collections.abc import Iterator, Set
from dataclasses import replace

from rwtools.clue import Fix
from rwtools.rules.model import Finding, Rule
from rwtools.rules.phrases import CLAUSE_TAKERS, clear
from rwtools.text import Text, Token
from rwtools.text.forms import verb_forms

__all__ = ["RULE", "find"]

# Past form -> participle, base form, for verbs where the two differ.
_PAST = {
    past: (participle, base)
    for past, participle, base in (
        row.split("/")
        for row in (
            "went/gone/go took/taken/take wrote/written/write saw/seen/see gave/given/give "
            "became/become/become began/begun/begin did/done/do knew/known/know "
            "grew/grown/grow chose/chosen/choose drove/driven/drive ate/eaten/eat fell/fallen/fall "
            "flew/flown/fly forgot/forgotten/forget froze/frozen/freeze hid/hidden/hide "
            "rode/ridden/ride rose/risen/rise sang/sung/sing sank/sunk/sink "
            "spoke/spoken/speak stole/stolen/steal "
            "swam/swum/swim tore/torn/tear threw/thrown/throw wore/worn/wear drew/drawn/draw "
            "drank/drunk/drink ran/run/run came/come/come blew/blown/blow broke/broken/break "
            "shook/shaken/shake sprang/sprung/spring rang/rung/ring arose/arisen/arise "
            "overcame/overcome/overcome underwent/undergone/undergo mistook/mistaken/mistake "
            "undertook/undertaken/undertake forgave/forgiven/forgive withdrew/withdrawn/withdraw"
        ).split()
    )
}
_HAVE = frozenset({"have", "has", "had", "having", "'ve", "’ve"})
_BE = frozenset({"am", "is", "are", "was", "were", "be", "been", "being"})
_DO = frozenset({"do", "does", "did"})
_MODALS = frozenset("can could will would shall should may might must".split())
# Not *can*: "do all you can to help".
_MUST = frozenset("must should may might will would shall".split())
_OF_MODALS = frozenset({"could", "would", "should", "might", "must", "may"})
_NOT = frozenset({"not", "n't", "n’t", "never"})
# Forms that are also nouns, adjectives or other verbs, or whose past may serve as participle.
_NO_PASSIVE = frozenset("broke rose drove fell went became came ran spoke forgot".split())
_NOT_AFTER_MODAL = frozenset({"saw", "fell", "rose", "drove"})
_ALSO_NOUNS = frozenset({"saw", "rose", "drove"})


def find(text: Text) -> list[Finding]:
    """Fault span: the verb in the wrong form. Fix: the form that its helper needs."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    for token in text.tokens:
        found = (
            _past_condition(text, token)
            or _present_condition(text, token)
            or _forward_to(text, token)
            or _made_to(text, token)
            or _finished_time(text, token)
        )
        if found is not None:
            yield found
        helper, negated = _helper(text, token)
        if helper is None:
            continue
        after = text.tokens[token.i + 1] if token.i + 1 < len(text.tokens) else token
        word, kind = token.lower, helper.lower
        if word == "to" and kind in _MUST and helper.tag == "MD" and after.tag == "VB":
            yield _without_to(text, token, helper, after)
            continue
        if word == "of":
            if _unreal(text, token, helper) is not None:
                continue
            if kind in _OF_MODALS and after.lower != "course" and after.pos in _VERBAL:
                yield _fault(text, token, helper, "have", "fault-of")
        elif kind in _HAVE and word in _PAST and not (word in _ALSO_NOUNS and _noun(after)):
            yield _fault(text, token, helper, _PAST[word][0], "fault-have")
        elif (
            kind in _BE
            and word in _PAST
            and word not in _NO_PASSIVE
            and not (word in ("saw", "did") and _noun(after))
        ):
            yield _fault(text, token, helper, _PAST[word][0], "fault-be")
        elif kind in _MODALS and helper.tag == "MD" and not _is_noun(text, helper):
            base = _base(token, allow=_PAST.keys() - _NOT_AFTER_MODAL)
            if base is not None and helper.i >= token.i - (2 if negated else 1):
                yield _fault(text, token, helper, base, "fault-modal")
        elif kind in _DO and negated and token.i - helper.i <= 2:
            base = _base(token, allow=_PAST.keys(), regular=True)
            if base is not None:
                yield _fault(text, token, helper, base, "fault-do")


def _without_to(text: Text, token: Token, helper: Token, verb: Token) -> Finding:
    """``must to finish``."""
    found = _fault(text, token, helper, verb.text, "fault-to")
    whole = {"word": text.quote(token.start, verb.end), "helper": helper.text, "form": verb.text}
    return replace(found, values=whole, fix=(Fix(token.start, verb.start, ""),))


def _unreal(text: Text, token: Token, helper: Token) -> Token | None:
    """The *if* or *wish* of a condition about the past that did not come true, where *would have*
    (or its misspelling) stands in it: *If you would have seen it, you would ...*."""
    if helper.lower != "would" or token.lower not in ("have", "of"):
        return None
    sentence = text.sentences[token.sent]
    verb = next((t for t in text.tokens[token.i + 1 : sentence.last] if t.pos != "ADV"), None)
    if verb is None or verb.tag not in ("VBN", "VBD") or verb.lemma in _LIKING:
        return None
    before = [t for t in text.tokens[sentence.first : helper.i] if t.lower != "not"]
    opener = next((t for t in reversed(before) if t.lower == "if" or t.lemma == "wish"), None)
    if opener is None or any(
        t.is_punct or t.tag in _VERBS or t.tag in ("CC", "WDT", "WP")
        for t in text.tokens[opener.i + 1 : helper.i]
    ):
        return None
    if opener.lemma == "wish":
        return opener if opener.pos == "VERB" else None
    if opener.i == sentence.first:
        rest = text.tokens[verb.i + 1 : sentence.last]
        comma = next((k for k, t in enumerate(rest) if t.text == ","), None)
        if comma is None:
            return None
        answer = rest[comma + 1 :]
    else:
        if text.tokens[opener.i - 1].lower in ("as", "even", "ask", "asked", "wonder", "wondered"):
            return None
        answer = tuple(before[: opener.i - sentence.first])
        if any(t.lemma in CLAUSE_TAKERS | {"wonder", "ask", "question", "matter"} for t in answer):
            return None
    return opener if any(t.lower in _CONDITIONAL for t in answer) else None


def _forward_to(text: Text, token: Token) -> Finding | None:
    """``look forward to meet you``: this *to* is a preposition, as in *look forward to it*. Not
    where somebody looks ahead in order to see: *looked forward to see who came*."""
    if token.tag != "VB" or token.i < 3 or token.i + 1 >= len(text.tokens):
        return None
    look, forward, to = text.tokens[token.i - 3 : token.i]
    forms = verb_forms(token.lemma)
    if (look.lemma, forward.lower, to.lower) != ("look", "forward", "to") or forms is None:
        return None
    after = text.tokens[token.i + 1]
    if token.lemma in _LOOKING and after.tag != "PRP":
        return None
    found = _fault(text, token, to, forms.ing, "fault-forward")
    whole = {"word": token.text, "helper": text.quote(look.start, to.end), "form": forms.ing}
    return replace(found, values=whole, confidence=0.85)


def _made_to(text: Text, token: Token) -> Finding | None:
    """``He made me to wait``: *make* and *let* with a person take the plain form. *Them* and *it*
    may be things that are made for an end (*made them to sell*)."""
    if token.lower != "to" or token.i < 3 or token.i + 1 >= len(text.tokens):
        return None
    subject, helper, person = text.tokens[token.i - 3 : token.i]
    verb = text.tokens[token.i + 1]
    if helper.lower not in _MAKE or person.lower not in _PERSON or verb.tag != "VB":
        return None
    if subject.tag not in ("PRP", "NN", "NNS") or subject.sent != token.sent:
        return None
    if verb.lemma == "be" or subject.lemma in ("god", "lord", "nature"):
        return None  # made for an end
    found = _without_to(text, token, helper, verb)
    values = {**found.values, "helper": text.quote(helper.start, person.end)}
    return replace(found, values=values, confidence=0.85)


def _finished_time(text: Text, token: Token) -> Finding | None:
    """``I have seen him yesterday``: a time that is over takes the past, not *have*."""
    helper = text.tokens[token.i - 1] if token.i else token
    forms = verb_forms(token.lemma)
    if helper.lower not in _PRESENT_HAVE or token.tag != "VBN" or helper.i == token.i:
        return None
    if forms is None or token.lower != forms.participle or helper.sent != token.sent:
        return None
    rest = text.tokens[token.i + 1 : text.sentences[token.sent].last]
    time = next((k for k, t in enumerate(rest[:_NEAR]) if t.lower in _OVER), None)
    if time is None or time + 1 >= len(rest):
        return None
    first, ends = time, rest[time + 1]
    if rest[time].lower == "ago":  # two years ago
        first -= 2
        if first < 0 or rest[first + 1].pos != "NOUN" or rest[first].pos not in ("NUM", "DET"):
            return None
    if not ends.is_punct or ends.text in ("'", "’", "-") or ends.text == ",":
        return None
    if any(t.tag not in _OBJECT_TAGS or t.head < token.i for t in rest[:first]):
        return None
    said = text.quote(rest[first].start, rest[time].end)
    start = shown = helper.start
    new = forms.past
    if not helper.text[0].isalpha():  # I've
        shown, new = text.tokens[helper.i - 1].start, " " + new
    return Finding(
        start,
        token.end,
        "fault",
        0.85,
        {"word": text.quote(shown, token.end), "helper": said, "form": forms.past},
        (
            text.evidence(text.span(rest[first].i, rest[time].i), "cue"),
            text.evidence(text.span(helper.i, token.i), "verb"),
        ),
        (Fix(start, token.end, new),),
        "fault-over",
    )


_LOOKING = frozenset("see watch look find check".split())
_MAKE = frozenset({"make", "makes", "made", "let", "lets"})
_PERSON = frozenset({"me", "him", "us"})
_PRESENT_HAVE = frozenset({"have", "has", "'ve", "’ve"})
_OVER = frozenset({"yesterday", "ago"})
_OBJECT_TAGS = frozenset("PRP PRP$ DT JJ NN NNP CD NNS".split())
_NEAR = 6  # words between the verb and the time, at most
_VERBS = frozenset({"VBZ", "VBP", "VBD", "MD", "VB", "VBN", "VBG"})
_CONDITIONAL = frozenset({"would", "could", "might", "'d", "’d"})
# "If you would have liked to come" asks for a wish: politeness, no condition.
_LIKING = frozenset("like love prefer care mind".split())


def _present_condition(text: Text, token: Token) -> Finding | None:
    """``If I would be rich, I would``: *were*. *If you would be so kind* asks politely."""
    sentence = text.sentences[token.sent]
    if token.lower != "would" or token.i + 2 >= sentence.last:
        return None
    opener, be, after = (
        text.tokens[sentence.first],
        text.tokens[token.i + 1],
        text.tokens[token.i + 2],
    )
    subject = text.tokens[opener.i + 1 : token.i]
    if opener.lower != "if" or be.lower != "be" or after.lower in ("so", "willing", "kind", "good"):
        return None
    if after.pos not in ("ADJ", "DET", "ADV") or not subject or subject[0].lower in ("you", "it"):
        return None
    if any(t.pos not in ("PRON", "DET", "NOUN", "PROPN", "ADJ") for t in subject):
        return None
    rest = text.tokens[after.i : sentence.last]
    comma = next((t.i for t in rest if t.text == ","), None)
    main = text.tokens[comma + 1 : sentence.last] if comma is not None else ()
    if not any(t.lower in _CONDITIONAL for t in main[:4]):
        return None
    return Finding(
        token.start,
        be.end,
        "fault",
        0.8,
        {"word": text.quote(token.start, be.end), "helper": opener.text, "form": "were"},
        (
            text.evidence(text.span(opener.i, opener.i), "cue"),
            text.evidence(text.span(token.i, be.i), "verb"),
        ),
        (Fix(token.start, be.end, "were"),),
        "fault-if-now",
    )


def _past_condition(text: Text, token: Token) -> Finding | None:
    """``If I would have known``: *had known*."""
    if token.lower not in ("have", "of") or token.i == 0:
        return None
    at = token.i - 1
    negated = text.tokens[at].lower in ("not", "never", "n't", "n’t") and at > 0
    helper = text.tokens[at - negated]
    opener = _unreal(text, token, helper)
    if opener is None:
        return None
    new = "had" if not negated else f"had {text.tokens[at].text}"
    if negated and text.tokens[at].lower in ("n't", "n’t"):
        new = f"had{text.tokens[at].text}"
    return Finding(
        helper.start,
        token.end,
        "fault",
        0.85,
        {"word": text.quote(helper.start, token.end), "helper": opener.text, "form": new},
        (
            text.evidence(text.span(opener.i, opener.i), "cue"),
            text.evidence(text.span(helper.i, token.i), "verb"),
        ),
        (Fix(helper.start, token.end, new),),
        "fault-if",
    )


_VERBAL = ("VERB", "AUX", "ADV")


def _is_noun(text: Text, helper: Token) -> bool:
    """Whether *can*, *will*, *might* is a noun here: an article or owner stands before it."""
    return helper.i > 0 and text.tokens[helper.i - 1].tag in ("DT", "PRP$", "JJ", "POS")


def _noun(token: Token) -> bool:
    """Whether the next word makes *saw* and the like a noun, or opens a question."""
    return token.pos in ("NOUN", "PROPN", "ADJ", "PRON") and token.lower not in ("that", "this")


def _helper(text: Text, token: Token) -> tuple[Token | None, bool]:
    """The helper verb right before a word (adverbs and *not* may stand between)."""
    negated = False
    at = token.i - 1
    first = text.sentences[token.sent].first
    while at >= first and token.i - at <= 3:
        before = text.tokens[at]
        if before.lower in _NOT:
            negated = True
        elif before.pos != "ADV":
            return before, negated
        at -= 1
    return None, negated


def _base(token: Token, *, allow: Set[str], regular: bool = False) -> str | None:
    """The base form of an inflected verb; None where the word may be right as it is."""
    if token.lower in allow:
        return _PAST[token.lower][1]
    if token.lower == token.lemma or not token.text.islower():
        return None
    if token.tag == "VBZ" and token.lower.endswith("s") and token.lemma not in ("be", "have"):
        return token.lemma
    if token.lower == "has" and token.tag == "VBZ":
        return "have"
    if regular and token.tag in ("VBD", "VBN") and token.lower.endswith("ed"):
        return token.lemma
    return None


def _fault(text: Text, token: Token, helper: Token, new: str, variant: str) -> Finding:
    shown = helper.text if helper.text.isalpha() else helper.lower
    return Finding(
        token.start,
        token.end,
        "fault",
        0.95,
        {"word": token.text, "helper": shown, "form": new},
        (
            text.evidence(text.span(helper.i, helper.i), "cue"),
            text.evidence(text.span(token.i, token.i), "verb"),
        ),
        (Fix(token.start, token.end, new),),
        variant,
    )


RULE = Rule("verb-form", find)

"""A comma stands before ``but`` or ``and``, not after it, unless it opens an interruption."""

from __future__ import annotations

from collections.abc import Iterator

from rwtools.clue import Fix
from rwtools.rules.model import Finding, Rule
from rwtools.rules.phrases import clear, cut_mark, prose
from rwtools.text import Text

__all__ = ["RULE", "find"]

_CONJUNCTIONS = frozenset({"but", "and", "or", "nor", "yet"})
_OTHER_MARKS = frozenset({"—", "–", "--", "(", ")", ":", ";", '"', "“", "”", "?", "...", "…"})


def find(text: Text) -> list[Finding]:
    """Fault span: the comma after the conjunction. Fix: put it before, or take it away."""
    return clear(text, _find(text))


def _find(text: Text) -> Iterator[Finding]:
    for sentence in prose(text):
        for i in range(sentence.first, sentence.last - 2):
            word, comma = text.tokens[i], text.tokens[i + 1]
            if comma.text != "," or word.lower not in _CONJUNCTIONS or word.tag != "CC":
                continue
            rest = text.tokens[i + 2 : sentence.last]
            if any(t.text == "," or t.text in _OTHER_MARKS for t in rest):
                continue  # a second mark may close an interruption
            clauses = [c for c in text.clauses if i < c.head < sentence.last and c.finite]
            joined = next((c for c in clauses if c.kind == "independent" and c.subject), None)
            fixes: list[Fix] = [cut_mark(text, i + 1)]
            opens = i == sentence.first
            joins = joined is not None and text.token_at(joined.start) is rest[0]
            if not opens and joins and text.tokens[i - 1].text != ",":
                fixes.insert(0, Fix(text.tokens[i - 1].end, text.tokens[i - 1].end, ","))
            yield Finding(
                comma.start,
                comma.end,
                "fault",
                0.9,
                {"word": word.text, "next": " ".join(t.text for t in rest[:3] if not t.is_punct)},
                (text.evidence(text.span(i, i), "cue"),),
                tuple(fixes),
                "fault-clause" if len(fixes) > 1 else "fault",
            )


RULE = Rule("comma-after-conjunction", find)

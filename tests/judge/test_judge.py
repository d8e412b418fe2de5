"""The judge's API: agreement with the reference, seams, windows, threads, damaged files."""

from __future__ import annotations

import json
import math
import shutil
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rwtools import artifact, judge
from rwtools.errors import ArtifactError
from rwtools.judge import engine, scoring

FIXTURE = json.loads((Path(__file__).parent / "reference.json").read_text(encoding="utf-8"))
PREFIX = "The first ships came from the north in spring. The ice was late that year."
CHOICES = (" However,", " Therefore,", " For example,", " Similarly,")
SUFFIX = " the crew waited in the harbour for three weeks and ate most of the food."
LONG = " ".join(f"On day {n} the keeper of the light wrote down the wind." for n in range(1, 90))


def test_scores_agree_with_the_reference_of_the_same_weights():
    """Recorded by models/judge/reference.py: PyTorch, 32-bit floats, the artifact's own weights."""
    got = judge.score([row["text"] for row in FIXTURE["texts"]])
    errors = []
    for value, row in zip(got, FIXTURE["texts"], strict=True):
        errors.append(abs(value - row["logprob"]) / row["tokens"])
    assert max(errors) <= FIXTURE["tolerance"]["worst_nats_per_token"]
    assert sum(errors) / len(errors) <= FIXTURE["tolerance"]["mean_nats_per_token"]


def test_reference_is_of_the_artifact_in_use():
    if artifact.folder("judge") != artifact.resources.artifact("judge"):
        pytest.skip("RWTOOLS_JUDGE names another artifact")
    description = artifact.describe(artifact.folder("judge"), "judge")
    sums = {n: f["sha256"] for n, f in description["files"].items() if n.startswith("weights")}
    assert sums == FIXTURE["weights"]


def test_products_cannot_overflow_sixteen_bits():
    """Two signed symbols times 255 are added in 16 bits by processors without VNNI (AVX2's
    ``vpmaddubsw``, from memory); larger symbols must be among the columns kept as floats."""
    place = artifact.folder("judge")
    description = artifact.describe(place, "judge")
    arrays = artifact.weights(place, description)
    for name, columns in description["config"]["wide"].items():
        symbols = arrays[f"{name}.symbols"].astype("int16")
        symbols[columns] = 0
        assert 2 * abs(symbols).max() * 255 < 2**15, name


def test_choices_are_normalised_and_the_sensible_one_wins():
    values = judge.compare(PREFIX, CHOICES, SUFFIX)
    assert sum(map(math.exp, values)) == pytest.approx(1.0)
    assert values.index(max(values)) in (0, 1)


def test_wrong_forms_are_less_likely():
    for prefix, right, wrong, suffix in (
        ("The dogs", " were", " was", " asleep by the fire."),
        ("She has", " written", " wrote", " three letters to her sister."),
        ("It rained all night;", " however,", " for example,", " the road stayed dry."),
        ("The old harbour", " closed", "; closed", " in the winter of that year."),
    ):
        values = judge.compare(prefix, [right, wrong], suffix)
        assert values[0] > values[1], (prefix, right, wrong)


def test_compare_is_the_difference_of_scores():
    values = judge.compare(PREFIX, CHOICES, SUFFIX)
    whole = judge.score([PREFIX + choice + SUFFIX for choice in CHOICES])
    tolerance = 2 * FIXTURE["tolerance"]["compare_nats"]
    for a, b in zip(values, whole, strict=True):
        assert a - values[0] == pytest.approx(b - whole[0], abs=tolerance)


def test_a_seam_inside_a_word_is_read_as_the_whole_text():
    split = judge.compare("The cat", ["s", "ch"], " slept on the mat.")
    whole = judge.score(["The cats slept on the mat.", "The catch slept on the mat."])
    assert split[0] - split[1] == pytest.approx(
        whole[0] - whole[1], abs=2 * FIXTURE["tolerance"]["compare_nats"]
    )


def test_batches_equal_singles():
    texts = [PREFIX, PREFIX + SUFFIX, "Short.", SUFFIX.strip(), PREFIX]
    batch = judge.score(texts)
    single = [judge.score([text])[0] for text in texts]
    for a, b, text in zip(batch, single, texts, strict=True):
        tokens = len(engine.engine().encode(text)[0])
        assert a == pytest.approx(b, abs=tokens * FIXTURE["tolerance"]["worst_nats_per_token"])
    places = [
        (PREFIX, CHOICES, SUFFIX),
        ("The dogs", [" were", " was"], " asleep."),
        ("", ["A"], ""),
    ]
    for many, place in zip(judge.compare_many(places), places, strict=True):
        assert many == pytest.approx(
            judge.compare(*place), abs=2 * FIXTURE["tolerance"]["compare_nats"]
        )


def test_order_of_choices_does_not_matter():
    forward = judge.compare(PREFIX, CHOICES, SUFFIX)
    backward = judge.compare(PREFIX, CHOICES[::-1], SUFFIX)[::-1]
    assert forward == pytest.approx(backward)


def test_same_call_same_numbers():
    assert judge.score([PREFIX + SUFFIX]) == judge.score([PREFIX + SUFFIX])
    assert judge.compare(PREFIX, CHOICES, SUFFIX) == judge.compare(PREFIX, CHOICES, SUFFIX)


def test_threads_get_the_numbers_of_one_thread():
    alone = [judge.score([f"{PREFIX} {n}"])[0] for n in range(4)]
    with ThreadPoolExecutor(4) as pool:
        together = list(pool.map(lambda n: judge.score([f"{PREFIX} {n}"])[0], range(4)))
    assert together == alone


def test_nothing_and_little():
    assert judge.score([]) == []
    assert judge.score([""]) == [0.0]
    assert judge.compare("a", [], "b") == []
    assert judge.compare("", [""], "") == [0.0]
    assert judge.compare("Word", ["", ""], "") == pytest.approx([math.log(0.5)] * 2)
    assert judge.compare_many([]) == []
    assert judge.surprisal("") == []
    assert judge.score(["a"])[0] < 0


def test_long_texts_are_read_in_windows():
    tokens = engine.engine().encode(LONG)[0]
    assert len(tokens) > 2 * scoring.WINDOW
    (whole,) = judge.score([LONG])
    assert math.isfinite(whole)
    pieces = judge.surprisal(LONG)
    assert -sum(bits for *_, bits in pieces) * math.log(2) == pytest.approx(whole, rel=1e-3)
    # The pattern repeats, so the model must find the later days easy, in every window.
    last = [bits for start, _, bits in pieces if start > len(LONG) * 0.9]
    assert sum(last) / len(last) < 2.5


def test_long_contexts_and_very_long_choices():
    near = judge.compare(LONG, [" The wind", " The winds"], " was strong." + LONG)
    assert sum(map(math.exp, near)) == pytest.approx(1.0)
    far = judge.compare("", [LONG, LONG + " Wind wind wind of."], "")
    assert far[0] > far[1]


def test_only_so_many_words_after_the_choice_count():
    tail = " ".join(["The boats stayed in."] * 40)
    a = judge.compare(PREFIX, CHOICES, SUFFIX + " " + tail)
    b = judge.compare(PREFIX, CHOICES, SUFFIX + " " + tail + " Odd zebra.")
    assert a == pytest.approx(b, abs=2 * FIXTURE["tolerance"]["compare_nats"])


def covers(text: str) -> None:
    at = 0
    for start, end, bits in judge.surprisal(text):
        assert start == at
        assert end > start
        assert bits >= -1e-4
        at = end
    assert at == len(text)


@given(st.text(max_size=60))
@settings(max_examples=40, deadline=None)
def test_surprisal_covers_any_text(text):
    covers(text)


@pytest.mark.parametrize(
    "text",
    [
        "It’s “fine” — isn’t it? 👩‍👩‍👧 🎉", "naïve café\u0301", "\tTab\n\nlines ", "日本語です。",
        "<|endoftext|> is only text", "\U0001f600" * 5, "   ", "a\u200db",
    ],
)  # fmt: skip
def test_surprisal_covers_odd_texts(text):
    covers(text)


def test_surprising_words_have_more_bits():
    def bits(text: str, word: str) -> float:
        at = text.index(word)
        return sum(b for s, e, b in judge.surprisal(text) if s < at + len(word) and e > at)

    plain = bits("He drank a glass of water with his meal.", "water")
    odd = bits("He drank a glass of gravel with his meal.", "gravel")
    assert odd > plain + 3


def test_surprisal_adds_up_to_the_score():
    text = PREFIX + SUFFIX
    total = -sum(bits for *_, bits in judge.surprisal(text)) * math.log(2)
    assert total == pytest.approx(judge.score([text])[0], abs=1e-3)


@pytest.fixture
def copy(tmp_path, monkeypatch):
    place = tmp_path / "judge"
    shutil.copytree(artifact.folder("judge"), place, ignore=shutil.ignore_patterns("*.py", "*.md"))
    monkeypatch.setenv("RWTOOLS_JUDGE", str(place))
    return place


def test_the_artifact_in_use_is_whole():
    judge.verify()


@pytest.mark.parametrize(
    "name", ["judge.json", "weights-1.bin", "layers.onnx", "tokenizer.json.gz"]
)
def test_a_missing_file_is_named_with_the_remedy(copy, name):
    (copy / name).unlink()
    with pytest.raises(ArtifactError, match=name) as caught:
        judge.score(["Text."])
    assert "card.md" in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("name", ["weights-2.bin", "head.onnx", "tokenizer.json.gz"])
def test_a_changed_byte_is_found(copy, name):
    data = bytearray((copy / name).read_bytes())
    data[len(data) // 2] ^= 1
    (copy / name).write_bytes(data)
    with pytest.raises(ArtifactError, match="damaged"):
        judge.verify()
    with pytest.raises(ArtifactError, match="damaged"):
        judge.score(["Text."])


def test_a_cut_file_is_found(copy):
    path = copy / "weights-1.bin"
    path.write_bytes(path.read_bytes()[:-10])
    with pytest.raises(ArtifactError, match="bytes"):
        judge.score(["Text."])


@pytest.mark.parametrize("content", ["", "{", "[]", '{"format": 99, "files": {}}', '{"files": {}}'])
def test_a_damaged_description_is_found(copy, content):
    (copy / "judge.json").write_text(content, encoding="utf-8")
    with pytest.raises(ArtifactError):
        judge.score(["Text."])

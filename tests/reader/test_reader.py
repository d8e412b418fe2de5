"""The reader: agreement with the reference, order of choices, batches, odd texts, damaged files."""

from __future__ import annotations

import json
import math
import shutil
from concurrent.futures import ThreadPoolExecutor
from itertools import permutations
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rwtools import artifact, reader
from rwtools.errors import ArtifactError
from rwtools.reader import Blank, Weighed, engine

FIXTURE = json.loads((Path(__file__).parent / "reference.json").read_text(encoding="utf-8"))
LAMP = Blank("The lamp was ", ("dim", "bright", "heavy"), ": nobody could read by its light.")


def blank_of(row: dict) -> Blank:
    return Blank(row["prefix"], tuple(row["choices"]), row["suffix"])


def chances(blank: Blank) -> tuple[float, ...]:
    return reader.choose([blank])[0].chances


def test_chances_agree_with_the_reference_of_the_same_weights():
    """Recorded by models/reader/reference.py from the same weights, in 32-bit floats."""
    found = reader.choose([blank_of(row) for row in FIXTURE["blanks"]])
    off = []
    for row, weighed in zip(FIXTURE["blanks"], found, strict=True):
        for value, chance in zip(weighed.chances, row["chances"], strict=True):
            off.append(abs(math.exp(value) - chance))
            assert off[-1] <= FIXTURE["tolerance"], row
    assert sum(off) / len(off) <= FIXTURE["mean_tolerance"]


def test_reference_is_of_the_artifact_in_use():
    if artifact.folder("reader") != artifact.resources.artifact("reader"):
        pytest.skip("RWTOOLS_READER names another artifact")
    files = artifact.describe(artifact.folder("reader"), "reader")["files"]
    sums = {n: f["sha256"] for n, f in files.items() if n.startswith("weights")}
    assert sums == FIXTURE["weights"]


# A beginning, two words, and what follows the first and the second of them.
TURNS = [
    ("Her answer was ", "brief", "long", ": she said one word and sat down.",
     ": she spoke for an hour without a pause."),
    ("The soup was ", "hot", "cold", ", and he burnt his tongue on it.",
     ", for it had stood by the open window all night."),
    ("The road was ", "steep", "flat", ": the cart needed two more oxen to reach the top.",
     ": a ball laid on it would not have rolled."),
    ("The children were ", "noisy", "silent", ", so that nobody could hear the teacher.",
     ", so that one could hear the clock in the hall."),
    ("The harvest was ", "rich", "poor", ", and every barn was full by October.",
     ", and by January the village had nothing to eat."),
    ("The guide was ", "honest", "false", ": he told us the price before we asked.",
     ": he led us into the marsh and ran off with our money."),
    ("The rope was ", "strong", "weak", " and held all five of them above the gorge.",
     " and broke as soon as the boy hung his coat on it."),
    ("The stone was ", "smooth", "rough", ": the hand slid over it as over glass.",
     ": it tore the skin from his fingers."),
    ("The room was ", "crowded", "empty", ": we had to stand on the stairs outside.",
     ": our steps rang from wall to wall."),
    ("The pupil was ", "diligent", "lazy", ": he did each exercise twice and asked for more.",
     ": he slept through the lesson and copied the rest."),
    ("The river was ", "shallow", "deep", ", and the sheep crossed without wetting their backs.",
     ", and a stone on a long line never found the bottom."),
    ("The witness was ", "certain", "doubtful", ": she pointed at the man before anyone had asked.",
     ": she looked at the man for a long time and shook her head."),
    ("The knife was ", "sharp", "blunt", ": it went through the bone as through butter.",
     ": it slipped off the crust of the bread."),
    ("The summer was ", "wet", "dry", ", and mushrooms came up between the paving stones.",
     ", and the wells gave only mud by August."),
    ("The captain was ", "generous", "stingy", ": he shared his last biscuits with the crew.",
     ": he counted every biscuit and locked the box."),
    ("The lamp was ", "bright", "dim", ", and we read the smallest print by it.",
     ", and we could not tell one face from another."),
    ("The bread was ", "fresh", "stale", ": steam still rose from it.",
     ": it broke a tooth of the first man who bit into it."),
    ("The clerk was ", "polite", "rude", ": he rose, bowed and offered us chairs.",
     ": he shouted at us and shut the window in our faces."),
    ("The path was ", "wide", "narrow", ", and four riders could go side by side.",
     ", and we walked one behind the other."),
    ("The town was ", "wealthy", "needy", ": even the stables had glass in their windows.",
     ": the mayor himself mended his only coat."),
    ("The proof was ", "simple", "complicated", ": a child followed it in two minutes.",
     ": it filled three volumes, and few have read to the end."),
    ("The dog was ", "fierce", "gentle", ": it had bitten two postmen that month.",
     ": it let the baby pull its ears all day."),
    ("The report was ", "recent", "old", ": its ink was hardly dry.",
     ": its pages had turned yellow and fell apart."),
    ("The plan was ", "popular", "hated", ": crowds cheered when it was read out.",
     ": crowds burnt it in the square."),
]  # fmt: skip


def test_the_words_after_the_blank_decide():
    """A network errs now and then, most where a short text leaves much to the reader's knowledge of
    the world (*our steps rang from wall to wall*). As served, 39 of the 48 questions are right and
    21 of the 24 pairs turn; the floors are lower by over a standard error. Chance: 16 and 12."""
    turned = right = 0
    for before, one, other, after_one, after_other in TURNS:
        first = chances(Blank(before, (one, other, "famous"), after_one))
        second = chances(Blank(before, (one, other, "famous"), after_other))
        turned += first[0] - first[1] > second[0] - second[1]
        right += (first[0] == max(first)) + (second[1] == max(second))
    assert turned >= 18
    assert right >= 33


def test_a_long_answer_is_not_called_brief():
    """Asked of every reader so far; the one before this took *brief*."""
    words = ("brief", "long", "rude")
    short = chances(Blank("Her answer was ", words, ": she said one word and sat down."))
    long = chances(Blank("Her answer was ", words, ": she spoke for an hour without a pause."))
    assert short[0] == max(short)
    assert long[1] == max(long)


def test_the_order_of_the_choices_does_not_matter():
    by_choice = dict(zip(LAMP.choices, chances(LAMP), strict=True))
    for order in permutations(LAMP.choices):
        values = chances(Blank(LAMP.before, order, LAMP.after))
        assert values == pytest.approx([by_choice[c] for c in order], abs=1e-6)


def test_a_part_that_decides_is_missed_and_another_is_not():
    text = "Rain fell for a week. Nobody could read by the lamp: it was too "
    first, second = text.index("Rain"), text.index("Nobody")
    parts = ((first, second), (second, text.index(":")))
    blank = Blank(text, ("dim", "wet", "dear"), ".", parts)
    (weighed,) = reader.choose([blank])
    assert weighed.chances[0] == max(weighed.chances)
    lost = [weighed.chances[0] - values[0] for values in weighed.without]
    assert lost[1] > max(lost[0], 0)
    for values in weighed.without:
        assert sum(map(math.exp, values)) == pytest.approx(1.0)


def test_a_batch_and_threads_change_nothing():
    blanks = [blank_of(row) for row in FIXTURE["blanks"]]
    together = reader.choose(blanks)
    assert together == [reader.choose([blank])[0] for blank in blanks]
    with ThreadPoolExecutor(4) as pool:
        assert list(pool.map(lambda b: reader.choose([b])[0], blanks)) == together


def test_nothing_asked_nothing_answered():
    assert reader.choose([]) == []
    assert reader.choose([Blank("a", (), "b", ((0, 1),))]) == [Weighed((), ((),))]


@settings(max_examples=15, deadline=None)
@given(
    st.text(max_size=60),
    st.lists(st.text(max_size=20), min_size=1, max_size=4).map(tuple),
    st.text(max_size=60),
)
def test_any_text_is_only_text(before, choices, after):
    values = chances(Blank(before + "<mask> </s>", choices, after))
    assert sum(map(math.exp, values)) == pytest.approx(1.0)


def test_a_long_text_is_cut_to_what_is_near_the_blank():
    far = "The tide went out and the boats lay on the sand. " * 80
    short = chances(Blank(far + LAMP.before, LAMP.choices, LAMP.after + far))
    longer = chances(Blank(far + far + LAMP.before, LAMP.choices, LAMP.after + far))
    assert short == longer


@pytest.mark.parametrize("harm", ["missing", "short", "changed", "format"])
def test_a_damaged_artifact_says_which_file(tmp_path, monkeypatch, harm):
    place = tmp_path / "reader"
    skip = shutil.ignore_patterns("*.py", "*.md", "written", "__pycache__")
    shutil.copytree(artifact.folder("reader"), place, ignore=skip)
    name = "reader.json" if harm == "format" else "weights-1.bin"
    data = (place / name).read_bytes()
    if harm == "missing":
        (place / name).unlink()
    elif harm == "short":
        (place / name).write_bytes(data[:-1])
    elif harm == "changed":
        (place / name).write_bytes(data[:-1] + bytes([data[-1] ^ 1]))
    else:
        (place / name).write_bytes(data.replace(b'"format": 4', b'"format": 99'))
    monkeypatch.setenv("RWTOOLS_READER", str(place))
    monkeypatch.setattr(engine, "_engine", None)
    with pytest.raises(ArtifactError) as caught:
        reader.choose([LAMP])
    assert name in str(caught.value)
    assert "models/reader" in str(caught.value)


def test_the_artifact_in_use_is_whole():
    artifact.verify("reader")

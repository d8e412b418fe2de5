"""The judge as second witness of the rules of sentence boundaries."""

from __future__ import annotations

import subprocess
import sys

import pytest

from rwtools.clue import Clue, Fix
from rwtools.hints import hint
from rwtools.rules import witness

FAULTY = (
    "The bridge was closed, the boats went around the island. Nobody in the town was surprised."
)
SOUND = "The bridge was closed, and the boats went around the island."


def fault(passage: str, start: int, end: int, replacement: str, rule: str = "comma-splice") -> Clue:
    quote = passage[start:end]
    return Clue(
        "punctuation", start, end, quote, "fault", rule, "", 0.8,
        fix=(Fix(start, end, replacement),),
    )  # fmt: skip


def test_a_real_fault_is_confirmed():
    plain = hint(FAULTY, kinds=["punctuation"])
    assert [c.rule for c in plain if c.label == "fault"] == ["comma-splice"]
    assert hint(FAULTY, kinds=["punctuation"], second_witness=True) == plain


def test_an_alarm_that_would_spoil_the_sentence_is_dropped():
    good = fault(FAULTY, FAULTY.index(","), FAULTY.index(",") + 1, ", and")
    bad = fault(FAULTY, FAULTY.index(" was"), FAULTY.index(" was"), ";")
    gains = witness.gains(FAULTY, [bad, good])
    assert gains[0] < witness.AGAINST < 0 < gains[1]
    assert witness.confirmed(FAULTY, [good, bad]) == [good]


def test_other_rules_and_sound_places_are_left_alone():
    at = SOUND.index(" was")
    other = fault(SOUND, at, at, ";", rule="apostrophe-contraction")
    sound = [c for c in hint(SOUND) if c.label != "fault"]
    assert witness.confirmed(SOUND, [other, *sound]) == [other, *sound]


def test_an_alarm_without_a_mend_stays():
    bare = Clue("punctuation", 0, 3, SOUND[:3], "fault", "sentence-fragment", "", 0.8)
    assert witness.gains(SOUND, [bare]) == [float("inf")]
    assert witness.confirmed(SOUND, [bare]) == [bare]


def test_mends_in_several_places_are_one_change():
    first, second = SOUND.index(","), SOUND.index(" island")
    clue = Clue(
        "punctuation", first, second, SOUND[first:second], "fault", "comma-splice", "", 0.8,
        fix=(Fix(first, first + 1, ";"), Fix(second, second, " small")),
    )  # fmt: skip
    before, (stands, mend), after = witness._place(SOUND, clue)
    assert before + stands + after == SOUND
    assert before + mend + after == (
        "The bridge was closed; and the boats went around the small island."
    )


@pytest.mark.parametrize("asked", [False, True])
def test_the_judge_is_loaded_only_when_asked_for(asked):
    code = (
        "import sys; from rwtools.hints import hint; "
        f"hint({FAULTY!r}, kinds=['punctuation'], second_witness={asked}); "
        "print('onnxruntime' in sys.modules)"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.split() == [str(asked)]


def test_the_command_takes_the_judge_for_one_passage(tmp_path):
    file = tmp_path / "passage.txt"
    file.write_text(FAULTY, encoding="utf-8")

    def rwtools(*more: str) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-m", "rwtools", "hint", "--judge", *more]
        return subprocess.run(command, capture_output=True, text=True, check=False)

    run = rwtools(str(file), "--check", "--json")
    assert (run.returncode, '"comma-splice"' in run.stdout) == (1, True)
    run = rwtools("--batch", str(file))
    assert (run.returncode, run.stderr.count("\n"), "--judge" in run.stderr) == (2, 1, True)

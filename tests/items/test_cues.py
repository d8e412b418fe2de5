"""What two parts of a passage give away about their relation."""

from __future__ import annotations

import pytest

from rwtools.clue import Span
from rwtools.items.cues import cues


@pytest.mark.parametrize(
    ("second", "reason"),
    [
        ("since then we have waited", False),
        ("since 1990 it has stood empty", False),
        ("since the mules were lame we waited", True),
    ],
)
def test_since_before_a_time_gives_no_reason(second, reason):
    passage = f"We reached the pass; {second}."
    cut = passage.index(";")
    found = {cue.name for cue in cues(passage, Span(0, cut), Span(cut + 2, len(passage)))}
    assert ("reason after" in found) is reason

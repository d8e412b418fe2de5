"""Passages cut off where a rule looks one word ahead: nothing may break there."""

from __future__ import annotations

import pytest

from rwtools import hint


@pytest.mark.parametrize(
    "passage",
    [
        "In the second,",
        "In the second; in the third,",
        "He wrote it for a friend; after all,",
        "Three others remain, the keeper said, which are",
        "Much more common are the small shops run by: Traders",
    ],
)
def test_a_passage_may_end_anywhere(passage):
    for clue in hint(passage):
        assert passage[clue.start : clue.end] == clue.quote

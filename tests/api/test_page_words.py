"""The page's own words agree with the rules."""

from __future__ import annotations

import json
import re


def test_a_sound_place_is_never_called_after_its_fault(root):
    """Every rule that also speaks of places where nothing is wrong has a neutral name for them."""
    source = (root / "rwtools/api/page/names.js").read_text(encoding="utf-8")
    block = re.search(r"const SOUND = \{(.*?)\n\};", source, re.S)
    assert block is not None
    names = dict(re.findall(r'"([a-z-]+)": "([^"]+)"', block[1]))
    told = {
        rule["id"]
        for path in (root / "shared/rules").glob("*.json")
        for rule in [json.loads(path.read_text(encoding="utf-8"))]
        if rule["kind"] in ("punctuation", "grammar")
        and any(variant.startswith("sound") for variant in rule["explanation"])
    }
    assert set(names) == told
    assert not any(re.search("missing|unpaired|dangling|incomplete", n) for n in names.values())

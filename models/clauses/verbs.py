"""List the verbs that the second look of ``rwtools/items/whole.py`` knows: ``verbs.json``.

    python models/clauses/verbs.py /usr/share/wordnet

Single words that WordNet 3.0 has as verbs and that are not rare (zipf frequency 2.8 or more), with
the irregular forms of its exception list (2.5 or more).
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

from wordfreq import zipf_frequency

SOURCE = (
    "Verbs of WordNet 3.0 that are not rare, and irregular forms (Princeton University; licence in "
    "models/solver/LICENSE-wordnet.txt); written by verbs.py."
)


def main() -> None:
    wordnet = Path(sys.argv[1])
    lines = (wordnet / "index.verb").read_text(encoding="utf-8").splitlines()
    words = {line.split(" ", 1)[0] for line in lines if not line.startswith(" ")}
    verbs = {w for w in words if w.isalpha() and len(w) > 2 and zipf_frequency(w, "en") >= 2.8}
    exceptions = [
        line.split()[:2] for line in (wordnet / "verb.exc").read_text("utf-8").splitlines()
    ]
    irregular = {
        form: base
        for form, base in exceptions
        if base in verbs
        and form.isalpha()
        and not form.endswith(("ing", "s", "ed"))
        and zipf_frequency(form, "en") >= 2.5
    }
    found = {"source": SOURCE, "irregular": irregular, "verbs": sorted(verbs)}
    path = Path(__file__).resolve().parent / "verbs.json"
    path.write_text(json.dumps(found, indent=0) + "\n", encoding="utf-8")
    print(len(verbs), "verbs,", len(irregular), "irregular forms")


if __name__ == "__main__":
    main()

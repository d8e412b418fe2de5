"""The judge: a small language model that says which wording is likelier.

``score(texts)`` gives the log-probability of whole texts, ``compare(prefix, choices, suffix)`` that
of choices in one place, ``surprisal(text)`` that of each piece of a text. The model is loaded at
the first call and kept; calls are deterministic and may come from several threads.
"""

from __future__ import annotations

from rwtools import artifact
from rwtools.judge.scoring import compare, compare_many, score, surprisal

__all__ = ["compare", "compare_many", "score", "surprisal", "verify"]


def verify() -> None:
    """Check every file of the judge against its checksum; raise `ArtifactError` if one is off."""
    artifact.verify("judge")

"""How a passage gives a word's meaning: beside the word, opposite it, or by its effects."""

from rwtools.vocabulary.familiarity import UNFAMILIAR_BELOW, zipf
from rwtools.vocabulary.model import Gloss, Way, wording
from rwtools.vocabulary.registry import WAYS, find, signals

__all__ = [
    "UNFAMILIAR_BELOW",
    "WAYS",
    "Gloss",
    "Way",
    "find",
    "signals",
    "wording",
    "zipf",
]

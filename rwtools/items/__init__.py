"""Items: multiple-choice questions about a passage, solved, explained and vetted."""

from rwtools.items.model import Item, Solution, read_item

__all__ = ["Item", "Solution", "read_item"]

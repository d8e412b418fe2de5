"""The reader: a small encoder that says which of the choices belongs in a blank.

It sees the passage on both sides of the blank and all choices at once, where the judge reads from
left to right. ``choose(blanks)`` gives the log-probability of each choice, and if
asked also without some part of the passage. The network is loaded at
the first call and kept; calls may come from several threads.
"""

from __future__ import annotations

from rwtools.reader.engine import Blank, Weighed, choose

__all__ = ["Blank", "Weighed", "choose"]

"""HTML that is escaped by construction: whatever is not made by `tag` is text."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape
from typing import Union

__all__ = ["Child", "Html", "join", "tag"]


class Html(str):
    """A piece of finished HTML."""

    __slots__ = ()


Child = Union[str, "Html", None, Iterable["Child"]]
_VOID = {"br", "meta", "hr"}


def join(children: Iterable[Child]) -> Html:
    """Put pieces together; text among them is escaped."""
    return Html("".join(map(_piece, children)))


def _piece(child: Child) -> str:
    if child is None:
        return ""
    if isinstance(child, Html):
        return child
    if isinstance(child, str):
        return escape(child, quote=False)
    return join(child)


def tag(name: str, /, *children: Child, **attributes: str | None) -> Html:
    """An element. In attribute names ``_`` stands for ``-``, and one at the end is dropped.

    Children are `Html`, text (escaped), lists of these, or None (left out), and so are attributes.
    """
    pairs = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{escape(value)}"'
        for key, value in attributes.items()
        if value is not None
    )
    if name in _VOID:
        return Html(f"<{name}{pairs}>")
    return Html(f"<{name}{pairs}>{join(children)}</{name}>")

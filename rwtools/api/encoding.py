"""JSON as it goes over the wire."""

from __future__ import annotations

import json
from typing import Any

from fastapi.responses import JSONResponse

__all__ = ["Json", "encoded"]


def encoded(data: Any) -> bytes:
    """JSON in UTF-8. Half characters (lone surrogates), which UTF-8 lacks, go as escapes."""
    try:
        return _dump(data, ascii_only=False).encode("utf-8")
    except UnicodeEncodeError:
        return _dump(data, ascii_only=True).encode("ascii")


def _dump(data: Any, *, ascii_only: bool) -> str:
    return json.dumps(data, ensure_ascii=ascii_only, allow_nan=False, separators=(",", ":"))


class Json(JSONResponse):
    """A JSON response that can carry whatever text a request brought."""

    def render(self, content: Any) -> bytes:
        """The body."""
        return encoded(content)

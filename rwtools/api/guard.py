"""What every request passes first: host, origin, token, size; and the headers of every answer."""

from __future__ import annotations

import hmac
from collections.abc import MutableMapping
from typing import Any

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from rwtools.api.problems import problem
from rwtools.api.settings import Settings

__all__ = ["Guard"]

# Everything comes from this server; nothing is written inline; nobody frames the page.
_CSP = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "font-src 'self'; connect-src 'self'; manifest-src 'self'; base-uri 'none'; "
    "form-action 'none'; frame-ancestors 'none'"
)
_HEADERS = {
    "content-security-policy": _CSP,
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
}


class Guard:
    """ASGI middleware. Refuses foreign hosts and origins, missing tokens and bodies too large."""

    def __init__(self, app: ASGIApp, settings: Settings) -> None:
        self.app = app
        self.settings = settings

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Check the request, then hand it on."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        refused = self._refusal(scope, headers)

        async def answer(message: Message) -> None:
            if message["type"] == "http.response.start":
                found = MutableHeaders(scope=message)
                for name, value in _HEADERS.items():
                    found.setdefault(name, value)
            await send(message)

        if refused is not None:
            await problem(*refused)(scope, receive, answer)
            return
        await self.app(scope, _Limited(receive, self.settings.max_body), answer)

    def _refusal(self, scope: MutableMapping[str, Any], headers: Headers) -> tuple[int, str] | None:
        host = _host_name(headers.get("host", ""))
        if host not in self.settings.hosts:
            return 421, "This server does not answer for that host name."
        origin = headers.get("origin")
        if origin is not None and _host_name(origin.partition("://")[2]) not in self.settings.hosts:
            return 403, "Requests from other sites are refused."
        if headers.get("sec-fetch-site") == "cross-site" and scope["method"] != "GET":
            return 403, "Requests from other sites are refused."
        size = headers.get("content-length", "0")
        if not size.isdigit() or int(size) > self.settings.max_body:
            return 413, _too_large(self.settings.max_body)
        token = self.settings.token
        if token is not None and scope["path"].startswith("/v1/"):
            given = headers.get("authorization", "").removeprefix("Bearer ")
            if not hmac.compare_digest(given.encode(), token.encode()):
                return 401, "A bearer token is needed."
        return None


class _Limited:
    """A `receive` that counts the body as it comes (a client may not have said its size)."""

    def __init__(self, receive: Receive, limit: int) -> None:
        self.receive = receive
        self.limit = self.left = limit

    async def __call__(self) -> Message:
        message = await self.receive()
        if message["type"] == "http.request":
            self.left -= len(message.get("body", b""))
            if self.left < 0:
                raise HTTPException(413, _too_large(self.limit))
        return message


def _too_large(limit: int) -> str:
    return f"The request is larger than {limit // 1024} KiB."


def _host_name(host: str) -> str:
    """The name in a Host header, without its port."""
    host = host.strip().lower()
    if host.startswith("["):
        return host[1:].partition("]")[0]
    return host.partition(":")[0]

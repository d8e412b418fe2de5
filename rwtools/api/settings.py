"""How the server is set up."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["LOOPBACK", "Settings"]

LOOPBACK = frozenset({"127.0.0.1", "localhost", "::1"})


@dataclass(frozen=True, slots=True)
class Settings:
    """``queue_limit``: pieces of work waiting or in hand in each lane before 503; ``time_limit``:
    seconds for one request (of a stream: until its next lines); ``max_body``: bytes of one
    request; ``token``: the bearer token, None on loopback."""

    host: str = "127.0.0.1"
    port: int = 8765
    token: str | None = None
    workers: int = 1
    queue_limit: int = 32
    time_limit: float = 60.0
    max_body: int = 8 * 1024 * 1024
    warm: bool = True

    @property
    def hosts(self) -> frozenset[str]:
        """Host names that a request may name; others are refused (DNS rebinding)."""
        return LOOPBACK | {self.host}

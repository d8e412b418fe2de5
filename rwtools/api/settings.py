"""How the server is set up; worker processes read it from the environment."""

from __future__ import annotations

import json
import os
from dataclasses import asdict, dataclass

__all__ = ["LOOPBACK", "Settings"]

LOOPBACK = frozenset({"127.0.0.1", "localhost", "::1"})
_VARIABLE = "RWTOOLS_API_SETTINGS"


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

    def to_environment(self) -> None:
        """Leave the settings for worker processes."""
        os.environ[_VARIABLE] = json.dumps(asdict(self))

    @classmethod
    def from_environment(cls) -> Settings:
        """The settings that the parent process left, or the defaults."""
        return cls(**json.loads(os.environ.get(_VARIABLE, "{}")))

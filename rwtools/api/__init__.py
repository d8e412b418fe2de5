"""The local API and its page. Nothing here finds anything: it serves what the rooms below find."""

from rwtools.api.app import create_app
from rwtools.api.settings import Settings

__all__ = ["Settings", "create_app"]

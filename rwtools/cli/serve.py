"""`rwtools serve`: the local API and page."""

from __future__ import annotations

from typing import Annotated

import typer

from rwtools.errors import UsageError

__all__ = ["command"]


def command(
    host: Annotated[
        str, typer.Option(metavar="ADDRESS", help="Address to listen on.")
    ] = "127.0.0.1",
    port: Annotated[int, typer.Option(min=1, max=65535, help="Port to listen on.")] = 8765,
    token: Annotated[
        str | None,
        typer.Option(
            envvar="RWTOOLS_TOKEN",
            metavar="TOKEN",
            help="A secret word that others must send; needed with --host.",
        ),
    ] = None,
    workers: Annotated[int, typer.Option(min=1, max=64, help="Worker processes.")] = 1,
    queue: Annotated[int, typer.Option(min=1, help="Requests at once; more are sent away.")] = 32,
    time_limit: Annotated[float, typer.Option(min=0.1, help="Seconds for one request.")] = 60.0,
) -> None:
    """Serve the local API and its page on this computer. The server keeps no data."""
    from rwtools.api.server import serve
    from rwtools.api.settings import LOOPBACK, Settings

    if host not in LOOPBACK:
        if token is None:
            raise UsageError(f"--host {host} opens the server to others: give a --token too")
        typer.echo(
            f"rwtools: warning: the server listens on {host}, so others can reach it", err=True
        )
    settings = Settings(
        host=host,
        port=port,
        token=token,
        workers=workers,
        queue_limit=queue,
        time_limit=time_limit,
    )
    shown = f"[{host}]" if ":" in host else host
    serve(
        settings,
        lambda: typer.echo(
            f"rwtools: open http://{shown}:{port}/ in a browser; stop with Ctrl+C", err=True
        ),
    )

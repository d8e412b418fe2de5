"""The server: routers by subject, models loaded once in the lifespan, work in a bounded pool."""

from __future__ import annotations

import gc
import sys
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

from fastapi import FastAPI
from fastapi.staticfiles import StaticFiles

from rwtools import __version__
from rwtools.api import problems, schema
from rwtools.api.encoding import Json
from rwtools.api.guard import Guard
from rwtools.api.models import load
from rwtools.api.routers import drills, facts, hints, items
from rwtools.api.settings import Settings
from rwtools.api.work import Lanes

__all__ = ["create_app"]

_PAGE = Path(__file__).parent / "page"


@asynccontextmanager
async def _lifespan(app: FastAPI) -> AsyncIterator[None]:
    settings: Settings = app.state.settings
    app.state.lanes = Lanes(settings.queue_limit, settings.time_limit)
    # The thread that answers must not wait 5 ms, Python's default, for the one that works.
    sys.setswitchinterval(0.001)
    if settings.warm:
        await app.state.lanes.quick.run(load)
        # What lasts as long as the process need not be looked through for garbage.
        gc.collect()
        gc.freeze()
    yield
    app.state.lanes.close()


def create_app(settings: Settings | None = None) -> FastAPI:
    """The API and its page as an ASGI application."""
    app = FastAPI(
        title="rwtools",
        version=__version__,
        summary="See which words of a passage decide the answer, and why.",
        description=(
            "A practice aid only: not affiliated with any examination; its estimates are not "
            "official scores. Offsets are half-open code points of the passage as given; each has "
            "a twin in UTF-16 units for browsers. Errors are RFC 9457 problem details."
        ),
        lifespan=_lifespan,
        default_response_class=Json,
        docs_url=None,
        redoc_url=None,
        generate_unique_id_function=lambda route: route.name,
    )
    app.state.settings = settings or Settings()
    problems.install(app)
    for router in (hints.router, items.router, drills.router, facts.router):
        app.include_router(router)
    # The page answers for the paths that no router knows; a known path with another method is 405.
    app.router.redirect_slashes = False
    app.router.default = StaticFiles(directory=_PAGE, html=True)
    schema.install(app)
    app.add_middleware(Guard, settings=app.state.settings)
    return app

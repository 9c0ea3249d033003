"""The application put together: what is asked for, in which order, by whom it is answered."""

from __future__ import annotations

import importlib
import sys
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from fastapi import FastAPI, Request
from starlette.middleware import Middleware
from starlette.responses import FileResponse, Response
from starlette.staticfiles import StaticFiles

from webapp import errors
from webapp.api import arrange, checks, description, projects
from webapp.database import Database, open_database
from webapp.jobs.service import ArrangeJobs
from webapp.pages import history, jobs
from webapp.resources import folder
from webapp.safety import BodyLimit, Gate, SafeHeaders
from webapp.seed import read_demos, read_shelf
from webapp.settings import Settings
from webapp.stores.projects import ProjectStore
from webapp.stores.shelf import ShelfStore, fill, is_untouched

FORM_ROOM = 64 * 1024  # what a form writes round the file it carries
PIECES = (
    "webapp.pages.inside", "webapp.pages.plate", "webapp.pages.modules",
    "webapp.pages.module_types", "webapp.pages.layout", "webapp.pages.papers", "webapp.live.drag",
    "webapp.api.sheets",
)


def create_app(settings: Settings) -> FastAPI:
    """The application on a data folder.

    Raises:
        Unusable: the data folder or its database cannot be used; says why in words.
    """
    database = open_database(settings.database)
    app = FastAPI(
        title="Platewright", version="1", docs_url=None, redoc_url=None, openapi_url=None,
        redirect_slashes=False, lifespan=_lifespan, middleware=_middleware(settings),
    )
    app.state.settings = settings
    app.state.database = database
    app.state.store = ProjectStore(database)
    if is_untouched(database):
        demos = read_demos(settings.seed).values()
        fill(database, app.state.store, read_shelf(settings.seed), demos)
    app.state.shelf = ShelfStore(database).part_types()
    app.state.jobs = ArrangeJobs(queue=settings.arrange_queue)
    errors.install(app)
    _include(app)
    return app


def _middleware(settings: Settings) -> list[Middleware]:
    def limit(path: str) -> int:
        carries_file = path == "/import" or path.endswith("/keep")
        return settings.max_import + FORM_ROOM if carries_file else settings.max_body

    return [
        Middleware(SafeHeaders), Middleware(errors.LastResort), Middleware(Gate),
        Middleware(BodyLimit, limit=limit),
    ]


@asynccontextmanager
async def _lifespan(app: FastAPI) -> AsyncIterator[None]:
    app.state.jobs.start()
    yield
    app.state.jobs.close()
    database: Database = app.state.database
    database.close()


def _include(app: FastAPI) -> None:
    for router in (jobs.router, history.router, description.router, projects.router,
                   checks.router, arrange.router):
        app.include_router(router)
    for piece in PIECES:
        try:
            app.include_router(importlib.import_module(piece).router)
        except ImportError as error:
            print(f"{piece} is not there yet: {error}", file=sys.stderr)
    static = folder("static")
    app.mount("/static", StaticFiles(directory=static, check_dir=False), name="static")

    @app.get("/favicon.ico", include_in_schema=False)
    def favicon(_request: Request) -> Response:
        return FileResponse(static / "icons" / "favicon.svg", media_type="image/svg+xml")

"""The application put together: what is asked for, in which order, by whom it is answered."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from functools import lru_cache
from threading import Timer

from fastapi import FastAPI, Request
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.responses import FileResponse, Response

from layout_engine.spots import Forms
from webapp import errors
from webapp.api import arrange, asked, checks, description, projects, sheets, supply
from webapp.api import wires as wire_calls
from webapp.database import Database, open_database
from webapp.heads import HeadAsGet
from webapp.jobs.service import ArrangeJobs
from webapp.live import drag, findings
from webapp.live.pieces import Pieces
from webapp.live.scenes import Scenes
from webapp.pages import (
    history,
    inside,
    jobs,
    joining,
    layout,
    module_types,
    modules,
    papers,
    plate,
    wires,
)
from webapp.resources import folder
from webapp.safety import BodyLimit, Gate, SafeHeaders
from webapp.seed import read_demos, read_shelf
from webapp.settings import Settings
from webapp.static_files import static_files
from webapp.stores.projects import ProjectStore
from webapp.stores.shelf import ShelfStore, fill, is_untouched
from webapp.views import compile_templates

PIECES = (
    jobs, history, inside, plate, modules, module_types, joining, layout, wires, papers, drag,
    findings, description, projects, checks, arrange, sheets, supply, asked, wire_calls,
)
LEAST_COMPRESSED = 1024  # bytes; a shorter answer fits one packet as it is
PATHS_KEPT = 2048  # a page names some hundred; finding one route by its name takes 0.1 ms
UNTIL_COMPILED_S = 0.5  # the page that a person waits for at the start goes first
FORM_ROOM = 64 * 1024  # what a form writes round the file it carries


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
    app.state.pieces = Pieces()
    app.state.path_of = lru_cache(maxsize=PATHS_KEPT)(app.url_path_for)
    app.state.scenes = Scenes()
    app.state.forms = Forms()
    app.state.checks_at_once = asyncio.Semaphore(checks.AT_ONCE)
    app.state.jobs = ArrangeJobs(queue=settings.arrange_queue)
    errors.install(app)
    _include(app)
    return app


def _middleware(settings: Settings) -> list[Middleware]:
    def limit(path: str) -> int:
        carries_file = path == "/import" or path.endswith("/keep")
        return settings.max_import + FORM_ROOM if carries_file else settings.max_body

    return [
        Middleware(SafeHeaders), Middleware(HeadAsGet), Middleware(errors.LastResort),
        Middleware(Gate),
        Middleware(GZipMiddleware, minimum_size=LEAST_COMPRESSED, compresslevel=4),
        Middleware(BodyLimit, limit=limit),
    ]


@asynccontextmanager
async def _lifespan(app: FastAPI) -> AsyncIterator[None]:
    app.state.jobs.start()
    compiling = Timer(UNTIL_COMPILED_S, compile_templates)
    compiling.daemon = True
    compiling.start()
    yield
    compiling.cancel()
    app.state.jobs.close()
    database: Database = app.state.database
    database.close()


def _include(app: FastAPI) -> None:
    for piece in PIECES:
        app.include_router(piece.router)
    app.mount("/static", static_files(), name="static")

    @app.get("/favicon.ico", include_in_schema=False)
    def favicon(_request: Request) -> Response:
        icon = folder("static") / "icons" / "favicon.svg"
        return FileResponse(icon, media_type="image/svg+xml")

"""Projects for programs: list, create, read, change, bin, and the document as a file."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from layout_engine import load_document
from webapp.api.answers import (
    ProjectId,
    etag,
    json_answer,
    json_body,
    raw_answer,
    wanted_revision,
)
from webapp.api.description import (
    CREATED,
    DOCUMENT,
    DOCUMENT_BODY,
    IF_MATCH,
    PROJECT,
    PROJECTS,
    SAVED,
    problems,
)
from webapp.printing.file_names import attachment
from webapp.stores.projects import Opened
from webapp.views import StoreDep

router = APIRouter(prefix="/api/projects", tags=["projects"])


@router.get("", responses=PROJECTS)
def list_projects(store: StoreDep) -> Response:
    """Every project outside the bin, the newest change first."""
    return json_answer({"projects": [
        {"id": p.id, "name": p.name, "revision": p.revision, "changed": p.changed.isoformat()}
        for p in store.list_projects()
    ]})


@router.post("", status_code=201, responses=CREATED | problems(400, 413, 415, 422),
             openapi_extra=DOCUMENT_BODY)
async def create_project(request: Request, store: StoreDep) -> Response:
    """Store a document as a new project."""
    body = await json_body(request)
    opened = await run_in_threadpool(
        lambda: store.create(load_document(body), "sent by a program")
    )
    location = str(request.app.url_path_for("read_project", project_id=opened.id))
    return json_answer(_saved(opened), 201, ETag=etag(opened.revision), Location=location)


def _saved(opened: Opened) -> dict[str, Any]:
    return {"id": opened.id, "revision": opened.revision}


@router.get("/{project_id}", responses=PROJECT | problems(404, 422))
def read_project(project_id: ProjectId, store: StoreDep) -> Response:
    """The newest revision of a project, with its document."""
    opened = store.open(project_id)
    head = f'{{"id": "{opened.id}", "revision": {opened.revision}, "document": '.encode()
    return raw_answer(head + opened.document_bytes + b"}", ETag=etag(opened.revision))


@router.put("/{project_id}", responses=SAVED | problems(400, 404, 412, 413, 415, 422, 428),
            openapi_extra=DOCUMENT_BODY | IF_MATCH)
async def change_project(request: Request, project_id: ProjectId, store: StoreDep) -> Response:
    """Store a document as the next revision of a project, made from the one If-Match names."""
    body = await json_body(request)
    revision = wanted_revision(request, store.open(project_id).revision)
    opened = await run_in_threadpool(
        lambda: store.save(project_id, load_document(body), "changed by a program", revision)
    )
    return json_answer(_saved(opened), ETag=etag(opened.revision))


@router.delete("/{project_id}", status_code=204, responses=problems(404, 422))
def bin_project(project_id: ProjectId, store: StoreDep) -> Response:
    """Put a project into the bin."""
    store.bin(project_id)
    return Response(status_code=204)


@router.post("/{project_id}/restore", responses=SAVED | problems(404, 413, 422))
def restore_project(project_id: ProjectId, store: StoreDep) -> Response:
    """Take a project out of the bin."""
    opened = store.restore(project_id)
    return json_answer(_saved(opened), ETag=etag(opened.revision))


@router.get("/{project_id}/document.json", responses=DOCUMENT | problems(404, 422))
def document_file(project_id: ProjectId, store: StoreDep) -> Response:
    """The document of a project, to keep or to import elsewhere."""
    opened = store.open(project_id)
    return raw_answer(
        opened.document_bytes, ETag=etag(opened.revision),
        Content_Disposition=attachment(opened.job.name, f"rev {opened.revision}", "json"),
    )


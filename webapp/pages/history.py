"""Undo, redo, and keeping one's own version after somebody else was quicker."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from layout_engine import load_document
from layout_engine.model.reading import MAX_BYTES
from webapp.forms.posted import FormDep, revision_of
from webapp.views import TABS, StoreDep

router = APIRouter()


def _back(request: Request, project_id: str, page: str) -> Response:
    name = page if page in {tab.name for tab in TABS} else TABS[0].name
    return RedirectResponse(request.app.url_path_for(name, project_id=project_id), 303)


@router.post("/jobs/{project_id}/undo", name="undo")
def undo(request: Request, project_id: str, form: FormDep, store: StoreDep) -> Response:
    """Take the last change back, then show the page that it was asked from."""
    store.undo(project_id, revision_of(form))
    return _back(request, project_id, form.get("page", ""))


@router.post("/jobs/{project_id}/redo", name="redo")
def redo(request: Request, project_id: str, form: FormDep, store: StoreDep) -> Response:
    """Do again what was taken back, then show the page that it was asked from."""
    store.redo(project_id, revision_of(form))
    return _back(request, project_id, form.get("page", ""))


@router.post("/jobs/{project_id}/keep", name="keep_mine")
async def keep(request: Request, project_id: str, store: StoreDep) -> Response:
    """Store the version that came too late as a new revision on top of the newest one."""
    form = await request.form(max_part_size=MAX_BYTES)
    text, words = str(form.get("document", "")), str(form.get("words", "keep my version"))[:200]
    number = revision_of(form)
    await run_in_threadpool(
        lambda: store.save(project_id, load_document(text), f"keep mine: {words}"[:200], number)
    )
    return _back(request, project_id, str(form.get("page", "")))

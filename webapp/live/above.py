"""The small section from above on an open Layout page: it follows the chosen module."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from webapp.drawings.sections import cut_height, top_view
from webapp.views import StoreDep, environment

router = APIRouter()


@router.get("/jobs/{project_id}/layout/above", name="layout_above")
def above(request: Request, project_id: str, store: StoreDep, part: str = "") -> Response:
    """The newest revision cut at the middle of a module, or of the plate where none is named."""
    job = store.open(project_id).job
    values = {"request": request, "above": top_view(job, part), "height": cut_height(job, part)}
    return HTMLResponse(environment().get_template("fragments/layout_above.html").render(values))

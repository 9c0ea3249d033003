"""Findings of an open page that come after it: they wait until the wires are routed.

Routes are worked out in a thread of the pool, never in the event loop. After a change the page is
first told what is found while wires only give way to it, then what is found for good.
"""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse

from webapp.live.pieces import pieces_of
from webapp.live.state import judged_state, read_view
from webapp.stores.judging import judged_soon
from webapp.views import StoreDep

router = APIRouter()


@router.get("/jobs/{project_id}/layout/findings", name="layout_findings")
def findings(request: Request, project_id: str, store: StoreDep, view: str = "front",
             quick: bool = False) -> JSONResponse:
    """Every finding about the newest revision, as the pieces of the Layout page.

    quick: where it is not known yet how its wires run best, with wires that only give way.
    """
    opened = store.open(project_id)
    judged = judged_soon(opened, quick=quick)
    state = judged_state(opened, read_view(view), judged)
    return JSONResponse({
        "revision": opened.revision, "known": judged.known, "stops": judged.stop_count,
        "pieces": pieces_of(request).judged(request, state),
    })


@router.get("/jobs/{project_id}/stops", name="job_stops")
def stops(project_id: str, store: StoreDep) -> JSONResponse:
    """How many findings forbid building the newest revision, all of them known."""
    opened = store.open(project_id)
    judged = judged_soon(opened, quick=False)
    return JSONResponse({"revision": opened.revision, "stops": judged.stop_count})

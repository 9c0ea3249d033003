"""Groups on an open Layout page: modules that move together, made and undone."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse

from layout_engine import DocumentError, Fault, Job
from layout_engine.edits import Edited, join_parts, part_alone
from webapp.live.edits import PartId, Sent, changed, known, read_sent, refused
from webapp.views import StoreDep

router = APIRouter()


class Joined(Sent):
    """A module that is to move together with another; null: with none any more."""

    part: PartId
    other: PartId | None = None


@router.post("/jobs/{project_id}/layout/group", name="layout_group")
async def group(request: Request, project_id: str, store: StoreDep) -> JSONResponse:
    """Let a module move together with another and its group, or on its own again."""
    try:
        sent = await read_sent(request, Joined)
    except DocumentError as error:
        return refused(error)

    def edit(job: Job) -> Edited:
        known(job, sent.part)
        if sent.other is None:
            return part_alone(job, sent.part)
        known(job, sent.other)
        if sent.other == sent.part:
            raise DocumentError([Fault("$.other", sent.other, "the id of another module")])
        return join_parts(job, sent.part, sent.other)

    return await changed(request, store, project_id, sent, edit)

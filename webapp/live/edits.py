"""Drops and other changes of an open Layout page: JSON in, the changed pieces of the page out.

Every request names the revision that the page shows. When that is not the newest any more the
answer is 412 with the newest number and nothing is changed; the page then keeps what its person
did and asks. A request that the server saved but whose answer got lost may be sent again: the
page finds its own change in the newest revision.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Annotated, Any, TypeVar

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse, Response
from pydantic import BaseModel, ConfigDict, Field, ValidationError
from starlette.concurrency import run_in_threadpool

from layout_engine import DocumentError, Fault, Job
from layout_engine.edits import Edited, accept_findings, lock_part, place_parts, set_part
from layout_engine.model.fields import Coordinate, Turn
from layout_engine.model.part import Placement
from layout_engine.model.plate import Face
from webapp.drawings.board import module_on_board
from webapp.live.corners import at_centre, at_corner, centre_of, corner_of
from webapp.live.pieces import pieces_of
from webapp.live.state import TOLD_TOGETHER, layout_state, read_view
from webapp.live.together import carried, companions, turned_together
from webapp.stores.judging import judged_now
from webapp.stores.projects import LostUpdate, NotFound, Opened
from webapp.views import StoreDep, environment

router = APIRouter()
MOST_PLACED = 300  # the contract's number of parts
LOST, UNPROCESSABLE = 412, 422
T = TypeVar("T", bound=BaseModel)
Revision = Annotated[int, Field(strict=True, ge=1, le=2**31 - 1)]
PartId = Annotated[str, Field(max_length=40)]


class Sent(BaseModel):
    """What every request of an open page says: the revision it shows, and the view."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    revision: Revision
    view: str = "front"


class Places(Sent):
    """Where modules are put; null: into the tray."""

    placements: Annotated[dict[PartId, Placement | None], Field(min_length=1,
                                                               max_length=MOST_PLACED)]


class Locked(Sent):
    """A module locked where it stands, or freed."""

    part: PartId
    locked: Annotated[bool, Field(strict=True)]


class Acceptance(Sent):
    """A warning accepted with a reason; of warnings that are told together all their subjects."""

    rule: Annotated[str, Field(max_length=60)]
    subjects: Annotated[list[Annotated[str, Field(max_length=200)]], Field(max_length=300)]
    reason: Annotated[str, Field(min_length=3, max_length=1000)]


class Wanted(BaseModel):
    """How a module is to be drawn: turned about its middle, or put with its corner somewhere.

    together: with the modules of its group, which then turn about their common middle; `now` is
    where it is held, when it does not stand where it was saved.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    view: str = "front"
    part: PartId
    face: Face
    turn: Turn
    x: Coordinate | None = None
    y: Coordinate | None = None
    corner: tuple[Coordinate, Coordinate] | None = None
    centre: tuple[Coordinate, Coordinate] | None = None
    together: bool = False
    now: Placement | None = None


async def read_sent(request: Request, kind: type[T]) -> T:
    """The body of a request; raises DocumentError with everything that is wrong in it."""
    try:
        return kind.model_validate_json(await request.body())
    except ValidationError as error:
        raise DocumentError([
            Fault(".".join(("$", *map(str, found["loc"]))), None, str(found["msg"]))
            for found in error.errors(include_url=False, include_input=False)
        ]) from None


def refused(error: DocumentError) -> JSONResponse:
    """Every fault in words, as JSON."""
    faults = [{"path": f.path, "allowed": f.allowed} for f in error.errors]
    words = "; ".join(f"{f.path}: {f.allowed}" for f in error.errors)
    return JSONResponse({"words": f"This cannot be: {words}", "errors": faults}, UNPROCESSABLE)


def lost(error: LostUpdate) -> JSONResponse:
    """The job was changed elsewhere; nothing was saved."""
    return JSONResponse({
        "words": f"This job was changed elsewhere meanwhile ({error.theirs.words}).",
        "revision": error.theirs.revision,
    }, LOST)


def answer(request: Request, opened: Opened, view: str, shown: int | None = None) -> JSONResponse:
    """The newest revision as the page shows it; without what is the same as in revision `shown`."""
    state = layout_state(opened, read_view(view))
    made = pieces_of(request)
    return JSONResponse({
        "revision": opened.revision, "words": opened.words, "view": state.view,
        "stops": state.job_bar.stop_count, "placements": _placements(opened.job),
        "pieces": made.of(request, state) if shown is None
        else made.changed(request, state, shown),
    })


def _placements(job: Job) -> dict[str, Any]:
    return {p.id: None if p.placement is None else p.placement.model_dump() for p in job.parts}


async def changed(request: Request, store: StoreDep, project_id: str, sent: Sent,
                  edit: Callable[[Job], Edited]) -> JSONResponse:
    """Edit, save on top of the revision that the page showed, answer with the new one."""
    def save() -> Opened:
        edited = edit(store.open(project_id).job)
        return store.save(project_id, edited.job, edited.words, sent.revision)

    try:
        opened = await run_in_threadpool(save)
    except DocumentError as error:
        return refused(error)
    except LostUpdate as error:
        return lost(error)
    return await run_in_threadpool(answer, request, opened, sent.view, sent.revision)


def known(job: Job, part_id: str) -> None:
    """Raises NotFound for a part that the job does not have."""
    if part_id not in job.parts_by_id:
        raise NotFound(f"There is no module {part_id!r} in this job.")


@router.get("/jobs/{project_id}/layout/state", name="layout_state")
def state(request: Request, project_id: str, store: StoreDep, view: str = "front",
          than: int = 0) -> Response:
    """The newest revision, for a page that is behind; 204 where it is not newer `than` its own."""
    opened = store.open(project_id)
    return answer(request, opened, view) if opened.revision > than else Response(status_code=204)


@router.post("/jobs/{project_id}/layout/place", name="layout_place")
async def place(request: Request, project_id: str, store: StoreDep) -> JSONResponse:
    """Put modules where they were dropped."""
    try:
        sent = await read_sent(request, Places)
    except DocumentError as error:
        return refused(error)

    def edit(job: Job) -> Edited:
        for part_id in sent.placements:
            known(job, part_id)
        return _placed(job, sent.placements)

    return await changed(request, store, project_id, sent, edit)


def _placed(job: Job, placements: dict[str, Placement | None]) -> Edited:
    """Place them; one that sat elsewhere and goes to the tray no longer sits elsewhere."""
    edited = place_parts(job, placements)
    for part_id, placement in placements.items():
        if placement is None and job.part(part_id).away is not None:
            edited = set_part(edited.job, part_id, edited.words, away=None)
    return edited


@router.post("/jobs/{project_id}/layout/lock", name="layout_lock")
async def lock(request: Request, project_id: str, store: StoreDep) -> JSONResponse:
    """Lock a module where it stands, or free it."""
    try:
        sent = await read_sent(request, Locked)
    except DocumentError as error:
        return refused(error)

    def edit(job: Job) -> Edited:
        known(job, sent.part)
        return lock_part(job, sent.part, locked=sent.locked)

    return await changed(request, store, project_id, sent, edit)


@router.post("/jobs/{project_id}/layout/accept", name="layout_accept")
async def accept(request: Request, project_id: str, store: StoreDep) -> JSONResponse:
    """Accept a warning with a reason; a stop cannot be accepted."""
    try:
        sent = await read_sent(request, Acceptance)
    except DocumentError as error:
        return refused(error)
    each = [[one] for one in sent.subjects] if sent.rule in TOLD_TOGETHER else [sent.subjects]

    def is_stop() -> bool:
        found = judged_now(store.open(project_id)).findings
        return any(f.severity == "stop" for f in found
                   if f.rule == sent.rule and list(f.subjects) in each)

    if await run_in_threadpool(is_stop):
        return refused(DocumentError([Fault("$.rule", sent.rule, "a warning; a stop cannot be "
                                            "accepted")]))
    when = f"{datetime.now(UTC):%Y-%m-%d %H:%M} UTC"
    return await changed(
        request, store, project_id, sent,
        lambda job: accept_findings(job, sent.rule, each, sent.reason.strip(), when),
    )


@router.post("/jobs/{project_id}/layout/module", name="layout_module")
async def module(request: Request, project_id: str, store: StoreDep) -> JSONResponse:
    """One module as it would be drawn at another turn, face or place; nothing is saved."""
    try:
        wanted = await read_sent(request, Wanted)
    except DocumentError as error:
        return refused(error)
    opened = await run_in_threadpool(store.open, project_id)
    known(opened.job, wanted.part)
    return await run_in_threadpool(_drawn, request, opened.job, wanted)


def _drawn(request: Request, job: Job, wanted: Wanted) -> JSONResponse:
    placement, others = _wanted_placements(job, wanted)
    kind = job.type_of(job.part(wanted.part))
    return JSONResponse({
        "placement": placement.model_dump(), "corner": corner_of(kind, placement),
        "centre": centre_of(kind, placement),
        "svg": _module_svg(request, job, wanted.part, placement, wanted.view),
        "mates": {mate: {"placement": place.model_dump(),
                         "svg": _module_svg(request, job, mate, place, wanted.view)}
                  for mate, place in others.items()},
    })


def _module_svg(request: Request, job: Job, part_id: str, placement: Placement, view: str) -> str:
    part = job.part(part_id).put(placement)
    values = {"request": request, "drawing": module_on_board(job, part, read_view(view))}
    return environment().get_template("fragments/layout_module.html").render(values)


def _wanted_placements(job: Job, wanted: Wanted) -> tuple[Placement, dict[str, Placement]]:
    """Where the module comes to, and those that come along."""
    saved = job.part(wanted.part).placement
    now = wanted.now or saved
    if not wanted.together or saved is None or now is None or not companions(job, wanted.part):
        return _wanted_placement(job, wanted), {}
    placement = _wanted_placement(job, wanted) if wanted.corner is not None \
        else turned_together(job, wanted.part, now, wanted.face, wanted.turn)
    return placement, carried(job, wanted.part, placement)


def _wanted_placement(job: Job, wanted: Wanted) -> Placement:
    kind = job.type_of(job.part(wanted.part))
    if wanted.corner is not None:
        return at_corner(kind, wanted.corner, wanted.face, wanted.turn)
    if wanted.centre is not None:
        return at_centre(kind, wanted.centre, wanted.face, wanted.turn)
    width, height = job.plate.size
    x = width / 2 if wanted.x is None else wanted.x
    y = height / 2 if wanted.y is None else wanted.y
    return Placement(face=wanted.face, x=x, y=y, turn=wanted.turn)




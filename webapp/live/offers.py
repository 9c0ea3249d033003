"""Arranging on the Layout page: start, look, stop; then the offer is taken or left.

An offer never changes the job by itself. It is made from one revision; taking it places its
modules on top of the newest one, so that nothing done meanwhile is lost.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse
from pydantic import Field
from starlette.concurrency import run_in_threadpool

from layout_engine import DocumentError, Fault, Finding, Job
from layout_engine.arranging import Character
from layout_engine.arranging.cost import evaluate
from layout_engine.arranging.crowding import crowdedness, crowding_of
from layout_engine.arranging.respects import Respect, respects_of
from layout_engine.arranging.staying import LEAST_WAY_MM
from layout_engine.checks.wording import listed
from layout_engine.edits import take_offer, take_plate
from layout_engine.joining.terminal_names import wire_words
from layout_engine.model.fields import MAX_COORDINATE_MM
from layout_engine.sizing.routed import guessed_sizes
from layout_engine.wiring.lost import Lost, lost_wires
from layout_engine.working import Working
from webapp.drawings.board import board
from webapp.drawings.primitives import Drawing
from webapp.drawings.seen import View
from webapp.forms.values import as_written
from webapp.forms.working_names import Names
from webapp.jobs.service import AlreadyArranging, ArrangeJob, QueueFull, jobs_of
from webapp.jobs.worker import LARGEST_SEED, Ask
from webapp.live.edits import MOST_PLACED, PartId, Sent, changed, read_sent, refused
from webapp.live.offer_figures import (
    PER_CENT,
    RESPECT_WORDS,
    change_working,
    respect_workings,
    with_names,
)
from webapp.live.state import counts_words, placed_words, read_view
from webapp.stores.projects import Opened
from webapp.views import StoreDep, environment

router = APIRouter()
CHARACTER_WORDS = (
    ("shortest", "Shortest wires"), ("coolest", "Coolest"), ("serviceable", "Easiest to service"),
    ("tidiest", "Tidiest"),
)
MOST_NAMED = 4  # modules that move, or wires, are named up to here; more are counted
SAME_SHARE = 0.005  # scores that differ by less are told as equal
EFFORTS_S = {"quick": 3.0, "normal": 10.0, "thorough": 30.0}
ASKED_S = 30.0  # for what musts cost, and for the smallest plate
BUSY, CONFLICT = 429, 409
NOTHING = {"all": "Every module is locked.", "tray": "The tray is empty.",
           "some": "Choose modules that are not locked."}


class Order(Sent):
    """What is to be arranged or asked, how, and how long it may take."""

    ask: Ask = "arrange"
    scope: Literal["tray", "all", "some"] = "tray"
    some: Annotated[tuple[PartId, ...], Field(max_length=MOST_PLACED)] = ()
    character: Character = "shortest"
    at_most_mm: Annotated[float, Field(gt=LEAST_WAY_MM, le=MAX_COORDINATE_MM)] | None = None
    effort: Literal["quick", "normal", "thorough"] = "normal"
    seed: Annotated[int, Field(strict=True, ge=0, le=LARGEST_SEED)] = 0


@dataclass(frozen=True, slots=True)
class Side:
    """What was there, or the offer: its picture and its figures in words."""

    title: str
    drawing: Drawing
    placed: str
    counts: str
    respects: tuple[Respect, ...]
    workings: tuple[tuple[str, Working], ...]


@dataclass(frozen=True, slots=True)
class Offer:
    """An arrangement beside what was there, the sum of it in words, and what is behind it.

    `moves`: who moves, in a sentence; `is_news`: whether anybody does. `change`: how the figure in
    `words` was worked out; None where it has none.
    `rows`: title of a respect, what was there and the offer in words, and which is better.
    `lacks_room`: whether modules that may move were left in the tray.
    `is_older`: whether the job was changed since the offer was begun.
    """

    before: Side
    after: Side
    moves: str
    is_news: bool
    words: str
    change: Working | None
    capped: bool
    stopped: bool
    reason: str
    rows: tuple[tuple[str, str, str, str], ...]
    details: dict[str, Any] | None
    character: str
    lacks_room: bool
    is_older: bool
    characters: tuple[tuple[str, str], ...] = CHARACTER_WORDS


def movable(job: Job, order: Order) -> frozenset[str]:
    """Ids of the modules that an order lets move."""
    free = (p for p in job.parts if p.away is None and not p.locked)
    if order.scope == "some":
        return frozenset(p.id for p in free if p.id in order.some)
    return frozenset(p.id for p in free if order.scope == "all" or p.placement is None)


def to_arrange(job: Job, scope: str) -> Job:
    """The job as it goes to the optimiser: for the tray alone, what is placed stays put."""
    if scope != "tray":
        return job
    return job.with_parts(
        part if part.placement is None else part.model_copy(update={"locked": True})
        for part in job.parts
    )


@router.post("/jobs/{project_id}/layout/arrange", name="layout_arrange")
async def start(request: Request, project_id: str, store: StoreDep) -> JSONResponse:
    """Start arranging the tray, or everything that is not locked."""
    try:
        order = await read_sent(request, Order)
    except DocumentError as error:
        return refused(error)
    opened = await run_in_threadpool(store.open, project_id)
    moving = movable(opened.job, order)
    if not moving and order.ask == "arrange":
        return JSONResponse({"words": f"Nothing to arrange. {NOTHING[order.scope]}"}, CONFLICT)
    asked = order.ask == "arrange"
    try:
        made = jobs_of(request).submit(
            to_arrange(opened.job, order.scope) if asked else opened.job,
            seconds=EFFORTS_S[order.effort] if asked else ASKED_S, seed=order.seed, ask=order.ask,
            wishes=_wishes(order, moving) if asked else {}, project=project_id,
            revision=opened.revision,
        )
    except AlreadyArranging as running:
        return JSONResponse({"words": "This job is being arranged already.", "job": running.job},
                            CONFLICT)
    except QueueFull:
        return JSONResponse({"words": "Too many jobs are being arranged. Try again later."}, BUSY)
    return JSONResponse({"job": made.id}, 202)


def _wishes(order: Order, moving: frozenset[str]) -> dict[str, Any]:
    """What is asked of the optimiser beyond its usual."""
    wishes: dict[str, Any] = {}
    if order.character != "shortest":
        wishes["character"] = order.character
    if order.scope == "some":
        wishes["only"] = moving
    if order.at_most_mm is not None:
        wishes["at_most_mm"] = order.at_most_mm
    return wishes


@router.get("/jobs/{project_id}/layout/arrange", name="layout_progress")
def look(request: Request, project_id: str, store: StoreDep, view: str = "front") -> JSONResponse:
    """How far the newest arranging of this job is, with a picture; the offer when it is there."""
    opened = store.open(project_id)
    running = jobs_of(request).of_project(project_id)
    if running is None or running.is_answered:
        return JSONResponse({"state": "none"})
    return _shown(request, opened, running, read_view(view))


@router.post("/jobs/{project_id}/layout/arrange/stop", name="layout_stop")
def stop(request: Request, project_id: str, store: StoreDep, view: str = "front") -> JSONResponse:
    """Stop and keep the best so far as the offer."""
    opened = store.open(project_id)
    running = jobs_of(request).of_project(project_id)
    if running is None:
        return JSONResponse({"state": "none"})
    stopped = jobs_of(request).stop(running.id) or running
    return _shown(request, opened, stopped, read_view(view))


@router.post("/jobs/{project_id}/layout/arrange/take", name="layout_take")
async def take(request: Request, project_id: str, store: StoreDep) -> JSONResponse:
    """Take the offer."""
    try:
        sent = await read_sent(request, Sent)
    except DocumentError as error:
        return refused(error)
    running = jobs_of(request).of_project(project_id)
    offer = None if running is None else await run_in_threadpool(running.offer)
    if running is None or offer is None or running.is_answered:
        missing = Fault("$.offer", None, "an offer that was not taken or left before")
        return refused(DocumentError([missing]))
    taker = take_plate if running.ask == "plate" else take_offer
    answer = await changed(request, store, project_id, sent, lambda job: taker(job, offer))
    if answer.status_code == 200:
        jobs_of(request).answer(running.id)
    return answer


@router.post("/jobs/{project_id}/layout/arrange/leave", name="layout_leave")
def leave(request: Request, project_id: str, store: StoreDep) -> JSONResponse:
    """Leave the offer, or stop the arranging and leave it; the job stays as it is."""
    store.open(project_id)
    running = jobs_of(request).of_project(project_id)
    if running is not None:
        jobs_of(request).stop(running.id)
        jobs_of(request).answer(running.id)
    return JSONResponse({"state": "none"})


def _shown(request: Request, opened: Opened, running: ArrangeJob, view: View) -> JSONResponse:
    best, running = running.offer(), replace(running, words=as_written(running.words))
    values: dict[str, object] = {"request": request, "view": view}
    if running.is_active or best is None:
        picture = None if best is None else board(best, view)
        done = running.ask == "arrange" and running.progress >= 1
        values["left_over"] = len(best.tray) if best is not None and done else 0
        html = environment().get_template("fragments/layout_progress.html").render(
            values | {"running": running, "picture": picture})
    elif running.ask == "arrange":
        offer = _offer(opened, best, running, view)
        html = environment().get_template("fragments/layout_offer.html").render(
            values | {"offer": offer})
    else:
        details = with_names(running.details, Names(best))
        html = environment().get_template("fragments/layout_asked.html").render(
            values | {"running": running, "details": details, "picture": board(best, view)})
    return JSONResponse({"state": running.state, "progress": running.progress, "html": html})


def _offer(opened: Opened, best: Job, running: ArrangeJob, view: View) -> Offer:
    offered = take_offer(opened.job, best).job
    before, after = evaluate(opened.job).wire_cost, evaluate(offered).wire_cost
    same = {p.id for p in opened.job.placed} == {p.id for p in offered.placed}
    there = _side("What was there", opened.job, tuple(opened.placement_findings), view)
    made = _side("The offer", offered, tuple(opened.placement_findings_of(offered)), view)
    details = running.details
    rows = [(RESPECT_WORDS[a.name], a.words, b.words, _better(a.score, b.score) if same else "")
            for a, b in zip(there.respects, made.respects, strict=True)]
    moved, come = _moved(opened.job, offered)
    return Offer(
        there, made, _moves_words(moved, come, len(offered.placed)), bool(moved or come),
        _sum_words(before, after) if same and moved else "",
        change_working(before, after) if same and before > 0 else None, running.capped,
        running.state == "stopped", running.words,
        (*rows, _crowding_row(opened.job, offered, same=same)),
        with_names(details, Names(offered)) if details else None,
        running.character,
        bool(details and details["unplaced"]), running.revision not in (None, opened.revision),
    )


def _moved(before: Job, after: Job) -> tuple[list[str], list[str]]:
    """Titles of the modules that would stand elsewhere, and of those that come from the tray."""
    stood = {part.id: part.placement for part in before.placed}
    moved = [p.title for p in after.placed if p.id in stood and p.placement != stood[p.id]]
    return moved, [part.title for part in after.placed if part.id not in stood]


def _moves_words(moved: list[str], come: list[str], placed: int) -> str:
    """Who moves: "2 of 16 modules move: Lamp relay and Meter."; names while they are few."""
    if not moved and not come:
        return "Nothing better was found: every module stays where it is."
    told = []
    for titles, out_of, one, many in (
            (come, "", "comes from the tray", "come from the tray"),
            (moved, f" of {placed}", "moves", "move")):
        if titles:
            modules = "module" if len(titles) == 1 and not out_of else "modules"
            names = f": {listed(titles)}" if len(titles) <= MOST_NAMED else ""
            told.append(f"{len(titles)}{out_of} {modules} "
                        f"{one if len(titles) == 1 else many}{names}.")
    return " ".join(told)


def _crowding_row(before: Job, after: Job, *, same: bool) -> tuple[str, str, str, str]:
    """Whether each wire has a way, and how full of wires the gaps are expected to be, of what was
    there and of the offer.
    """
    found = crowding_of(before), crowding_of(after)
    lost = [lost_wires(job, guessed_sizes(job)) for job in (before, after)]
    there, made = (f"{f.words} {_lost_words(job, wires)}" if f else "No wire has both its ends "
                   "placed." for f, job, wires in zip(found, (before, after), lost, strict=True))
    better = _better(-crowdedness(before), -crowdedness(after)) if same and all(found) else ""
    if better and len(lost[0]) != len(lost[1]):
        better = _better(-len(lost[0]), -len(lost[1]))
    return "Room for wires", there, made, better


def _lost_words(job: Job, lost: list[Lost]) -> str:
    """The wires that have no way, by name while they are few."""
    if not lost:
        return "Every wire has a way that is wide enough."
    wires = {c.id: c for c in job.connections}
    names = [wire_words(job, wires[one.wire]) for one in lost]
    told = f": {listed(names)}" if len(names) <= MOST_NAMED else ""
    count = "1 wire has" if len(names) == 1 else f"{len(names)} wires have"
    return f"{count} no way that is wide enough{told}."


def _better(before: float, after: float) -> str:
    """Which of two layouts of the same modules is better, by their scores in a respect."""
    if abs(after - before) <= SAME_SHARE * max(abs(before), abs(after)):
        return "the same"
    return "better" if after > before else "worse"


def _side(title: str, job: Job, findings: tuple[Finding, ...], view: View) -> Side:
    open_ones = tuple(f for f in findings if f.accepted is None)
    respects = respects_of(job).all()
    return Side(title, board(job, view), placed_words(job), counts_words(open_ones), respects,
                respect_workings(respects, Names(job)))


def _sum_words(before: float, after: float) -> str:
    if before <= 0:
        return ""
    share = (after - before) / before * PER_CENT
    if abs(share) < 0.5:
        return "Metres of wire, heavy ones counting more: as before."
    way = "less" if share < 0 else "more"
    return f"Metres of wire, heavy ones counting more: {abs(share):.0f} % {way}."

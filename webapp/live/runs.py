"""Runs of wires on an open Layout page: drawn after the page is there, changed by their points.

Routes are worked out in a thread of the pool, never in the event loop. After a change the page is
first told how wires lie that only give way to the change, then how they lie for good.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse
from pydantic import Field

from layout_engine import DocumentError, Job
from layout_engine.checks.wording import listed
from layout_engine.connection_edits import lead_over
from layout_engine.edits import Edited
from layout_engine.joining.terminal_names import wire_words
from layout_engine.model.fields import Coordinate
from layout_engine.model.job import Connection
from layout_engine.model.plate import FACES, Face
from layout_engine.wiring import Clamp, PathPoint, Routing, Wire
from layout_engine.wiring.marking import COLOUR_WORDS
from webapp.drawings.primitives import Group
from webapp.drawings.runs import run_layers, way_of
from webapp.drawings.seen import Seen, View
from webapp.forms.values import show_number
from webapp.live.edits import Sent, changed, read_sent, refused
from webapp.live.state import read_view
from webapp.stores.projects import NotFound
from webapp.stores.routes import laid_routes_of
from webapp.views import StoreDep, environment

router = APIRouter()
MOST_POINTS = 100
PIECES = ("fragments/layout_runs.html", "fragments/layout_wires.html")


class Led(Sent):
    """A wire and the points of the plate that it runs over; pinned: straight from one to next."""

    wire: Annotated[str, Field(max_length=40)]
    via: Annotated[list[tuple[Coordinate, Coordinate, Face]], Field(max_length=MOST_POINTS)]
    pinned: Annotated[bool, Field(strict=True)] = False


@dataclass(frozen=True, slots=True)
class WireShown:
    """One wire in the list beside the board."""

    id: str
    number: int
    colour: str
    size: str
    length: str
    ends: str
    words: str


@dataclass(frozen=True, slots=True)
class Shown:
    """The list beside the board and the pieces of the drawing.

    waiting: wires that are not on the plate yet; lost: numbers of those that find no way.
    """

    wires: tuple[WireShown, ...]
    waiting: int
    lost: tuple[str, ...]
    leaving: tuple[str, ...]
    under: tuple[Group, ...]
    over: tuple[Group, ...]
    flags: Group
    settled: bool


@router.get("/jobs/{project_id}/layout/runs", name="layout_runs")
def runs(request: Request, project_id: str, store: StoreDep, view: str = "front",
         quick: bool = False) -> JSONResponse:
    """How the wires of the newest revision run, in one view.

    quick: where that is not known yet, how they would run if only those moved that must.
    """
    opened = store.open(project_id)
    laid = laid_routes_of(opened, quick=quick)
    seen_from = read_view(view)
    shown = _shown(laid.routing, seen_from, settled=laid.settled)
    values = {"request": request, "shown": shown}
    drawn, listed = (environment().get_template(name).render(values) for name in PIECES)
    return JSONResponse({
        "revision": opened.revision, "view": seen_from, "settled": laid.settled, "svg": drawn,
        "html": listed, "wires": list(_wires(laid.routing, seen_from)),
    })


@router.post("/jobs/{project_id}/layout/wire", name="layout_wire")
async def lead(request: Request, project_id: str, store: StoreDep) -> JSONResponse:
    """Lead a wire over points, pin it there, or let it find its own way."""
    try:
        sent = await read_sent(request, Led)
    except DocumentError as error:
        return refused(error)

    def edit(job: Job) -> Edited:
        if all(connection.id != sent.wire for connection in job.connections):
            raise NotFound(f"There is no wire {sent.wire!r} in this job.")
        return lead_over(job, sent.wire, sent.via, pinned=sent.pinned)

    return await changed(request, store, project_id, sent, edit)


def _shown(routing: Routing, view: View, *, settled: bool) -> Shown:
    layers = run_layers(routing, view)
    named = frozenset(run.id for run in routing.runs if run.is_named)
    joined = {connection.id: connection for connection in routing.job.connections}
    shown = tuple(_listed(routing.job, wire, joined[wire.id], named)
                  for wire in routing.wires if wire.path)
    lost = tuple(str(wire.number) for wire in routing.wires if wire.state == "no_corridor")
    return Shown(shown, sum(wire.state == "not_placed" for wire in routing.wires), lost,
                 tuple(clamp_words(routing, clamp) for clamp in routing.clamps), layers.under,
                 layers.over, layers.flags, settled)


def clamp_words(routing: Routing, clamp: Clamp) -> str:
    """Where leads leave the plate, and what holds them there."""
    parts = ", ".join(routing.job.part(part).title for part in clamp.parts)
    x, y = (show_number(round(value, 1)) for value in clamp.leaves)
    held = {"saddle": "a clamp with two screws", "clip": "a clip with one screw",
            "strap": "a tie through two slots", "tie": f"tie {clamp.tie}",
            "none": "nothing: a clamp has no room there"}
    later = [routing.job.part(part).title for part in clamp.beneath]
    before = f", screwed on before {listed(later)}" if later else ""
    return f"{parts}: at x {x}, y {y} on the {clamp.face}, held by {held[clamp.kind]}{before}"


def _listed(job: Job, wire: Wire, connection: Connection, named: frozenset[str]) -> WireShown:
    size = f"{wire.awg} AWG" if wire.awg is not None else (
        f"{wire.mm2:g} mm\N{SUPERSCRIPT TWO}" if wire.mm2 is not None else "")
    length = "" if wire.length is None else f"{show_number(wire.length)} mm"
    ends = wire_words(job, connection)
    return WireShown(wire.id, wire.number, COLOUR_WORDS[wire.colour], size, length, ends,
                     _way_words(wire, named))


def _way_words(wire: Wire, named: frozenset[str]) -> str:
    """How a wire runs, in a sentence."""
    used = {face for _, _, face in wire.path}
    words = [f"on the {' and the '.join(face for face in FACES if face in used)}",
             f"{show_number(round(wire.on_board, 0))} mm on the plate"]
    if runs := [run for run in wire.runs if run in named]:
        words.append(f"in run{'s' if len(runs) > 1 else ''} {', '.join(runs)}")
    if wire.passes:
        words.append(f"through {', '.join(wire.passes)}")
    if wire.pinned:
        words.append("pinned")
    return "; ".join(filter(None, (", ".join(words), wire.why)))


def _wires(routing: Routing, view: View) -> Iterator[dict[str, Any]]:
    """What the page needs to point at a wire, trace it and lead it over points."""
    seen = Seen(view, *routing.job.plate.size)
    via = {c.id: c.via for c in routing.job.connections}
    named = {run.id for run in routing.runs if run.is_named}
    for wire in routing.wires:
        if not wire.path:
            continue
        near = way_of(wire, seen.face, seen).d
        far = way_of(wire, "front" if seen.face == "back" else "back", seen).d
        yield {
            "id": wire.id, "number": wire.number, "outer": wire.outer, "near": near, "far": far,
            "path": _points(wire.path), "via": _points(via[wire.id]), "pinned": wire.pinned,
            "parts": [wire.from_.split(".")[0], wire.to.split(".")[0]],
            "runs": [run for run in wire.runs if run in named],
        }


def _points(path: tuple[PathPoint, ...]) -> list[list[Any]]:
    return [[round(x, 3), round(y, 3), face] for x, y, face in path]

"""Where it fits, on an open Layout page: the ground for the chosen module, and what spots cost.

Worked out in a thread of the pool, never in the event loop. The tone and the lines tell of the
middle of the module's outline; what is offered to be taken is a placement that the checks have
let stand.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated, Any

import numpy as np
from fastapi import APIRouter, Query, Request
from fastapi.responses import JSONResponse
from numpy.typing import NDArray

from layout_engine.geometry.free_places import Places
from layout_engine.model.part import Placement
from layout_engine.model.plate import FACES, Face
from layout_engine.spots import (
    Around,
    CostMap,
    Fit,
    Spot,
    best_spots,
    cost_map,
    fit_of,
    isolines,
    round_step,
    turns_of,
    why_nowhere,
    worked,
)
from layout_engine.working import Working
from webapp.forms.values import show_number
from webapp.live.edits import known
from webapp.live.state import METRE_MM
from webapp.live.together import mates
from webapp.views import StoreDep, environment

router = APIRouter()
GRAIN = 64  # points along each side of the ground from which lines of equal cost are drawn
LABELLED_MM = 12.0  # shortest line that gets its figure
UNIT = "\N{NO-BREAK SPACE}A\N{NO-BREAK SPACE}m"  # broken after the A it reads as amperes
SAME_AM = 0.05  # less is no difference
MOST_PIECES = 8  # of the ground that get a figure of their own, the largest
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Offered:
    """A spot to take: how it is turned there, and what that saves or costs, in words."""

    placement: Placement
    pose: str
    words: str
    working: Working


@dataclass(frozen=True, slots=True)
class Shown:
    """What the page says beside the drawing."""

    title: str
    face: str
    pose: str
    why: str
    locked: bool
    alone: bool
    prefers: bool
    asked_costs: bool
    has_lines: bool
    spots: tuple[Offered, ...]


@router.get("/jobs/{project_id}/layout/fits", name="layout_fits")
def fits(
    request: Request, project_id: str, store: StoreDep, part: str, face: Face = "front",
    turn: Annotated[float, Query(ge=-360, le=360)] = 0.0, costs: bool = False,
) -> JSONResponse:
    """Where a module of the newest revision fits in a face and turn; with what spots cost."""
    opened = store.open(project_id)
    known(opened.job, part)
    around = Around(opened.job, part, request.app.state.forms)
    fit = fit_of(around, face, turn)
    maps = _maps(around, face, turn) if costs else []
    lines = _lines(around, fit, maps[0].least) if maps else []
    shown = Shown(
        around.part.title, face, _turned(turn), why_nowhere(around, fit),
        around.part.locked, bool(mates(opened.job.groups, part)),
        any(not wish.must for wish in around.part.wishes), costs, bool(lines),
        tuple(_offers(around, maps, face, turn)) if maps else (),
    )
    html = environment().get_template("fragments/layout_fits.html").render(
        {"request": request, "shown": shown})
    return JSONResponse({
        "revision": opened.revision, "html": html, "ground": path_of(fit), "lines": lines,
    })


def path_of(fit: Fit) -> str:
    """The places of the module's middle as one path in the plate frame; holes by even and odd."""
    return "".join(
        f"M{'L'.join(f'{x:.2f} {y:.2f}' for x, y in ring.tolist())}Z"
        for piece in fit.middles.rings for ring in piece
    )


def _maps(around: Around, face: Face, turn: float) -> list[CostMap]:
    """The face and turn asked for, then all others that the module may have."""
    turns = turns_of(around.part, turn)
    sides = sorted(FACES, key=lambda side: side != face)
    poses = [(face, turn), *((side, t) for side in sides for t in turns)]
    return [cost_map(around, *pose) for pose in dict.fromkeys((f, t % 360.0) for f, t in poses)]


def _lines(around: Around, fit: Fit, least: float) -> list[dict[str, Any]]:
    """Lines of equal cost in the ground, each so much over the cheapest spot.

    A piece of the ground in which no line has its figure gets the figure of one spot.
    """
    if fit.middles.is_empty:
        return []
    x0, y0, x1, y1 = fit.middles.bounds
    xs, ys = np.linspace(x0, x1, GRAIN), np.linspace(y0, y1, GRAIN)
    prices = around.prices.over(fit.stance, xs, ys)
    grid = np.column_stack([axis.ravel() for axis in np.meshgrid(xs, ys)])
    inside = prices.ravel()[fit.middles.hold(grid)]
    single = list(_single(around, fit))
    least = min([least, *(price for _, price in single)])  # slots can be too narrow for its raster
    span = max([*inside.tolist(), *(price for _, price in single)], default=least) - least
    if span < SAME_AM * METRE_MM:
        return []
    lines = list(_isolines(fit, (xs, ys, prices), least, span))
    told = np.array([line["at"] for line in lines if line["at"]]).reshape(-1, 2)
    return lines + [
        {"d": "", "words": f"+{round((price - least) / METRE_MM, 2) + 0.0:g}",
         "at": piece.inner_points[0].round(1).tolist()}
        for piece, price in single if not piece.hold(told).any()
    ]


def _single(around: Around, fit: Fit) -> Iterator[tuple[Places, float]]:
    """The largest pieces of the ground, each with what a spot well inside it costs."""
    for piece in sorted(fit.middles.pieces, key=lambda piece: -piece.size)[:MOST_PIECES]:
        x, y = piece.inner_points[0].tolist()
        yield piece, float(around.prices.over(fit.stance, np.array([x]), np.array([y]))[0, 0])


def _isolines(fit: Fit, over: tuple[Floats, Floats, Floats], least: float, span: float
              ) -> Iterator[dict[str, Any]]:
    """Lines of equal cost; `over`: x and y of a grid, and what its points cost."""
    xs, ys, prices = over
    step = round_step(span)
    for number in range(1, int(span / step) + 1):
        found = isolines(prices, xs, ys, least + number * step)
        pieces = [piece for line in found for piece in fit.middles.cut(line)]
        if pieces:
            yield _line(pieces, f"+{number * step / METRE_MM:g}")


def _line(pieces: Sequence[Floats], words: str) -> dict[str, Any]:
    """A line's path, and where its figure stands: in the middle of its longest piece."""
    path = "".join(f"M{'L'.join(f'{x:.1f} {y:.1f}' for x, y in piece.tolist())}"
                   for piece in pieces)
    along = [float(np.hypot(*np.diff(piece, axis=0).T).sum()) for piece in pieces]
    longest = pieces[int(np.argmax(along))]
    at = longest[len(longest) // 2].round(1).tolist() if max(along) >= LABELLED_MM else None
    return {"d": path, "words": words, "at": at}


def _offers(around: Around, maps: Sequence[CostMap], face: Face, turn: float
            ) -> Iterator[Offered]:
    """The best spots: every turn of this face, and of the other face the cheapest."""
    spots = best_spots(around, [own for own in maps if own.stance.face == face])
    other = sorted((own for own in maps if own.stance.face != face), key=lambda own: own.least)
    spots += next((found for own in other[:2] if (found := best_spots(around, [own]))), [])
    now = _now(around)
    base = now if now is not None else min((spot.cost for spot in spots), default=0.0)
    for spot in sorted(spots, key=lambda spot: spot.cost):
        place = spot.placement
        same = place.face == face and abs((place.turn - turn) % 360.0) < SAME_AM
        pose = "As it is turned" if same else _turned(place.turn).capitalize()
        if place.face != face:
            pose = f"On the {place.face}, {_turned(place.turn)}"
        against = "where it stands" if now is not None else "the cheapest of these spots"
        yield Offered(place, pose, _difference(spot, base, is_placed=now is not None),
                      worked(around, spot, base, against))


def _now(around: Around) -> float | None:
    """What the module's place of now costs; None while it is in the tray."""
    where = around.part.placement
    if where is None:
        return None
    stance = around.stance(where.face, where.turn)
    dx, dy = stance.posed.centre
    there = around.prices.over(stance, np.array([where.x + dx]), np.array([where.y + dy]))
    return float(there[0, 0])


def _difference(spot: Spot, base: float, *, is_placed: bool) -> str:
    metres = (spot.cost - base) / METRE_MM
    if abs(metres) < SAME_AM:
        if is_placed:
            return "as where it stands"
        return "about the same" if spot.cost > base else "the least"
    way = "less" if metres < 0 else "more"
    return f"{abs(metres):.1f}{UNIT} {way}{' than where it stands' if is_placed else ''}"


def _turned(turn: float) -> str:
    return f"turned {show_number(turn % 360.0)}\N{DEGREE SIGN}" if turn % 360.0 else "not turned"

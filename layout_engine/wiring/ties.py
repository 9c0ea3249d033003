"""Tie points along the runs: near bends and ends, and between at the stated spacing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import hypot

import numpy as np
from numpy.typing import NDArray

from layout_engine.geometry.wire_ground import rests_on
from layout_engine.tables.dressing import (
    TIE_FOOT,
    TIE_FROM_BEND,
    TIE_FROM_TERMINAL,
    TIE_SCREW_HEAD,
    TIE_SLOT_GAP,
    TIE_SLOT_WIDTH,
    TIE_SPACING,
)
from layout_engine.tables.materials import plate_material
from layout_engine.wiring.drilling import Drilling
from layout_engine.wiring.site import Site
from layout_engine.wiring.wire import Hole, Run, TieKind, TiePoint

NEAR_ENOUGH = 0.35  # of the spacing: a tie so near serves a bend or an end too
# Tried along the run where none fits.
SHIFTS_MM = (0.0, *(side * far for far in (5.0, 10.0, 15.0, 20.0, 25.0) for side in (1, -1)))
APART_MM = 12.0  # ties that lie nearer to each other hold the same place
SCREW_HOLE_MM = 3.4  # ISO 273 medium for M3
SHORTEST_RUN_MM = 12.0


@dataclass(frozen=True, slots=True)
class _Spot:
    x: float
    y: float
    along: float
    way: tuple[float, float]


def tie_points(site: Site, runs: Sequence[Run], drilling: Drilling) -> tuple[TiePoint, ...]:
    """Where runs are tied down, the fullest runs first; places that nothing allows are left out.

    drilling: what is drilled already, and what must stay free of holes; it gets those of the ties.
    """
    taken: dict[str, list[tuple[float, float]]] = {"front": [], "back": []}
    found: list[TiePoint] = []
    for run in runs:
        if run.length < SHORTEST_RUN_MM:
            continue
        near = NEAR_ENOUGH * TIE_SPACING.value
        for wanted in _wanted(run):
            spot = _at(run, wanted)
            if any(hypot(spot.x - x, spot.y - y) < near for x, y in taken[run.face]):
                continue
            feet = [(one.x, one.y) for one in found if one.kind == "foot"]
            tie = _first_that_fits(site, run, wanted, drilling, (feet, taken[run.face]))
            if tie is not None:
                drilling.drilled += tie.holes
                taken[run.face].append((tie.x, tie.y))
                found.append(tie)
    return tuple(
        TiePoint(f"T{n}", t.x, t.y, t.face, t.run, t.kind, t.along, t.bundle, t.holes)
        for n, t in enumerate(found, 1)
    )


def _wanted(run: Run) -> Iterator[float]:
    """Places along a run, mm from its start: ends and bends first, then between."""
    whole = run.length
    first = min(TIE_FROM_TERMINAL.value, whole / 2)
    places = {first, whole - first}
    along = 0.0
    for a, b in list(pairwise(run.path))[:-1]:
        along += hypot(b[0] - a[0], b[1] - a[1])
        places |= {max(0.0, along - TIE_FROM_BEND.value), min(whole, along + TIE_FROM_BEND.value)}
    yield from sorted(places)
    for low, high in pairwise(sorted(places)):
        parts = int(np.ceil((high - low) / TIE_SPACING.value))
        yield from (low + (high - low) * k / parts for k in range(1, parts))


def _at(run: Run, along: float) -> _Spot:
    left = along
    for a, b in pairwise(run.path):
        length = hypot(b[0] - a[0], b[1] - a[1])
        if left <= length + 1e-9 or b == run.path[-1]:
            way = (b[0] - a[0]) / length, (b[1] - a[1]) / length
            share = min(left, length)
            return _Spot(a[0] + way[0] * share, a[1] + way[1] * share, along, way)
        left -= length
    raise ValueError(f"run {run.id} has no leg")


def _first_that_fits(site: Site, run: Run, wanted: float, drilling: Drilling,
                     known: tuple[Sequence[tuple[float, float]], Sequence[tuple[float, float]]]
                     ) -> TiePoint | None:
    """The first kind and place near the wanted one that fits; known: feet, ties of its face."""
    feet, ties = known
    metal = plate_material(site.job.plate.material).conducts
    kinds: tuple[TieKind, ...] = ("screw", "foot") if metal else ("slots", "screw", "foot")
    for kind in kinds:
        for shift in SHIFTS_MM:
            along = wanted + shift
            if not 0.0 <= along <= run.length:
                continue
            spot = _at(run, along)
            if any(hypot(spot.x - x, spot.y - y) < APART_MM for x, y in ties):
                continue
            holes = _holes(run, spot, kind)
            free = all(_off_foot(hole, foot) for hole in holes for foot in feet)
            if free and _fits(site, run, spot, kind, holes, drilling):
                return TiePoint("", round(spot.x, 3), round(spot.y, 3), run.face, run.id, kind,
                                round(along, 3), run.diameter, holes)
    return None


def _holes(run: Run, spot: _Spot, kind: TieKind) -> tuple[Hole, ...]:
    if kind == "foot":
        return ()
    if kind == "slots":
        off, wide = run.diameter / 2 + TIE_SLOT_GAP.value, TIE_SLOT_WIDTH.value
    else:
        off, wide = run.diameter / 2 + TIE_SCREW_HEAD.value / 2, SCREW_HOLE_MM
    sides = (1, -1) if kind == "slots" else (1,)
    return tuple(
        (round(spot.x - spot.way[1] * off * side, 3), round(spot.y + spot.way[0] * off * side, 3),
         wide) for side in sides
    )


def _fits(site: Site, run: Run, spot: _Spot, kind: TieKind,
          holes: tuple[Hole, ...], drilling: Drilling) -> bool:
    """Whether a tie of that kind has its ground: free of parts of both faces where drilled."""
    if kind == "foot":
        return _foot_fits(site, site.view.face(run.face), spot, drilling.drilled)
    if kind == "slots":
        return drilling.fits(holes, TIE_SLOT_WIDTH.value)
    return drilling.fits(holes, TIE_SCREW_HEAD.value / 2, TIE_SCREW_HEAD.value / 2)


def _foot_fits(site: Site, face: int, spot: _Spot, drilled: Sequence[Hole]) -> bool:
    """Whether a square foot lies on free ground of its face: under no part, on no hole."""
    half = TIE_FOOT.value / 2
    if not all(_off_foot(hole, (spot.x, spot.y)) for hole in drilled):
        return False
    square = site.view.points(np.array([
        (spot.x + a * half, spot.y + b * half) for a in (-1, 0, 1) for b in (-1, 0, 1)]))
    shapes = [shape for shape, _ in site.under[face]]
    return _room(site, face, square[4:5]) >= half and not bool(
        np.any(rests_on(shapes, square) >= 0))


def _off_foot(hole: Hole, foot: tuple[float, float]) -> bool:
    """Whether a hole lies beside the square of a foot; the foot may stand on either face."""
    x, y, wide = hole
    return max(abs(x - foot[0]), abs(y - foot[1])) >= TIE_FOOT.value / 2 + wide / 2


def _room(site: Site, face: int, spots: NDArray[np.float64]
          ) -> float:
    return float(np.min(site.grounds[face].thing_clearances(np.stack((spots, spots), axis=1))))


"""Clamps for the leads that leave the plate: on their way in from the edge, where screws may go.

Where no screw may go, the first tie that is drilled or screwed down holds them instead.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import hypot

from layout_engine.tables.dressing import (
    CLAMP_FROM_EDGE,
    CLAMP_STEP,
    CLAMP_TIE_WITHIN,
    CLAMP_WITHIN,
    TIE_SCREW_HEAD,
    bundle_diameter,
)
from layout_engine.wiring.ties import SCREW_HOLE_MM, may_be_drilled
from layout_engine.wiring.wire import Clamp, ClampKind, PathPoint, Routing, TiePoint, Wire

Hole = tuple[float, float, float]
Point = tuple[float, float]
KINDS: tuple[tuple[ClampKind, tuple[int, ...]], ...] = (
    ("saddle", (1, -1)), ("clip", (1,)), ("clip", (-1,)))
ON_THE_WAY_MM = 0.5


@dataclass(frozen=True, slots=True)
class _Lead:
    """A wire with its way in from the edge, on the face where it comes in, and where it leads."""

    wire: Wire
    way: tuple[Point, ...]
    part: str

    def places(self, most: float) -> Iterator[tuple[float, Point, Point]]:
        """Along the way [mm], a place on it and its direction, every few mm."""
        before, along = 0.0, CLAMP_FROM_EDGE.value
        for (ax, ay), (bx, by) in pairwise(self.way):
            length = hypot(bx - ax, by - ay)
            while length and along <= min(before + length, most) + 1e-9:
                share = (along - before) / length
                yield along, (ax + (bx - ax) * share, ay + (by - ay) * share), (
                    (bx - ax) / length, (by - ay) / length)
                along += CLAMP_STEP.value
            before += length

    def distance_to(self, x: float, y: float) -> tuple[float, float]:
        """Distance of a point from the way, and how far along it that is, mm."""
        best, before = (float("inf"), 0.0), 0.0
        for (ax, ay), (bx, by) in pairwise(self.way):
            dx, dy = bx - ax, by - ay
            length = hypot(dx, dy)
            share = max(0.0, min(1.0, ((x - ax) * dx + (y - ay) * dy) / length**2)) if length else 0
            away = hypot(x - ax - dx * share, y - ay - dy * share)
            best = min(best, (away, before + length * share))
            before += length
        return best


def lead_clamps(routing: Routing) -> tuple[Clamp, ...]:
    """One for each place and face where leads leave, from bottom to top, then left to right."""
    at: dict[tuple[float, float, str], list[_Lead]] = defaultdict(list)
    for wire in routing.wires:
        for end, path in ((wire.from_, wire.path), (wire.to, wire.path[::-1])):
            part = end.split(".")[0]
            if len(path) > 1 and routing.job.part(part).away is not None:
                x, y, face = path[0]
                at[y, x, face].append(_Lead(wire, _way_in(path), part))
    found: list[Clamp] = []
    for (y, x, _), leads in sorted(at.items(), key=lambda one: one[0]):
        found.append(_clamp(routing, (x, y), leads, found))
    return tuple(found)


def _way_in(path: Sequence[PathPoint]) -> tuple[Point, ...]:
    face = path[0][2]
    end = next((n for n, point in enumerate(path) if point[2] != face), len(path))
    return tuple((float(x), float(y)) for x, y, _ in path[:end])


def _clamp(routing: Routing, leaves: Point, leads: Sequence[_Lead], others: Sequence[Clamp]
           ) -> Clamp:
    wires = [lead.wire for lead in leads]
    bundle = bundle_diameter([wire.outer for wire in wires])
    (x, y), kind, holes = _screwed(routing, leads, bundle, others)
    tie = None if holes else _tied(routing, leads)
    if tie is not None:
        (x, y), kind = (tie.x, tie.y), "tie"
    face = wires[0].path[0][2] if wires[0].path[0][:2] == leaves else wires[0].path[-1][2]
    return Clamp(
        f"C{len(others) + 1}", round(x, 3), round(y, 3), face, leaves,
        tuple(wire.id for wire in wires), tuple(dict.fromkeys(lead.part for lead in leads)),
        round(bundle, 3), kind, tie.id if tie else "", holes)


def _screwed(routing: Routing, leads: Sequence[_Lead], bundle: float, others: Sequence[Clamp]
             ) -> tuple[Point, ClampKind, tuple[Hole, ...]]:
    """The first place where all leads still lie together and screws may go beside them."""
    first = leads[0]
    off = bundle / 2 + TIE_SCREW_HEAD.value / 2
    taken = [hole for tie in routing.ties for hole in tie.holes]
    taken += [hole for clamp in others for hole in clamp.holes]
    taken += [(one.x, one.y, one.hole) for one in routing.passes if one.hole]
    for kind, sides in KINDS:
        for _, (x, y), (ux, uy) in first.places(CLAMP_WITHIN.value):
            if any(lead.distance_to(x, y)[0] > ON_THE_WAY_MM for lead in leads):
                break
            holes = tuple((round(x - uy * off * side, 3), round(y + ux * off * side, 3),
                           SCREW_HOLE_MM) for side in sides)
            if may_be_drilled(routing.site, holes, TIE_SCREW_HEAD.value / 2, taken):
                return (x, y), kind, holes
    return next((at for _, at, _ in first.places(CLAMP_WITHIN.value)), first.way[0]), "none", ()


def _tied(routing: Routing, leads: Sequence[_Lead]) -> TiePoint | None:
    """The nearest tie with a hold in the plate that every one of the leads passes."""
    runs = {run.id: set(run.wires) for run in routing.runs}
    ids = {lead.wire.id for lead in leads}
    found = []
    for tie in routing.ties:
        away, along = leads[0].distance_to(tie.x, tie.y)
        if (tie.holes and ids <= runs[tie.run] and away <= ON_THE_WAY_MM
                and along <= CLAMP_TIE_WITHIN.value):
            found.append((along, tie.id, tie))
    return min(found)[2] if found else None

"""Clamps for the leads that leave the plate: on their way in from the edge, where holes may go.

In this order: screws with free ground on both faces, one of the run's ties near the edge, a tie in
a pair of slots of its own, a tie farther in, screws whose heads lie under a module that stands off,
slots to which other wires give way.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import hypot

import numpy as np

from layout_engine.model.plate import Face
from layout_engine.tables.dressing import (
    CLAMP_BENDS,
    CLAMP_FROM_EDGE,
    CLAMP_STEP,
    CLAMP_TIE_WITHIN,
    CLAMP_WITHIN,
    EXIT_STEP,
    TIE_SCREW_HEAD,
    TIE_SLOT_GAP,
    TIE_SLOT_WIDTH,
    bundle_diameter,
)
from layout_engine.wiring.drilling import Drilling
from layout_engine.wiring.ties import SCREW_HOLE_MM
from layout_engine.wiring.wire import (
    Clamp,
    ClampKind,
    Hole,
    Nearly,
    PathPoint,
    Routing,
    TiePoint,
    Wire,
)

Point = tuple[float, float]
SCREWED: tuple[tuple[ClampKind, tuple[int, ...]], ...] = (
    ("saddle", (1, -1)), ("clip", (1,)), ("clip", (-1,)))
ON_THE_WAY_MM = 0.5
AT_EDGE_MM = 0.1


@dataclass(frozen=True, slots=True)
class _Lead:
    """A wire with its way in from the edge, on the face where it comes in, and where it leads."""

    wire: Wire
    way: tuple[Point, ...]
    part: str

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


@dataclass(frozen=True, slots=True)
class _Spot:
    """A place for a clamp: how far along the leads [mm], where, and the direction of the leads.

    wires, bundle: ids of all that lies there, and its diameter [mm].
    """

    along: float
    at: Point
    way: Point
    wires: frozenset[str] = frozenset()
    bundle: float = 0.0

    def screws(self, sides: Iterable[int]) -> tuple[Hole, ...]:
        """Holes for screws of a clamp."""
        return self._holes(TIE_SCREW_HEAD.value / 2, sides, SCREW_HOLE_MM)

    def slots(self) -> tuple[Hole, ...]:
        """A pair of slots for a tie."""
        return self._holes(TIE_SLOT_GAP.value, (1, -1), TIE_SLOT_WIDTH.value)

    def _holes(self, gap: float, sides: Iterable[int], wide: float) -> tuple[Hole, ...]:
        (x, y), (ux, uy) = self.at, self.way
        off = self.bundle / 2 + gap
        return tuple((round(x - uy * off * side, 3), round(y + ux * off * side, 3), wide)
                     for side in sides)


@dataclass(frozen=True, slots=True)
class _Leaving:
    """The leads that leave at one place and face: number of the face, places."""

    leads: tuple[_Lead, ...]
    face: int
    spots: tuple[_Spot, ...]


def lead_clamps(routing: Routing) -> tuple[Clamp, ...]:
    """One for each place and face where leads leave, from bottom to top, then left to right."""
    at: dict[tuple[float, float, Face], list[_Lead]] = defaultdict(list)
    for wire in routing.wires:
        for end, path in ((wire.from_, wire.path), (wire.to, wire.path[::-1])):
            part = end.split(".")[0]
            if len(path) > 1 and routing.job.part(part).away is not None:
                x, y, face = path[0]
                at[y, x, face].append(_Lead(wire, _way_in(path), part))
    drilling = Drilling(routing.site, routing.wires, routing.runs, routing.passes)
    drilling.drilled += [hole for tie in routing.ties for hole in tie.holes]
    found: list[Clamp] = []
    for (y, x, face), leads in sorted(at.items(), key=lambda one: one[0]):
        clamp = _clamp(routing, drilling, (x, y), _leaving(routing, drilling, leads, face))
        drilling.drilled += clamp.holes
        found.append(replace(clamp, id=f"C{len(found) + 1}"))
    return tuple(found)


def _way_in(path: Sequence[PathPoint]) -> tuple[Point, ...]:
    face = path[0][2]
    end = next((n for n, point in enumerate(path) if point[2] != face), len(path))
    return tuple((float(x), float(y)) for x, y, _ in path[:end])


def _leaving(routing: Routing, drilling: Drilling, leads: Sequence[_Lead], face: Face) -> _Leaving:
    number = routing.site.view.face(face)
    outers = {wire.id: wire.outer for wire in routing.wires}
    mine = frozenset(lead.wire.id for lead in leads)
    first = next((leg for leg in pairwise(leads[0].way) if leg[0] != leg[1]), None)
    on_way = [spot for spot in _spots(leads[0].way, CLAMP_WITHIN.value)
              if all(lead.distance_to(*spot.at)[0] <= ON_THE_WAY_MM for lead in leads)]
    beyond: list[_Spot] = []
    if first is not None:
        length = hypot(first[1][0] - first[0][0], first[1][1] - first[0][1])
        way = (first[1][0] - first[0][0]) / length, (first[1][1] - first[0][1]) / length
        end = (first[0][0] + way[0] * (length + CLAMP_BENDS.value),
               first[0][1] + way[1] * (length + CLAMP_BENDS.value))
        beyond = [spot for spot in _spots((first[0], end), length + CLAMP_BENDS.value)
                  if spot.along > length]
        beyond = [spot for spot in beyond
                  if _free(routing, number, spot.at) >= TIE_SCREW_HEAD.value / 2]
    best = CLAMP_FROM_EDGE.value
    spots = []
    for spot in (*sorted(on_way, key=lambda one: (abs(one.along - best), one.along)), *beyond):
        there = mine | drilling.wires_at(face, *spot.at, ON_THE_WAY_MM)
        spots.append(replace(spot, wires=there, bundle=bundle_diameter(
            [outers[wire] for wire in sorted(there)])))
    return _Leaving(tuple(leads), number, tuple(spots))


def _spots(way: Sequence[Point], most: float) -> Iterator[_Spot]:
    """Places along a way, every mm."""
    before, along = 0.0, CLAMP_STEP.value
    for (ax, ay), (bx, by) in pairwise(way):
        length = hypot(bx - ax, by - ay)
        while length and along <= min(before + length, most) + 1e-9:
            share = (along - before) / length
            yield _Spot(along, (ax + (bx - ax) * share, ay + (by - ay) * share),
                        ((bx - ax) / length, (by - ay) / length))
            along += CLAMP_STEP.value
        before += length


def _free(routing: Routing, face: int, at: Point) -> float:
    """Free ground [mm] round a place on a face."""
    spot = np.array([routing.site.view.point(*at)])
    return float(routing.site.grounds[face].thing_clearances(np.stack((spot, spot), axis=1))[0])


def _clamp(routing: Routing, drilling: Drilling, leaves: Point, leaving: _Leaving) -> Clamp:
    """What holds them, without its name."""
    wires = tuple(lead.wire.id for lead in leaving.leads)
    every = frozenset(wire.id for wire in routing.wires)  # led aside by a slot's width, at worst
    parts = tuple(dict.fromkeys(lead.part for lead in leaving.leads))
    face = routing.site.view.face_back(leaving.face)
    bundle = bundle_diameter([lead.wire.outer for lead in leaving.leads])
    first = leaving.spots[0] if leaving.spots else _Spot(0.0, leaving.leads[0].way[0], (1.0, 0.0))

    def made(spot: _Spot, kind: ClampKind, holes: tuple[Hole, ...] = ()) -> Clamp:
        (x, y), lies = spot.at, spot.bundle or bundle
        return Clamp("", round(x, 3), round(y, 3), face, leaves, wires, parts, round(lies, 3), kind,
                     holes=holes, way=spot.way)

    screwed = _screwed(drilling, leaving, None)
    if screwed:
        return made(*screwed)
    along, tie = _tied(routing, leaving.leads)
    held = None if tie is None else replace(
        made(first, "tie"), x=tie.x, y=tie.y, bundle=tie.bundle, tie=tie.id)
    if held is not None and along <= CLAMP_WITHIN.value:
        return held
    strap = _strap(drilling, leaving.spots)
    if strap is not None:
        return made(strap, "strap", strap.slots())
    if held is not None:
        return held
    screwed = _screwed(drilling, leaving, leaving.face)
    if screwed:
        return replace(made(*screwed), beneath=drilling.covered_by(screwed[-1], leaving.face))
    strap = _strap(drilling, leaving.spots, every)
    if strap is not None:
        return made(strap, "strap", strap.slots())
    return replace(made(first, "none"), nearly=_nearly(routing, drilling, leaves, leaving))


def _screwed(drilling: Drilling, leaving: _Leaving, own: int | None
             ) -> tuple[_Spot, ClampKind, tuple[Hole, ...]] | None:
    """The first place where all leads still lie together and screws may go beside them."""
    head = TIE_SCREW_HEAD.value / 2
    for kind, sides in SCREWED:
        for spot in leaving.spots:
            holes = spot.screws(sides)
            if drilling.fits(holes, head, head, own, spot.wires):
                return spot, kind, holes
    return None


def _strap(drilling: Drilling, spots: Iterable[_Spot], besides: frozenset[str] = frozenset()
           ) -> _Spot | None:
    """The first place with room for a pair of slots; besides: wires that give way to them."""
    return next((spot for spot in spots if drilling.fits(
        spot.slots(), TIE_SLOT_WIDTH.value, besides=spot.wires | besides)), None)


def _tied(routing: Routing, leads: Sequence[_Lead]) -> tuple[float, TiePoint | None]:
    """The nearest tie with a hold in the plate that every one of the leads passes; mm to it."""
    runs = {run.id: set(run.wires) for run in routing.runs}
    ids = {lead.wire.id for lead in leads}
    found = []
    for tie in routing.ties:
        away, along = leads[0].distance_to(tie.x, tie.y)
        if (tie.holes and ids <= runs[tie.run] and away <= ON_THE_WAY_MM
                and along <= CLAMP_TIE_WITHIN.value):
            found.append((along, tie.id, tie))
    return (min(found)[0], min(found)[2]) if found else (float("inf"), None)


def _nearly(routing: Routing, drilling: Drilling, leaves: Point, leaving: _Leaving) -> Nearly:
    """How near slots come to having room, and where at that edge they would have it."""
    needs = TIE_SLOT_WIDTH.value
    best = min(((drilling.lack(spot.slots(), needs), spot.along, spot.slots())
                for spot in leaving.spots), default=None)
    instead = _instead(routing, drilling, leaves, leaving)
    if best is None:
        return Nearly(needs, needs, (), instead)
    lack = round(best[0], 3)
    return Nearly(lack, needs, drilling.near(best[2], needs + lack), instead,
                  drilling.room(best[2]), drilling.edge(best[2]))


def _instead(routing: Routing, drilling: Drilling, leaves: Point, leaving: _Leaving
             ) -> Point | None:
    """The nearest place at that edge where leads could leave straight in and be held."""
    way = next(((bx - ax, by - ay) for (ax, ay), (bx, by) in pairwise(leaving.leads[0].way)
                if (ax, ay) != (bx, by)), None)
    if way is None:
        return None
    length = hypot(*way)
    ux, uy = way[0] / length, way[1] / length
    bundle = bundle_diameter([lead.wire.outer for lead in leaving.leads])
    mine = frozenset(lead.wire.id for lead in leaving.leads)
    deep = CLAMP_FROM_EDGE.value + CLAMP_BENDS.value
    steps = int(max(routing.job.plate.size) // EXIT_STEP.value)
    for far in (EXIT_STEP.value * n * side for n in range(1, steps + 1) for side in (1, -1)):
        x, y = round(leaves[0] - uy * far, 3), round(leaves[1] + ux * far, 3)
        at_edge = abs(float(routing.site.scene.plate.point_distances(np.array([(x, y)]))[0]))
        if at_edge > AT_EDGE_MM:
            continue
        spots = [replace(spot, wires=mine, bundle=bundle)
                 for spot in _spots(((x, y), (x + ux * deep, y + uy * deep)), deep)]
        if all(_free(routing, leaving.face, spot.at) >= bundle / 2 for spot in spots) \
                and _strap(drilling, spots) is not None:
            return x, y
    return None

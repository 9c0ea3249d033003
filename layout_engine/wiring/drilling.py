"""Where the plate may be drilled for wires: bridges between holes, edges, ground of both faces.

The distances are those of the rules `hole_spacing` and `hole_edge` without a warning. Coordinates
are the plate's.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import hypot, inf

import numpy as np
from numpy.typing import NDArray

from layout_engine.checks.standing import Standing
from layout_engine.geometry.frames import Points
from layout_engine.geometry.shapes import Disc, Shape, circles_meeting, cut_out_gaps
from layout_engine.geometry.wire_ground import WireGround, rests_on
from layout_engine.tables.fasteners import counter_diameter, counter_height
from layout_engine.tables.holes import EDGE_WARN, LEAST_BRIDGE, ROOM_UNDER_PART
from layout_engine.wiring.obstacles import Obstacle
from layout_engine.wiring.site import Site
from layout_engine.wiring.wire import Hole, PassThrough, Run, Wire

CLAMP_THREAD = "M3"
HAIR_MM = 2e-3  # places of holes are rounded to 0.001 mm


@dataclass(frozen=True, slots=True)
class _Leg:
    a: tuple[float, float]
    b: tuple[float, float]
    half: float
    wires: frozenset[str]
    face: str = ""  # of a wire's; a run's is not asked for


class Drilling:
    """What is drilled already, and what must stay free of holes.

    Args:
        site: the board.
        wires, runs: no hole and no head of a screw lies in their way, on either face.
        passes: where wires go through the plate; their holes are drilled too.
    """

    def __init__(self, site: Site, wires: Sequence[Wire] = (), runs: Sequence[Run] = (),
                 passes: Sequence[PassThrough] = ()) -> None:
        self.site = site
        self.drilled = [*board_holes(site), *((p.x, p.y, p.hole) for p in passes if p.hole)]
        self._cut_outs = [shape for s in site.scene.standing.values() for shape in s.cut_outs]
        self._legs = _legs(wires, runs)
        self._beneath: dict[int, WireGround] = {}
        self._pieces: dict[frozenset[str], tuple[NDArray[np.float64], ...]] = {}
        self._lying: dict[str, tuple[NDArray[np.float64], list[frozenset[str]]]] = {}

    def fits(self, holes: Sequence[Hole], radius: float, head: float = 0.0,
             own: int | None = None, besides: Collection[str] = ()) -> bool:
        """Whether holes keep their distances and have free ground on both faces.

        Args:
            holes: centre and diameter [mm] of each.
            radius: of the free ground round each [mm].
            head: radius [mm] of what is screwed on there, over which no wire lies.
            own: number of a face; on the other one the heads of its screws may lie under modules
                that stand off far enough. None: under no module.
            besides: ids of wires that may lie over them.
        """
        return (self._bridged(holes) and self._off_edges(holes)
                and self.room(holes, own) >= radius - HAIR_MM
                and self._off_wires(holes, head, besides))

    def lack(self, holes: Sequence[Hole], radius: float) -> float:
        """What is missing for holes of one width [mm]: free ground of that radius, or distance to
        an edge.
        """
        wanted = EDGE_WARN.value * max(wide for _, _, wide in holes)
        return max(radius - self.room(holes), wanted - self.edge(holes), 0.0)

    def edge(self, holes: Sequence[Hole]) -> float:
        """Distance [mm] to an edge of the hole that is nearest to one; negative off the plate."""
        return float(np.min(edge_rooms(self.site, self._cut_outs, _centres(holes))))

    def room(self, holes: Sequence[Hole], own: int | None = None) -> float:
        """Free ground [mm] round the tightest of the holes; 0 under a module. own: as in `fits`."""
        spots = self.site.view.points(_centres(holes))
        pieces = np.stack((spots, spots), axis=1)
        least = inf
        for face in (0, 1):
            ground = self.site.grounds[face]
            if own is not None and face != own:
                ground = self._over_heads(face)
            least = min(least, float(np.min(ground.thing_clearances(pieces))))
            under = [shape for shape, standoff in self.site.under[face]
                     if own in (None, face) or not _stands_over_heads(standoff)]
            if bool(np.any(rests_on(under, spots) >= 0)):
                return 0.0
        return least

    def near(self, holes: Sequence[Hole], reach: float) -> tuple[str, ...]:
        """Ids of what stands on either face within `reach` mm of holes, in no order of weight."""
        centres = _centres(holes)
        seen = self.site.view.points(centres)
        radii = np.full(len(holes), reach)
        found = [o.owner for side in self.site.obstacles for o in side
                 if bool(np.any(circles_meeting(seen, radii, o.shape)))]
        found += [s.id for s in self.site.scene.standing.values()
                  if bool(np.any(circles_meeting(centres, radii, s.outline)))]
        return tuple(dict.fromkeys(found))

    def covered_by(self, holes: Sequence[Hole], own: int) -> tuple[str, ...]:
        """Ids of the modules on the other face, under which heads of screws in them lie."""
        centres = _centres(holes)
        radii = np.full(len(holes), counter_diameter(CLAMP_THREAD) / 2)
        return tuple(
            s.id for s in self.site.scene.standing.values() if self.site.view.face(s.face) != own
            and bool(np.any(circles_meeting(centres, radii, s.outline))))

    def _bridged(self, holes: Sequence[Hole]) -> bool:
        return all(
            hypot(x - ox, y - oy) - (wide + other) / 2
            >= max(wide, other, LEAST_BRIDGE.value) - HAIR_MM
            for x, y, wide in holes for ox, oy, other in self.drilled)

    def _off_edges(self, holes: Sequence[Hole]) -> bool:
        centres = _centres(holes)
        away = edge_rooms(self.site, self._cut_outs, centres)
        wanted = EDGE_WARN.value * np.array([wide for _, _, wide in holes])
        return bool(np.all(away >= wanted - HAIR_MM))

    def _off_wires(self, holes: Sequence[Hole], head: float, besides: Collection[str]) -> bool:
        pieces, halves = self._in_the_way(frozenset(besides))
        return not any(
            bool(np.any(_distances(pieces, x, y) < halves + max(wide / 2, head) - HAIR_MM))
            for x, y, wide in holes)

    def wires_at(self, face: str, x: float, y: float, within: float) -> frozenset[str]:
        """Ids of the wires that lie at a place of a face, their middles `within` mm of it."""
        if face not in self._lying:
            legs = [leg for leg in self._legs if leg.face == face]
            self._lying[face] = _pieces(legs), [leg.wires for leg in legs]
        pieces, ids = self._lying[face]
        near = np.flatnonzero(_distances(pieces, x, y) <= within).tolist()
        return frozenset().union(*(ids[n] for n in near))

    def _in_the_way(self, besides: frozenset[str]) -> tuple[NDArray[np.float64], ...]:
        """Pieces of wires, shape (n, 2, 2), and half their widths; without those of some wires."""
        if besides not in self._pieces:
            legs = [leg for leg in self._legs if leg.wires.isdisjoint(besides)]
            self._pieces[besides] = _pieces(legs), np.array([leg.half for leg in legs])
        return self._pieces[besides]

    def _over_heads(self, face: int) -> WireGround:
        """What of a face stands in the way of heads of screws: not modules that stand off."""
        if face not in self._beneath:
            standing = self.site.scene.standing
            self._beneath[face] = WireGround([
                o.shape for o in self.site.obstacles[face]
                if not self._stands_off(o, standing.get(o.owner), face)], [])
        return self._beneath[face]

    def _stands_off(self, obstacle: Obstacle, standing: Standing | None, face: int) -> bool:
        return (standing is not None and not obstacle.zone and not obstacle.low
                and self.site.view.face(standing.face) == face
                and _stands_over_heads(standing.type.standoff))


def _stands_over_heads(standoff: float) -> bool:
    return standoff - counter_height(CLAMP_THREAD) >= ROOM_UNDER_PART.value


def board_holes(site: Site) -> list[Hole]:
    """Centre and diameter [mm] of all round holes that are there without any wire."""
    plate = site.job.plate
    fixings = [(h.x, h.y, h.diameter) for s in site.scene.standing.values() for h in s.holes]
    return [*fixings, *((m.x, m.y, m.diameter) for m in plate.mounts),
            *((h.x, h.y, h.diameter) for h in plate.existing_holes)]


def edge_rooms(site: Site, cut_outs: Sequence[Shape | Disc], centres: Points
               ) -> NDArray[np.float64]:
    """Distance [mm] of points, shape (n, 2), to the plate's edge, its cut-outs and those of parts.

    Negative off the plate.
    """
    away = site.scene.plate.point_distances(centres)
    for shape in cut_outs:
        away = np.minimum(away, cut_out_gaps(centres, shape))
    return np.asarray(away)


def _centres(holes: Sequence[Hole]) -> Points:
    return np.array([(x, y) for x, y, _ in holes])


def _pieces(legs: Sequence[_Leg]) -> NDArray[np.float64]:
    """Both ends of each, shape (n, 2, 2)."""
    return np.array([(leg.a, leg.b) for leg in legs], dtype=float).reshape(-1, 2, 2)


def _distances(pieces: NDArray[np.float64], x: float, y: float) -> NDArray[np.float64]:
    """Distance [mm] of a point to straight pieces, shape (n, 2, 2)."""
    to, steps = np.array((x, y)) - pieces[:, 0], pieces[:, 1] - pieces[:, 0]
    share = np.clip((to * steps).sum(axis=1) / (steps**2).sum(axis=1), 0.0, 1.0)
    return np.asarray(np.hypot(*(to - steps * share[:, None]).T))


def _legs(wires: Sequence[Wire], runs: Sequence[Run]) -> list[_Leg]:
    """Straight pieces of all wires and runs, on both faces, with half of their width."""
    legs = [
        _Leg((a[0], a[1]), (b[0], b[1]), wire.outer / 2, frozenset((wire.id,)), a[2])
        for wire in wires for a, b in pairwise(wire.path)]
    legs += [
        _Leg(a, b, run.lies_wide / 2, frozenset(run.wires))
        for run in runs for a, b in pairwise(run.path)]
    return [leg for leg in legs if leg.a != leg.b]

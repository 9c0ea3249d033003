"""Where a hole with a grommet can be drilled for wires, and how wide: ground, edges, other holes.

A hole keeps from edges and from other holes what is asked of every hole of the plate: 2.5 of its
diameters from its centre to an edge or a cut-out, and a bridge of the larger diameter, at least
2 mm.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations
from math import hypot

import numpy as np
from numpy.typing import NDArray

from layout_engine.geometry.shapes import shape_of
from layout_engine.geometry.wire_ground import rests_on
from layout_engine.tables.dressing import GROMMETS, WIRE_GAP, Grommet
from layout_engine.tables.holes import EDGE_WARN, LEAST_BRIDGE
from layout_engine.wiring.drilling import HAIR_MM, edge_rooms
from layout_engine.wiring.site import Site
from layout_engine.wiring.tracks import middle_out
from layout_engine.wiring.wire import Hole

Floats = NDArray[np.float64]
COARSE_SPOT_MM, COARSE_SQUARE_MM = 6.0, 20.0
SPOT_MM, SQUARE_MM = 3.0, 12.0  # spots that are looked at for holes, one is taken in each square
LEAST_GROUND_MM = GROMMETS[0].rim / 2 + WIRE_GAP.value


def hole_spots(site: Site) -> list[tuple[float, float]]:
    """Where a hole has the most ground on both faces: one spot in each square of the board."""
    width, height = site.size
    step, side = (COARSE_SPOT_MM, COARSE_SQUARE_MM) if site.coarse else (SPOT_MM, SQUARE_MM)
    axes = [middle_out(length, step) for length in (width, height)]
    x, y = (a.ravel() for a in np.meshgrid(*axes, indexing="ij"))
    spots = np.column_stack((x, y))
    room = np.minimum(hole_ground(site, spots), GROMMETS[-1].rim)
    good = np.flatnonzero(room >= LEAST_GROUND_MM)
    wide = widest_holes(site, spots[good])
    rims = np.array([0.0, *(g.rim / 2 for g in GROMMETS)])[
        np.searchsorted([g.hole for g in GROMMETS], wide + HAIR_MM, side="right")]
    room[good] = np.where(rims > 0, np.minimum(room[good], rims + WIRE_GAP.value), 0.0)
    square = (np.floor(x / side) * 10_000 + np.floor(y / side)).astype(int)
    aside = np.hypot(x % side - side / 2, y % side - side / 2)
    order = np.lexsort((x, y, np.round(aside, 6), -np.round(room, 6), square))
    first = order[np.unique(square[order], return_index=True)[1]]
    best = first[room[first] >= LEAST_GROUND_MM]
    return [(float(x[n]), float(y[n])) for n in best]


def hole_ground(site: Site, spots: Floats) -> Floats:
    """Free ground [mm] round spots as seen, shape (n, 2), on both faces; negative beneath parts
    and off the plate.
    """
    pieces = np.stack((spots, spots), axis=1)
    room: Floats = np.minimum(*(g.thing_clearances(pieces) for g in site.grounds))
    good = np.flatnonzero(room >= LEAST_GROUND_MM)
    some = spots[good]
    covered = np.maximum(*(rests_on([s for s, _ in u], some) for u in site.under)) >= 0
    off = rests_on([shape_of(site.outer[:-1])], some) < 0
    off |= rests_on([shape_of(ring[:-1]) for ring in site.cut_outs], some) >= 0
    room[good[covered | off]] = -1.0
    return room


def widest_holes(site: Site, spots: Floats) -> Floats:
    """Diameter [mm] of the widest hole at spots as seen, shape (n, 2), that keeps its distances.

    0 or less where there is none; in a hole drilled before it may be as wide as that.
    """
    if not len(spots):
        return np.empty(0)
    at = np.array([site.view.back(x, y) for x, y in spots.tolist()])
    cut_outs = [shape for s in site.scene.standing.values() for shape in s.cut_outs]
    widest: Floats = edge_rooms(site, cut_outs, at) / EDGE_WARN.value
    plate = site.job.plate
    old = [(h.x, h.y, h.diameter) for h in plate.existing_holes]
    new = [(h.x, h.y, h.diameter) for s in site.scene.standing.values() for h in s.holes]
    new += [(m.x, m.y, m.diameter) for m in plate.mounts]
    for number, (x, y, other) in enumerate([*old, *new]):
        away = np.hypot(at[:, 0] - x, at[:, 1] - y)
        least = max(other, LEAST_BRIDGE.value)
        as_bridge = (away - other / 2) / 1.5  # a - (d + o) / 2 >= d
        limit = np.where(as_bridge >= least, as_bridge, 2 * (away - least) - other)
        within = other - 2 * away if number < len(old) else -1.0
        widest = np.minimum(widest, np.maximum(limit, within))
    return widest


def grommets_at(site: Site, spots: Floats, needed: Sequence[bool]) -> Iterator[Grommet | None]:
    """The widest grommet at each of some spots as seen, shape (n, 2); None: there is no room.

    needed: spots whose holes a person wants: only the ground on both faces limits them.
    """
    widest = np.where(needed, np.inf, widest_holes(site, spots))
    for ground, wide in zip(hole_ground(site, spots), widest, strict=True):
        yield next((g for g in reversed(GROMMETS) if g.rim / 2 + WIRE_GAP.value <= ground
                    and g.hole <= wide + HAIR_MM), None)


def too_near(holes: Sequence[Hole]) -> Iterator[tuple[int, int]]:
    """Numbers of every two holes with too thin a bridge between them."""
    for (n, (x, y, wide)), (m, (a, b, other)) in combinations(enumerate(holes), 2):
        bridge = hypot(x - a, y - b) - (wide + other) / 2
        if bridge < max(wide, other, LEAST_BRIDGE.value) - HAIR_MM:
            yield n, m

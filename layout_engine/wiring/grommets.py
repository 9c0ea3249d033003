"""Where a hole with a grommet can be drilled for wires, and how wide: ground, edges, other holes.

A hole keeps from edges and from other holes what is asked of every hole of the plate: 2.5 of its
diameters from its centre to an edge or a cut-out, and a bridge of the larger diameter, at least
2 mm.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations
from math import hypot, sqrt

import numpy as np
from numpy.typing import NDArray

from layout_engine.geometry.frames import EPS_MM
from layout_engine.geometry.shapes import shape_of
from layout_engine.geometry.wire_ground import rests_on
from layout_engine.tables.dressing import GROMMETS, Grommet
from layout_engine.tables.holes import EDGE_WARN, LEAST_BRIDGE, cut_out_hole
from layout_engine.wiring.drilling import HAIR_MM, edge_rooms
from layout_engine.wiring.site import Site
from layout_engine.wiring.tracks import GAP_PITCHES, gaps, middle_out, middles_of
from layout_engine.wiring.wire import Hole

Floats = NDArray[np.float64]
COARSE_SPOT_MM, COARSE_SQUARE_MM = 6.0, 20.0
PLACES = 3  # decimals of a mm by which spots are told apart
SPOT_MM, SQUARE_MM = 3.0, 12.0  # spots that are looked at for holes, one is taken in each square
CLOSER = 2  # how often a third of the steps is taken where no hole was found
LEAST_GROUND_MM = GROMMETS[0].rim / 2 - HAIR_MM


def hole_spots(site: Site) -> list[tuple[float, float]]:
    """Where a hole has the most ground on both faces: one spot in each square of the board.

    Where a square seems to have room for none, it is looked at more closely, but after a change.
    """
    width, height = site.size
    step, side = (COARSE_SPOT_MM, COARSE_SQUARE_MM) if site.coarse else (SPOT_MM, SQUARE_MM)
    axes = [middle_out(length, step) if site.quick else
            np.concatenate((middle_out(length, step), _gap_middles(site, 1 - axis)))
            for axis, length in enumerate((width, height))]
    x, y = (a.ravel() for a in np.meshgrid(*axes, indexing="ij"))
    found, room, near = _looked_at(site, _distinct(np.column_stack((x, y))), step)
    for _ in range(0 if site.quick else CLOSER):
        near = near[~np.isin(_squares(near, side), _squares(found, side))]
        step /= 3
        more = np.array([(step * i, step * j) for i in (-1, 0, 1) for j in (-1, 0, 1)])
        near = _distinct((near[:, None] + more).reshape(-1, 2))
        closer, its_room, near = _looked_at(site, near, step)
        found, room = np.vstack((found, closer)), np.concatenate((room, its_room))
    square = _squares(found, side)
    aside = np.hypot(*(found % side - side / 2).T)
    order = np.lexsort((*found.T, np.round(aside, 6), -np.round(room, 6), square))
    first = order[np.unique(square[order], return_index=True)[1]]
    return [(float(a), float(b)) for a, b in found[first]]


def _distinct(spots: Floats) -> Floats:
    """The same without spots that repeat."""
    _, first = np.unique(np.round(spots, PLACES), axis=0, return_index=True)
    return spots[first]


def _squares(spots: Floats, side: float) -> NDArray[np.int64]:
    """A number for the square of the board in which each spot is."""
    numbers = np.floor(spots / side).astype(np.int64)
    return np.asarray(numbers[:, 0] * 10_000 + numbers[:, 1])


def _looked_at(site: Site, spots: Floats, step: float) -> tuple[Floats, Floats, Floats]:
    """Those of some spots, `step` apart, where a hole can be, the room [mm] that counts there, and
    those within whose step one might be.
    """
    ground = hole_ground(site, spots)
    reach = step / sqrt(2)
    close = np.flatnonzero(ground >= LEAST_GROUND_MM - reach)
    spots, ground = spots[close], ground[close]
    spare = hole_spare(site, spots, [g.hole for g in GROMMETS])
    rims = np.max(np.where(spare >= -HAIR_MM, [g.rim / 2 for g in GROMMETS], 0.0), axis=1)
    room = np.minimum(ground, rims)
    good = room >= LEAST_GROUND_MM
    return spots[good], room[good], spots[spare[:, 0] >= -reach]


def _gap_middles(site: Site, axis: int) -> Floats:
    """Where the middles of gaps between things lie across an axis, on both faces."""
    widest = GAP_PITCHES * site.pitch
    return np.concatenate([
        middles_of(gaps(ground.slices(axis), site.size, axis, widest))
        for ground in site.grounds])


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


def hole_spare(site: Site, spots: Floats, diameters: Sequence[float]) -> Floats:
    """How much nearer [mm] to edges and other holes a hole at each spot as seen, shape (n, 2),
    might be; shape (n, number of diameters). Under 0 there is too little room.

    A hole drilled before that serves for it, there, does not count.
    """
    at = np.array([site.view.back(x, y) for x, y in spots.tolist()]).reshape(-1, 2)
    cut_outs = [shape for s in site.scene.standing.values() for shape in s.cut_outs]
    wide = np.array(diameters)
    spare: Floats = edge_rooms(site, cut_outs, at)[:, None] - EDGE_WARN.value * wide
    plate = site.job.plate
    old = [(h.x, h.y, h.diameter) for h in plate.existing_holes]
    new = [(h.x, h.y, h.diameter) for s in site.scene.standing.values() for h in s.holes]
    new += [(m.x, m.y, m.diameter) for m in plate.mounts]
    for number, (x, y, other) in enumerate([*old, *new]):
        away = np.hypot(at[:, 0] - x, at[:, 1] - y)[:, None]
        bridge = away - (wide + other) / 2
        left = bridge - np.maximum(np.maximum(wide, other), LEAST_BRIDGE.value)
        if number < len(old):
            slack = np.array([cut_out_hole(d).slack(other) for d in diameters])
            left = np.where(away <= slack + EPS_MM, np.inf, left)
        spare = np.minimum(spare, left)
    return spare


def grommets_at(site: Site, spots: Floats, needed: Sequence[bool]) -> Iterator[Grommet | None]:
    """The widest grommet at each of some spots as seen, shape (n, 2); None: there is no room.

    needed: spots whose holes a person wants: only the ground on both faces limits them.
    """
    spare = hole_spare(site, spots, [g.hole for g in GROMMETS])
    fits = (spare >= -HAIR_MM) | np.array(needed, dtype=bool)[:, None]
    for ground, row in zip(hole_ground(site, spots), fits.tolist(), strict=True):
        yield next((g for g, fit in zip(reversed(GROMMETS), reversed(row), strict=True)
                    if fit and g.rim / 2 - HAIR_MM <= ground), None)


def too_near(holes: Sequence[Hole]) -> Iterator[tuple[int, int]]:
    """Numbers of every two holes with too thin a bridge between them."""
    for (n, (x, y, wide)), (m, (a, b, other)) in combinations(enumerate(holes), 2):
        bridge = hypot(x - a, y - b) - (wide + other) / 2
        if bridge < max(wide, other, LEAST_BRIDGE.value) - HAIR_MM:
            yield n, m

"""Bends of wires that are tighter than a wire may be bent.

The graph's ways turn at right angles, whatever the room beside a turn is; a turn is rounded by the
largest arc that fits between the middles of both legs, or their ends at a terminal. Two turns
that only lead a wire aside are one reverse curve of two equal arcs, where the ground beside them
is free: over a length L it leads aside by d at the radius (L^2 + d^2) / 4 d (plane geometry). Where
the radius is under the least one of a supported wire it is told, bend by bend.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import hypot, sqrt

import numpy as np

from layout_engine.geometry.frames import EPS_MM
from layout_engine.model.plate import Face
from layout_engine.tables.dressing import BEND_AT_TERMINAL
from layout_engine.wiring.site import Site
from layout_engine.wiring.wire import PathPoint, Wire

STRAIGHT = 1e-6


@dataclass(frozen=True, slots=True)
class Bend:
    """A bend that is too tight: wire, place, radius that fits and radius that is wanted [mm]."""

    wire: str
    x: float
    y: float
    face: Face
    radius: float
    needs: float


def tight_bends(site: Site, wires: Iterable[Wire]) -> tuple[Bend, ...]:
    """All bends of the wires, on a face, that are tighter than 3 outer diameters."""
    return tuple(bend for wire in wires for bend in _of_wire(site, wire))


def _of_wire(site: Site, wire: Wire) -> Iterator[Bend]:
    needs = BEND_AT_TERMINAL.value * wire.outer
    path = wire.path
    radii = {n: radius for n in range(1, len(path) - 1)
             if (radius := _rounded(path, n)) is not None and radius < needs - EPS_MM}
    for n in [n for n in radii if n + 1 in radii]:
        aside = _led_aside(site, wire, n, needs)
        radii[n], radii[n + 1] = max(radii[n], aside), max(radii[n + 1], aside)
    for n, radius in radii.items():
        if radius < needs - EPS_MM:
            x, y, face = path[n]
            yield Bend(wire.id, x, y, face, round(radius, 3), round(needs, 3))


def _rounded(path: Sequence[PathPoint], n: int) -> float | None:
    """Radius [mm] of the arc that fits at a point of a path; None: straight on, another face."""
    before, here, after = path[n - 1:n + 2]
    if not before[2] == here[2] == after[2]:
        return None
    return radius_at(before, here, after, min(_beside(path, n)))


def _beside(path: Sequence[PathPoint], n: int) -> tuple[float, float]:
    """What a bend has of the legs before and behind it, mm: half, but all of a path's end."""
    one = _length(path[n - 1], path[n]) * (1.0 if n == 1 else 0.5)
    return one, _length(path[n], path[n + 1]) * (1.0 if n + 2 == len(path) else 0.5)


def _led_aside(site: Site, wire: Wire, n: int, needs: float) -> float:
    """Radius [mm] of the reverse curve over the bends n and n + 1; 0 where there can be none."""
    path = wire.path
    if len({face for _, _, face in path[n - 1:n + 3]}) > 1:
        return 0.0
    one, jog, other = (_way(*pair) for pair in pairwise(path[n - 1:n + 3]))
    if abs(one[0] * jog[0] + one[1] * jog[1]) > STRAIGHT or hypot(
            one[0] - other[0], one[1] - other[1]) > STRAIGHT:
        return 0.0
    aside = _length(path[n], path[n + 1])
    room = min(_beside(path, n)[0], _beside(path, n + 1)[1])
    wanted = sqrt(max(aside * (4.0 * needs - aside), 0.0)) / 2.0  # half of L
    half = min(room, max(wanted, aside / 2.0))
    radius = (4.0 * half**2 + aside**2) / (4.0 * aside)
    ends = [(path[n][0] - one[0] * half, path[n][1] - one[1] * half),
            (path[n + 1][0] + one[0] * half, path[n + 1][1] + one[1] * half)]
    bulge = (half**2 + aside**2 / 4.0) / (8.0 * radius)  # of each arc beyond its chord
    piece = site.view.points(np.array(ends))[None]
    ground = site.grounds[site.view.face(path[n][2])]
    free = float(ground.clearances(piece)[0]) >= wire.outer / 2.0 + bulge - EPS_MM
    return radius if free else 0.0


def _way(a: PathPoint, b: PathPoint) -> tuple[float, float]:
    """Unit vector from one point to another."""
    length = max(_length(a, b), STRAIGHT)
    return (b[0] - a[0]) / length, (b[1] - a[1]) / length


def radius_at(before: PathPoint, here: PathPoint, after: PathPoint, room: float) -> float | None:
    """Radius [mm] of the arc that begins `room` mm before a bend and ends as far behind it.

    None where the way goes straight on; 0 where it turns back.

    >>> round(radius_at((0, 0, "front"), (10, 0, "front"), (10, 10, "front"), 5.0), 6)
    5.0
    """
    (ax, ay), (bx, by) = ((b[0] - a[0], b[1] - a[1]) for a, b in pairwise((before, here, after)))
    cosine = (ax * bx + ay * by) / max(hypot(ax, ay) * hypot(bx, by), STRAIGHT)
    if cosine > 1.0 - STRAIGHT:
        return None
    return room * sqrt(max(1.0 + cosine, 0.0) / (1.0 - cosine))  # room / tan of half the turn


def _length(a: PathPoint, b: PathPoint) -> float:
    return hypot(b[0] - a[0], b[1] - a[1])

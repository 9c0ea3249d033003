"""From ways through the corridor graph to paths on the plate, and back again."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from layout_engine.wiring.corridors import RUN, Corridors
from layout_engine.wiring.site import Site
from layout_engine.wiring.wire import PathPoint

Seen = tuple[float, float, int]  # x, y and number of the face, as seen
Floats = NDArray[np.float64]
STRAIGHT = 1e-6
SAME_LINE = 1e-5


def seen_path(graph: Corridors, start: int, edges: Sequence[int]) -> list[Seen]:
    """Points of a way from a node along edges."""
    points: list[Seen] = []
    node, listed = start, list(edges)
    ends = np.column_stack((graph.u[listed], graph.v[listed]))
    places = np.dstack((graph.xy[ends, 0], graph.xy[ends, 1], graph.face[ends])).tolist()
    for edge, (u, v), both in zip(listed, ends.tolist(), places, strict=True):
        line: Sequence[Sequence[float]] = both
        if edge in graph.stub_points:
            face = both[1][2]  # an exit's own node counts for both faces
            line = [(x, y, face) for x, y in graph.stub_points[edge]]
        points += [(x, y, int(face)) for x, y, face in (line if node == u else line[::-1])]
        node = v if node == u else u
    return straightened(points)


def straightened(points: Iterable[Seen]) -> list[Seen]:
    """The same path without points that repeat or lie on a straight leg."""
    kept: list[Seen] = []
    for point in points:
        if kept and _same(kept[-1], point):
            continue
        while len(kept) > 1 and _on_leg(kept[-2], kept[-1], point):
            kept.pop()
        kept.append(point)
    return kept


def _same(a: Seen, b: Seen) -> bool:
    return a[2] == b[2] and abs(a[0] - b[0]) < STRAIGHT and abs(a[1] - b[1]) < STRAIGHT


def _on_leg(a: Seen, b: Seen, c: Seen) -> bool:
    if not a[2] == b[2] == c[2]:
        return False
    ab, bc = (b[0] - a[0], b[1] - a[1]), (c[0] - b[0], c[1] - b[1])
    return abs(ab[0] * bc[1] - ab[1] * bc[0]) < STRAIGHT and ab[0] * bc[0] + ab[1] * bc[1] > 0


def to_plate(site: Site, points: Sequence[Seen]) -> tuple[PathPoint, ...]:
    """A path in plate coordinates."""
    found = []
    for x, y, face in points:
        a, b = site.view.back(x, y)
        found.append((round(a, 6) + 0.0, round(b, 6) + 0.0, site.view.face_back(face)))
    return tuple(found)


def to_seen(site: Site, path: Sequence[PathPoint]) -> list[Seen]:
    """A path in the site's view."""
    return [(*site.view.point(x, y), site.view.face(face)) for x, y, face in path]


@dataclass(frozen=True, slots=True)
class Leg:
    """A straight leg along an axis of one face: line c, from a to b with a < b; `on`: towards b."""

    face: int
    axis: int
    c: float
    a: float
    b: float
    on: bool


def legs_of(points: Sequence[Seen]) -> list[Leg]:
    """Legs of a path that lie along the axes, in order."""
    found = []
    for p, q in pairwise(points):
        if p[2] != q[2]:
            continue
        for axis in (0, 1):
            if abs(p[1 - axis] - q[1 - axis]) < STRAIGHT < abs(p[axis] - q[axis]):
                low, high = sorted((p[axis], q[axis]))
                found.append(Leg(p[2], axis, p[1 - axis], low, high, q[axis] > p[axis]))
    return found


def changes_of(points: Sequence[Seen]) -> list[tuple[float, float]]:
    """Places where a path goes through the plate."""
    return [(p[0], p[1]) for p, q in pairwise(points) if p[2] != q[2]]


def tracks_of(paths: Iterable[Sequence[Seen]]) -> list[list[Floats]]:
    """Tracks on which paths lie: for each face, along x and along y."""
    rows: list[list[list[tuple[float, float, float]]]] = [[[], []], [[], []]]
    for path in paths:
        for leg in legs_of(path):
            rows[leg.face][leg.axis].append((leg.c, leg.a, leg.b))
    return [[np.array(axis).reshape(-1, 3) for axis in face] for face in rows]


class TrackPlaces:
    """Pieces of track by the line on which they lie, to find those under a leg."""

    def __init__(self, graph: Corridors) -> None:
        self.graph = graph
        runs = np.flatnonzero(graph.kind == RUN)
        middle = (graph.xy[graph.u[runs]] + graph.xy[graph.v[runs]]) / 2
        face, axis = graph.face[graph.u[runs]], graph.axis[runs]
        self._sides: dict[tuple[int, int], tuple[NDArray[np.intp], Floats, Floats]] = {}
        for side in ((f, a) for f in (0, 1) for a in (0, 1)):
            mine = np.flatnonzero((face == side[0]) & (axis == side[1]))
            line, along = middle[mine, 1 - side[1]], middle[mine, side[1]]
            order = np.lexsort((along, np.round(line, 5)))
            self._sides[side] = runs[mine[order]], line[order], along[order]

    def under(self, leg: Leg) -> list[int]:
        """Pieces under a leg, in its order."""
        edges, line, along = self._sides[leg.face, leg.axis]
        first, last = np.searchsorted(line, (leg.c - SAME_LINE, leg.c + SAME_LINE))
        here = slice(first, last)
        inside = (along[here] > leg.a) & (along[here] < leg.b)
        mine: list[int] = edges[here][inside].tolist()
        return mine if leg.on else mine[::-1]


def edges_under(places: TrackPlaces, points: Sequence[Seen], outer: float) -> list[int]:
    """Pieces of track and pass-throughs on which a path lies, in order.

    Where there is no room for the wire [mm] it is on its way to a terminal, and in no corridor.
    """
    graph = places.graph
    edges = [e for leg in legs_of(points) for e in places.under(leg) if graph.width[e] >= outer]
    for x, y in changes_of(points):
        edges += [e for e, what in graph.passes.items()
                  if abs(what.x - x) < 1e-5 and abs(what.y - y) < 1e-5][:1]
    return edges

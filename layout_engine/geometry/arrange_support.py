"""Shapes for the optimiser and for where it fits: convex pieces, hulls and what they have too much.

Everything here errs towards too little room: a place that the optimiser finds free is free, and
the exact rules have the last word.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import ceil, hypot, pi, sqrt

import numpy as np
import shapely

from layout_engine.geometry.frames import Points
from layout_engine.geometry.plate_shape import PlateShape
from layout_engine.geometry.shapes import (
    MIN_OVERLAP_MM2,
    Shape,
    overlaps,
    point_gap,
    shape_of,
    vertices,
)

GRID_MM = 1e-6
HAIR_MM2 = 1e-9  # twice the area by which three corners may turn the wrong way
OUTSIDE_MM = 0.5  # between points of an edge of which it is asked how far they are from a zone
CHORD_MM = 0.02  # how far inside a curve its chords may lie


def farthest_outside(zone: Shape, shape: Shape) -> float:
    """Greatest distance, mm, of a polygon's ground from a zone; 0 where the zone takes all of it.

    From a convex zone the farthest is a corner. In the pockets of another one the edge of what
    lies there is looked at, every `OUTSIDE_MM`; what shares no area with a pocket is not in it.
    """
    farthest = float(np.max(shapely.distance(zone, shapely.points(vertices(shape)))))
    for pocket in hull_and_gaps(zone)[1] if zone.area < zone.convex_hull.area else ():
        gap = shape_of(pocket)
        if overlaps(gap, shape):
            inside = shapely.intersection(gap, shape)
            ring = shapely.get_coordinates(shapely.segmentize(inside, OUTSIDE_MM))
            farthest = max(farthest, float(np.max(shapely.distance(zone, shapely.points(ring)))))
    return farthest


def space_to(point: tuple[float, float, float], shape: Shape, span: tuple[float, float]) -> float:
    """Distance, mm, from a point in space to a prism; 0 inside."""
    deep = max(0.0, span[0] - point[2], point[2] - span[1])
    return hypot(deep, point_gap(point[0], point[1], shape))


def turning_left(points: Points) -> Points:
    """The same ring, counter-clockwise."""
    x, y = points[:, 0], points[:, 1]
    twice = float(x[:-1] @ y[1:] - x[1:] @ y[:-1] + x[-1] * y[0] - x[0] * y[-1])
    return points if twice > 0 else points[::-1].copy()


def convex_parts(points: Points | Sequence[tuple[float, float]]) -> list[Points]:
    """Convex polygons, turning left, that cover a polygon and nothing else."""
    return _parts_of(shape_of(points))


def merged_parts(polygons: Sequence[Points]) -> list[Points]:
    """Convex polygons that cover the union of polygons."""
    union = shapely.union_all([shape_of(p) for p in polygons], grid_size=GRID_MM)
    return [part for piece in _polygons(union) for part in _parts_of(piece)]


def _polygons(geometry: shapely.Geometry) -> list[Shape]:
    return [
        piece for piece in shapely.get_parts(geometry)
        if isinstance(piece, shapely.Polygon) and piece.area > MIN_OVERLAP_MM2
    ]


def _hull(shape: Shape) -> Shape:
    hull = shape.convex_hull
    assert isinstance(hull, shapely.Polygon)
    return hull


def _parts_of(shape: Shape) -> list[Points]:
    hull = _hull(shape)
    if not shape.interiors and hull.area - shape.area <= MIN_OVERLAP_MM2:
        return [turning_left(vertices(hull))]
    if _is_rectilinear(shape):
        return _slabs(shape)
    triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(shape))
    return _joined([turning_left(vertices(t)) for t in triangles if t.area > 0])


def _is_rectilinear(shape: Shape) -> bool:
    rings = [shape.exterior, *shape.interiors]
    steps = np.vstack([np.diff(shapely.get_coordinates(ring), axis=0) for ring in rings])
    return bool(np.all(np.min(np.abs(steps), axis=1) < GRID_MM))


def _slabs(shape: Shape) -> list[Points]:
    """Rectangles of a polygon along the axes, cut across at each of its corners."""
    x0, _, x1, _ = shape.bounds
    levels = np.unique(np.round(shapely.get_coordinates(shape)[:, 1], 6))
    boxes: list[tuple[float, float, float, float]] = []
    for low, high in pairwise(levels):
        middle = shapely.LineString([(x0 - 1, (low + high) / 2), (x1 + 1, (low + high) / 2)])
        runs = [piece.bounds for piece in shapely.get_parts(shapely.intersection(shape, middle))]
        for left, _, right, _ in runs:
            below = next((b for b in boxes if b[3] == low and b[0] == left and b[2] == right), None)
            if below:
                boxes.remove(below)
            boxes.append((left, below[1] if below else float(low), right, float(high)))
    return [np.array([(a, b), (c, b), (c, d), (a, d)]) for a, b, c, d in boxes]


def _joined(triangles: list[Points]) -> list[Points]:
    """Triangles put together to convex pieces: at most four times as many as there must be.

    An edge between two pieces goes where both its ends stay convex (Hertel and Mehlhorn, Fast
    triangulation of simple polygons, FCT 1983).
    """
    points, corners = np.unique(np.vstack(triangles), axis=0, return_inverse=True)
    pieces = dict(enumerate(corners.reshape(-1, 3).tolist()))
    owner = {edge: n for n, ring in pieces.items() for edge in _edges(ring)}
    for start, end in sorted(edge for edge in owner if edge[0] < edge[1]):
        mine, other = owner[start, end], owner.get((end, start), -1)
        if other in (-1, mine):
            continue
        one, two = _from(pieces[mine], end), _from(pieces[other], start)
        if _left(points, one[-2], one[-1], two[1]) and _left(points, two[-2], two[-1], one[1]):
            del pieces[other]
            pieces[mine] = one + two[1:-1]
            owner.update(dict.fromkeys(_edges(pieces[mine]), mine))
    return [points[ring] for ring in pieces.values()]


def _edges(ring: list[int]) -> list[tuple[int, int]]:
    return list(zip(ring, ring[1:] + ring[:1], strict=True))


def _from(ring: list[int], first: int) -> list[int]:
    """The ring, begun at one of its corners."""
    at = ring.index(first)
    return ring[at:] + ring[:at]


def _left(points: Points, a: int, b: int, c: int) -> bool:
    """Whether the way from a over b to c turns left, or goes straight on, at b."""
    (ax, ay), (bx, by), (cx, cy) = points[[a, b, c]].tolist()
    return bool((bx - ax) * (cy - by) - (by - ay) * (cx - bx) >= -HAIR_MM2)


def plate_ground(plate: PlateShape, chord: float = CHORD_MM) -> tuple[Points, list[Points]]:
    """The plate, cut-outs left out, as its convex hull and convex pieces that are not plate.

    Rounded corners are cut along chords, at most `chord` mm inside the arc.
    """
    radius = max((arc.radius for arc in plate.arcs), default=0.0)
    pieces = max(2, ceil(sqrt(radius / chord) * pi / sqrt(32)))  # chord's height r a^2 / 8
    return hull_and_gaps(plate.polygon(pieces))


def simplified(points: Points) -> Points:
    """A convex polygon with fewer corners that lies within another, by at most a hair."""
    plain = shape_of(points).simplify(CHORD_MM)
    assert isinstance(plain, shapely.Polygon)
    return turning_left(vertices(plain))


def hull_and_gaps(shape: Shape) -> tuple[Points, list[Points]]:
    """A polygon's convex hull, and convex pieces of the hull that are not the polygon.

    Holes of the polygon count as part of it.
    """
    hull = _hull(shape)
    gaps = shapely.difference(hull, shapely.Polygon(shape.exterior), grid_size=GRID_MM)
    return turning_left(vertices(hull)), [p for g in _polygons(gaps) for p in _parts_of(g)]

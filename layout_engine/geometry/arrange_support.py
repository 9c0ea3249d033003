"""Shapes for the optimiser: convex pieces, ground that a height may stand on, ground in the way.

Everything here errs towards too little room: a place that the optimiser finds free is free, and
the exact rules have the last word.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise
from math import ceil, hypot, pi, sqrt

import numpy as np
import shapely
from numpy.typing import NDArray

from layout_engine.geometry.cavity import Cavity
from layout_engine.geometry.frames import EPS_MM, Points
from layout_engine.geometry.plate_shape import PlateShape
from layout_engine.geometry.shapes import MIN_OVERLAP_MM2, Shape, point_gap, shape_of, vertices

RAYS = 128  # directions in which the ground round a point is measured
HALVINGS = 34  # of a length of metres: to 1e-6 mm
GRID_MM = 1e-6
CHORD_MM = 0.02  # how far inside a curve its chords may lie


def farthest_outside(zone: Shape, shape: Shape) -> float:
    """Greatest distance, mm, of a corner of a polygon from a zone; 0 inside."""
    corners = shapely.points(vertices(shape))
    return float(np.max(shapely.distance(zone, corners)))


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


def _joined(pieces: list[Points]) -> list[Points]:
    """Neighbouring convex pieces put together while they stay convex."""
    shapes = [shape_of(p) for p in pieces]
    joined = True
    while joined:
        joined = False
        for i in range(len(shapes)):
            for j in range(i + 1, len(shapes)):
                both = shapes[i].area + shapes[j].area
                hull = shapely.MultiPolygon([shapes[i], shapes[j]]).convex_hull
                if hull.area - both <= MIN_OVERLAP_MM2 and isinstance(hull, shapely.Polygon):
                    shapes[i] = hull
                    del shapes[j]
                    joined = True
                    break
            if joined:
                break
    return [turning_left(vertices(s)) for s in shapes]


def plate_ground(plate: PlateShape, radius: float) -> tuple[Points, list[Points]]:
    """The plate as a convex polygon, and convex pieces of it that are not plate.

    Rounded corners are cut along chords, at most 0.02 mm inside the arc; `radius` is theirs.
    """
    pieces = max(2, ceil(sqrt(radius / CHORD_MM) * pi / sqrt(32)))  # chord's height r a^2 / 8
    board = plate.polygon(pieces)
    hull = _hull(board)
    gaps = shapely.difference(hull, shapely.Polygon(board.exterior), grid_size=GRID_MM)
    missing = [part for piece in _polygons(gaps) for part in _parts_of(piece)]
    return turning_left(vertices(hull)), missing


def simplified(points: Points) -> Points:
    """A convex polygon with fewer corners that lies within another, by at most a hair."""
    plain = shape_of(points).simplify(CHORD_MM)
    assert isinstance(plain, shapely.Polygon)
    return turning_left(vertices(plain))


def hull_and_pockets(points: Sequence[tuple[float, float]]) -> tuple[Points, list[Points]]:
    """A polygon's convex hull, and convex pieces of the hull that are not the polygon."""
    shape = shape_of(points)
    hull = _hull(shape)
    gaps = shapely.difference(hull, shape, grid_size=GRID_MM)
    return turning_left(vertices(hull)), [p for g in _polygons(gaps) for p in _parts_of(g)]


def height_ground(cavity: Cavity, face: str, height: float) -> tuple[Points | None, list[Points]]:
    """Where a height over a face is free up to the wall: a convex polygon, and pieces to avoid.

    The polygon is None where that height fits nowhere. Obstructions are left out.
    """
    if cavity.body.shape == "free":
        return _free_section_ground(cavity, face, height)

    def free(points: Points) -> NDArray[np.bool_]:
        heights: NDArray[np.bool_] = (
            cavity._wall_heights(points, face) >= height - EPS_MM / 2  # noqa: SLF001
        )
        return heights

    return _region(cavity, free), []


def skin_ground(cavity: Cavity, face: str, height: float, distance: float) -> Points | None:
    """Where a point at a height over a face keeps a distance from the body's skin."""
    level = cavity.frame.level(face, height)

    def free(points: Points) -> NDArray[np.bool_]:
        gaps = [cavity.wall_distance(*cavity.frame.to_body(x, y, level)) for x, y in points]
        inside = cavity._wall_heights(points, face) >= height  # noqa: SLF001
        return inside & (np.array(gaps) >= distance - EPS_MM / 2)

    return _region(cavity, free)


def _region(cavity: Cavity, free: Callable[[Points], NDArray[np.bool_]]) -> Points | None:
    """The convex region round the plate in which `free` holds, as a polygon inside it."""
    width, height = cavity.frame.width, cavity.frame.height
    xs, ys = np.meshgrid(np.linspace(0, width, 15), np.linspace(0, height, 15))
    grid = np.column_stack((xs.ravel(), ys.ravel()))
    good = grid[free(grid)]
    if not len(good):
        return None
    start = good.mean(axis=0)
    angles = np.linspace(0.0, 2 * np.pi, RAYS, endpoint=False)
    rays = np.column_stack((np.cos(angles), np.sin(angles)))
    low, high = np.zeros(RAYS), np.full(RAYS, hypot(width, height))
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        holds = free(start + rays * middle[:, None])
        low, high = np.where(holds, middle, low), np.where(holds, high, middle)
    hull = shapely.MultiPoint(start + rays * low[:, None]).convex_hull
    plain = hull.simplify(CHORD_MM)  # only drops corners, so the rest lies within
    return turning_left(vertices(plain)) if isinstance(plain, shapely.Polygon) else None


def _free_section_ground(cavity: Cavity, face: str, height: float
                         ) -> tuple[Points | None, list[Points]]:
    section = cavity.section
    assert section is not None
    f = cavity.frame
    if f.stands == "flat":
        to_plate = (f.width / 2 - f.shift, f.height / 2 - f.offset)
        ground, pockets = hull_and_pockets([tuple(p) for p in vertices(section) + to_plate])
        top = cavity.body.height - f.base if face == "front" else f.base
        return (ground if top - f.thickness / 2 >= height else None), pockets
    start = f.offset - f.thickness / 2 if face == "front" else f.offset + f.thickness / 2
    end = start - height if face == "front" else start + height
    x0, _, x1, _ = section.bounds
    band = shapely.box(x0, min(start, end), x1, max(start, end))
    shift, tall = f.width / 2 - f.shift, cavity.body.height
    low, high = -f.base, tall - f.base
    blocked = [
        (piece.bounds[0] + shift, piece.bounds[2] + shift)
        for piece in _polygons(shapely.difference(band, section, grid_size=GRID_MM))
    ]
    return _upright(x0 + shift, x1 + shift, low, high), [
        _upright(a, b, low, high) for a, b in blocked
    ]


def _upright(x0: float, x1: float, y0: float, y1: float) -> Points:
    return np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])

"""Shapes in the plate frame and the questions the rules ask of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import cast

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layout_engine.geometry.frames import EPS_MM, Points, unit

Shape = shapely.Polygon
Shapes = NDArray[np.object_]
MOST_CORNERS = 40_000  # corners of the one times corners of the other; worst an overlay of 0.1 s
MOST_IN_WAY = 500  # corners of what stands round a part for which its shape counts exactly
MOST_SPOTS, SPARE_MM = 12, 0.01  # places that are tried first, and mm that must be spare there
BOX_POINTS = 5  # of the closed line round four corners
MIN_OVERLAP_MM2 = 1e-6  # the contract: outlines intersect when they share more than this


def shape_of(points: Points | Sequence[tuple[float, float]]) -> Shape:
    """The polygon through plate points, shape (n, 2)."""
    return cast("Shape", shapely.polygons(np.asarray(points, dtype=float)))


def vertices(shape: Shape) -> Points:
    """The outer corners of a polygon, shape (n, 2), without the repeated one."""
    corners: Points = shapely.get_coordinates(shape.exterior)[:-1]
    return corners


def corners_in(shape: Shape) -> int:
    """How many corners a polygon has, the first one counted again at the end."""
    return int(shapely.get_num_coordinates(shape))


def overlap_area(a: Shape, b: Shape) -> float:
    """Area, mm2, that two polygons share."""
    return float(shapely.area(shapely.intersection(a, b))) if a.intersects(b) else 0.0


def overlaps(a: Shape, b: Shape) -> bool:
    """Whether two polygons share more than the contract's least area.

    Between polygons of very many corners any shared inside counts: the area would take too long.
    """
    if has_many(a, b):
        return hold_corners(a, b) or (bool(a.intersects(b)) and not a.touches(b))
    return overlap_area(a, b) > MIN_OVERLAP_MM2


def has_many(a: Shape, b: Shape) -> bool:
    """Whether two polygons have so many corners that the area they share may take long."""
    return corners_in(a) * corners_in(b) > MOST_CORNERS


def hold_corners(a: Shape, b: Shape) -> bool:
    """Whether one of a few corners of the one polygon lies inside the other."""
    for one, other in ((a, b), (b, a)):
        corners = shapely.get_coordinates(other)[:: max(1, corners_in(other) // 16)]
        if shapely.contains_xy(one, corners[:, 0], corners[:, 1]).any():
            return True
    return False


def gap(a: Shape, b: Shape) -> float:
    """Distance between two polygons, mm; 0 where they touch or intersect."""
    if a.intersects(b):  # soon said of prepared ones; the distance of such takes long
        return 0.0
    return float(shapely.distance(a, b))


def prepared(shapes: Sequence[Shape]) -> NDArray[np.object_]:
    """An array of polygons made ready for many questions."""
    array = np.empty(len(shapes), dtype=object)
    array[:] = shapes
    shapely.prepare(array)
    return array


def point_gap(x: float, y: float, shape: Shape) -> float:
    """Distance from a point to a polygon, mm; 0 inside."""
    return float(shapely.distance(shapely.Point(x, y), shape))


@dataclass(frozen=True, slots=True)
class Disc:
    """A round cut-out: centre and diameter, mm."""

    x: float
    y: float
    diameter: float

    def gaps(self, points: Points) -> NDArray[np.float64]:
        """Distance from points, shape (n, 2), to the disc, mm; 0 inside."""
        away = np.hypot(points[:, 0] - self.x, points[:, 1] - self.y) - self.diameter / 2
        return np.maximum(away, 0.0)


def point_gaps(points: Points, shape: Shape) -> NDArray[np.float64]:
    """Distance from points, shape (n, 2), to a polygon, mm; 0 inside."""
    return np.asarray(shapely.distance(shape, shapely.points(points)))


def cut_out_gaps(points: Points, cut_out: Shape | Disc) -> NDArray[np.float64]:
    """Distance from points, shape (n, 2), to a cut-out, mm; 0 inside."""
    return cut_out.gaps(points) if isinstance(cut_out, Disc) else point_gaps(points, cut_out)


def circles_meeting(centres: Points, radii: NDArray[np.float64], shape: Shape
                    ) -> NDArray[np.bool_]:
    """Which of the circles, centres (n, 2), share ground with a polygon."""
    return np.asarray(radii - point_gaps(centres, shape) > EPS_MM)


def nearest_points(a: Shape, b: Shape) -> tuple[tuple[float, float], tuple[float, float]]:
    """The nearest points of two polygons."""
    (ax, ay), (bx, by) = shapely.get_coordinates(shapely.shortest_line(a, b))
    return (float(ax), float(ay)), (float(bx), float(by))


def centre(shape: Shape) -> tuple[float, float]:
    """The centroid of a polygon."""
    point = shape.centroid
    return float(point.x), float(point.y)


def shared_place(a: Shape, b: Shape) -> tuple[float, float]:
    """A point in the ground two polygons share, else half-way between them."""
    both = shapely.intersection(a, b)
    if not both.is_empty:
        point = both.representative_point()
        return float(point.x), float(point.y)
    (ax, ay), (bx, by) = nearest_points(a, b)
    return (ax + bx) / 2, (ay + by) / 2


def shared_box(a: Shape, b: Shape) -> tuple[float, float, float, float]:
    """What the bounds of two polygons that meet share: least x, y, greatest x, y."""
    (ax0, ay0, ax1, ay1), (bx0, by0, bx1, by1) = a.bounds, b.bounds
    return max(ax0, bx0), max(ay0, by0), min(ax1, bx1), min(ay1, by1)


def inside(outer: Shape, inner: Shape) -> bool:
    """Whether `inner` lies in `outer`, its edge allowed to touch."""
    return bool(outer.covers(inner))


def box(x0: float, y0: float, x1: float, y1: float) -> Shape:
    """The rectangle between two corners."""
    return shapely.box(x0, y0, x1, y1)


def strip(x: float, y: float, direction: float, start: float, length: float, half: float) -> Shape:
    """A rectangle along a direction from a point: from `start`, `length` long, `half` each side."""
    c, s = unit(direction)
    near, far = start, start + length
    return shape_of([
        (x + c * near - s * half, y + s * near + c * half),
        (x + c * far - s * half, y + s * far + c * half),
        (x + c * far + s * half, y + s * far - c * half),
        (x + c * near + s * half, y + s * near - c * half),
    ])


@lru_cache(maxsize=4096)
def leaves_at(x: float, y: float, direction: float, outline: tuple[tuple[float, float], ...]
              ) -> float:
    """How far along a direction from a point an outline ends for good, mm; 0 if never met.

    A measure of the part itself: point, direction and outline all in its own frame.
    """
    c, s = unit(direction)
    ring = np.asarray(outline) - (x, y)
    along, across = ring @ np.array([c, s]), ring @ np.array([-s, c])
    after_along, after_across = np.roll(along, -1), np.roll(across, -1)
    crosses = np.minimum(across, after_across) <= EPS_MM
    crosses &= np.maximum(across, after_across) >= -EPS_MM
    level = np.abs(after_across - across) <= EPS_MM
    share = np.clip(-across / np.where(level, 1.0, after_across - across), 0.0, 1.0)
    met = np.where(level, np.maximum(along, after_along), along + share * (after_along - along))
    return max(0.0, float(np.max(met[crosses], initial=0.0)))


def first_met(lane: Shape, x: float, y: float, direction: float, shape: Shape) -> float:
    """How far along a direction from a point a lane first meets a polygon, mm; inf if it does not.

    A touch at the edge (less than the least area) is no meeting, nor where it meets farther on.
    """
    shared = shapely.intersection(lane, shape)
    if shared.area <= MIN_OVERLAP_MM2:
        return float("inf")
    met = shapely.get_coordinates(shared)
    if shapely.get_num_coordinates(shared) > BOX_POINTS:  # perhaps what only touches the edge, too
        pieces = shapely.get_parts(shapely.intersection(lane, shape, grid_size=EPS_MM))
        met = shapely.get_coordinates(pieces[shapely.area(pieces) > 0.0])
    return float(np.min((met - (x, y)) @ np.array(unit(direction)), initial=np.inf))



def push_out(mover: Shape, other: Shape, needed: float) -> list[tuple[float, float]]:
    """Shifts (dx, dy) along the axes, shortest first, that bring a polygon `needed` mm clear.

    Judged by bounding boxes, so that each shift surely suffices.
    """
    ax0, ay0, ax1, ay1 = mover.bounds
    bx0, by0, bx1, by1 = other.bounds
    shifts = [
        (bx1 + needed - ax0, 0.0), (bx0 - needed - ax1, 0.0),
        (0.0, by1 + needed - ay0), (0.0, by0 - needed - ay1),
    ]
    return sorted(shifts, key=lambda d: abs(d[0]) + abs(d[1]))


def moved(shape: Shape, dx: float, dy: float) -> Shape:
    """The polygon shifted."""
    return shapely.transform(shape, lambda p: p + np.array([dx, dy]))


def stretched(shape: Shape, along_x: float, along_y: float, x: float, y: float) -> Shape:
    """The polygon scaled along the axes by two factors; the point x, y stays."""
    origin = np.array([x, y])
    return shapely.transform(shape, lambda p: (p - origin) * np.array([along_x, along_y]) + origin)


def extent(shape: Shape) -> tuple[float, float, float, float]:
    """Least x, least y, greatest x, greatest y."""
    x0, y0, x1, y1 = shape.bounds
    return x0, y0, x1, y1



def bounds_of(shapes: Shapes) -> NDArray[np.float64]:
    """Least x, least y, greatest x, greatest y of many polygons, shape (n, 4)."""
    return np.asarray(shapely.bounds(shapes)).reshape(-1, 4)


def hull_shape(points: Points) -> BaseGeometry:
    """The convex hull of points, shape (n, 2), n at least 2."""
    return cast("BaseGeometry", shapely.convex_hull(shapely.linestrings(points)))


def convex_hull(points: Points) -> Points:
    """Corners of the convex hull of points, turning left, shape (n, 2)."""
    hull = shapely.orient_polygons(hull_shape(points))
    if not isinstance(hull, shapely.Polygon):
        return np.unique(shapely.get_coordinates(hull), axis=0)
    return vertices(hull)


def circle_shape(x: float, y: float, diameter: float) -> Shape:
    """A circle as a polygon whose corners lie outside it by at most 1e-5 of the radius."""
    segments = 360
    turns = np.linspace(0.0, 2 * np.pi, 4 * segments, endpoint=False)
    radius = diameter / 2 / np.cos(np.pi / (4 * segments))
    return shape_of(np.column_stack((x + radius * np.cos(turns), y + radius * np.sin(turns))))


def spot_for_circle(ground: Shape, in_way: Sequence[Shape], diameter: float) -> bool:
    """Whether a circle centred somewhere on `ground` keeps clear of shapes."""
    near = [shape for shape in in_way if gap(shape, ground) < diameter / 2]
    if not near or _clear_spot(ground, near, diameter, diameter):
        return True
    grown = [shapely.buffer(shape, diameter / 2 - EPS_MM, quad_segs=32)
             for shape in _plain(ground, near, diameter, diameter)]
    return _left_over(ground, grown)


def spot_for_rectangle(ground: Shape, in_way: Sequence[Shape], width: float, height: float
                       ) -> bool:
    """Whether an upright rectangle centred somewhere on `ground` keeps clear of shapes.

    The centres that fail are the shapes' convex pieces summed with the rectangle.
    """
    near = [shape for shape in in_way if gap(shape, ground) < np.hypot(width, height) / 2]
    if not near or _clear_spot(ground, near, width, height):
        return True
    corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * [width / 2, height / 2]
    corners = corners * (1 - 1e-9)
    grown = [
        hull_shape((vertices(piece)[:, None] + corners[None]).reshape(-1, 2))
        for shape in _plain(ground, near, width, height)
        for piece in convex_pieces(shape)
    ]
    return _left_over(ground, grown)


def _clear_spot(ground: Shape, near: Sequence[Shape], width: float, height: float) -> bool:
    """Whether a rectangle is clear, with something to spare, at one of a few places of a ground."""
    middle = np.array(centre(ground))
    spots = middle + (vertices(ground)[:MOST_SPOTS] - middle) * [[[0.0]], [[0.98]]]
    spots = spots.reshape(-1, 2)
    spots = spots[shapely.contains_xy(ground, spots[:, 0], spots[:, 1])]
    half = np.array([width, height]) / 2 + SPARE_MM
    boxes = shapely.box(*(spots - half).T, *(spots + half).T)
    met = shapely.STRtree(boxes).query(near, predicate="intersects")[1]
    return len(np.unique(met)) < len(boxes)


def _plain(ground: Shape, near: Sequence[Shape], width: float, height: float) -> list[Shape]:
    """What of shapes can matter; their hulls, which leave less room, where corners are many."""
    if sum(corners_in(shape) for shape in near) <= MOST_IN_WAY:
        return list(near)
    x0, y0, x1, y1 = ground.bounds
    hulls = [shapely.convex_hull(shapely.clip_by_rect(
        shape, x0 - width / 2, y0 - height / 2, x1 + width / 2, y1 + height / 2))
        for shape in near]
    return [hull for hull in hulls if isinstance(hull, Shape)]


def convex_pieces(shape: Shape) -> list[Shape]:
    """Convex pieces that make up a polygon: itself, or triangles."""
    if abs(shape.convex_hull.area - shape.area) <= MIN_OVERLAP_MM2:
        return [shape]
    return list(shapely.get_parts(shapely.constrained_delaunay_triangles(shape)))


def _left_over(ground: Shape, covered: Sequence[shapely.Geometry]) -> bool:
    """Whether any of the ground stays uncovered."""
    if not covered:
        return True
    union = shapely.union_all(list(covered), grid_size=1e-6)
    left = shapely.difference(ground, union, grid_size=1e-6)
    return float(left.area) > MIN_OVERLAP_MM2


def inside_distance(points: Sequence[tuple[float, float]], x: float, y: float) -> float:
    """Distance, mm, from a point to the edge of the hull of points; negative outside it."""
    hull = hull_shape(np.asarray(points))
    point = shapely.Point(x, y)
    away = float(shapely.distance(hull.boundary if hull.area > 0 else hull, point))
    return away if hull.area > 0 and hull.covers(point) else -away


def pairs_within(points: Points, reach: float) -> NDArray[np.intp]:
    """Pairs (i, j), i < j, of points, shape (n, 2), at most so far apart, mm; shape (2, m)."""
    spots = np.asarray(shapely.points(points))
    pairs = shapely.STRtree(spots).query(spots, predicate="dwithin", distance=reach)
    pairs = pairs[:, pairs[0] < pairs[1]]
    return pairs[:, np.lexsort((pairs[1], pairs[0]))]


class Ground:
    """Many polygons, ready to be asked which of them meet others."""

    def __init__(self, shapes: Sequence[Shape]) -> None:
        self.shapes = prepared(shapes)
        self._tree = shapely.STRtree(self.shapes)

    def met_by(self, shape: Shape) -> NDArray[np.intp]:
        """Indices of the polygons that meet a polygon."""
        return np.flatnonzero(shapely.intersects(self.shapes, shape))

    def near(self, shape: Shape, reach: float) -> NDArray[np.intp]:
        """Indices of the polygons within a distance, mm, of a polygon, in order."""
        return np.sort(self._tree.query(shape, predicate="dwithin", distance=reach))

    def pairs(self, shapes: Shapes, reach: float = 0.0) -> NDArray[np.intp]:
        """Pairs (index in `shapes`, index here), shape (2, n), that meet or come that near, mm."""
        if not len(self.shapes) or not len(shapes):
            return np.empty((2, 0), dtype=np.intp)
        if reach > 0:
            return self._tree.query(shapes, predicate="dwithin", distance=reach)
        return self._tree.query(shapes, predicate="intersects")

    def circle_pairs(self, centres: Points, radii: NDArray[np.float64]) -> NDArray[np.intp]:
        """Pairs (index of a circle, index here), shape (2, n), that share ground."""
        reach = np.maximum(radii - EPS_MM, 0.0)
        return self._tree.query(shapely.points(centres), predicate="dwithin", distance=reach)

    @property
    def corners(self) -> int:
        """How many corners all of them have."""
        return int(shapely.get_num_coordinates(self.shapes).sum())

    def within(self, shape: Shape, needed: NDArray[np.float64], rest: list[int] | None = None
               ) -> NDArray[np.intp]:
        """Indices of the polygons nearer to a polygon than each one's needed distance.

        `rest`: only these are looked at.
        """
        reach = np.maximum(needed - EPS_MM, 0.0)
        if rest is not None:
            chosen = np.array(rest, dtype=np.intp)
            near_rest: NDArray[np.bool_] = shapely.dwithin(  # type: ignore[call-overload]
                self.shapes[chosen], shape, reach[chosen])
            return chosen[near_rest]
        near: NDArray[np.bool_] = shapely.dwithin(self.shapes, shape, reach)  # type: ignore[call-overload]
        return np.flatnonzero(near)


def strips(ends: Points, directions: NDArray[np.float64], lengths: NDArray[np.float64],
           half: float) -> Shapes:
    """Rectangles along directions (degrees) from points, shape (n, 2), `half` each side."""
    turn = np.radians(directions)
    along = np.column_stack((np.cos(turn), np.sin(turn)))
    side = np.column_stack((-along[:, 1], along[:, 0])) * half
    far = ends + along * lengths[:, None]
    corners = np.stack((ends - side, far - side, far + side, ends + side), axis=1)
    return np.asarray(shapely.polygons(corners))

"""Where a shape may be put: sums of convex pieces, grown by a distance, taken out of a ground.

A piece B at rest forbids the places B + (-A), grown by the distance wanted, to a moving piece A
(Minkowski sum; de Berg et al., Computational Geometry, chapter 13). Sums of convex pieces are the
hulls of the sums of their corners. Overlays here make pictures and lists of places: they run on a
grid of 1e-6 mm, and no verdict rests on them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, pi, sqrt
from typing import cast

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layout_engine.geometry.arrange_support import turning_left
from layout_engine.geometry.frames import EPS_MM, Points
from layout_engine.geometry.shapes import MIN_OVERLAP_MM2, Shape, shape_of, vertices
from layout_engine.once import cached_property

Area = BaseGeometry
Areas = NDArray[np.object_]
Sum = tuple[Points, Points, float]  # at rest, moving, distance wanted in mm
CHORD_MM = 0.006  # how far a grown corner's chords may lie from its circle
GUARD_MM = 2e-3  # a union that does not cover its pieces, grown by this, is wrong
FEWEST, MOST = 4, 128  # chords of a quarter circle
POLYGON = 3  # its number among kinds of geometry
LARGEST = 6  # areas that others are likely to lie within
NOWHERE: Area = shapely.Polygon()


def grown_sums(sums: Sequence[Sum]) -> Areas:
    """The places that each piece at rest forbids to its moving piece, grown outwards.

    Corners (n, 2) of convex pieces, one corner for a point. At most 0.006 mm too large.
    """
    if not sums:
        return np.empty(0, dtype=object)
    hulls = _hulls([(rest, -moving) for rest, moving, _ in sums])
    wanted = np.array([distance for _, _, distance in sums])
    grown = wanted > 0
    if grown.any():
        hulls[grown] = _rounded(hulls[grown], wanted[grown])
    return hulls


def _rounded(hulls: Areas, distances: NDArray[np.float64]) -> Areas:
    """Convex areas, lines or points grown by a distance each: sides exactly, corners outwards.

    Round a corner run tangents of its circle, each from the normal of one side to the next.
    """
    points, owner = _ring_corners(hulls)
    last = np.append(owner[1:] != owner[:-1], True)
    first = np.append(True, last[:-1])
    starts = np.flatnonzero(first)
    after = np.where(last, starts[owner], np.arange(len(points)) + 1)
    side = points[after] - points
    normal = np.arctan2(-side[:, 0], side[:, 1])
    before = np.empty(len(points), dtype=int)
    before[after] = np.arange(len(points))
    turn = (normal - normal[before]) % (2 * pi)
    turn = np.where(turn > 2 * pi - EPS_MM, 0.0, turn)
    turn = np.where(first & last, 2 * pi, turn)
    wide = distances[owner]
    step = np.minimum(2 * np.sqrt(2 * CHORD_MM / wide), pi / 4)
    many = np.maximum(np.ceil(turn / step), 1).astype(int)
    corner = np.repeat(np.arange(len(points)), many)
    place = np.arange(len(corner)) - np.repeat(np.cumsum(many) - many, many)
    share = turn / many
    angle = normal[before][corner] + (place + 0.5) * share[corner]
    reach = (wide / np.cos(share / 2))[corner]
    ends = points[corner] + reach[:, None] * np.column_stack((np.cos(angle), np.sin(angle)))
    return np.asarray(shapely.polygons(shapely.linearrings(ends, indices=owner[corner])))


def _ring_corners(hulls: Areas) -> tuple[Points, NDArray[np.intp]]:
    """Corners of convex areas, turning left, of lines and points; and whose each is."""
    points, owner = shapely.get_coordinates(shapely.orient_polygons(hulls), return_index=True)
    closed = shapely.get_type_id(hulls) == POLYGON
    ends = np.append(owner[1:] != owner[:-1], True)
    kept = ~(ends & closed[owner])  # a ring's first corner comes again at its end
    return points[kept], owner[kept]


def near_sums(sums: Sequence[Sum]) -> Area:
    """The places at which a moving shape is within a distance of one at rest; inwards exact."""
    hulls = _hulls([(rest, -moving) for rest, moving, _ in sums])
    grown = np.empty(len(sums), dtype=object)
    for index, (_, _, distance) in enumerate(sums):
        chords = chords_of(distance)
        grown[index] = (shapely.buffer(hulls[index], distance, quad_segs=chords)
                        if distance > 0 else hulls[index])
    return united(grown)


def ring_round(x: float, y: float, inner: float, outer: float) -> Area:
    """The places farther than `inner` and nearer than `outer` to a point, mm."""
    away = cast("Area", grown_sums([(np.array([[x, y]]), np.zeros((1, 2)), outer)])[0])
    if inner <= EPS_MM:
        return away
    within = shapely.buffer(shapely.Point(x, y), inner, quad_segs=chords_of(inner))
    return shapely.difference(away, within, grid_size=EPS_MM)


def chords_of(radius: float) -> int:
    """Chords of a quarter circle of that radius that lie at most 0.006 mm within it."""
    if radius <= 0:
        return FEWEST
    half = sqrt(2 * CHORD_MM / radius)  # half the angle of a chord: r (1 - cos) = r half^2 / 2
    return min(MOST, max(FEWEST, ceil(pi / (4 * half))))


def _hulls(pairs: Sequence[tuple[Points, Points]]) -> Areas:
    """Convex hulls of the sums of all corners of each pair."""
    sums = [(a[:, None] + b[None]).reshape(-1, 2) for a, b in pairs]
    sums = [np.vstack((s, s)) if len(s) == 1 else s for s in sums]
    owner = np.repeat(np.arange(len(sums)), [len(s) for s in sums])
    lines = shapely.linestrings(np.vstack(sums), indices=owner)
    return np.asarray(shapely.convex_hull(lines))


def united(areas: Areas) -> Area:
    """The union of areas, checked to cover each of them."""
    if len(areas) == 0:
        return NOWHERE
    if len(areas) == 1:
        return cast("Area", areas[0])
    areas = _outer(areas)
    union: Area = shapely.union_all(areas, grid_size=EPS_MM)
    around = shapely.buffer(union, GUARD_MM, quad_segs=1)
    shapely.prepare(around)
    if not shapely.covers(around, areas).all():
        union = NOWHERE
        for area in areas:
            union = cast("Area", shapely.union(union, area, grid_size=EPS_MM))
    return union


def _outer(areas: Areas) -> Areas:
    """The areas without those that lie within one of the largest."""
    order = np.argsort(-np.asarray(shapely.area(areas)), kind="stable")
    left = areas[order]
    for place in range(LARGEST):
        if place >= len(left) - 1:
            break
        shapely.prepare(left[place])
        hidden = np.asarray(shapely.covers(left[place], left))
        hidden[: place + 1] = False
        left = left[~hidden]
    return left


def shifted(areas: Areas, by: Points) -> Areas:
    """Areas, each moved by its own (dx, dy), shape (n, 2)."""
    if len(areas) == 0:
        return areas
    coordinates, owner = shapely.get_coordinates(areas, return_index=True)
    return np.asarray(shapely.set_coordinates(areas.copy(), coordinates + by[owner]))


def inset(ground: Points, distance: float) -> Area:
    """Convex ground made smaller all round; corners (n, 2)."""
    shape: Area = shape_of(ground)
    if distance <= 0:
        return shape
    return cast("Area", shapely.buffer(shape, -distance, join_style="mitre", mitre_limit=10))


def corners_of(shape: Points) -> Points:
    """The corners that matter where a shape lies in convex ground: those of its hull."""
    hull = shapely.convex_hull(shapely.multipoints(shape))
    corners: Points = np.unique(shapely.get_coordinates(hull), axis=0)
    return corners


def eroded(ground: Area, shape: Points) -> Area:
    """The places at which a shape, corners (m, 2) about the place, lies in convex ground."""
    if ground.is_empty:
        return NOWHERE
    corners = corners_of(shape)
    copies = shifted(np.array([ground] * len(corners), dtype=object), -corners)
    left = cast("Area", copies[0])
    for copy in copies[1:]:
        left = cast("Area", shapely.intersection(left, copy, grid_size=EPS_MM))
    return _flat(left)


def border_by_height(ground: Area) -> tuple[Points, Points]:
    """Left and right border of convex ground, corners (n, 2) with y growing."""
    ring = turning_left(vertices(cast("Shape", ground)))
    ring = np.roll(ring, -int(np.argmin(ring[:, 1])), axis=0)
    top = int(np.argmax(ring[:, 1]))
    right, left = ring[: top + 1], np.vstack((ring[top:], ring[:1]))[::-1]
    return _once_a_level(left, np.minimum), _once_a_level(right, np.maximum)


def _once_a_level(border: Points, outer: np.ufunc) -> Points:
    """A border with one corner, the outer one, at each y."""
    levels, first = np.unique(border[:, 1], return_index=True)
    return np.column_stack((outer.reduceat(border[:, 0], first), levels))


def triangles_of(board: Area) -> list[Points]:
    """Triangles that make up a board, cut-outs left out."""
    triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(board))
    return [vertices(t) for t in triangles if t.area > 0]


def both(one: Area, other: Area) -> Area:
    """What two areas share."""
    return _flat(shapely.intersection(one, other, grid_size=EPS_MM))


def without(ground: Area, forbidden: Areas) -> Area:
    """Ground less what is forbidden."""
    if ground.is_empty or len(forbidden) == 0:
        return ground
    shapely.prepare(ground)
    met = forbidden[np.asarray(shapely.intersects(ground, forbidden))]
    return _flat(shapely.difference(ground, united(met), grid_size=EPS_MM))


def _flat(area: Area) -> Area:
    """The pieces of an area that are wider than a line."""
    pieces = [
        piece for piece in shapely.get_parts(area)
        if isinstance(piece, shapely.Polygon) and piece.area > MIN_OVERLAP_MM2
    ]
    return shapely.MultiPolygon(pieces) if pieces else NOWHERE


@dataclass(frozen=True, eq=False)
class Places:
    """A set of places: zero, one or more polygons, with holes."""

    area: Area

    @property
    def is_empty(self) -> bool:
        """Whether there is no place."""
        return bool(self.area.is_empty)

    @property
    def size(self) -> float:
        """Area, mm2."""
        return float(self.area.area)

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x, greatest y; only of places that are not empty."""
        x0, y0, x1, y1 = self.area.bounds
        return x0, y0, x1, y1

    @cached_property
    def rings(self) -> tuple[tuple[Points, ...], ...]:
        """Of each piece: its outer ring, then its holes; corners (n, 2), the first not repeated."""
        return tuple(
            (vertices(piece), *(shapely.get_coordinates(hole)[:-1] for hole in piece.interiors))
            for piece in shapely.get_parts(self.area)
            if isinstance(piece, shapely.Polygon) and not piece.is_empty
        )

    @property
    def inner_points(self) -> Points:
        """A point well inside each piece, shape (n, 2)."""
        pieces = [piece for piece in shapely.get_parts(self.area) if not piece.is_empty]
        return shapely.get_coordinates(shapely.point_on_surface(pieces)).reshape(-1, 2)

    @property
    def pieces(self) -> tuple[Places, ...]:
        """Each piece that hangs together."""
        return tuple(Places(piece) for piece in shapely.get_parts(self.area)
                     if not piece.is_empty)

    def at(self, dx: float, dy: float) -> Places:
        """The same places, shifted."""
        return Places(shapely.transform(self.area, lambda p: p + np.array([dx, dy])))

    def hold(self, points: Points) -> NDArray[np.bool_]:
        """Which of the points (n, 2) are places."""
        return np.asarray(shapely.intersects(self.area, shapely.points(points)))

    def cut(self, line: Points) -> list[Points]:
        """The pieces of a line, corners (n, 2), that lie among the places, the longest first."""
        pieces = shapely.get_parts(shapely.intersection(self.area, shapely.linestrings(line)))
        lines = [p for p in pieces if isinstance(p, shapely.LineString) and p.length > 0]
        joined = shapely.get_parts(shapely.line_merge(shapely.MultiLineString(lines)))
        return [shapely.get_coordinates(p) for p in sorted(joined, key=lambda p: -p.length)]


def grid_gaps(shape: Area, xs: NDArray[np.float64], ys: NDArray[np.float64]
              ) -> NDArray[np.float64]:
    """Distance, mm, from every point (x, y) to a shape, shape (len(ys), len(xs)); 0 inside."""
    x0, y0, x1, y1 = shape.bounds
    if shape.area >= (x1 - x0) * (y1 - y0) - MIN_OVERLAP_MM2:  # an upright box
        across = np.maximum(np.maximum(x0 - xs, xs - x1), 0.0)
        along = np.maximum(np.maximum(y0 - ys, ys - y1), 0.0)
        gaps: NDArray[np.float64] = np.hypot(across[None, :], along[:, None])
        return gaps
    shapely.prepare(shape)
    return np.asarray(shapely.distance(shape, shapely.points(*np.meshgrid(xs, ys))))

"""Ground for wires: how far straight pieces of wire keep from what stands on one face."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray

from layout_engine.geometry.frames import Points
from layout_engine.geometry.plain_forms import PlainForms
from layout_engine.geometry.plate_shape import PlateShape
from layout_engine.geometry.shapes import Shape, prepared

Floats = NDArray[np.float64]
HAIR_MM = 1e-6
LINE = 1  # shapely's type number
SLICE_MM = 8.0  # of things that do not fill the box round them
SLICE_HAIR_MM = 1e-3
MOST_CORNERS = 12  # of a polygon that is cut at its corners too
ARC_PIECES = 4  # straight pieces of a quarter; their corners lie on the arc, so they cut inside it


def plate_rings(plate: PlateShape) -> list[Points]:
    """The plate's edge and the edges of its cut-outs, as closed rings, shape (n, 2) each."""
    board = plate.polygon(ARC_PIECES)
    return [shapely.get_coordinates(ring) for ring in (board.exterior, *board.interiors)]


def moved_by(shape: Shape, turn: Callable[[Points], Points]) -> Shape:
    """The polygon with each of its points, shape (n, 2), moved by a function."""
    return shapely.transform(shape, turn)


def circle_about(x: float, y: float, radius: float) -> Shape:
    """A circle as a polygon of 64 sides that holds the whole circle."""
    turns = np.linspace(0.0, 2 * np.pi, 64, endpoint=False)
    outer = radius / np.cos(np.pi / 64)
    return shapely.Polygon(np.column_stack((x + outer * np.cos(turns), y + outer * np.sin(turns))))


@dataclass(frozen=True, slots=True)
class Beside:
    """Something beside a piece of wire.

    thing: its number; None: the plate's edge; away: mm; on: the point of the piece nearest to it;
    way: unit vector from there to it; where they meet, from middle to middle.
    """

    thing: int | None
    away: float
    on: tuple[float, float]
    way: tuple[float, float]


class WireGround:
    """What wires on one face keep away from: things that stand there, edges of the plate."""

    def __init__(self, shapes: Sequence[Shape], rings: Sequence[Points]) -> None:
        edges = [
            shapely.LineString([a, b]) for ring in rings for a, b in pairwise(ring)
        ]
        self.count = len(shapes)
        self.shapes = prepared(list(shapes))
        self.boxes = shapely.bounds(self.shapes) if self.count else np.empty((0, 4))
        own = (self.boxes[:, 2] - self.boxes[:, 0]) * (self.boxes[:, 3] - self.boxes[:, 1])
        self.full_boxes = self.boxes[shapely.area(self.shapes) >= own - 1e-6]
        self._things = np.empty(self.count + len(edges), dtype=object)
        self._things[: self.count] = list(shapes)
        self._things[self.count:] = edges
        self._all = shapely.STRtree(self._things)
        self._plain = PlainForms(self._things, self.count)
        self._odd_tree = shapely.STRtree(self._things[self._plain.odd])
        self._tree = shapely.STRtree(self.shapes)

    def slices(self, axis: int, thick: float = SLICE_MM) -> Floats:
        """Boxes round all things, shape (n, 4); round the slices along an axis of large things that
        do not fill theirs, so that what is free beside round, slanting and angled ones shows.

        thick: of a slice, at most, mm.
        """
        own = self.boxes[:, 2 + axis] - self.boxes[:, axis]
        filled = {tuple(box) for box in self.full_boxes.tolist()}
        rows = [[tuple(box)] if size <= 2 * thick or tuple(box) in filled else
                _sliced(shape, box, axis, thick)
                for shape, box, size in zip(self.shapes, self.boxes.tolist(), own, strict=True)]
        return np.array([box for some in rows for box in some]).reshape(-1, 4)

    def clearances(self, pieces: Floats) -> Floats:
        """Distance, mm, of straight pieces, shape (n, 2, 2), to the nearest thing or edge.

        0 where a piece meets one.
        """
        return self._clearances(pieces, lines=True)

    def thing_clearances(self, pieces: Floats) -> Floats:
        """The same to things only, the plate's edge left out; inf where there are none."""
        return self._clearances(pieces, lines=False)

    def _clearances(self, pieces: Floats, *, lines: bool) -> Floats:
        found: Floats = np.full(len(pieces), np.inf)
        low, high = pieces.min(axis=1), pieces.max(axis=1)
        upright = np.min(high - low, axis=1) < HAIR_MM
        boxes = np.hstack((low, high))[upright]
        near = self._plain.distances(boxes, lines)
        mine = pieces[upright]
        for n in self._plain.odd:
            if n >= self.count and not lines:
                continue
            bound = np.hypot(*_apart(boxes, self._plain.bounds[n]))
            close = np.flatnonzero(bound < near)
            if len(close):
                away = shapely.distance(shapely.linestrings(mine[close]), self._things[n])
                near[close] = np.minimum(near[close], away)
        found[upright] = near
        tree = self._all if lines else self._tree
        if not upright.all() and len(tree):
            slanting = np.flatnonzero(~upright)
            (n, _), away = tree.query_nearest(
                shapely.linestrings(pieces[slanting]), return_distance=True, all_matches=False)
            found[slanting[n]] = away
        return found

    def beside(self, piece: Floats) -> list[Beside]:
        """Everything beside a straight piece, shape (2, 2), or a point twice; the nearest first."""
        same = np.array_equal(piece[0], piece[1])
        return self._around(shapely.Point(piece[0]) if same else shapely.LineString(piece))

    def beside_thing(self, thing: int) -> list[Beside]:
        """Everything but itself beside one of the things, the nearest first."""
        return [b for b in self._around(self.shapes[thing]) if b.thing != thing]

    def _around(self, shape: shapely.Geometry) -> list[Beside]:
        lines = np.asarray(shapely.shortest_line(shape, self._things))
        ends = shapely.get_coordinates(lines).reshape(-1, 2, 2)
        steps = ends[:, 1] - ends[:, 0]
        away = np.hypot(steps[:, 0], steps[:, 1])
        middles = shapely.get_coordinates(shapely.centroid(self._things))
        apart = middles - shapely.get_coordinates(shapely.centroid(shape))
        ways = np.where(away[:, None] > 0, steps, apart)
        ways /= np.maximum(np.hypot(ways[:, 0], ways[:, 1]), HAIR_MM)[:, None]
        return [
            Beside(n if n < self.count else None, float(away[n]),
                   (float(ends[n, 0, 0]), float(ends[n, 0, 1])),
                   (float(ways[n, 0]), float(ways[n, 1])))
            for n in np.argsort(np.round(away, 6), kind="stable").tolist()
        ]

    def free_runs(self, starts: Points, ways: Points, reach: float) -> Floats:
        """How far, mm, up to `reach`, one comes straight from points before something is met.

        A thing that holds the start itself is not counted. Ways are unit vectors, shape (n, 2).
        """
        free = np.full(len(starts), reach)
        axis, odd = np.abs(ways).argmax(axis=1), np.abs(ways).min(axis=1) > 0.0
        for n, sign in ((0, 1.0), (0, -1.0), (1, 1.0), (1, -1.0)):
            mine = np.flatnonzero(~odd & (axis == n) & (ways[:, n] * sign > 0))
            if len(mine):
                free[mine] = self._plain.free(starts[mine], n, sign, reach)
                self._meet(starts, ways, mine, self._odd_tree, free)
        self._meet(starts, ways, np.flatnonzero(odd), self._all, free)
        return free

    def _meet(self, starts: Points, ways: Points, mine: NDArray[np.intp], tree: shapely.STRtree,
              free: Floats) -> None:
        """Shorten free lengths of some starts by what of a tree is met."""
        if not len(mine) or not len(tree):
            return
        lines = np.asarray(shapely.linestrings(
            np.stack((starts[mine], starts[mine] + ways[mine] * free[mine, None]), axis=1)))
        spots = np.asarray(shapely.points(starts[mine]))
        for n, thing in zip(*tree.query(lines, predicate="intersects"), strict=True):
            other, start = tree.geometries[thing], starts[mine[n]]
            if shapely.get_type_id(other) != LINE and shapely.distance(other, spots[n]) < 1e-9:
                continue
            met = shapely.get_coordinates(shapely.intersection(lines[n], other))
            along = (met - start) @ ways[mine[n]]
            ahead = along[along > 1e-6]
            if len(ahead):
                free[mine[n]] = min(free[mine[n]], float(ahead.min()))


def _sliced(shape: Shape, box: Sequence[float], axis: int, thick: float
            ) -> list[tuple[float, ...]]:
    """Boxes round the slices of a polygon along an axis, alike ones beside each other as one."""
    low, high = box[axis], box[2 + axis]
    count = int(np.ceil((high - low) / thick))
    corners = shapely.get_coordinates(shape)[:, axis]
    cuts = np.linspace(low, high, count + 1)
    if len(corners) <= MOST_CORNERS:
        cuts = np.concatenate((cuts, corners))
    cuts = np.unique(np.round(cuts, 3))
    cuts = cuts[np.append(True, np.diff(cuts) > 4 * SLICE_HAIR_MM)]
    pieces = np.tile(np.array(box), (len(cuts) - 1, 1))
    # Each a hair shorter, so that it does not touch what lies beyond its ends.
    pieces[:, axis], pieces[:, 2 + axis] = cuts[:-1] + SLICE_HAIR_MM, cuts[1:] - SLICE_HAIR_MM
    bounds = shapely.bounds(shapely.intersection(shape, shapely.box(*pieces.T)))
    bounds[:, axis], bounds[:, 2 + axis] = cuts[:-1], cuts[1:]
    found: list[tuple[float, ...]] = []
    for a, b, c, d in bounds[~np.isnan(bounds[:, 1 - axis])].tolist():
        slice_, last = (a, b, c, d), found[-1] if found else None
        if last and max(abs(last[k] - slice_[k]) for k in (1 - axis, 3 - axis)) < 1e-3:
            found[-1] = (*last[:2], c, d)
        else:
            found.append(slice_)
    return found


def _apart(boxes: Floats, box: Floats) -> tuple[Floats, Floats]:
    """Distances along x and along y of boxes, shape (n, 4), from a box; 0 where they share."""
    x = np.maximum(box[0] - boxes[:, 2], boxes[:, 0] - box[2])
    y = np.maximum(box[1] - boxes[:, 3], boxes[:, 1] - box[3])
    return np.maximum(x, 0.0), np.maximum(y, 0.0)


def ground_boxes(shapes: Sequence[Shape]) -> list[tuple[Shape, Floats, bool]]:
    """Each polygon with the box round it (x0, y0, x1, y1), and whether it fills that."""
    if not shapes:
        return []
    listed = np.asarray(shapes, dtype=object)
    boxes = shapely.bounds(listed)
    full = shapely.area(listed) >= shapely.area(shapely.box(*boxes.T)) - HAIR_MM
    return list(zip(shapes, boxes, full.tolist(), strict=True))


def rests_on(shapes: Sequence[Shape], points: Points) -> NDArray[np.intp]:
    """For each point, shape (n, 2), the number of the first polygon that holds it, else -1."""
    found = np.full(len(points), -1, dtype=np.intp)
    for number, shape in reversed(list(enumerate(shapes))):
        found[shapely.intersects_xy(shape, points)] = number
    return found


def within_piece(shape: Shape, x: float, y: float) -> tuple[tuple[float, float], float]:
    """Middle of the largest circle in a polygon, and its radius, mm; x, y where they serve better.

    The given point is kept where it lies inside with at least 90 % of that radius.
    """
    line = shapely.maximum_inscribed_circle(shape)
    middle = shapely.get_coordinates(line)[0]
    radius = float(shapely.length(line))
    spot = shapely.Point(x, y)
    if shape.contains(spot) and float(shapely.distance(shape.exterior, spot)) >= 0.9 * radius:
        return (x, y), float(shapely.distance(shape.exterior, spot))
    return (float(middle[0]), float(middle[1])), radius

"""The ground that a body surely takes for itself, and how far it is on average from a point."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from layout_engine.arranging.bound_pairs import is_box
from layout_engine.arranging.classes import Solid
from layout_engine.arranging.footprints import Posed
from layout_engine.arranging.puzzle import Box, Point, Pose
from layout_engine.arranging.vectors import Floats
from layout_engine.once import cached_property


@dataclass(frozen=True, eq=False)
class Ground:
    """Rectangles, or convex polygons, about the centre of a pose that no other body may enter."""

    boxes: tuple[Box, ...] = ()
    pieces: tuple[Floats, ...] = ()

    @cached_property
    def area(self) -> float:
        """Area, mm2."""
        return (sum((x1 - x0) * (y1 - y0) for x0, y0, x1, y1 in self.boxes)
                + sum(_area(piece) for piece in self.pieces))

    def mean_way(self, point: Point) -> float:
        """Mean of |x - px| + |y - py| over the ground, mm."""
        total = sum((y1 - y0) * _run(x0, x1, point[0]) + (x1 - x0) * _run(y0, y1, point[1])
                    for x0, y0, x1, y1 in self.boxes)
        total += sum(_integral(piece, axis, point[axis])
                     for piece in self.pieces for axis in (0, 1))
        return total / self.area


def ground_of(pose: Pose, gap: float) -> Ground:
    """The ground that a pose takes, with half of the gap that it keeps to all others.

    A rectangle is grown on its four sides, without the corners: where outlines keep `gap` mm in
    a straight line, what is grown by half of it round does not meet, and this lies within.
    """
    if is_box(pose):
        return Ground(boxes=tuple(grown_box(pose.outline, gap / 2)))
    own = pose.label
    if isinstance(own, Posed):
        return Ground(pieces=tuple(corners for corners, kind in own.pieces
                                   if isinstance(kind, Solid) and not kind.behind))
    return Ground(pieces=(pose.pieces[0].corners,))


def grown_box(box: Box, by: float) -> list[Box]:
    """A rectangle and the strips on its four sides."""
    x0, y0, x1, y1 = box
    strips = [(x0 - by, y0, x0, y1), (x1, y0, x1 + by, y1), (x0, y0 - by, x1, y0),
              (x0, y1, x1, y1 + by)] if by > 0 else []
    return [box, *strips]


def _run(low: float, high: float, at: float) -> float:
    """Integral of |x - at| from low to high."""
    return (abs(high - at) * (high - at) - abs(low - at) * (low - at)) / 2


def _area(corners: Floats) -> float:
    x, y = corners[:, 0], corners[:, 1]
    return abs(float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))) / 2


def _integral(corners: Floats, axis: int, at: float) -> float:
    """Integral of |coordinate - at| over a convex polygon."""
    return sum(_moment(_side(corners, axis, at, sign), axis, at) for sign in (1.0, -1.0))


def _side(corners: Floats, axis: int, at: float, sign: float) -> Floats:
    """The part of a convex polygon on one side of a line across an axis."""
    kept = []
    over = sign * (corners[:, axis] - at)
    for here, after, a, b in zip(corners, np.roll(corners, -1, axis=0), over, np.roll(over, -1),
                                 strict=True):
        if a >= 0:
            kept.append(here)
        if (a < 0 < b) or (b < 0 < a):
            kept.append(here + a / (a - b) * (after - here))
    return np.array(kept)


def _moment(corners: Floats, axis: int, at: float) -> float:
    """|Integral of (coordinate - at)| over a polygon; 0 where there is none."""
    if len(corners) < 3:
        return 0.0
    x, y = corners[:, 0], corners[:, 1]
    u, v = np.roll(x, -1), np.roll(y, -1)
    cross = x * v - u * y
    along = corners[:, axis] + np.roll(corners[:, axis], -1)
    area = float(np.sum(cross)) / 2
    return abs(float(np.sum(cross * along)) / 6 - at * area)

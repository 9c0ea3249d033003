"""Distances along the axes by plain arithmetic, for things that are upright boxes or circles.

Most of what stands on a plate is one of both, and most wires run along the axes; everything else is
left to shapely.
"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from layout_engine.geometry.shapes import Shape

Floats = NDArray[np.float64]
AT_ONCE = 2048  # pieces of wire that are compared with all things in one go
ROUND_FROM = 16  # corners of what is taken for a circle
SAME_MM = 1e-9
BEGINS_MM = 1e-6  # what is met nearer to a start does not count


class PlainForms:
    """Boxes and circles among things, and the numbers of the others (`odd`)."""

    def __init__(self, things: NDArray[np.object_], first_line: int) -> None:
        """things: polygons; from number `first_line` on straight lines."""
        bounds = shapely.bounds(things).reshape(-1, 4)
        sides = bounds[:, 2:] - bounds[:, :2]
        full = shapely.area(things) >= sides[:, 0] * sides[:, 1] - BEGINS_MM
        line = np.arange(len(things)) >= first_line
        upright = np.where(line, sides.min(axis=1, initial=np.inf) < SAME_MM, full)
        round_ = {n: circle for n in np.flatnonzero(~upright & ~line).tolist()
                  if (circle := _circle(things[n])) is not None}
        self.odd = [n for n in np.flatnonzero(~upright).tolist() if n not in round_]
        self.bounds = bounds
        self._box_lines = line[upright]
        self._boxes = bounds[upright]
        rows = np.array(list(round_.values())).reshape(-1, 3)
        self._circles = rows
        self._by_radius = [(float(r), rows[np.abs(rows[:, 2] - r) < SAME_MM, :2])
                           for r in np.unique(np.round(rows[:, 2], 9))]

    def distances(self, pieces: Floats, lines: bool) -> Floats:
        """Distance, mm, of upright boxes, shape (n, 4), to the nearest box or circle; 0 inside.

        lines: whether lines count too.
        """
        boxes = self._boxes if lines else self._boxes[~self._box_lines]
        found = np.full(len(pieces), np.inf)
        for first in range(0, len(pieces), AT_ONCE):
            some = slice(first, first + AT_ONCE)
            mine = pieces[some]
            if len(boxes):
                found[some] = np.sqrt(_squares(mine, boxes).min(axis=1))
            for radius, middles in self._by_radius:
                away = np.sqrt(_squares(mine, np.hstack((middles, middles))).min(axis=1))
                found[some] = np.minimum(found[some], np.maximum(away - radius, 0.0))
        return found

    def free(self, starts: Floats, axis: int, sign: float, reach: float) -> Floats:
        """How far, mm, up to `reach`, one comes along an axis before a box or circle is met.

        What holds the start itself does not count, but for lines.
        """
        along, across = starts[:, axis, None] * sign, starts[:, 1 - axis, None]
        low, high = self._boxes[:, 1 - axis], self._boxes[:, 3 - axis]
        near, far = self._boxes[:, axis] * sign, self._boxes[:, 2 + axis] * sign
        near, far = np.minimum(near, far)[None] - along, np.maximum(near, far)[None] - along
        met = (across >= low[None]) & (across <= high[None])
        first = np.where(near > BEGINS_MM, near, np.where(self._box_lines[None], far, np.inf))
        first = np.where(met & (first > BEGINS_MM), first, np.inf)
        free: Floats = np.minimum(first.min(axis=1, initial=np.inf), reach)
        if len(self._circles):
            aside = self._circles[None, :, 1 - axis] - across
            inner = self._circles[None, :, 2] ** 2 - aside**2
            ahead = self._circles[None, :, axis] * sign - along
            entry = ahead - np.sqrt(np.maximum(inner, 0.0))
            entry = np.where((inner >= 0.0) & (entry > BEGINS_MM), entry, np.inf)
            free = np.minimum(free, entry.min(axis=1))
        return free


def _squares(mine: Floats, others: Floats) -> Floats:
    """Squared distances of boxes from other boxes, shape (n, m)."""
    dx = np.maximum(others[None, :, 0] - mine[:, 2, None], mine[:, 0, None] - others[None, :, 2])
    dy = np.maximum(others[None, :, 1] - mine[:, 3, None], mine[:, 1, None] - others[None, :, 3])
    np.maximum(dx, 0.0, out=dx)
    np.maximum(dy, 0.0, out=dy)
    dx *= dx
    dy *= dy
    dx += dy
    return dx


def _circle(shape: Shape) -> tuple[float, float, float] | None:
    """Middle and radius of a polygon that is as good as round, by its corners; else None."""
    corners = shapely.get_coordinates(shape)[:-1]
    if len(corners) < ROUND_FROM:
        return None
    x, y = corners.mean(axis=0)
    radii = np.hypot(corners[:, 0] - x, corners[:, 1] - y)
    steps = np.hypot(*(corners - np.roll(corners, 1, axis=0)).T)
    if np.ptp(radii) > BEGINS_MM or np.ptp(steps) > BEGINS_MM:
        return None
    return float(x), float(y), float(radii.max())

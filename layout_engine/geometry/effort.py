"""How long overlays of polygons may take: estimated before they are made, never by a clock.

An overlay takes as long as its polygons have corners, and much longer where many of their sides
cross: two combs of 1000 teeth across each other cross a million times and take ten seconds. The
estimate is in microseconds of a machine of 2024; the same polygons always give the same answer.
"""

from __future__ import annotations

import numpy as np
import shapely

from layout_engine.geometry.frames import Points
from layout_engine.geometry.shapes import Shape, corners_in

FIXED_US, CORNER_US, CROSSING_US = 8.0, 2.0, 8.0  # measured with GEOS 3.14
SMALL = 100  # pairs of sides that hardly count
FEW = 2000  # pairs of sides that are simply taken as crossing each fourth time
ESTIMATE_US = 400.0  # what estimating a large pair takes itself
SAMPLE = 48  # sides of one polygon that stand for all of them


def overlay_us(a: Shape, b: Shape) -> float:
    """Estimated time of one overlay of two polygons, microseconds."""
    m, n = corners_in(a), corners_in(b)
    if m * n <= SMALL:
        return FIXED_US
    crossings = m * n / 4 if m * n <= FEW else _crossings(a, b)
    return _least_us(m, n) + CROSSING_US * crossings


def _least_us(m: int, n: int) -> float:
    return FIXED_US + CORNER_US * (m + n)


def _crossings(a: Shape, b: Shape) -> float:
    """About how many sides cross: how many boxes of sides meet, from a sample of the longer ring.

    Boxes meet wherever sides do, so that it is hardly ever too few.
    """
    one, other = (_boxes(shape) for shape in (a, b))
    if len(one) < len(other):
        one, other = other, one
    taken = one[np.linspace(0, len(one) - 1, min(SAMPLE, len(one))).astype(int)][:, None]
    meet = ((taken[..., 0] <= other[:, 2]) & (other[:, 0] <= taken[..., 2])
            & (taken[..., 1] <= other[:, 3]) & (other[:, 1] <= taken[..., 3]))
    return float(np.count_nonzero(meet)) * len(one) / len(taken)


def _boxes(shape: Shape) -> Points:
    """Least x, least y, greatest x, greatest y of every side, shape (n, 4)."""
    ring = shapely.get_coordinates(shape)
    start, end = ring[:-1], ring[1:]
    return np.hstack((np.minimum(start, end), np.maximum(start, end)))


class Effort:
    """Time that overlays may take together; what it does not afford is answered without figures.

    Args:
        microseconds: estimated, see `overlay_us`.
    """

    def __init__(self, microseconds: float) -> None:
        self.left = microseconds

    def affords(self, a: Shape, b: Shape) -> bool:
        """Whether one more overlay of two polygons may be made; if so it is counted."""
        m, n = corners_in(a), corners_in(b)
        if m * n > SMALL and _least_us(m, n) > self.left:
            return False
        if m * n > FEW:
            self.left -= ESTIMATE_US
        cost = overlay_us(a, b) if m * n > SMALL else FIXED_US
        if cost > self.left:
            return False
        self.left -= cost
        return True

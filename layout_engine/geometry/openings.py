"""Through an opening: whether an outline passes a round or rectangular hole, turned freely.

An outline passes when its convex hull does. Round hole: smallest enclosing circle. Rectangle: the
hull's widths along two crossed directions, as functions of the turn, are pieces of sinusoids
between the directions of its edges; on each piece the turns that fit are found exactly.
Worked rows: rectangle in rectangle, Carver 1957.
"""

from __future__ import annotations

from itertools import pairwise
from math import acos, atan2, cos, hypot, pi, sin

import numpy as np
import shapely

from layout_engine.geometry.frames import EPS_MM, Points
from layout_engine.geometry.shapes import convex_hull

Arc = tuple[float, float]


def enclosing_diameter(points: Points) -> float:
    """Diameter, mm, of the smallest circle round points, shape (n, 2)."""
    return 2 * float(shapely.minimum_bounding_radius(shapely.linestrings(points)))


def passes_circle(points: Points, diameter: float) -> bool:
    """Whether an outline passes a round hole."""
    return enclosing_diameter(points) <= diameter + EPS_MM


def turn_through_rectangle(points: Points, width: float, height: float) -> float | None:
    """The smallest turn, degrees, by which an outline passes a rectangular hole; None if none.

    0 is tried first, then every turn up to 180.
    """
    hull = convex_hull(points)
    if _extent(hull, 0.0) <= width + EPS_MM and _extent(hull, pi / 2) <= height + EPS_MM:
        return 0.0
    best: float | None = None
    for low, high in _pieces(hull):
        fits = _meet(_fit(hull, low, high, 0.0, width), _fit(hull, low, high, pi / 2, height))
        for start, _ in fits:
            turn = min(start, pi - start)
            best = turn if best is None else min(best, turn)
    return None if best is None else float(np.degrees(best))


def _extent(hull: Points, angle: float) -> float:
    along = hull @ np.array([cos(angle), sin(angle)])
    return float(np.max(along) - np.min(along))


def _pieces(hull: Points) -> list[Arc]:
    """Runs of turn, 0 to pi, over which both widths keep their pairs of corners."""
    edges = np.roll(hull, -1, axis=0) - hull
    normal = (np.arctan2(edges[:, 1], edges[:, 0]) + pi / 2) % pi
    stops = np.unique(np.concatenate((normal, (normal + pi / 2) % pi, [0.0, pi])))
    return [(float(a), float(b)) for a, b in pairwise(stops) if b - a > 1e-12]


def _fit(hull: Points, low: float, high: float, quarter: float, limit: float) -> list[Arc]:
    """Turns between low and high at which the width along turn + quarter is within the limit."""
    middle = (low + high) / 2 + quarter
    along = hull @ np.array([cos(middle), sin(middle)])
    dx, dy = hull[int(np.argmax(along))] - hull[int(np.argmin(along))]
    reach, phase = hypot(dx, dy), atan2(dy, dx)
    limit += EPS_MM
    if reach <= limit:
        return [(low, high)]
    spread = acos(limit / reach)  # too wide within `spread` of the corner pair's own direction
    centre = phase - quarter
    centre += 2 * pi * round(((low + high) / 2 - centre) / (2 * pi))
    runs = [(low, min(high, centre - spread)), (max(low, centre + spread), high)]
    return [run for run in runs if run[1] >= run[0]]


def _meet(first: list[Arc], second: list[Arc]) -> list[Arc]:
    both = [(max(a[0], b[0]), min(a[1], b[1])) for a in first for b in second]
    return [run for run in both if run[1] >= run[0]]

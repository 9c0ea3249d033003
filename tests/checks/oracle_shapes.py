"""Slow plain geometry for the oracle: points, segments, samples. Nothing of the engine's own.

Polygons are numpy arrays (n, 2), not closed. Distances in mm.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
Coordinates = Sequence[Sequence[float]] | Points
FAR = 1e9


def polygon(points: Coordinates) -> Points:
    """Array (n, 2) of a list of points."""
    return np.asarray(points, dtype=float).reshape(-1, 2)


def segments(poly: Points) -> tuple[Points, Points]:
    """Starts and ends of the sides."""
    return poly, np.roll(poly, -1, axis=0)


def to_segments(points: Points, starts: Points, ends: Points) -> Points:
    """Distance from each point to the nearest of the segments."""
    side = ends - starts
    length = np.maximum((side**2).sum(axis=1), 1e-18)
    away = points[:, None, :] - starts[None, :, :]
    along = np.clip((away * side[None]).sum(axis=2) / length[None], 0, 1)
    gap = away - along[:, :, None] * side[None]
    nearest: Points = np.sqrt((gap**2).sum(axis=2)).min(axis=1)
    return nearest


def to_edge(points: Points, poly: Points) -> Points:
    """Distance from each point to the polygon's line."""
    return to_segments(points, *segments(poly))


def inside(points: Points, poly: Points) -> NDArray[np.bool_]:
    """Which points lie within, by counting crossings of a ray to the right."""
    result = np.zeros(len(points), dtype=bool)
    x, y = points[:, 0], points[:, 1]
    for (x0, y0), (x1, y1) in zip(*segments(poly), strict=True):
        if y0 == y1:
            continue
        crosses = (y0 > y) != (y1 > y)
        at = x0 + (y - y0) * (x1 - x0) / (y1 - y0)
        result ^= crosses & (x < at)
    return result


def crossing(one: Points, other: Points) -> bool:
    """Whether any two sides cross each other properly."""
    a, b = segments(one)
    c, d = segments(other)

    def turn(p: Points, q: Points, r: Points) -> Points:
        return (q[..., 0] - p[..., 0]) * (r[..., 1] - p[..., 1]) - (q[..., 1] - p[..., 1]) * (
            r[..., 0] - p[..., 0]
        )

    a4, b4, c4, d4 = a[:, None], b[:, None], c[None], d[None]
    first = turn(a4, b4, c4) * turn(a4, b4, d4)
    second = turn(c4, d4, a4) * turn(c4, d4, b4)
    return bool(((first < 0) & (second < 0)).any())


def gap(one: Points, other: Points) -> float:
    """Distance between two filled polygons, 0 where they meet."""
    if crossing(one, other) or inside(one, other).any() or inside(other, one).any():
        return 0.0
    return float(min(to_edge(one, other).min(), to_edge(other, one).min()))


def rim(poly: Points, step: float) -> Points:
    """Points on the polygon's line, corners included, at most `step` apart."""
    pieces = []
    for start, end in zip(*segments(poly), strict=True):
        count = max(1, int(np.ceil(np.hypot(*(end - start)) / step)))
        share = np.arange(count)[:, None] / count
        pieces.append(start + share * (end - start))
    return np.concatenate(pieces)


def filled(poly: Points, step: float) -> Points:
    """Points of the rim and of a grid within."""
    low, high = poly.min(axis=0), poly.max(axis=0)
    xs = np.arange(low[0] + step / 2, high[0], step)
    ys = np.arange(low[1] + step / 2, high[1], step)
    grid = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
    return np.concatenate([rim(poly, step), grid[inside(grid, poly)]])


def depth(one: Points, other: Points, step: float = 1.0) -> float:
    """How deep the polygons run into each other: the largest ball in both, about."""
    deepest = 0.0
    for poly, against in ((one, other), (other, one)):
        points = rim(poly, step)
        points = points[inside(points, against)]
        if len(points):
            deepest = max(deepest, float(to_edge(points, against).max()))
    points = filled(one, step)
    points = points[inside(points, one) & inside(points, other)]
    if len(points):
        both = np.minimum(to_edge(points, one), to_edge(points, other))
        deepest = max(deepest, float(both.max()))
    return deepest


def circle(x: float, y: float, radius: float, count: int = 144) -> Points:
    """Regular polygon through points of a circle."""
    angle = np.arange(count) * 2 * np.pi / count
    return np.stack([x + radius * np.cos(angle), y + radius * np.sin(angle)], axis=1)


def area(poly: Points) -> float:
    """Signed area, positive counter-clockwise."""
    x, y = poly[:, 0], poly[:, 1]
    return float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum() / 2)


def rounded(poly: Points, radius: float) -> Points:
    """The polygon with every convex corner replaced by an arc of `radius`."""
    if radius <= 0:
        return poly
    ring = poly if area(poly) > 0 else poly[::-1]
    out: list[Points] = []
    for before, here, after in zip(np.roll(ring, 1, 0), ring, np.roll(ring, -1, 0), strict=True):
        come = (here - before) / np.hypot(*(here - before))
        leave = (after - here) / np.hypot(*(after - here))
        cross = come[0] * leave[1] - come[1] * leave[0]
        if cross <= 1e-9:
            out.append(here[None])
            continue
        turned = np.arctan2(cross, come @ leave)
        start = here - come * radius * np.tan(turned / 2)
        centre = start + radius * np.array([-come[1], come[0]])
        first = np.arctan2(*(start - centre)[::-1])
        angle = first + np.linspace(0, turned, 40)
        out.append(centre + radius * np.stack([np.cos(angle), np.sin(angle)], axis=1))
    return np.concatenate(out)


def turned(points: Points, degrees: float) -> Points:
    """Points turned counter-clockwise about the origin."""
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    result: Points = points @ np.array([[c, s], [-s, c]])
    return result


def put(points: Coordinates, placement: dict[str, Any]) -> Points:
    """Part points at their plate points: back mirrors part x first, then turn, then shift."""
    part = polygon(points).copy()
    if placement["face"] == "back":
        part[:, 0] = -part[:, 0]
    origin = np.array([placement["x"], placement["y"]], dtype=float)
    result: Points = turned(part, placement.get("turn", 0)) + origin
    return result


def box(x0: float, y0: float, x1: float, y1: float) -> Points:
    """A rectangle."""
    return polygon([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])

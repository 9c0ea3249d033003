"""Ground on which a pose's centre may lie: half planes, and the polygon that they leave."""

from __future__ import annotations

from collections.abc import Iterable
from math import inf

import numpy as np

from layout_engine.arranging.classes import EXACT_MM, ROUNDED_MM, SLACK_MM
from layout_engine.arranging.puzzle import Box, Plane, edge_rows
from layout_engine.arranging.vectors import Floats

FAR_MM = 2e4  # farther than any plate reaches
WHOLE = 1e-4  # of a thousandth: rounding of floats
LEVEL = 1e-12  # a normal is along an axis, but for rounding
# Of a ground of so many planes, as of a round plate, two boxes in it tell of most places that they
# are on it: with them the search takes an eighth to a fifth less time.
MANY_PLANES = 8
LEVELS = 17  # at which they may begin and end
NO_BOX: Box = (inf, inf, -inf, -inf)


def planes_within(ground: Floats, corners: Floats, inset: float = 0.0) -> Floats:
    """Rows (a, b, c): a x + b y <= c for the centre of a shape with these corners about it.

    ground: convex polygon (n, 2), turning left, that the shape must stay in, `inset` mm from its
    edges.
    """
    rows = np.array(edge_rows(ground))
    normal, offset = rows[:, 2:4], rows[:, 4]
    reach = np.max(corners @ normal.T, axis=0)
    return np.column_stack((normal, offset - reach - inset))


def rounded_within(planes: Floats, centre: tuple[float, float]) -> Floats:
    """Rows (a, b, c) under which a centre is still where they want it once its place is rounded.

    Along an axis to the thousandth below, else less the slack.

    Args:
        planes: the rows.
        centre: the centre, from the place that is rounded.
    """
    level = np.max(np.abs(planes[:, :2]), axis=1) > 1.0 - LEVEL
    shift = planes[:, :2] @ centre
    whole = np.floor((planes[:, 2] - shift) / ROUNDED_MM + WHOLE) * ROUNDED_MM + shift
    return np.column_stack(
        (planes[:, :2], np.where(level, whole - EXACT_MM, planes[:, 2] - SLACK_MM)))


def is_whole(values: Floats) -> bool:
    """Whether all lengths are whole numbers of thousandths of a mm."""
    steps = values / ROUNDED_MM
    return bool(np.all(np.abs(steps - np.round(steps)) < WHOLE))


def left_over(planes: Iterable[Floats]) -> tuple[tuple[Plane, ...], Floats] | None:
    """The planes that matter, and the corners (n, 2) of the ground they leave; None if none."""
    corners = np.array([(-FAR_MM, -FAR_MM), (FAR_MM, -FAR_MM), (FAR_MM, FAR_MM),
                        (-FAR_MM, FAR_MM)])
    for group in planes:
        while True:
            over = corners @ group[:, :2].T - group[:, 2]
            beyond = over.max(axis=0)
            worst = int(np.argmax(beyond))
            if beyond[worst] <= 1e-9:
                break
            corners = _clipped(corners, over[:, worst])
            if len(corners) < 3:
                return None
    return tuple((nx, ny, o) for _, _, nx, ny, o in edge_rows(_distinct(corners))), corners


def _clipped(corners: Floats, over: Floats) -> Floats:
    """The part of a convex polygon where `over`, linear between its corners, is not positive."""
    kept = []
    points, depths = corners.tolist(), over.tolist()
    for (x, y), depth, (u, v), after in zip(
        points, depths, points[1:] + points[:1], depths[1:] + depths[:1], strict=True
    ):
        if depth <= 0.0:
            kept.append((x, y))
        if depth < 0.0 < after or after < 0.0 < depth:
            share = depth / (depth - after)
            kept.append((x + share * (u - x), y + share * (v - y)))
    return np.array(kept)


def _distinct(corners: Floats) -> Floats:
    """Corners without those that coincide with the one before."""
    apart = np.hypot(*(corners - np.roll(corners, 1, axis=0)).T) > 1e-7
    return corners[apart]


def boxes_within(planes: tuple[Plane, ...], span: Box) -> tuple[Box, Box]:
    """Two upright boxes in what planes leave, the largest and what adds most to it.

    Of all whose upper and lower edges are at some levels. Where the planes are few, or leave
    nothing, there is nothing in them.

    Args:
        planes: (a, b, c): a x + b y <= c.
        span: bounds of what they leave.
    """
    if len(planes) < MANY_PLANES:
        return NO_BOX, NO_BOX
    a, b, c = np.array(planes).T
    levels = np.linspace(span[1], span[3], LEVELS)
    ends = (c - levels[:, None] * b) / np.where(np.abs(a) > LEVEL, a, 1.0)
    low = np.max(ends, axis=1, where=a < -LEVEL, initial=span[0])
    high = np.min(ends, axis=1, where=a > LEVEL, initial=span[2])
    first, last = np.triu_indices(LEVELS, 1)
    boxes = np.column_stack((np.maximum(low[first], low[last]), levels[first],
                             np.minimum(high[first], high[last]), levels[last]))
    area = _areas(boxes)
    best = boxes[np.argmax(area)]
    shared = _areas(np.column_stack(
        (np.maximum(boxes[:, :2], best[:2]), np.minimum(boxes[:, 2:], best[2:]))))
    return tuple(best.tolist()), tuple(boxes[np.argmax(area - shared)].tolist())


def _areas(boxes: Floats) -> Floats:
    """Areas of upright boxes (n, 4), 0 where they are none."""
    return np.prod(np.maximum(boxes[:, 2:] - boxes[:, :2], 0.0), axis=1)

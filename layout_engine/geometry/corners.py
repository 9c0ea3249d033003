"""Rounded corners: where the straight edges end and round which centre the arc runs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import atan2, degrees, hypot, tan

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Corner:
    """A convex corner rounded with `radius`: the arc runs from `start` to `end`, turning left."""

    start: Point
    end: Point
    centre: Point
    radius: float
    sweep: float  # degrees, counter-clockwise


def counter_clockwise(points: Sequence[Point]) -> tuple[Point, ...]:
    """The same ring, turning left."""
    ring = tuple(points)
    twice = sum(
        a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, ring[1:] + ring[:1], strict=True)
    )
    return ring if twice > 0 else ring[::-1]


def rounded(points: Sequence[Point], radius: float) -> Iterator[Point | Corner]:
    """The corners of a ring, turning left: rounded ones, and plain points where it turns right.

    A radius that the edges have no room for is taken smaller, so that each arc uses at most half
    of an edge.
    """
    ring = counter_clockwise(points)
    for before, corner, after in zip(
        ring[-1:] + ring[:-1], ring, ring[1:] + ring[:1], strict=True
    ):
        yield _round(before, corner, after, radius) or corner


def _round(before: Point, corner: Point, after: Point, radius: float) -> Corner | None:
    ux, uy = corner[0] - before[0], corner[1] - before[1]
    vx, vy = after[0] - corner[0], after[1] - corner[1]
    lu, lv = hypot(ux, uy), hypot(vx, vy)
    turn = atan2(ux * vy - uy * vx, ux * vx + uy * vy)
    if turn <= 1e-9 or radius <= 0:
        return None
    setback = min(radius * tan(turn / 2), lu / 2, lv / 2)
    r = setback / tan(turn / 2)
    start = (corner[0] - ux / lu * setback, corner[1] - uy / lu * setback)
    end = (corner[0] + vx / lv * setback, corner[1] + vy / lv * setback)
    centre = (start[0] - uy / lu * r, start[1] + ux / lu * r)
    return Corner(start, end, centre, r, degrees(turn))

"""What the wires between two bodies cost at least, wherever both stand.

Two bodies on one face cannot come nearer than touching. The least price of their wires is taken
over all their poses and all places in which their outlines' bounds keep clear; wires to what stays
are priced over the body's own ground.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from typing import NamedTuple

import numpy as np

from layout_engine.arranging.puzzle import Net, Pose, Puzzle, bounds_of, is_upright_box

WIDER_MM = 0.01  # the search keeps a little farther in than the rules ask
Ends = tuple[tuple[float, float], ...]  # weight, offset: price weight x |d - offset|


class Side(NamedTuple):
    """Wires along one axis, over the differences of places that are left there."""

    ends: Ends
    low: float
    high: float

    def least(self) -> float:
        """Least of the sum of weight x |d - offset|; inf where no difference is left."""
        if self.low > self.high:
            return np.inf
        if not self.ends:
            return 0.0
        points = [p for p in self.points() if np.isfinite(p)] or [0.0]
        return min(self.price(p) for p in points)

    def points(self) -> list[float]:
        """Differences one of which is least, whatever straight price is added."""
        return [self.low, self.high, *(at for _, at in self.ends if self.low < at < self.high)]

    def price(self, at: float) -> float:
        """Price of a difference."""
        return sum(weight * abs(at - offset) for weight, offset in self.ends)


class Option(NamedTuple):
    """Poses of two bodies, or of one, and how they keep clear: both axes, and what is added."""

    across: Side
    along: Side
    plus: float


def least_of_pair(puzzle: Puzzle, bodies: tuple[int, ...], nets: list[Net]) -> float:
    """Least price of all wires between two bodies, or from one to what stays or to itself."""
    return min(option.plus + option.across.least() + option.along.least()
               for option in options_of(puzzle, bodies, nets))


def options_of(puzzle: Puzzle, bodies: tuple[int, ...], nets: list[Net]) -> Iterator[Option]:
    """All poses, and for two bodies that keep clear the four sides that one can be on.

    Over differences of the places of the second body's centre and the first's; over the places of
    one body where there is no second.
    """
    if len(bodies) == 1:
        for pose in puzzle.bodies[bodies[0]].poses:
            yield _alone(puzzle, pose, bodies[0], nets)
        return
    for poses in product(*(puzzle.bodies[body].poses for body in bodies)):
        yield from _pair(puzzle, bodies, poses, nets)


def _alone(puzzle: Puzzle, number: int, body: int, nets: list[Net]) -> Option:
    """Wires of one body to points that stay, or to itself."""
    pose, across, along, own = puzzle.poses[number], [], [], 0.0
    for net in nets:
        pins = [pose.pins[pin] for _, pin in net.ends]
        if net.fixed:
            across.append((net.weight, net.fixed[0][0] - pins[0][0]))
            along.append((net.weight, net.fixed[0][1] - pins[0][1]))
        else:
            own += net.weight * (abs(pins[0][0] - pins[1][0]) + abs(pins[0][1] - pins[1][1]))
    x0, y0, x1, y1 = span_of(puzzle, pose, body)
    return Option(Side(tuple(across), x0, x1), Side(tuple(along), y0, y1), own)


def span_of(puzzle: Puzzle, pose: Pose, body: int) -> tuple[float, float, float, float]:
    """Bounds of where a body's centre can be in a pose."""
    at = puzzle.bodies[body].at
    if body >= puzzle.movable and at is not None:
        return at[0], at[1], at[0], at[1]
    x0, y0, x1, y1 = pose.span
    return x0 - WIDER_MM, y0 - WIDER_MM, x1 + WIDER_MM, y1 + WIDER_MM


def _pair(puzzle: Puzzle, bodies: tuple[int, ...], poses: tuple[int, ...], nets: list[Net]
          ) -> Iterator[Option]:
    """Wires between two bodies in two poses, over all differences of their places."""
    one, two = (puzzle.poses[p] for p in poses)
    across, along, crossing = [], [], 0.0
    for net in nets:
        pins = {body: puzzle.poses[pose].pins for body, pose in zip(bodies, poses, strict=True)}
        (_, a), (_, b) = sorted(net.ends)
        (ax, ay), (bx, by) = pins[bodies[0]][a], pins[bodies[1]][b]
        across.append((net.weight, ax - bx))
        along.append((net.weight, ay - by))
        crossing += net.cross if one.face != two.face else 0.0
    a0, b0, a1, b1 = span_of(puzzle, one, bodies[0])
    c0, d0, c1, d1 = span_of(puzzle, two, bodies[1])
    x = Side(tuple(across), c0 - a1, c1 - a0)
    y = Side(tuple(along), d0 - b1, d1 - b0)
    stay = min(bodies) >= puzzle.movable  # what stays may touch: nobody asked whether it does
    if one.face != two.face or stay or not must_keep_clear(puzzle, one, two):
        yield Option(x, y, crossing)
        return
    gap = gap_along_an_axis(puzzle, one, two)
    for axis, free in ((0, x), (1, y)):
        after = one.outline[axis + 2] - two.outline[axis] + gap
        before = one.outline[axis] - two.outline[axis + 2] - gap
        for side in (free._replace(low=max(free.low, after)),
                     free._replace(high=min(free.high, before))):
            yield Option(side, y, crossing) if axis == 0 else Option(x, side, crossing)


def need_between(puzzle: Puzzle, one: Pose, two: Pose) -> float:
    """Distance that the outlines of two poses surely keep, mm; negative where they need none."""
    return float(puzzle.need[one.pieces[0].kind, two.pieces[0].kind]) - WIDER_MM


def gap_along_an_axis(puzzle: Puzzle, one: Pose, two: Pose) -> float:
    """Gap that two boxes so far apart have along one axis at least: d / sqrt 2, at the corners."""
    return max(0.0, need_between(puzzle, one, two)) / float(np.sqrt(2.0))


def is_box(pose: Pose) -> bool:
    """Whether a pose's outline is one rectangle along the axes."""
    corners = pose.pieces[0].corners
    return is_upright_box(corners) and bounds_of(corners) == pose.outline


def must_keep_clear(puzzle: Puzzle, one: Pose, two: Pose) -> bool:
    """Whether the bounds of two outlines must keep clear: both are boxes, on one face."""
    together = puzzle.need[one.pieces[0].kind, two.pieces[0].kind] >= 0.0
    return bool(together) and is_box(one) and is_box(two)

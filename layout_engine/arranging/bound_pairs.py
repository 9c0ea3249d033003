"""What the wires between two bodies cost at least, wherever both stand.

Two bodies on one face cannot come nearer than touching. The least price of their wires is taken
over all their poses and all places in which their outlines' bounds keep clear; wires to what stays
are priced over the body's own ground.
"""

from __future__ import annotations

from itertools import product

import numpy as np

from layout_engine.arranging.puzzle import Net, Pose, Puzzle, bounds_of, is_upright_box

WIDER_MM = 0.01  # the search keeps a little farther in than the rules ask
Ends = list[tuple[float, float]]  # weight, offset: price weight x |d - offset|


def least_of_pair(puzzle: Puzzle, bodies: tuple[int, ...], nets: list[Net]) -> float:
    """Least price of all wires between two bodies, or from one to what stays or to itself."""
    if len(bodies) == 1:
        return min(_alone(puzzle, p, bodies[0], nets) for p in puzzle.bodies[bodies[0]].poses)
    choices = product(*(puzzle.bodies[body].poses for body in bodies))
    return min(_pair(puzzle, bodies, poses, nets) for poses in choices)


def _alone(puzzle: Puzzle, number: int, body: int, nets: list[Net]) -> float:
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
    return own + _least_at(across, x0, x1) + _least_at(along, y0, y1)


def span_of(puzzle: Puzzle, pose: Pose, body: int) -> tuple[float, float, float, float]:
    """Bounds of where a body's centre can be in a pose."""
    at = puzzle.bodies[body].at
    if body >= puzzle.movable and at is not None:
        return at[0], at[1], at[0], at[1]
    x0, y0, x1, y1 = pose.span
    return x0 - WIDER_MM, y0 - WIDER_MM, x1 + WIDER_MM, y1 + WIDER_MM


def _pair(puzzle: Puzzle, bodies: tuple[int, ...], poses: tuple[int, ...], nets: list[Net]
          ) -> float:
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
    xs, ys = (c0 - a1, c1 - a0), (d0 - b1, d1 - b0)
    free_x, free_y = _least_at(across, *xs), _least_at(along, *ys)
    stay = min(bodies) >= puzzle.movable  # what stays may touch: nobody asked whether it does
    if one.face != two.face or stay or not must_keep_clear(puzzle, one, two):
        return crossing + free_x + free_y
    gap = gap_along_an_axis(puzzle, one, two)
    return min(
        _least_at(across, max(xs[0], one.outline[2] - two.outline[0] + gap), xs[1]) + free_y,
        _least_at(across, xs[0], min(xs[1], one.outline[0] - two.outline[2] - gap)) + free_y,
        free_x + _least_at(along, max(ys[0], one.outline[3] - two.outline[1] + gap), ys[1]),
        free_x + _least_at(along, ys[0], min(ys[1], one.outline[1] - two.outline[3] - gap)),
    )


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


def _least_at(ends: Ends, low: float, high: float) -> float:
    """Least of the sum of weight x |d - offset| for d from low to high; inf if that is empty."""
    if low > high:
        return np.inf
    if not ends:
        return 0.0
    tries = [low, high, *(offset for _, offset in ends if low < offset < high)]
    tries = [t for t in tries if np.isfinite(t)] or [0.0]
    return min(sum(weight * abs(t - offset) for weight, offset in ends) for t in tries)

"""What the wires between two bodies cost at least, wherever both stand.

Two bodies on one face cannot come nearer than touching. The least price of their wires is taken
over all their poses and all places in which their outlines' bounds keep clear; wires to what stays
are priced over the body's own ground.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layout_engine.arranging.puzzle import Net, Pose, Puzzle, bounds_of, is_upright_box
from layout_engine.arranging.vectors import Floats
from layout_engine.once import cached_property

Flags = NDArray[np.bool_]
WIDER_MM = 0.01  # the search keeps a little farther in than the rules ask


@dataclass(frozen=True, eq=False)
class Options:
    """Poses of two bodies, or of one, and the sides that one can be on: one option a row.

    Over differences of the places of the second body's centre and the first's; over the places of
    one body where there is no second. A wire costs weight x |difference - offset| along each axis.

    Attributes:
        weights: (wires) what a mm of each wire costs.
        offsets: (2, options, wires) where it costs nothing, across and along.
        low, high: (2, options) differences that are left; none where low is the greater.
        plus: (options) what is added.
    """

    weights: Floats
    offsets: Floats
    low: Floats
    high: Floats
    plus: Floats

    @cached_property
    def points(self) -> Floats:
        """(2, options, points) differences one of which is least, whatever straight price is added.

        What has no end counts as 0, or as the end next to it.
        """
        low, high = (np.where(np.isfinite(end), end, np.clip(0.0, self.low, self.high))
                     for end in (self.low, self.high))
        within = np.clip(self.offsets, self.low[..., None], self.high[..., None])
        return np.concatenate((low[..., None], high[..., None], within), axis=2)

    @cached_property
    def prices(self) -> Floats:
        """(2, options, points) what the wires cost at each of these along its axis."""
        ways = np.abs(self.points[..., None] - self.offsets[:, :, None, :])
        return np.asarray(ways @ self.weights)

    @property
    def least(self) -> float:
        """Least price of the wires; infinite where no difference is left in any option."""
        best = np.where(self.low <= self.high, self.prices.min(axis=2), np.inf)
        return float(np.min(self.plus + best[0] + best[1], initial=np.inf))

    def of(self, chosen: Flags) -> Options:
        """Some of the options."""
        return Options(self.weights, self.offsets[:, chosen], self.low[:, chosen],
                       self.high[:, chosen], self.plus[chosen])


def options_of(puzzle: Puzzle, bodies: tuple[int, ...], nets: list[Net]) -> Options:
    """All poses, and for two bodies that keep clear the four sides that one can be on."""
    if len(bodies) == 1:
        return _alone(puzzle, bodies[0], nets)
    return _pair(puzzle, bodies, nets)


def _alone(puzzle: Puzzle, body: int, nets: list[Net]) -> Options:
    """Wires of one body to points that stay, or to itself."""
    poses = [puzzle.poses[number] for number in puzzle.bodies[body].poses]
    spans = np.array([span_of(puzzle, pose, body) for pose in poses])
    plus, out, weights = np.zeros(len(poses)), [], []
    for net in nets:
        pins = [np.array([pose.pins[pin] for pose in poses]) for _, pin in net.ends]
        if net.fixed:
            out.append(np.array(net.fixed[0][:2]) - pins[0])
            weights.append(net.weight)
        else:
            plus += net.weight * np.abs(pins[0] - pins[1]).sum(axis=1)
    offsets = np.array(out).reshape(-1, len(poses), 2).transpose(2, 1, 0)
    return Options(np.array(weights), offsets, spans[:, :2].T, spans[:, 2:].T, plus)


def span_of(puzzle: Puzzle, pose: Pose, body: int) -> tuple[float, float, float, float]:
    """Bounds of where a body's centre can be in a pose."""
    at = puzzle.bodies[body].at
    if body >= puzzle.movable and at is not None:
        return at[0], at[1], at[0], at[1]
    x0, y0, x1, y1 = pose.span
    return x0 - WIDER_MM, y0 - WIDER_MM, x1 + WIDER_MM, y1 + WIDER_MM


def _pair(puzzle: Puzzle, bodies: tuple[int, ...], nets: list[Net]) -> Options:
    """Wires between two bodies, over all differences of their places."""
    poses = [[puzzle.poses[number] for number in puzzle.bodies[body].poses] for body in bodies]
    ones, twos = poses
    shape = len(ones), len(twos)
    spans = [np.array([span_of(puzzle, pose, body) for pose in own])
             for own, body in zip(poses, bodies, strict=True)]
    low = spans[1][None, :, :2] - spans[0][:, None, 2:]
    high = spans[1][None, :, 2:] - spans[0][:, None, :2]
    offsets = np.empty((2, *shape, len(nets)))
    for number, net in enumerate(nets):
        pin = dict(net.ends)
        at = [np.array([pose.pins[pin[body]] for pose in own])
              for own, body in zip(poses, bodies, strict=True)]
        offsets[..., number] = (at[0][:, None] - at[1][None]).transpose(2, 0, 1)
    faces = [np.array([pose.face for pose in own]) for own in poses]
    apart = faces[0][:, None] != faces[1][None]
    free = Options(np.array([net.weight for net in nets]), offsets.reshape(2, -1, len(nets)),
                   low.reshape(-1, 2).T, high.reshape(-1, 2).T,
                   np.where(apart, sum(net.cross for net in nets), 0.0).ravel())
    if min(bodies) >= puzzle.movable:  # what stays may touch: nobody asked whether it does
        return free
    return _beside(puzzle, ones, twos, free, ~apart & must_keep_clear(puzzle, ones, twos))


def _beside(puzzle: Puzzle, ones: list[Pose], twos: list[Pose], free: Options, clear: Flags
            ) -> Options:
    """Options of which those that must keep clear are taken on each of four sides.

    Args:
        puzzle: the puzzle.
        ones: poses of the first body.
        twos: of the second.
        free: an option for each of the one with each of the other.
        clear: (poses of the first, of the second) which must keep clear.
    """
    # the gap that two boxes so far apart have along one axis at least: d / sqrt 2, at the corners
    gaps = np.maximum(_needs(puzzle, ones, twos) - WIDER_MM, 0.0)[..., None] / np.sqrt(2.0)
    one, two = (np.array([pose.outline for pose in own]) for own in (ones, twos))
    after = (one[:, None, 2:] - two[None, :, :2] + gaps)[clear].T  # what stands beyond the other
    before = (one[:, None, :2] - two[None, :, 2:] - gaps)[clear].T
    taken = [free.of(~clear.ravel())]
    for axis in (0, 1):
        right, left = free.of(clear.ravel()), free.of(clear.ravel())
        right.low[axis] = np.maximum(right.low[axis], after[axis])
        left.high[axis] = np.minimum(left.high[axis], before[axis])
        taken += [right, left]
    return Options(
        free.weights, np.concatenate([own.offsets for own in taken], axis=1),
        np.concatenate([own.low for own in taken], axis=1),
        np.concatenate([own.high for own in taken], axis=1),
        np.concatenate([own.plus for own in taken]))


def need_between(puzzle: Puzzle, one: Pose, two: Pose) -> float:
    """Distance that the outlines of two poses surely keep, mm; negative where they need none."""
    return float(puzzle.need[one.pieces[0].kind, two.pieces[0].kind]) - WIDER_MM


def is_box(pose: Pose) -> bool:
    """Whether a pose's outline is one rectangle along the axes."""
    corners = pose.pieces[0].corners
    return is_upright_box(corners) and bounds_of(corners) == pose.outline


def must_keep_clear(puzzle: Puzzle, ones: Sequence[Pose], twos: Sequence[Pose]) -> Flags:
    """(ones, twos) whether bounds of outlines on one face must keep clear: both are boxes."""
    one, two = (np.array([is_box(pose) for pose in own], dtype=bool) for own in (ones, twos))
    return (_needs(puzzle, ones, twos) >= 0.0) & one[:, None] & two


def _needs(puzzle: Puzzle, ones: Sequence[Pose], twos: Sequence[Pose]) -> Floats:
    """(ones, twos) distances that outlines keep, mm; negative where they need none."""
    kinds = [[pose.pieces[0].kind for pose in own] for own in (ones, twos)]
    return np.asarray(puzzle.need[kinds[0]][:, kinds[1]])

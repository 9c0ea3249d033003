"""Arrangements turned over and round as wholes.

Which way round all bodies stand about the plate's middle is settled while a cooling is hot, mostly
for the sake of the few that something draws to an edge. An end that is turned over keeps what
stands beside what, which was the larger part of the work, and another way round it may be worth
more.
"""

from __future__ import annotations

import numpy as np

from layout_engine.arranging.cooling import State
from layout_engine.arranging.puzzle import Pose, Puzzle
from layout_engine.arranging.vectors import AT, Floats, Ints, X, Y

# The symmetries of a square but the one that leaves all where it is.
SYMMETRIES: tuple[Floats, ...] = tuple(np.array(rows, dtype=float) for rows in (
    ((-1, 0), (0, 1)), ((1, 0), (0, -1)), ((-1, 0), (0, -1)),
    ((0, -1), (1, 0)), ((0, 1), (-1, 0)), ((0, 1), (1, 0)), ((0, -1), (-1, 0)),
))


def reflected(puzzle: Puzzle, state: State, symmetry: Floats, poses: Ints) -> State:
    """A copy of a state, what may move turned over or round about the plate's middle.

    Where the axes change places it is stretched to the plate's other proportions. Places are held
    within the bounds of each body's ground; overlaps may come of it. Figures are not refreshed.

    Args:
        puzzle: the problem.
        state: all that may move is on the plate.
        symmetry: (2, 2), one of `SYMMETRIES`.
        poses: what `counterparts` says of it.
    """
    s, k = state[0].copy(), state[1].copy()
    count, size = puzzle.movable, np.array(puzzle.size)
    stretch = size / (np.abs(symmetry) @ size)
    rows = [slice(k[block], k[block] + count) for block in (X, Y)]
    about = np.array([s[row] for row in rows]) - size[:, None] / 2
    after = symmetry @ about * stretch[:, None] + size[:, None] / 2
    at = slice(k[AT], k[AT] + count)
    k[at] = poses[k[at]]
    spans = np.array([puzzle.poses[pose].span for pose in k[at]]).reshape(count, 4).T
    for axis, row in enumerate(rows):
        s[row] = np.clip(after[axis], spans[axis], spans[axis + 2])
    return s, k


def counterparts(puzzle: Puzzle, symmetry: Floats) -> Ints:
    """For each pose the one of its body, on its face, that is most like it turned over or round.

    That is where terminals and outline come to lie as near as can be to where they would. Poses of
    bodies that stay are their own.

    Returns:
        (poses,) numbers of poses.
    """
    found = np.arange(len(puzzle.poses), dtype=np.int64)
    for body in puzzle.bodies[: puzzle.movable]:
        for face in {puzzle.poses[pose].face for pose in body.poses}:
            poses = [pose for pose in body.poses if puzzle.poses[pose].face == face]
            marks = np.array([_marks(puzzle.poses[pose]) for pose in poses])
            wanted = marks @ symmetry.T
            corners = wanted[:, :2].copy()
            wanted[:, 0], wanted[:, 1] = corners.min(axis=1), corners.max(axis=1)
            unlike = np.abs(wanted[:, None] - marks[None]).sum(axis=(2, 3))
            found[poses] = np.array(poses)[np.argmin(unlike, axis=1)]
    return found


def _marks(pose: Pose) -> Floats:
    """The outline's least and greatest corner about the centre, then the terminals."""
    return np.array([pose.outline[:2], pose.outline[2:], *pose.pins], dtype=float)

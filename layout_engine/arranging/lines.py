"""Lines that bodies could share: edges, middles and rows of fixing holes, and equal gaps."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from layout_engine.arranging.footprints import Posed
from layout_engine.arranging.puzzle import Pose, Puzzle
from layout_engine.arranging.vectors import AT, ON, Floats, Ints, X, Y

EDGE, MIDDLE, HOLE = range(3)  # kinds of lines; only those of one kind are lined up
NEAREST = 3  # lines looked for, for each body and axis
MADE_MM = 1e-4  # lines nearer than this are one
State = tuple[Floats, Ints]
Feature = tuple[int, float]


@dataclass(frozen=True, slots=True)
class Line:
    """A line that two bodies could share across an axis.

    Attributes:
        axis: 0: both at one x, 1: at one y.
        one, other: bodies.
        a, b: where the line is, from the centre of each.
        off: by how much it is not shared now, mm: (place of one + a) - (place of other + b).
    """

    axis: int
    one: int
    other: int
    a: float
    b: float
    off: float


@dataclass(frozen=True, slots=True)
class Gaps:
    """Three bodies in a row: the gap before the middle one less the one after it is `off` mm.

    `shift`: what the outlines add to 2 middle - first - last.
    """

    axis: int
    first: int
    middle: int
    last: int
    shift: float
    off: float


@lru_cache(maxsize=4096)
def features(pose: Pose, axis: int) -> tuple[Feature, ...]:
    """Lines of a pose across an axis: kind and offset from its centre."""
    low, high = pose.outline[axis], pose.outline[axis + 2]
    found = [(EDGE, low), (EDGE, high), (MIDDLE, (low + high) / 2)]
    return (*found, *((HOLE, at) for at in holes(pose, axis)))


def holes(pose: Pose, axis: int) -> list[float]:
    """Where fixing holes of a pose are along an axis, from its centre."""
    own = pose.label
    if not isinstance(own, Posed):
        return []
    return sorted({round(float(spot[:, axis].mean()), 6) for spot, _ in own.holes})


def modules(puzzle: Puzzle, state: State) -> list[int]:
    """Bodies on the plate that are parts, not obstacles."""
    k = state[1]
    return [b for b in range(len(puzzle.bodies)) if k[k[ON] + b] and puzzle.bodies[b].name]


def place(state: State, body: int, axis: int) -> float:
    """Where a body's centre is along an axis."""
    s, k = state
    return float(s[k[X if axis == 0 else Y] + body])


def pose_of(puzzle: Puzzle, state: State, body: int) -> Pose:
    """The pose that a body has."""
    return puzzle.poses[int(state[1][state[1][AT] + body])]


def near_lines(puzzle: Puzzle, state: State, within: float) -> list[Line]:
    """For each body and axis, the nearest lines of others that it misses by at most `within`."""
    chosen: dict[tuple[int, int, int], Line] = {}
    there = modules(puzzle, state)
    for axis in (0, 1) if there else ():
        off = _least_off(puzzle, state, axis, there)
        for row, one in enumerate(there):
            for column in np.argsort(off[row], kind="stable")[:NEAREST]:
                if off[row, column] > within:
                    break
                low, high = sorted((one, there[column]))
                if (axis, low, high) not in chosen:
                    chosen[axis, low, high] = _nearest_line(puzzle, state, axis, one,
                                                            there[column])
    return list(chosen.values())


def _least_off(puzzle: Puzzle, state: State, axis: int, there: list[int]) -> Floats:
    """(bodies, bodies) by how much each two miss a line of both, mm; infinite where they are on
    two faces, where neither may move, and for a body itself.
    """
    poses = [pose_of(puzzle, state, body) for body in there]
    lines = [features(pose, axis) for pose in poses]
    first = np.cumsum([0, *map(len, lines[:-1])])
    kinds = np.array([kind for own in lines for kind, _ in own])
    at = np.array([place(state, body, axis) + a
                   for body, own in zip(there, lines, strict=True) for _, a in own])
    off = np.where(kinds[:, None] == kinds, np.abs(at[:, None] - at), np.inf)
    least = np.minimum.reduceat(np.minimum.reduceat(off, first, axis=0), first, axis=1)
    faces, stays = np.array([pose.face for pose in poses]), np.array(there) >= puzzle.movable
    least[(faces[:, None] != faces) | (stays[:, None] & stays) | np.eye(len(there), dtype=bool)
          ] = np.inf
    return np.asarray(least)


def _nearest_line(puzzle: Puzzle, state: State, axis: int, one: int, other: int) -> Line:
    """The line that two bodies miss by least."""
    pose, theirs = (pose_of(puzzle, state, body) for body in (one, other))
    apart = place(state, one, axis) - place(state, other, axis)
    return min((Line(axis, one, other, a, b, apart + a - b)
                for kind, a in features(pose, axis) for alike, b in features(theirs, axis)
                if kind == alike), key=lambda line: abs(line.off))


def rows(puzzle: Puzzle, state: State, lines: Iterable[Line], axis: int) -> list[list[int]]:
    """Bodies in groups that share lines across an axis; every module is in one."""
    group = {body: body for body in modules(puzzle, state)}
    for line in lines:
        if line.axis == axis and abs(line.off) <= MADE_MM:
            old, new = group[line.one], group[line.other]
            group = {body: new if name == old else name for body, name in group.items()}
    return [[b for b, name in group.items() if name == first]
            for first in dict.fromkeys(group.values())]


def near_gaps(puzzle: Puzzle, state: State, lines: list[Line], within: float) -> list[Gaps]:
    """Gaps beside each other in a row that differ by at most `within`."""
    found = []
    for axis in (0, 1):
        for row in rows(puzzle, state, lines, 1 - axis):
            row.sort(key=lambda body: place(state, body, axis))
            for first, middle, last in zip(row, row[1:], row[2:], strict=False):
                a, b, c = (pose_of(puzzle, state, body).outline for body in (first, middle, last))
                shift = b[axis] - a[axis + 2] - c[axis] + b[axis + 2]
                off = shift + 2 * place(state, middle, axis) - sum(
                    place(state, body, axis) for body in (first, last))
                if abs(off) <= within:
                    found.append(Gaps(axis, first, middle, last, shift, off))
    return found



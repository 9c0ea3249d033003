"""Lines that bodies could share: edges, middles and rows of fixing holes, and equal gaps."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache

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
    for axis in (0, 1):
        for one in there:
            found = sorted(_lines_of(puzzle, state, axis, one, there, within),
                           key=lambda line: (abs(line.off), line.other))
            for line in found[:NEAREST]:
                low, high = sorted((line.one, line.other))
                chosen.setdefault((axis, low, high), line)
    return list(chosen.values())


def _lines_of(puzzle: Puzzle, state: State, axis: int, one: int,
              there: Iterable[int], within: float) -> Iterator[Line]:
    pose, at = pose_of(puzzle, state, one), place(state, one, axis)
    for other in there:
        if other == one or min(one, other) >= puzzle.movable:
            continue
        theirs, where = pose_of(puzzle, state, other), place(state, other, axis)
        if theirs.face != pose.face:
            continue
        lines = [
            Line(axis, one, other, a, b, at + a - where - b)
            for kind, a in features(pose, axis) for alike, b in features(theirs, axis)
            if kind == alike
        ]
        best = min(lines, key=lambda line: abs(line.off))
        if abs(best.off) <= within:
            yield best


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



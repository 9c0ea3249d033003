"""The arranging problem in its general form: shapes with poses, ground, nets and wishes.

It knows nothing of jobs, so that open benchmarks run on the same search.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot

import numpy as np

from layout_engine.arranging.vectors import Floats
from layout_engine.once import cached_property

Point = tuple[float, float]
Plane = tuple[float, float, float]
Box = tuple[float, float, float, float]  # x0, y0, x1, y1
FRONT, BACK = 0, 1


@dataclass(frozen=True, eq=False)
class Piece:
    """A convex polygon of a class.

    Attributes:
        corners: (n, 2) counter-clockwise about the pose's centre.
        kind: its class.
        margin: by how much more its bounds keep off others, mm: for the rounding of places.
    """

    corners: Floats
    kind: int
    margin: float = 0.0

    @cached_property
    def bounds(self) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x, greatest y."""
        return bounds_of(self.corners)

    @cached_property
    def room(self) -> tuple[float, float, float, float]:
        """The same with the margin round it."""
        x0, y0, x1, y1 = self.bounds
        return x0 - self.margin, y0 - self.margin, x1 + self.margin, y1 + self.margin

    @cached_property
    def edges(self) -> list[tuple[float, float, float, float, float]]:
        """See `edge_rows`."""
        return edge_rows(self.corners)

    @cached_property
    def is_box(self) -> bool:
        """Whether it is a rectangle along the axes."""
        return is_upright_box(self.corners)

    @cached_property
    def key(self) -> bytes:
        """The same for pieces that are alike."""
        return self.corners.round(9).tobytes() + bytes(f"{self.kind} {self.margin}", "ascii")


@dataclass(frozen=True, slots=True)
class Hinge:
    """A wish of one body: factor x max(0, a x + b y + c), the greatest of its group, mm."""

    a: float
    b: float
    c: float
    factor: float
    group: int


@dataclass(frozen=True, eq=False)
class Pose:
    """A shape in one face and turn.

    Attributes:
        pieces: its convex pieces.
        hulls: so many of them, the first, are the outline.
        outline: bounds of the outline about the centre.
        planes: (a, b, c): the centre must satisfy a x + b y <= c.
        span: bounds of the centres that do.
        pins: terminals about the centre.
        face: FRONT or BACK.
        cost: price of standing in this pose.
        hinges: wishes of the body in this pose.
        metal: convex pieces of its metal: corners (n, 2) counter-clockwise about the centre, and
            range of w.
        antenna: antenna about the centre, and its w.
        label: what this pose is to whoever made the problem.
        turned: the pose (index) that is this one a quarter turn on; None: it is alike, or none is.
        mirrored: the pose on the other face in which what stands beside it, turned over about an
            upright line with it, is where it was; None: there is none.
    """

    pieces: tuple[Piece, ...]
    outline: tuple[float, float, float, float]
    planes: tuple[Plane, ...] = ()
    span: tuple[float, float, float, float] = (-np.inf, -np.inf, np.inf, np.inf)
    pins: tuple[Point, ...] = ()
    face: int = FRONT
    cost: float = 0.0
    hinges: tuple[Hinge, ...] = ()
    metal: tuple[tuple[Floats, float, float], ...] = ()
    antenna: tuple[float, float, float] = (0.0, 0.0, 0.0)
    label: object = None
    turned: int | None = None
    mirrored: int | None = None
    hulls: int = 1

    @property
    def is_box(self) -> bool:
        """Whether its outline is a rectangle along the axes, which its bounds tell."""
        return self.hulls == 1 and self.pieces[0].is_box


@dataclass(frozen=True, eq=False)
class Body:
    """Something on the plate: the poses it may have (indices), and where it stands at first."""

    name: str
    poses: tuple[int, ...]
    at: tuple[float, float] | None = None
    pose: int = 0


@dataclass(frozen=True, slots=True)
class Net:
    """Terminals that are joined: (body, terminal) ends, and points (x, y, face or -1) that stay."""

    ends: tuple[tuple[int, int], ...]
    fixed: tuple[tuple[float, float, int], ...] = ()
    weight: float = 1.0
    cross: float = 0.0


@dataclass(frozen=True, slots=True)
class BodyWish:
    """A wish between bodies: kind 0 near, 1 off metal, 2 apart, 3 on a face; wanted mm; price."""

    kind: int
    owner: int
    others: tuple[int, ...]
    wanted: float
    factor: float
    must: bool


@dataclass(frozen=True, eq=False)
class Puzzle:
    """The whole problem. Bodies that may move come first.

    Attributes:
        size: width and height of the ground, mm.
        poses: all poses.
        bodies: movable ones, then those that stay.
        movable: number of movable ones.
        need: (classes, classes) distance wanted between pieces, negative where they never meet.
        nets, wishes: as above.
        varied: whether ends of many kinds are wanted to choose among, not the cheapest alone.
        slant: taken off every distance that is not along an axis, mm: for the rounding of places.
    """

    size: tuple[float, float]
    poses: tuple[Pose, ...]
    bodies: tuple[Body, ...]
    movable: int
    need: Floats
    nets: tuple[Net, ...] = ()
    wishes: tuple[BodyWish, ...] = ()
    varied: bool = False
    slant: float = 0.0

    @property
    def faces(self) -> int:
        """Number of faces on which something that may move may stand, at least 1."""
        numbers = (pose for body in self.bodies[: self.movable] for pose in body.poses)
        return max(len({self.poses[number].face for number in numbers}), 1)


def bounds_of(corners: Floats) -> tuple[float, float, float, float]:
    """Least x, least y, greatest x, greatest y of points (n, 2)."""
    xs, ys = zip(*corners.tolist(), strict=True)  # a few corners, as below
    return min(xs), min(ys), max(xs), max(ys)


def is_upright_box(corners: Floats) -> bool:
    """Whether a convex polygon is a rectangle along the axes."""
    ring: list[Point] = corners.tolist()
    return len(ring) == 4 and all(
        min(abs(u - x), abs(v - y)) < 1e-9
        for (x, y), (u, v) in zip(ring, ring[1:] + ring[:1], strict=True))


def edge_rows(corners: Floats) -> list[tuple[float, float, float, float, float]]:
    """Corner x, y, outward normal and offset of the edge that leaves it, corners turning left."""
    ring: list[Point] = corners.tolist()  # a few corners: the interpreter is faster than arrays
    rows = []
    for (x, y), (u, v) in zip(ring, ring[1:] + ring[:1], strict=True):
        length = hypot(u - x, v - y)
        nx, ny = (v - y) / length, (x - u) / length
        rows.append((x, y, nx, ny, nx * x + ny * y))
    return rows

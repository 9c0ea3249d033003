"""How crowded an arrangement will be with wires, told without routing them.

Each face is cut into coarse cells, joined by passages as wide as the ground that is free between
their middles. A wire is expected to wander from cell to cell: it takes a passage the likelier the
wider it is, and a way the less likely the longer it is. These are randomised shortest paths
(M. Saerens, Y. Achbany, F. Fouss, L. Yen, Neural Computation 21 (2009), from memory): with W the
weights of the steps and Z = (1 - W)^-1, a wire from s to t takes the step i to j
Z_si W_ij Z_jt / Z_st times; what it goes to and fro cancels. The wires' cross-sections, each times
that, over the room in the passage are how full it is expected to be.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import sqrt

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solveh_banded

from layout_engine.arranging.cost import exit_of
from layout_engine.checks.scene import Scene
from layout_engine.geometry.frames import unit
from layout_engine.geometry.shapes import leaves_at
from layout_engine.geometry.wire_ground import ground_boxes, rests_on
from layout_engine.model.job import Job
from layout_engine.model.plate import FACES, Face
from layout_engine.tables.dressing import FLAT_MOST
from layout_engine.tables.sourced import COMMON_PRACTICE
from layout_engine.wiring.demands import Demand, demands_of
from layout_engine.wiring.obstacles import Obstacle, obstacles_of
from layout_engine.working import Given, Working

CELLS = 500  # on a face
FINE = 6  # rows and columns of points in a cell, for what is free
LONGER = 1.5  # exponent by which each step makes a way less likely
LEAST_MM = 0.5  # width of what is nearly closed
CLOSED = 1e-5  # weight of a step where nothing is free
FORMULA = "f = A / (w h)"
Floats = NDArray[np.float64]
Spot = tuple[float, float, frozenset[str]]


@dataclass(frozen=True, slots=True)
class Congestion:
    """How full of wires the passages between the parts are expected to be; 1: full.

    An estimate, to compare arrangements of one job by; routes settle it.

    Attributes:
        mean: where a mm of wire lies, in the mean.
        worst: in the fullest passage.
        x, y, face: the middle of the fullest passage, mm.
        working: of `worst`; None while no wire has two ends with a place.
    """

    mean: float
    worst: float
    x: float
    y: float
    face: Face
    working: Working | None


def congestion(job: Job, scene: Scene | None = None) -> Congestion:
    """How crowded the job's arrangement is expected to be. Same job, same answer; some ms.

    Args:
        job: the job as it stands.
        scene: its scene, where one is at hand.
    """
    scene = scene or Scene(job)
    wires = list(_wires(job, scene))
    obstacles = obstacles_of(job, scene)
    sides = [side for face in FACES
             if (side := _side(scene, face, obstacles[face], wires)) is not None]
    used = sum(float(np.sum(side.area * side.step)) for side in sides)
    if not used:
        return Congestion(0.0, 0.0, 0.0, 0.0, "front", None)
    mean = sum(float(np.sum(side.area * side.step * side.full)) for side in sides) / used
    fullest = max(sides, key=lambda side: float(side.open_full.max()))
    return fullest.told(mean)


@dataclass(frozen=True, eq=False)
class _Side:
    """Passages of one face, one a row: middle, length, free width [mm], expected wires [mm2]."""

    face: Face
    middle: Floats
    step: Floats
    width: Floats
    area: Floats

    @property
    def full(self) -> Floats:
        """How full each passage is expected to be."""
        return np.asarray(self.area / (np.maximum(self.width, LEAST_MM) * FLAT_MOST.value))

    @property
    def open_full(self) -> Floats:
        """The same, -1 where nothing is free: wires only seem to go there, cells are coarse."""
        return np.where(self.width > 0.0, self.full, -1.0)

    def told(self, mean: float) -> Congestion:
        n = int(np.argmax(np.round(self.open_full, 9)))
        worst = float(self.full[n])
        x, y = (float(k) for k in self.middle[n])
        working = Working(FORMULA, (
            Given("A", "expected cross-section of wires", float(self.area[n]), "mm2",
                  "randomised shortest paths"),
            Given("w", "free width of the passage", max(float(self.width[n]), LEAST_MM), "mm",
                  "the job"),
            Given("h", "height of a run", FLAT_MOST.value, "mm", FLAT_MOST.source),
        ), worst, "1", COMMON_PRACTICE, 1.0, COMMON_PRACTICE)  # fmt: skip
        return Congestion(mean, worst, x, y, self.face, working)


def _wires(job: Job, scene: Scene) -> Iterator[tuple[Demand, list[Spot]]]:
    """Wires with the places they go over."""
    for demand in demands_of(job):
        ends = [way_out(job, scene, *end) for end in demand.connection.ends]
        one, other = ends
        if one is None or other is None:
            continue
        via = [(x, y, frozenset[str]((face,))) for x, y, face in demand.connection.via]
        stops = [one, *via, other]
        if stops[0][:2] != stops[-1][:2]:
            yield demand, stops


def way_out(job: Job, scene: Scene, part_id: str, terminal_id: str) -> Spot | None:
    """Where a wire leaves its part, or the plate; None for what lies in the tray."""
    part = job.part(part_id)
    if part.away is not None:
        return (*exit_of(job, part), frozenset(FACES))
    standing = scene.standing.get(part_id)
    if standing is None:
        return None
    terminal = standing.type.terminal(terminal_id)
    x, y = standing.pose.point(terminal.x, terminal.y)
    out = leaves_at(terminal.x, terminal.y, terminal.leaves, standing.type.outline)
    out += terminal.room / 2
    c, s = unit(standing.pose.direction(terminal.leaves))
    return x + c * out, y + s * out, frozenset((standing.face,))


def _side(scene: Scene, face: Face, obstacles: Sequence[Obstacle],
          wires: Sequence[tuple[Demand, list[Spot]]]) -> _Side | None:
    """What the wires are expected to do on one face; None where none is."""
    hops = [(a[:2], b[:2], demand.outer**2 * share)
            for demand, stops in wires for a, b in pairwise(stops)
            if (share := _share(a[2], b[2], face))]
    if not hops:
        return None
    grid = _Grid(scene, obstacles)
    starts = np.array([grid.cell(*a) for a, _, _ in hops])
    ends = np.array([grid.cell(*b) for _, b, _ in hops])
    far = starts != ends
    if not far.any():
        return None
    starts, ends = starts[far], ends[far]
    areas = np.array([hop[2] for hop in hops])[far]
    steps = np.exp(-LONGER) / 4 * np.maximum(grid.width / grid.across, CLOSED)
    out, back = (grid.visits(steps, cells) for cells in (starts, ends))
    there = out[:, grid.u] * back[:, grid.v] - out[:, grid.v] * back[:, grid.u]
    chance = np.abs(there) * steps / out[np.arange(len(ends)), ends][:, None]
    return _Side(face, grid.middle, grid.step, grid.width, areas @ np.minimum(chance, 1.0))


def _share(one: frozenset[str], other: frozenset[str], face: Face) -> float:
    """How much of a wire runs on a face: half where its ends are on both."""
    if one & other:
        both = one & other
        return (face in both) / len(both)
    return 0.5


class _Grid:
    """Cells of one face and the passages between neighbours: cells, middle, length, free width."""

    def __init__(self, scene: Scene, obstacles: Sequence[Obstacle]) -> None:
        width, height = scene.job.plate.size
        side = sqrt(width * height / CELLS)
        self.columns, self.rows = max(1, round(width / side)), max(1, round(height / side))
        self.count = self.columns * self.rows
        self.size = width / self.columns, height / self.rows
        free = _free(scene, obstacles, (self.columns * FINE, self.rows * FINE))
        cells = np.arange(self.count).reshape(self.columns, self.rows)
        found = []
        for axis in (0, 1):
            ways = free if axis == 0 else free.T
            long, short = ways.shape[0] // FINE, ways.shape[1] // FINE
            across = self.size[1 - axis]
            lanes = ways.reshape(long * FINE, short, FINE).sum(axis=2) * across / FINE
            between = lanes[FINE // 2: -(FINE // 2)].reshape(long - 1, FINE, short)
            names = cells if axis == 0 else cells.T
            one, other = names[:-1].ravel(), names[1:].ravel()
            found.append((one, other, between.min(axis=1).ravel(),
                          np.full(len(one), across), np.full(len(one), self.size[axis])))
        self.u, self.v, self.width, self.across, self.step = (
            np.concatenate(part) for part in zip(*found, strict=True))
        column, row = np.divmod(np.arange(self.count), self.rows)
        middles = np.column_stack((column + 0.5, row + 0.5)) * self.size
        self.middle = (middles[self.u] + middles[self.v]) / 2

    def visits(self, steps: Floats, cells: NDArray[np.intp]) -> Floats:
        """Rows of Z = (1 - W)^-1 for some cells; W symmetric, steps: its entries, one a passage."""
        bands = np.zeros((self.rows + 1, self.count))
        bands[0] = 1.0
        bands[self.v - self.u, self.u] = -steps
        asked, place = np.unique(cells, return_inverse=True)
        ones = np.zeros((self.count, len(asked)))
        ones[asked, np.arange(len(asked))] = 1.0
        rows: Floats = solveh_banded(bands, ones, lower=True, check_finite=False).T[place]
        return rows

    def cell(self, x: float, y: float) -> int:
        """The cell at a place, or the nearest one."""
        column = min(max(int(x / self.size[0]), 0), self.columns - 1)
        row = min(max(int(y / self.size[1]), 0), self.rows - 1)
        return column * self.rows + row


def _free(scene: Scene, obstacles: Sequence[Obstacle], counts: tuple[int, int]
          ) -> NDArray[np.bool_]:
    """Which points of a fine grid lie on the plate and under nothing."""
    width, height = scene.job.plate.size
    xs = (np.arange(counts[0]) + 0.5) * width / counts[0]
    ys = (np.arange(counts[1]) + 0.5) * height / counts[1]
    free = np.ones(counts, dtype=bool)
    shapes = [o.shape for o in obstacles if not o.low]
    for shape, (x0, y0, x1, y1), full in ground_boxes(shapes):
        a, b = np.searchsorted(xs, (x0, x1))
        c, d = np.searchsorted(ys, (y0, y1))
        if full or a == b or c == d:
            free[a:b, c:d] = False
        else:
            spots = np.stack(np.meshgrid(xs[a:b], ys[c:d], indexing="ij"), axis=-1)
            free[a:b, c:d] &= (rests_on([shape], spots.reshape(-1, 2)) < 0).reshape(b - a, d - c)
    board = scene.plate.polygon(1)
    if not ground_boxes([board])[0][2]:
        spots = np.stack(np.meshgrid(xs, ys, indexing="ij"), axis=-1).reshape(-1, 2)
        free &= (rests_on([board], spots) >= 0).reshape(counts)
    return free

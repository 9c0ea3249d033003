"""The same places on a raster of 2 mm, for all turns at once: a cell is free if all of it is.

Forbidden ground is rounded outwards: every sum of two convex pieces is taken as the polygon of 16
directions round it (support functions add up), and a cell that it touches is not free.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np
from numpy.typing import NDArray

from layout_engine.arranging import classes as c
from layout_engine.arranging.vectors import Floats
from layout_engine.geometry.frames import EPS_MM
from layout_engine.geometry.free_places import border_by_height, corners_of
from layout_engine.once import cached_property
from layout_engine.spots.around import Around, Block, Counts, Rest
from layout_engine.spots.forms import NORMALS, WAYS, Bit, Stance, wanted_gap

STEP_MM = 2.0
Cells = NDArray[np.bool_]
CEILING, FLOOR = WAYS // 4, 3 * WAYS // 4  # the directions straight up and down
OPPOSITE = (np.arange(WAYS) + WAYS // 2) % WAYS


@dataclass(frozen=True)
class Grid:
    """Square cells over a rectangle of the plate: column i begins i steps right of its origin."""

    width: float
    height: float
    step: float = STEP_MM
    origin: tuple[float, float] = (0.0, 0.0)

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        rows, columns = self.height / self.step, self.width / self.step
        return ceil(rows - EPS_MM), ceil(columns - EPS_MM)

    @cached_property
    def xs(self) -> Floats:
        """Plate x of the middles of the columns."""
        xs: Floats = self.origin[0] + (np.arange(self.shape[1], dtype=np.float64) + 0.5) * self.step
        return xs

    @cached_property
    def ys(self) -> Floats:
        """Plate y of the middles of the rows."""
        ys: Floats = self.origin[1] + (np.arange(self.shape[0], dtype=np.float64) + 0.5) * self.step
        return ys


@dataclass(frozen=True, eq=False)
class Ring:
    """Forbidden polygons in the 16 directions, offsets (n, 16), and whose they are."""

    offsets: Floats
    owners: Counts


def ground_cells(grid: Grid, around: Around, stance: Stance) -> Cells:
    """Cells that plate, wall and requirements leave."""
    rows, columns = grid.shape
    start, end = np.full(rows, -np.inf), np.full(rows, np.inf)
    edges = grid.origin[1] + np.arange(rows + 1) * grid.step
    for limit in around.limits(stance):
        if limit.ground.is_empty:
            return np.zeros(grid.shape, dtype=bool)
        left, right = border_by_height(limit.ground)
        corners = corners_of(limit.shape)
        levels = edges + corners[:, 1:]
        first = np.interp(levels, left[:, 1], left[:, 0]) - corners[:, :1]
        last = np.interp(levels, right[:, 1], right[:, 0]) - corners[:, :1]
        out = (levels < left[0, 1] - EPS_MM) | (levels > left[-1, 1] + EPS_MM)
        first, last = first.max(axis=0), np.where(out, -np.inf, last).min(axis=0)
        start = np.maximum(start, np.maximum(first[:-1], first[1:]))
        end = np.minimum(end, np.minimum(last[:-1], last[1:]))
    xs = grid.origin[0] + np.arange(columns) * grid.step
    cells: Cells = (xs >= start[:, None]) & (xs + grid.step <= end[:, None])
    return cells


def rings(around: Around, stance: Stance) -> Ring:
    """Everything that forbids ground to a module in a face and turn."""
    parts = list(_of_rest(around.rest, stance.bits))
    for number, (block, bits) in enumerate(around.all_blocks(stance)):
        if block.bits:
            parts += _of_rest(_rest_of(block, len(around.others) + number), bits)
    offsets, owners = [p[0] for p in parts], [p[1] for p in parts]
    return Ring(np.concatenate((np.empty((0, WAYS)), *offsets)),
                np.concatenate((np.empty(0, dtype=np.intp), *owners)))


def _rest_of(block: Block, owner: int) -> Rest:
    index: dict[c.Kind, int] = {}
    kind = np.array([index.setdefault(bit.kind, len(index)) for bit in block.bits], dtype=int)
    reach = np.array([bit.support for bit in block.bits]).reshape(-1, WAYS)
    return Rest(tuple(index), kind, reach, np.full(len(kind), owner))


def _of_rest(rest: Rest, moving: Sequence[Bit]) -> Iterator[tuple[Floats, Counts]]:
    wants: dict[c.Kind, Floats] = {}
    for mine in moving:
        if mine.kind not in wants:
            wants[mine.kind] = np.array([wanted_gap(mine.kind, kind) for kind in rest.kinds])
        wanted = wants[mine.kind][rest.kind]
        met = wanted >= 0.0
        if met.any():
            reach = rest.reach[met] + mine.support[OPPOSITE]
            yield reach + wanted[met, None], rest.owner[met]


def covered(grid: Grid, ring: Ring, weights: Floats | None = None) -> Floats:
    """Of each cell: how many forbidden polygons touch it; with weights, the sum of theirs."""
    rows, columns = grid.shape
    piece, row, start, end = _runs(grid, ring.offsets - NORMALS @ np.array(grid.origin))
    size = rows * (columns + 1)
    each = None if weights is None else weights[piece]
    first = np.bincount(row * (columns + 1) + start, each, size)
    last = np.bincount(row * (columns + 1) + end, each, size)
    touched: Floats = np.cumsum((first - last).reshape(rows, columns + 1), axis=1)[:, :-1]
    return touched


def _runs(grid: Grid, offsets: Floats) -> tuple[Counts, Counts, Counts, Counts]:
    """Runs of touched cells: number of polygon, row, first column, column after the last."""
    rows, columns = grid.shape
    low, high = -offsets[:, FLOOR], offsets[:, CEILING]
    first = np.clip(np.floor(low / grid.step + EPS_MM), 0, rows).astype(int)
    after = np.clip(np.ceil(high / grid.step - EPS_MM), 0, rows).astype(int)
    many = np.maximum(after - first, 0)
    piece = np.repeat(np.arange(len(offsets)), many)
    row = np.arange(len(piece)) - np.repeat(np.cumsum(many) - many, many) + first[piece]
    bottom = np.maximum(row * grid.step, low[piece])
    top = np.minimum((row + 1) * grid.step, high[piece])
    left, right = _reach(offsets[piece], bottom, top)
    start = np.clip(np.floor(left / grid.step + EPS_MM), 0, columns).astype(int)
    end = np.clip(np.ceil(right / grid.step - EPS_MM), 0, columns).astype(int)
    kept = end > start
    return piece[kept], row[kept], start[kept], end[kept]


def _reach(offsets: Floats, bottom: Floats, top: Floats) -> tuple[Floats, Floats]:
    """Least and greatest x of polygons between two levels, rounded outwards."""
    left, right = np.full(len(offsets), -np.inf), np.full(len(offsets), np.inf)
    for way in range(WAYS):
        nx, ny = NORMALS[way]
        if way in (FLOOR, CEILING):
            continue
        bound = (offsets[:, way] - ny * (bottom if ny > 0 else top)) / nx
        if nx > 0:
            right = np.minimum(right, bound)
        else:
            left = np.maximum(left, bound)
    return left, right

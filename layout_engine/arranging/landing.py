"""Where a pose may stand beside what stays: found once, on cells, and read at every move.

What stays, such as screws, cut-outs and locked modules, forbids much of a small plate: of the
places on their ground, poses of 12 modules on two faces can take a third to two thirds (their free
configuration space: Lozano-Perez, IEEE Trans. Computers C-32 (1983) 108). Put where none is free, a
body is to overlap what will never give way, and is put back; so it goes to the nearest free place.

Measured on two jobs of 12 modules on two faces, 205 million units of work: of 64 searches, 0.30
came within 2 % of the best before and 0.72 so, and 0.80 and 0.97 of the second job. Cells of 2, 4
and 8 mm did alike.
"""

from __future__ import annotations

from math import ceil

import numpy as np

from layout_engine.arranging.compiled import compiled, inlined
from layout_engine.arranging.meeting import depth_between, depth_off_ground
from layout_engine.arranging.puzzle import Puzzle
from layout_engine.arranging.vectors import (
    AT,
    LAND,
    LAND_N,
    LAND_NW,
    LANDS,
    POSE,
    POSE_W,
    SPAN,
    Floats,
    Ints,
    X,
    Y,
)

FINEST_MM = 4.0  # cells
MOST_CELLS = 150_000  # of all poses; more are slow to fill, and would not stay in the cache
# Cells in a word of n: every move reads one, anywhere, and with a word for each, four times as far
# apart in memory, the search took 3 to 8 % longer.
A_WORD, BITS = 4, 16
MOST_OF_ONE = 60_000  # cells of a pose: with a row and a column more their numbers have room
NOWHERE = 2**BITS - 1  # for a cell where there is no free one at all


def land_rows(puzzle: Puzzle) -> tuple[float, Ints, int]:
    """How the ground of every pose is divided.

    Returns:
        Cells per mm; (poses, LAND_NW) first word, columns and rows of each pose, all 0 where it
        needs none; words in all. Where nothing stays no pose needs any.
    """
    rows = np.zeros((len(puzzle.poses), LAND_NW), dtype=np.int64)
    if len(puzzle.bodies) == puzzle.movable:
        return 1.0, rows, 0
    mine = sorted({pose for body in puzzle.bodies[: puzzle.movable] for pose in body.poses})
    sides = np.array([puzzle.poses[pose].span for pose in mine]).reshape(-1, 4)
    sides = sides[:, 2:] - sides[:, :2]
    areas = np.prod(sides, axis=1)
    cell = float(np.sqrt(max(np.sum(areas) / MOST_CELLS, np.max(areas, initial=0.0) / MOST_OF_ONE)))
    cell = max(FINEST_MM, cell)
    first = 0
    for pose, (width, height) in zip(mine, sides, strict=True):
        rows[pose] = first, max(ceil(width / cell), 1), max(ceil(height / cell), 1)
        first += ceil(rows[pose, 1] * rows[pose, 2] / A_WORD)
    return 1.0 / cell, rows, first


def fill_lands(puzzle: Puzzle, f: Floats, n: Ints) -> None:
    """Fill the cells of all poses, in n, whose rows and room are there."""
    stays = [(body.pose, *body.at) for body in puzzle.bodies[puzzle.movable:] if body.at]
    poses = np.array([pose for pose, _, _ in stays], dtype=np.int64)
    xs = np.array([x for _, x, _ in stays], dtype=float)
    ys = np.array([y for _, _, y in stays], dtype=float)
    for pose in range(len(puzzle.poses)):
        row = n[LAND_N] + pose * LAND_NW
        count = int(n[row + 1] * n[row + 2])
        if count > 0:
            cells = np.full(count, NOWHERE, dtype=np.int64)
            fill_land(f, n, pose, poses, xs, ys, cells, np.empty_like(cells))
            words = _words(cells)
            first = n[LANDS] + n[row]
            n[first: first + len(words)] = words


def _words(cells: Ints) -> Ints:
    """Cells side by side in words, the first in the lowest bits."""
    words = np.full((ceil(len(cells) / A_WORD), A_WORD), NOWHERE, dtype=np.int64)
    words.ravel()[: len(cells)] = cells
    return np.bitwise_or.reduce(words << BITS * np.arange(A_WORD), axis=1)


@compiled
def fill_land(f: Floats, n: Ints, pose: int, poses: Ints,
              xs: Floats, ys: Floats, cells: Ints, queue: Ints) -> None:
    """Fill the cells of one pose: with its own number where any of it is free, else with that of
    the nearest whose middle is.

    Args:
        f: the puzzle's floats.
        n: its integers.
        pose: the pose.
        poses: poses of what stays.
        xs: x of their centres, mm.
        ys: y of them.
        cells: the cells, NOWHERE in each; changed in place.
        queue: room for as many.
    """
    row, span = n[LAND_N] + pose * LAND_NW, n[POSE] + pose * POSE_W + SPAN
    columns, rows = n[row + 1], n[row + 2]
    x0, y0, x1, y1, cell = f[span], f[span + 1], f[span + 2], f[span + 3], 1.0 / f[n[LAND]]
    last = 0
    for number in range(columns * rows):
        x, y = x0 + (number % columns + 0.5) * cell, y0 + (number // columns + 0.5) * cell
        if _is_free(f, n, pose, min(x, x1), min(y, y1), poses, xs, ys):
            cells[number] = number
            queue[last] = number
            last += 1
    _spread(cells, columns, rows, queue, last)
    for number in range(columns * rows):
        if cells[number] != number:
            for corner in range(4):
                x = x0 + (number % columns + corner % 2) * cell
                y = y0 + (number // columns + corner // 2) * cell
                if _is_free(f, n, pose, min(x, x1), min(y, y1), poses, xs, ys):
                    cells[number] = number
                    break


@inlined
def _spread(cells: Ints, columns: int, rows: int, queue: Ints, last: int) -> None:
    """Give the cells that have none the number of the nearest that is in the queue."""
    at = 0
    while at < last:
        column, row = queue[at] % columns, queue[at] // columns
        for way in range(4):
            to_column = column + (way == 0) - (way == 1)
            to_row = row + (way == 2) - (way == 3)
            number = to_row * columns + to_column
            if (0 <= to_column < columns and 0 <= to_row < rows
                    and cells[number] == NOWHERE):
                cells[number] = cells[queue[at]]
                queue[last] = number
                last += 1
        at += 1


@inlined
def _is_free(f: Floats, n: Ints, pose: int, x: float, y: float,
             poses: Ints, xs: Floats, ys: Floats) -> bool:
    """Whether a pose may stand there, on its ground and beside all that stays."""
    if depth_off_ground(f, n, pose, x, y) > 0.0:
        return False
    for other in range(len(poses)):
        if depth_between(f, n, pose, poses[other], xs[other] - x, ys[other] - y, 0.0) > 0.0:
            return False
    return True


@inlined
def land(f: Floats, n: Ints, s: Floats, k: Ints, body: int) -> None:
    """Put a body that stands in what stays to the nearest place where it does not."""
    pose = k[k[AT] + body]
    row, span = n[LAND_N] + pose * LAND_NW, n[POSE] + pose * POSE_W + SPAN
    columns = n[row + 1]
    if columns == 0:
        return
    x0, y0, finer = f[span], f[span + 1], f[n[LAND]]
    column = min(int((s[k[X] + body] - x0) * finer), columns - 1)
    number = min(int((s[k[Y] + body] - y0) * finer), n[row + 2] - 1) * columns + column
    word = n[n[LANDS] + n[row] + number // A_WORD]
    to = (word >> (number % A_WORD * BITS)) & NOWHERE
    if to not in (number, NOWHERE):
        s[k[X] + body] = min(x0 + (to % columns + 0.5) / finer, f[span + 2])
        s[k[Y] + body] = min(y0 + (to // columns + 0.5) / finer, f[span + 3])

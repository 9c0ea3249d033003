"""Which pieces of two shapes can get in each other's way: found once, read at every move.

Two pieces keep apart when the difference of their centres stays out of a box, rounded by the
distance they need. Where one such box lies within another of the same two shapes, it can never be
the first to be broken and is left out.
"""

from __future__ import annotations

import numpy as np

from layout_engine.arranging.compiled import compiled
from layout_engine.arranging.vectors import ROW_NW, ROW_W, Floats, Ints

MOST_SHAPES = 700  # with more the table would take more memory than it saves time


def pair_rows(boxes: Floats, kinds: Ints, pieces: Ints, need: Floats
              ) -> tuple[Ints, Floats, Ints]:
    """Rows of pieces to look at for every two shapes.

    Args:
        boxes: (pieces, 4) bounds of each piece about its pose's centre.
        kinds: (pieces, 2) class, and 1 for an upright box.
        pieces: (shapes, 2) first piece of each shape, and the one after its last.
        need: (classes, classes) distances wanted.

    Returns:
        Where the rows of shapes a <= b begin, at entry a x shapes + b, with one entry more; the
        rows' floats and integers as `vectors` describes them. The first row of two shapes holds
        the bounds of all of theirs.
    """
    count = len(pieces)
    if count > MOST_SHAPES:
        return np.zeros(1, dtype=np.int64), np.zeros((0, ROW_W)), np.zeros((0, ROW_NW), np.int64)
    starts = np.zeros(count * count + 1, dtype=np.int64)
    space, most = 4 * count * count + 1024, int(np.max(pieces[:, 1] - pieces[:, 0], initial=0))
    found = np.empty((most * most + 1, ROW_W)), np.empty((most * most + 1, ROW_NW), dtype=np.int64)
    while True:
        rows, marks = np.empty((space, ROW_W)), np.empty((space, ROW_NW), dtype=np.int64)
        used = fill_pairs(boxes, kinds, pieces, need, starts, rows, marks, *found)
        if used <= space:
            return starts, rows[:used], marks[:used]
        space = used


@compiled
def fill_pairs(boxes: Floats, kinds: Ints, pieces: Ints, need: Floats,  # noqa: PLR0913
               starts: Ints, rows: Floats, marks: Ints, own: Floats, own_marks: Ints) -> int:
    """Fill the table; the number of rows wanted, those without space being left out.

    `own`, `own_marks`: room for the rows of two shapes.
    """
    count, used = len(pieces), 0
    for one in range(count):
        for other in range(count):
            starts[one * count + other] = min(used, len(rows))
            if other < one:
                continue
            found = _rows_of(boxes, kinds, pieces, need, one, other, own, own_marks)
            if found > 1 and used + found <= len(rows):
                _copy_rows(own, own_marks, found, rows, marks, used)
            if found > 1:
                used += found
    starts[count * count] = min(used, len(rows))
    return used


@compiled
def _copy_rows(own: Floats, own_marks: Ints, count: int, rows: Floats, marks: Ints, first: int
               ) -> None:
    for row in range(count):
        for entry in range(ROW_W):
            rows[first + row, entry] = own[row, entry]
        for entry in range(ROW_NW):
            marks[first + row, entry] = own_marks[row, entry]


@compiled
def _rows_of(boxes: Floats, kinds: Ints, pieces: Ints, need: Floats, one: int, other: int,
             own: Floats, marks: Ints) -> int:
    found = 1
    own[0, 0], own[0, 1], own[0, 2], own[0, 3], own[0, 4] = 1e9, 1e9, -1e9, -1e9, 0.0
    marks[0, 0], marks[0, 1], marks[0, 2] = -1, -1, 0
    for a in range(pieces[one, 0], pieces[one, 1]):
        for b in range(pieces[other, 0], pieces[other, 1]):
            apart = need[kinds[a, 0], kinds[b, 0]]
            if apart < 0.0:
                continue
            own[found, 0], own[found, 1] = boxes[a, 0] - boxes[b, 2], boxes[a, 1] - boxes[b, 3]
            own[found, 2], own[found, 3] = boxes[a, 2] - boxes[b, 0], boxes[a, 3] - boxes[b, 1]
            own[found, 4] = apart
            marks[found, 0], marks[found, 1], marks[found, 2] = a, b, kinds[a, 1] * kinds[b, 1]
            if not _is_idle(own, marks, found):
                for axis in range(2):
                    own[0, axis] = min(own[0, axis], own[found, axis] - apart)
                    own[0, axis + 2] = max(own[0, axis + 2], own[found, axis + 2] + apart)
                found += 1
    return found


@compiled
def _is_idle(own: Floats, marks: Ints, row: int) -> bool:
    """Whether an earlier row of two upright boxes covers all that a row forbids."""
    for other in range(1, row):
        if marks[other, 2] == 0:
            continue
        beyond = own[row, 4] - own[other, 4]
        left = max(own[other, 0] - own[row, 0], own[row, 2] - own[other, 2])
        low = max(own[other, 1] - own[row, 1], own[row, 3] - own[other, 3])
        if beyond >= 0.0:
            if max(left, low) <= -beyond:
                return True
        elif max(left, 0.0) ** 2 + max(low, 0.0) ** 2 <= beyond**2:
            return True
    return False

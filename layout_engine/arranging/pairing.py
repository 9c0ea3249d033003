"""Which pieces of two shapes can get in each other's way: found once, read at every move.

Two pieces keep apart when the difference of their centres stays out of a box, rounded by the
distance they need. Where one such box lies within another of the same two shapes, it can never be
the first to be broken and is left out.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from layout_engine.arranging.compiled import compiled
from layout_engine.arranging.vectors import ROW_NW, ROW_W, Floats, Ints

MOST_SHAPES = 700  # with more the table would take more memory than it saves time


@dataclass(frozen=True, eq=False)
class Pairs:
    """The table of pieces to look at for every two shapes.

    Attributes:
        boxes: (pieces, 4) bounds of each piece about its pose's centre.
        kinds: (pieces, 2) class, and 1 for an upright box.
        pieces: (shapes, 2) first piece of each shape, and the one after its last.
        need: (classes, classes) distances wanted.
        starts: where the rows of shapes a <= b begin, at entry a x shapes + b; the last entry, one
            more, is how many rows there are. Of too many shapes there is no table: one entry, 0.
    """

    boxes: Floats
    kinds: Ints
    pieces: Ints
    need: Floats
    starts: Ints = field(init=False)

    def __post_init__(self) -> None:
        count = len(self.pieces)
        starts = np.zeros(count * count + 1 if count <= MOST_SHAPES else 1, dtype=np.int64)
        object.__setattr__(self, "starts", starts)
        if len(starts) > 1:
            find_starts(self.boxes, self.kinds, self.pieces, self.need, starts, *self._room())

    def __len__(self) -> int:
        return int(self.starts[-1])

    def fill(self, rows: Floats, marks: Ints) -> None:
        """Fill the rows, as `vectors` describes them; the first of two shapes bounds all of theirs.

        Args:
            rows: (rows, ROW_W) their floats.
            marks: (rows, ROW_NW) their integers.
        """
        if len(self):
            fill_rows(self.boxes, self.kinds, self.pieces, self.need, self.starts, rows, marks,
                      *self._room())

    def _room(self) -> tuple[Floats, Ints]:
        """Room for the rows of any two shapes."""
        most = int(np.max(self.pieces[:, 1] - self.pieces[:, 0], initial=0))
        return (np.empty((most * most + 1, ROW_W)),
                np.empty((most * most + 1, ROW_NW), dtype=np.int64))


@compiled
def find_starts(boxes: Floats, kinds: Ints, pieces: Ints, need: Floats,
                starts: Ints, own: Floats, own_marks: Ints) -> None:
    """Find `Pairs.starts`; `own`, `own_marks`: room for the rows of two shapes."""
    count, used = len(pieces), 0
    for one in range(count):
        for other in range(count):
            starts[one * count + other] = used
            if other >= one:
                found = _rows_of(boxes, kinds, pieces, need, one, other, own, own_marks)
                used += found if found > 1 else 0
    starts[count * count] = used


@compiled
def fill_rows(boxes: Floats, kinds: Ints, pieces: Ints, need: Floats,  # noqa: PLR0913
              starts: Ints, rows: Floats, marks: Ints, own: Floats, own_marks: Ints) -> None:
    """See `Pairs.fill`; `own`, `own_marks`: room for the rows of two shapes."""
    count = len(pieces)
    for one in range(count):
        for other in range(one, count):
            first = starts[one * count + other]
            if starts[one * count + other + 1] == first:
                continue
            found = _rows_of(boxes, kinds, pieces, need, one, other, own, own_marks)
            for row in range(found):
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

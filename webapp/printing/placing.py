"""Finding clear ground for lettering: never over a line, never over other lettering.

`Ground` knows the strokes and boxes that are taken, on a grid of cells so that a question only
looks nearby. All in mm of the view that is printed.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import islice
from math import floor

import numpy as np
from numpy.typing import NDArray

from layout_engine.geometry.outlines import bounds

CELL_MM = 8.0
ROOM_STEP_MM = 5.0
CLEAR_MM = 0.6  # between lettering and the middle of strokes: half a plate edge and a hair of white
COST_OUTSIDE, COST_BOX, COST_STROKE = 1000.0, 100.0, 10.0

Segment = tuple[float, float, float, float]
Cell = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle along the axes, mm."""

    left: float
    bottom: float
    right: float
    top: float

    def grown(self, by: float) -> Box:
        """The box with `by` mm more on every side."""
        return Box(self.left - by, self.bottom - by, self.right + by, self.top + by)

    def meets(self, other: Box) -> bool:
        """Whether two boxes share ground."""
        return (self.left < other.right and other.left < self.right
                and self.bottom < other.top and other.bottom < self.top)

    def holds(self, other: Box) -> bool:
        """Whether the other box lies inside this one."""
        return (self.left <= other.left and other.right <= self.right
                and self.bottom <= other.bottom and other.top <= self.top)

    @property
    def centre(self) -> tuple[float, float]:
        """The middle."""
        return (self.left + self.right) / 2, (self.bottom + self.top) / 2


@dataclass
class Ground:
    """What is drawn on a sheet so far; `bounds` is where lettering may stand at all."""

    bounds: Box
    _numbers: dict[Segment, int] = field(default_factory=dict)
    _strokes: NDArray[np.float64] = field(default_factory=lambda: np.empty((0, 4)))
    _segments: dict[Cell, list[int]] = field(default_factory=lambda: defaultdict(list))
    _boxes: dict[Cell, list[Box]] = field(default_factory=lambda: defaultdict(list))

    def add_stroke(self, x1: float, y1: float, x2: float, y2: float) -> None:
        """A straight stroke that lettering must keep off."""
        stroke = (x1, y1, x2, y2)
        box = _box_of(stroke)
        if self._is_far(box) or stroke in self._numbers:
            return
        number = self._numbers[stroke] = len(self._numbers)
        for cell in _cells(box.grown(CLEAR_MM)):
            if _crosses(stroke, _cell_box(cell).grown(CLEAR_MM)):
                self._segments[cell].append(number)

    def _is_far(self, box: Box) -> bool:
        """Whether a box lies so far outside that nothing in it matters to lettering."""
        wide = self.bounds
        return (box.right < wide.left - CELL_MM or box.left > wide.right + CELL_MM
                or box.top < wide.bottom - CELL_MM or box.bottom > wide.top + CELL_MM)

    def add_ring(self, points: Iterable[tuple[float, float]]) -> None:
        """A closed outline."""
        ring = list(points)
        if self._is_far(Box(*bounds(ring))):
            return
        for (x1, y1), (x2, y2) in zip(ring, ring[1:] + ring[:1], strict=True):
            self.add_stroke(x1, y1, x2, y2)

    def add_box(self, box: Box) -> None:
        """Ground that is taken altogether."""
        for cell in _cells(box):
            self._boxes[cell].append(box)

    def cost(self, box: Box) -> float:
        """0 for clear ground; else what is met, weighed."""
        cost = 0.0 if self.bounds.holds(box) else COST_OUTSIDE
        wide = box.grown(CLEAR_MM)
        boxes = {other for cell in _cells(wide) for other in self._boxes.get(cell, ())}
        cost += COST_BOX * sum(other.meets(wide) for other in boxes)
        return cost + COST_STROKE * int(_crossing(self._near(wide), wide).sum())

    def is_clear(self, box: Box) -> bool:
        """Whether `cost` would be 0; quicker to tell than how much is met."""
        if not self.bounds.holds(box):
            return False
        wide = box.grown(CLEAR_MM)
        cells = list(_cells(wide))
        if any(other.meets(wide) for cell in cells for other in self._boxes.get(cell, ())):
            return False
        struck = [cell for cell in cells if cell in self._segments]
        # a stroke of a cell meets the cell grown by the clearance: within the box it meets the box
        left, bottom = (wide.left + CLEAR_MM) / CELL_MM, (wide.bottom + CLEAR_MM) / CELL_MM
        right, top = (wide.right - CLEAR_MM) / CELL_MM - 1, (wide.top - CLEAR_MM) / CELL_MM - 1
        if any(left <= column <= right and bottom <= row <= top for column, row in struck):
            return False
        return not _crossing(self._strokes_in(struck), wide).any()

    def _near(self, box: Box) -> NDArray[np.float64]:
        """The strokes in the cells of a box, each once: shape (n, 4)."""
        return self._strokes_in([cell for cell in _cells(box) if cell in self._segments])

    def _strokes_in(self, cells: Sequence[Cell]) -> NDArray[np.float64]:
        """The strokes in cells that have some, each once: shape (n, 4)."""
        if len(self._strokes) < len(self._numbers):
            new = islice(self._numbers, len(self._strokes), None)
            self._strokes = np.concatenate((self._strokes, np.array(list(new))))
        if len(cells) == 1:
            return self._strokes[self._segments[cells[0]]]
        near: set[int] = set().union(*(self._segments[cell] for cell in cells))
        return self._strokes[np.fromiter(near, np.int64, len(near))]

    def room_for(self, width: float, height: float) -> Box:
        """A clear place for a block of this size, lower right first; else the least bad one."""
        return self.clear_room_for(width, height) or min(
            self._places(width, height, 4 * ROOM_STEP_MM), key=self.cost)

    def clear_room_for(self, width: float, height: float) -> Box | None:
        """The first clear place for a block of this size, lower right first."""
        return next((box for box in self._places(width, height, ROOM_STEP_MM)
                     if self.is_clear(box)), None)

    def _places(self, width: float, height: float, step: float) -> Iterator[Box]:
        columns = max(1, int((self.bounds.right - self.bounds.left - width) / step) + 1)
        rows = max(1, int((self.bounds.top - self.bounds.bottom - height) / step) + 1)
        for row in range(rows):
            for column in range(columns):
                right = self.bounds.right - column * step
                bottom = self.bounds.bottom + row * step
                yield Box(right - width, bottom, right, bottom + height)

    def crossings(self, stroke: Segment) -> float:
        """What a leader would cross: boxes weigh as for lettering, strokes a tenth."""
        box = _box_of(stroke)
        boxes = {other for cell in _cells(box) for other in self._boxes.get(cell, ())}
        others: list[Segment] = self._near(box).tolist()
        return (COST_BOX * sum(_crosses(stroke, other) for other in boxes)
                + COST_STROKE / 10 * sum(_strokes_meet(stroke, other) for other in others))


def _box_of(stroke: Segment) -> Box:
    x1, y1, x2, y2 = stroke
    return Box(min(x1, x2), min(y1, y2), max(x1, x2), max(y1, y2))


def _cells(box: Box) -> Iterator[Cell]:
    for column in range(floor(box.left / CELL_MM), floor(box.right / CELL_MM) + 1):
        for row in range(floor(box.bottom / CELL_MM), floor(box.top / CELL_MM) + 1):
            yield column, row


def _cell_box(cell: Cell) -> Box:
    left, bottom = cell[0] * CELL_MM, cell[1] * CELL_MM
    return Box(left, bottom, left + CELL_MM, bottom + CELL_MM)


def _crosses(stroke: Segment, box: Box) -> bool:
    """Whether a stroke has a point inside a box (clipping by parameter, Liang and Barsky)."""
    x1, y1, x2, y2 = stroke
    enter, leave = 0.0, 1.0
    for step, room in ((x1 - x2, x1 - box.left), (x2 - x1, box.right - x1),
                       (y1 - y2, y1 - box.bottom), (y2 - y1, box.top - y1)):
        if step == 0:
            if room < 0:
                return False
        elif step < 0:
            enter = max(enter, room / step)
        else:
            leave = min(leave, room / step)
    return enter <= leave


def _crossing(strokes: NDArray[np.float64], box: Box) -> NDArray[np.bool_]:
    """Which of many strokes, shape (n, 4), have a point inside a box: `_crosses` for all."""
    if not len(strokes):
        return np.zeros(0, dtype=np.bool_)
    x1, y1, x2, y2 = strokes.T
    steps = np.stack((x1 - x2, x2 - x1, y1 - y2, y2 - y1))
    rooms = np.stack((x1 - box.left, box.right - x1, y1 - box.bottom, box.top - y1))
    with np.errstate(divide="ignore", invalid="ignore"):
        shares = rooms / steps
    enter = np.where(steps < 0, shares, 0.0).max(axis=0)
    leave = np.where(steps > 0, shares, 1.0).min(axis=0)
    beside = ((steps == 0) & (rooms < 0)).any(axis=0)
    return np.asarray((enter <= leave) & ~beside)


def _strokes_meet(one: Segment, other: Segment) -> bool:
    return (_side(one, other[0], other[1]) * _side(one, other[2], other[3]) < 0
            and _side(other, one[0], one[1]) * _side(other, one[2], one[3]) < 0)


def _side(stroke: Segment, x: float, y: float) -> float:
    x1, y1, x2, y2 = stroke
    return (x2 - x1) * (y - y1) - (y2 - y1) * (x - x1)

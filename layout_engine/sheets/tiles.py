"""A drawing at true size over several sheets of paper that overlap.

Positions are in the view that is printed: x to the right, y up, mm from the drawing's lower left
corner. Rows are counted from the top, columns from the left, as the sheets lie on the table.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from layout_engine.tables.paper import MARGIN, OVERLAP, Paper, tiling

Point = tuple[float, float]
Spot = tuple[float, float, float]
MARK_RADIUS_MM = 3.0
MARK_CLEAR_MM = 1.0


@dataclass(frozen=True, slots=True)
class Tile:
    """One sheet and the window of the view that it shows."""

    row: int
    column: int
    left: float
    bottom: float
    width: float
    height: float

    @property
    def name(self) -> str:
        """How the sheet is called on every sheet."""
        return f"{self.row}.{self.column}"

    def shows(self, x: float, y: float, radius: float = 0.0) -> bool:
        """Whether a circle of the view lies wholly in the window."""
        return (self.left + radius - 1e-9 <= x <= self.left + self.width - radius + 1e-9
                and self.bottom + radius - 1e-9 <= y <= self.bottom + self.height - radius + 1e-9)


@dataclass(frozen=True, slots=True)
class TilePlan:
    """How a drawing lies on its sheets. paper: width and height of a sheet as it is printed, mm."""

    paper: tuple[float, float]
    landscape: bool
    rows: int
    columns: int
    overlap: float
    tiles: tuple[Tile, ...]

    @property
    def sheets(self) -> int:
        """Number of sheets."""
        return self.rows * self.columns


def tile_plan(width: float, height: float, paper: Paper, *, margin: float = MARGIN.value,
              overlap: float = OVERLAP.value) -> TilePlan:
    """The fewest sheets for a drawing [mm x mm], paper upright or lying, in the middle of them."""
    best = tiling(width, height, paper, margin=margin, overlap=overlap)
    sheet = (paper.width.value, paper.height.value)
    across, up = sheet[::-1] if best.landscape else sheet
    usable = (across - 2 * margin, up - 2 * margin)
    lefts = _starts(width, usable[0], best.columns, overlap)
    bottoms = _starts(height, usable[1], best.rows, overlap)
    tiles = tuple(
        Tile(row, column, left, bottom, *usable)
        for row, bottom in enumerate(reversed(bottoms), 1)
        for column, left in enumerate(lefts, 1)
    )
    return TilePlan((across, up), best.landscape, best.rows, best.columns, overlap, tiles)


def _starts(length: float, usable: float, count: int, overlap: float) -> list[float]:
    covered = count * (usable - overlap) + overlap
    return [(length - covered) / 2 + n * (usable - overlap) for n in range(count)]


def registration_marks(plan: TilePlan, keep_off: Sequence[Spot]) -> tuple[Point, ...]:
    """Centres of the marks by which neighbours are laid on each other: two in each overlap.

    keep_off: circles (x, y, radius) [mm] that no mark may touch; a mark gives way along its strip.
    """
    taken = list(keep_off)
    marks: list[Point] = []
    for strip in _strips(plan):
        for share in (0.25, 0.75):
            mark = _free_mark(strip, share, taken)
            if mark is not None:
                marks.append(mark)
                taken.append((*mark, MARK_RADIUS_MM))
    return tuple(marks)


def _strips(plan: TilePlan) -> list[tuple[float, float, float, float]]:
    """Overlaps of direct neighbours as left, bottom, width, height."""
    at = {(tile.row, tile.column): tile for tile in plan.tiles}
    strips = []
    for tile in plan.tiles:
        right, below = at.get((tile.row, tile.column + 1)), at.get((tile.row + 1, tile.column))
        if right:
            strips.append((right.left, tile.bottom, plan.overlap, tile.height))
        if below:
            strips.append((tile.left, tile.bottom, tile.width, plan.overlap))
    return strips


def _free_mark(strip: tuple[float, float, float, float], share: float, taken: list[Spot]
               ) -> Point | None:
    left, bottom, width, height = strip
    upright = height > width
    long = max(width, height)
    for step in range(int(long)):
        shift = (step + 1) // 2 * (1 if step % 2 else -1)
        along = long * share + shift
        if not MARK_RADIUS_MM + MARK_CLEAR_MM <= along <= long - MARK_RADIUS_MM - MARK_CLEAR_MM:
            continue
        x, y = ((left + width / 2, bottom + along) if upright
                else (left + along, bottom + height / 2))
        if all((x - ox) ** 2 + (y - oy) ** 2
               >= (r + MARK_RADIUS_MM + MARK_CLEAR_MM) ** 2 for ox, oy, r in taken):
            return x, y
    return None

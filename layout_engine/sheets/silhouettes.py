"""Paper outlines of the modules, packed on sheets to be cut out and pushed about."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from layout_engine.geometry.outlines import bounds
from layout_engine.model.job import Job
from layout_engine.model.part import Part
from layout_engine.sheets.tiles import TilePlan, tile_plan
from layout_engine.tables.paper import MARGIN, Paper

GAP_MM = 6.0  # between two outlines: room for scissors and for a line of lettering
OFF_BAR_MM = 3.0  # kept free beside the bar on the left: no cut line runs along it
CAPTION_MM = 10.0  # kept free at the top of a sheet for bars and title


@dataclass(frozen=True, slots=True)
class Laid:
    """One silhouette: the part and where its outline's box has its lower left corner, mm.

    turned: laid at 90 degrees so that it fits the sheet.
    """

    part: str
    x: float
    y: float
    turned: bool


@dataclass(frozen=True, slots=True)
class SilhouetteSheets:
    """Sheets of silhouettes, and the parts too large for one sheet with their tiles."""

    paper: tuple[float, float]
    sheets: tuple[tuple[Laid, ...], ...]
    large: tuple[tuple[str, TilePlan], ...]

    @property
    def count(self) -> int:
        """Number of sheets of paper."""
        return len(self.sheets) + sum(plan.sheets for _, plan in self.large)


def silhouette_sheets(job: Job, paper: Paper, margin: float = MARGIN.value) -> SilhouetteSheets:
    """Every part that stands on the plate or lies in the tray, on as few rows as is simple.

    Rows from the top, tallest first; a part that fits in neither direction is tiled.
    """
    parts = [part for part in job.parts if part.away is None]
    wide, high = (side.value - 2 * margin for side in (paper.width, paper.height))
    room = (wide - OFF_BAR_MM, high - CAPTION_MM)
    sizes = {part.id: _size(job, part) for part in parts}
    small = [p.id for p in parts if _fits(sizes[p.id], room)]
    large = [(p.id, tile_plan(*sizes[p.id], paper)) for p in parts if not _fits(sizes[p.id], room)]
    sheets = _packed(small, sizes, room)
    return SilhouetteSheets((paper.width.value, paper.height.value), sheets, tuple(large))


def _size(job: Job, part: Part) -> tuple[float, float]:
    left, bottom, right, top = bounds(job.type_of(part).outline)
    return right - left, top - bottom


def _fits(size: tuple[float, float], room: tuple[float, float]) -> bool:
    upright = size[0] <= room[0] and size[1] <= room[1]
    return upright or (size[1] <= room[0] and size[0] <= room[1])


@dataclass
class _Row:
    """A row under way: its sheet, top, height, and how far it is filled, mm."""

    sheet: int
    top: float
    height: float
    filled: float = 0.0


def _packed(parts: Sequence[str], sizes: dict[str, tuple[float, float]],
            room: tuple[float, float]) -> tuple[tuple[Laid, ...], ...]:
    """Tallest first, each into the first row that has room for it, else into a new row."""
    laid = {part: _lying(sizes[part], room) for part in parts}
    rows: list[_Row] = []
    sheets: list[list[Laid]] = []
    for part in sorted(parts, key=lambda part: (-laid[part][1], -laid[part][0], part)):
        width, height, turned = laid[part]
        row = next((r for r in rows if r.filled + width <= room[0] and height <= r.height), None)
        if row is None:
            row = _new_row(rows, height, room)
            rows.append(row)
        if row.sheet == len(sheets):
            sheets.append([])
        sheets[row.sheet].append(Laid(part, row.filled, row.top - height, turned))
        row.filled += width + GAP_MM
    return tuple(tuple(sheet) for sheet in sheets)


def _new_row(rows: Sequence[_Row], height: float, room: tuple[float, float]) -> _Row:
    """Under the last row of the first sheet that has room, else at the top of a new sheet."""
    lowest: dict[int, float] = {}
    for row in rows:
        lowest[row.sheet] = row.top - row.height - GAP_MM
    for sheet, top in lowest.items():
        if top - height >= 0:
            return _Row(sheet, top, height)
    return _Row(len(lowest), room[1], height)


def _lying(size: tuple[float, float], room: tuple[float, float]) -> tuple[float, float, bool]:
    """Width, height, turned: lying down where that fits, so that rows stay low."""
    width, height = size
    if height > width and height <= room[0]:
        return height, width, True
    if width > room[0] or height > room[1]:
        return height, width, True
    return width, height, False

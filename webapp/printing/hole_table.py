"""The table of holes: coordinates from the datum corner, drill, slack; short on the template,
with screw, module and remarks on a sheet of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from layout_engine.model.plate import Face
from layout_engine.sheets.holes import Hole
from webapp.drawings.primitives import Line
from webapp.printing.board_view import DIAMETER_SIGN, figure
from webapp.printing.canvas import Sheets
from webapp.printing.fonts import Weight, shortened
from webapp.printing.furniture import PLAIN

ROW_MM = 2.75
FULL_ROW_MM = 3.9
HEAD_MM = 4.2
BLOCK_MM = 48.0
BLOCK_GAP_MM = 3.0
MOST_ON_TEMPLATE = 36


@dataclass(frozen=True, slots=True)
class Column:
    """A column: heading, width [mm], side; `share` of what the fixed columns leave of a width."""

    head: str
    width: float
    side: Literal["start", "end"]
    share: float = 0.0


SHORT = (Column("no.", 6, "end"), Column("x", 10, "end"), Column("y", 10, "end"),
         Column(DIAMETER_SIGN, 8, "end"), Column("slack", 8.5, "end"), Column("", 5, "start"))
FULL = (Column("no.", 8, "end"), Column("x", 14, "end"), Column("y", 14, "end"),
        Column(f"drill {DIAMETER_SIGN}", 13, "end"), Column("screw", 14, "end"),
        Column("slack", 11, "end"), Column("face", 11, "start"), Column("for", 0, "start", 3),
        Column("remarks", 0, "start", 2))


def slack_words(hole: Hole) -> str:
    """Slack of a screw in its hole; empty where no screw goes through."""
    return "" if hole.slack is None else figure(hole.slack, 2)


def short_row(hole: Hole, face: Face) -> tuple[str, ...]:
    """Number, x, y, diameter, slack, and b or f where the part stands on the other face."""
    other = hole.face[0] if hole.kind != "mount" and hole.face != face else ""
    mark = "r" if hole.reused else other
    return (hole.id, f"{hole.x:.1f}", f"{hole.y:.1f}", figure(hole.diameter, 2),
            slack_words(hole), mark)


def full_row(hole: Hole) -> tuple[str, ...]:
    """Number, x, y, drill, screw, slack, face of the part, what it is for, remarks."""
    return (hole.id, f"{hole.x:.1f}", f"{hole.y:.1f}", figure(hole.diameter, 2), hole.thread,
            slack_words(hole), hole.faces, hole.for_, hole.remarks)


def short_height(count: int, blocks: int) -> float:
    """Height [mm] of the short table."""
    return HEAD_MM + -(-count // blocks) * ROW_MM if count else 0.0


def short_table(sheets: Sheets, left: float, top: float, holes: Sequence[Hole], face: Face,
                blocks: int) -> None:
    """The short table in `blocks` side by side."""
    rows = -(-len(holes) // blocks) if holes else 0
    for block in range(blocks):
        part = holes[block * rows:(block + 1) * rows]
        if part:
            x = left + block * (BLOCK_MM + BLOCK_GAP_MM)
            table(sheets, x, top, SHORT, [short_row(hole, face) for hole in part], ROW_MM)


def spread(columns: Sequence[Column], width: float) -> tuple[Column, ...]:
    """Columns with their shares of `width` [mm]."""
    left = width - sum(column.width for column in columns)
    whole = sum(column.share for column in columns) or 1.0
    return tuple(Column(c.head, c.width + left * c.share / whole, c.side) for c in columns)


def table(sheets: Sheets, left: float, top: float, columns: Sequence[Column],
          rows: Sequence[Sequence[str]], row_mm: float, size: float = PLAIN) -> None:
    """A table with a wide line below its head and fine lines between rows."""
    width = sum(column.width for column in columns)
    _row(sheets, left, top - HEAD_MM + 1.2, columns, [c.head for c in columns], size, bold=True)
    sheets.draw((Line(left, top - HEAD_MM, left + width, top - HEAD_MM, "outline"),))
    for number, row in enumerate(rows, 1):
        low = top - HEAD_MM - number * row_mm
        _row(sheets, left, low + row_mm * 0.26, columns, row, size)
        sheets.draw((Line(left, low, left + width, low, "fine"),))


def _row(sheets: Sheets, left: float, base: float, columns: Sequence[Column],
         cells: Sequence[str], size: float, *, bold: bool = False) -> None:
    weight: Weight = "semibold" if bold else "regular"
    x = left
    for column, cell in zip(columns, cells, strict=True):
        text = shortened(cell, size, column.width - 0.8, weight)
        place = x + column.width - 0.6 if column.side == "end" else x + 1.2
        sheets.lettering(place, base, text, size, weight, column.side)
        x += column.width

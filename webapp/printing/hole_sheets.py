"""Sheets of coordinates: every hole with drill, screw, slack, module; drills in the order of use;
check bars and square, page map when the drawing is tiled, notes and cautions.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from layout_engine.sheets.holes import drills_used
from layout_engine.sheets.tiles import TilePlan
from layout_engine.tables.paper import MARGIN, Paper
from webapp.printing.affine import shifted
from webapp.printing.board_view import BoardView, figure
from webapp.printing.canvas import Sheets
from webapp.printing.cautions import FACE_WORDS
from webapp.printing.fonts import shortened
from webapp.printing.furniture import (
    CHECK_WORDS,
    TITLE,
    TITLE_BLOCK_MM,
    check_square,
    paragraph,
    paragraph_height,
    title_block,
    warning_band,
    warning_height,
)
from webapp.printing.hole_table import FULL, FULL_ROW_MM, HEAD_MM, Column, full_row, spread, table
from webapp.printing.margins import MarginWords, draw_margins
from webapp.printing.page_map import page_map
from webapp.printing.standing import Standing

MARGIN_MM = MARGIN.value
SQUARE_MM = 50.0
GAP_MM = 3.0
HEADER_MM = 8.0
MAP_MM = (58.0, 48.0)
Cells = Callable[[str, str], tuple[tuple[tuple[str, str, float], ...], ...]]  # sheet, title
DRILLS = (Column("drill", 14, "end"), Column("holes", 14, "end"), Column("screw", 14, "start"),
          Column("slack", 14, "end"), Column("numbers", 0, "start", 1))


@dataclass(frozen=True)
class HoleSheets:
    """The sheets that go with a template; `tiles` where the drawing itself takes several sheets."""

    view: BoardView
    paper: Paper
    standing: Standing
    notes: tuple[str, ...]
    tiles: TilePlan | None

    @property
    def size(self) -> tuple[float, float]:
        """Paper upright, mm."""
        return self.paper.width.value, self.paper.height.value

    @property
    def width(self) -> float:
        """Width within the margins, mm."""
        return self.size[0] - 2 * MARGIN_MM

    def count(self) -> int:
        """Number of these sheets."""
        return len(self._pages())

    def draw(self, sheets: Sheets, cells: Cells, first: int, total: int) -> None:
        """All of them, numbered from `first` of `total`."""
        title = f"Holes and drills, {self.view.face}"
        footing = f"rev. {self.standing.revision}, {self.standing.as_of}, {self.view.job.name}"
        for number, rows in enumerate(self._pages()):
            words = f"{first + number} of {total}"
            with sheets.page(*self.size):
                draw_margins(sheets, self.size, MarginWords(f"{title}, sheet {words}", footing))
                top = self._head(sheets)
                if number == 0:
                    top = self._first(sheets, top)
                if rows:
                    table(sheets, MARGIN_MM, top, spread(FULL, self.width), rows, FULL_ROW_MM)
                title_block(sheets, MARGIN_MM, MARGIN_MM, self.width, cells(words, title))

    def _pages(self) -> list[list[tuple[str, ...]]]:
        """Rows of the hole table, page by page; the first page also carries all else."""
        rows = [full_row(hole) for hole in self.view.board.holes]
        room = self.size[1] - 2 * MARGIN_MM - TITLE_BLOCK_MM - GAP_MM - HEADER_MM - HEAD_MM \
            - warning_height(self.width, self.standing)
        on_first = max(0, int((room - self._first_height()) / FULL_ROW_MM))
        per_page = max(1, int(room / FULL_ROW_MM))
        rest = rows[on_first:]
        return [rows[:on_first], *(rest[n:n + per_page] for n in range(0, len(rest), per_page))]

    def _head(self, sheets: Sheets) -> float:
        top = self.size[1] - MARGIN_MM
        name = f"Holes and drills, {self.view.job.name}"
        sheets.lettering(MARGIN_MM, top - 4.4, shortened(name, TITLE, self.width, "semibold"),
                         TITLE, "semibold")
        top -= HEADER_MM
        return top - warning_band(sheets, MARGIN_MM, top, self.width, self.standing)

    def _first_height(self) -> float:
        drills = HEAD_MM + len(self._drill_rows()) * FULL_ROW_MM + GAP_MM
        return (self._intro_height() if self.tiles else self._datum_height()) + drills

    def _datum_height(self) -> float:
        return paragraph_height(self._datum_words(), self.width) + GAP_MM

    def _intro_height(self) -> float:
        notes = sum(paragraph_height(note, self.width) for note in self.notes)
        return (SQUARE_MM + GAP_MM + paragraph_height(CHECK_WORDS, self.width, bold=True) + GAP_MM
                + notes + GAP_MM)

    def _first(self, sheets: Sheets, top: float) -> float:
        """What only the first of these sheets carries; returns where the table starts."""
        if self.tiles:
            top = self._intro(sheets, top, self.tiles)
        else:
            top -= paragraph(sheets, MARGIN_MM, top, self._datum_words(), self.width) + GAP_MM
        rows = self._drill_rows()
        table(sheets, MARGIN_MM, top, spread(DRILLS, self.width), rows, FULL_ROW_MM)
        return top - HEAD_MM - len(rows) * FULL_ROW_MM - GAP_MM

    def _intro(self, sheets: Sheets, top: float, tiles: TilePlan) -> float:
        """Square, page map, check words and notes, for a template that is all drawing."""
        left = MARGIN_MM
        sheets.draw(check_square(left, top - SQUARE_MM, SQUARE_MM))
        x, low = left + SQUARE_MM + 8, top
        room = left + self.width - x - MAP_MM[0] - 6
        sheets.lettering(x, low - 4, FACE_WORDS[self.view.face], TITLE, "semibold")
        low -= 7
        for words in (self._datum_words(), self._tile_words(tiles)):
            low -= paragraph(sheets, x, low, words, room) + 1
        outline = self.view.points(self.view.job.plate.outline)
        sheets.draw(page_map(outline, tiles, *MAP_MM),
                    shifted(left + self.width - MAP_MM[0], top - MAP_MM[1] - 1))
        top -= SQUARE_MM + GAP_MM
        top -= paragraph(sheets, left, top, CHECK_WORDS, self.width, bold=True) + GAP_MM
        for note in self.notes:
            top -= paragraph(sheets, left, top, note, self.width)
        return top - GAP_MM

    def _datum_words(self) -> str:
        corner = "left" if self.view.face == "front" else "right"
        return (f"x and y in mm, all from one datum corner: the lower {corner} one on this "
                "face, never from hole to hole.")

    def _tile_words(self, tiles: TilePlan) -> str:
        if tiles.sheets == 1:
            return "The template is on one sheet of its own."
        return (f"The template lies on {tiles.sheets} sheets, {tiles.rows} x {tiles.columns}. Trim "
                "along the thin frame where a neighbour goes on, lay the round marks on each "
                "other against a window, and tape. Then measure across the seam.")

    def _drill_rows(self) -> list[tuple[str, ...]]:
        rows: list[tuple[str, ...]] = []
        for diameter, holes in drills_used(self.view.board).items():
            screws = ", ".join(sorted({hole.thread for hole in holes} - {""}))
            slacks = sorted({hole.slack for hole in holes if hole.slack is not None})
            tool = figure(diameter, 2) if holes[0].drill.drilled else f"{figure(diameter, 2)} cut"
            rows.append((tool, str(len(holes)), screws, " to ".join(
                figure(s, 2) for s in dict.fromkeys((*slacks[:1], *slacks[-1:]))),
                number_ranges([int(hole.id) for hole in holes])))
        return rows


def number_ranges(numbers: Sequence[int]) -> str:
    """Numbers as a reader writes them: 1 to 4, 7, 9 to 12.

    >>> number_ranges([1, 2, 3, 5, 8, 9])
    '1 to 3, 5, 8, 9'
    """
    spans: list[list[int]] = []
    for number in sorted(numbers):
        if spans and number == spans[-1][-1] + 1:
            spans[-1].append(number)
        else:
            spans.append([number])
    return ", ".join(
        f"{span[0]} to {span[-1]}" if len(span) > 2 else ", ".join(map(str, span))
        for span in spans)

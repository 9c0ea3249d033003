"""Sheets of coordinates: every hole with drill, screw, slack, module; drills in the order of use;
check bars and square, page map when the drawing is tiled, notes and cautions."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from layout_engine.sheets.holes import drills_used
from layout_engine.sheets.tiles import TilePlan
from layout_engine.tables.paper import MARGIN, Paper
from webapp.drawings.primitives import Item, Text, polygon
from webapp.printing.affine import shifted
from webapp.printing.board_view import BoardView, figure
from webapp.printing.canvas import Sheets
from webapp.printing.cautions import FACE_WORDS
from webapp.printing.fonts import shortened
from webapp.printing.furniture import (
    CHECK_WORDS,
    PLAIN,
    TITLE,
    TITLE_BLOCK_MM,
    Standing,
    bar_across,
    bar_upright,
    check_square,
    paragraph,
    paragraph_height,
    title_block,
    warning_band,
    warning_height,
)
from webapp.printing.hole_table import FULL, FULL_ROW_MM, HEAD_MM, Column, full_row, spread, table

MARGIN_MM = MARGIN.value
SQUARE_MM = 50.0
GAP_MM = 3.0
HEADER_MM = 9.0
BARS_MM = 106.0  # the upright bar and what stands beside it
GUTTER_MM = 10.0
MAP_MM = (70.0, 42.0)
Cells = Callable[[str, str], tuple[tuple[tuple[str, str, float], ...], ...]]
DRILLS = (Column("drill", 14, "end"), Column("holes", 14, "end"), Column("screw", 14, "start"),
          Column("slack", 14, "end"), Column("numbers", 0, "start"))


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
        for number, rows in enumerate(self._pages()):
            with sheets.page(*self.size):
                words = f"{first + number} of {total}"
                top = self._head(sheets, words)
                if number == 0:
                    top = self._first(sheets, top)
                self._rows(sheets, top, rows)
                title_block(sheets, MARGIN_MM, MARGIN_MM, self.width, cells(words, "1:1"))

    def _pages(self) -> list[list[tuple[str, ...]]]:
        """Rows of the hole table, page by page; the first page also carries all else."""
        rows = [full_row(hole) for hole in self.view.board.holes]
        room = self.size[1] - 2 * MARGIN_MM - TITLE_BLOCK_MM - GAP_MM - HEADER_MM - HEAD_MM \
            - warning_height(self.width, self.standing)
        on_first = max(0, int((room - self._first_height()) / FULL_ROW_MM))
        per_page = max(1, int(room / FULL_ROW_MM))
        rest = rows[on_first:]
        return [rows[:on_first], *(rest[n:n + per_page] for n in range(0, len(rest), per_page))]

    def _head(self, sheets: Sheets, words: str) -> float:
        top = self.size[1] - MARGIN_MM
        sheets.lettering(MARGIN_MM, top - 3.4, self._title(), TITLE, "semibold")
        sheets.lettering(MARGIN_MM + self.width, top - 3.4, f"sheet {words}", PLAIN, anchor="end")
        top -= HEADER_MM
        return top - warning_band(sheets, MARGIN_MM, top, self.width, self.standing)

    def _title(self) -> str:
        name = f"Holes and drills, {self.view.job.name}"
        return shortened(name, TITLE, self.width - 30, "semibold")

    def _first_height(self) -> float:
        return BARS_MM + self._after_bars_height()

    def _after_bars_height(self) -> float:
        notes = sum(paragraph_height(note, self.width) for note in self.notes)
        return (paragraph_height(CHECK_WORDS, self.width, bold=True) + GAP_MM + notes + GAP_MM
                + self._drills_height() + GAP_MM)

    def _drills_height(self) -> float:
        rows = len(self._drill_rows())
        return HEAD_MM + rows * FULL_ROW_MM if rows else 0.0

    def _first(self, sheets: Sheets, top: float) -> float:
        """Bars, square, page map, check words, notes, drills; returns where the table starts."""
        left = MARGIN_MM
        sheets.draw(bar_upright(left + 4, top - 103))
        sheets.lettering(left + 8, top - 2.5, "100 mm", PLAIN, turn=0)
        sheets.draw(bar_across(left + GUTTER_MM + 8, top - 103))
        sheets.lettering(left + GUTTER_MM + 110, top - 103, "100 mm", PLAIN)
        sheets.draw(check_square(left + GUTTER_MM + 8, top - 95, SQUARE_MM))
        self._beside_square(sheets, left + GUTTER_MM + 8 + SQUARE_MM + 8, top)
        top -= BARS_MM
        top -= paragraph(sheets, left, top, CHECK_WORDS, self.width, bold=True) + GAP_MM
        for note in self.notes:
            top -= paragraph(sheets, left, top, note, self.width)
        top -= GAP_MM
        rows = self._drill_rows()
        if rows:
            table(sheets, left, top, spread(DRILLS, self.width), rows, FULL_ROW_MM)
        return top - self._drills_height() - GAP_MM

    def _beside_square(self, sheets: Sheets, x: float, top: float) -> None:
        room = MARGIN_MM + self.width - x
        sheets.lettering(x, top - 4, FACE_WORDS[self.view.face], TITLE, "semibold")
        low = top - 8
        corner = "left" if self.view.face == "front" else "right"
        low -= paragraph(
            sheets, x, low, f"All x and y are measured from one datum corner, the lower {corner} "
            "one on this face: never from hole to hole.", room)
        if self.tiles is not None:
            low -= 2 + paragraph(sheets, x, low - 1, self._tile_words(self.tiles), room)
            sheets.draw(page_map(self.view, self.tiles, min(room, MAP_MM[0]), MAP_MM[1]),
                        shifted(x, low - MAP_MM[1] - 2))

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

    def _rows(self, sheets: Sheets, top: float, rows: Sequence[Sequence[str]]) -> None:
        if rows:
            table(sheets, MARGIN_MM, top, spread(FULL, self.width), rows, FULL_ROW_MM)


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


def page_map(view: BoardView, tiles: TilePlan, width: float, height: float,
             here: str = "") -> tuple[Item, ...]:
    """The plate small, with the window of every sheet and its name; `here` is this sheet."""
    left = min(0.0, *(t.left for t in tiles.tiles))
    bottom = min(0.0, *(t.bottom for t in tiles.tiles))
    across = max(t.left + t.width for t in tiles.tiles) - left
    up = max(t.bottom + t.height for t in tiles.tiles) - bottom
    scale = min(width / across, height / up)
    return tuple(_map_items(view, tiles, left, bottom, scale, here))


def _map_items(view: BoardView, tiles: TilePlan, left: float, bottom: float, scale: float,
               here: str) -> Iterator[Item]:
    outline = view.points(view.job.plate.outline)
    yield polygon(tuple(((x - left) * scale, (y - bottom) * scale) for x, y in outline), "outline")
    for tile in tiles.tiles:
        x0, y0 = (tile.left - left) * scale, (tile.bottom - bottom) * scale
        x1, y1 = x0 + tile.width * scale, y0 + tile.height * scale
        yield polygon(((x0, y0), (x1, y0), (x1, y1), (x0, y1)),
                      "outline" if tile.name == here else "fine",
                      "section" if tile.name == here else "none")
        yield Text((x0 + x1) / 2, (y0 + y1) / 2, tile.name, "mark", plaque=True)

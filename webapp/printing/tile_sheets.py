"""The drawing over several sheets: windows, registration marks, bars and words in the margins.

The whole room within the margins belongs to the drawing, so bars and words stand in the margins,
5.5 mm from the paper's edge: printers leave 4 to 5.1 mm blank.
"""

from __future__ import annotations

from layout_engine.sheets.tiles import Tile, TilePlan, registration_marks
from layout_engine.tables.paper import MARGIN
from webapp.drawings.primitives import Item, Line
from webapp.printing.affine import shifted
from webapp.printing.board_view import BoardView, datum_items
from webapp.printing.canvas import Sheets
from webapp.printing.cautions import FACE_WORDS
from webapp.printing.fonts import shortened
from webapp.printing.furniture import (
    CHECK_WORDS_BARS,
    SMALL,
    Standing,
    bar_across,
    bar_upright,
    registration_mark,
    warning_band,
    warning_height,
)
from webapp.printing.hole_sheets import page_map
from webapp.printing.placing import Box, Ground

MARGIN_MM = MARGIN.value
BAR_OFF_MM = 9.4  # from the paper's edge to a bar's line
TICK_MM = 3.4
WORDS_OFF_MM = 6.0
BLOCK_WIDTHS_MM = (110.0, 80.0, 60.0)
MAP_MM = (26.0, 20.0)


def draw_tiles(sheets: Sheets, view: BoardView, standing: Standing, plan: TilePlan, title: str,
               before: int, total: int) -> None:
    """Every tile as a sheet of its own, numbered after the `before` sheets in front of them."""
    marks = registration_marks(plan, view.circles())
    for number, tile in enumerate(plan.tiles, 1):
        with sheets.page(*plan.paper):
            _window(sheets, view, standing, plan, tile, marks)
            _margins(sheets, view, standing, plan, tile, title, f"{before + number} of {total}")


def _window(sheets: Sheets, view: BoardView, standing: Standing, plan: TilePlan, tile: Tile,
            marks: tuple[tuple[float, float], ...]) -> None:
    frame = shifted(MARGIN_MM - tile.left, MARGIN_MM - tile.bottom)
    shown = [mark for mark in marks if tile.shows(*mark, 3.0)]
    window = Box(tile.left, tile.bottom, tile.left + tile.width, tile.bottom + tile.height)
    ground = view.ground(window.grown(-1.0))
    for x, y in shown:
        ground.add_box(Box(x - 3.3, y - 3.3, x + 3.3, y + 3.3))
    with sheets.clipped(MARGIN_MM, MARGIN_MM, tile.width, tile.height):
        sheets.draw(view.items(), frame)
        sheets.draw(tuple(i for mark in shown for i in registration_mark(*mark)), frame)
        sheets.draw(datum_items(view), frame)
        _reasons(sheets, ground, standing, tile)
        if plan.sheets > 1:
            _map(sheets, view, ground, plan, tile)
        sheets.draw(view.lettering(ground), frame)
    _frame(sheets, tile)


def _frame(sheets: Sheets, tile: Tile) -> None:
    left, bottom = MARGIN_MM, MARGIN_MM
    right, top = left + tile.width, bottom + tile.height
    edges: tuple[Item, ...] = (
        Line(left, bottom, right, bottom, "fold"), Line(right, bottom, right, top, "fold"),
        Line(right, top, left, top, "fold"), Line(left, top, left, bottom, "fold"))
    sheets.draw(edges)


def _reasons(sheets: Sheets, ground: Ground, standing: Standing, tile: Tile) -> None:
    """NOT FOR BUILDING, and what is not measured, where the sheet has room for it."""
    if not standing.stops and not standing.unmeasured:
        return
    options = []
    for width in BLOCK_WIDTHS_MM:
        height = warning_height(width, standing, 4) + 2
        place = ground.room_for(width, height)
        options.append((ground.cost(place), width, place))
    _, width, place = min(options, key=lambda option: option[0])
    ground.add_box(place)
    x, top = place.left - tile.left + MARGIN_MM, place.top - tile.bottom + MARGIN_MM
    warning_band(sheets, x + 0.5, top - 1, width, standing, 4)


def _map(sheets: Sheets, view: BoardView, ground: Ground, plan: TilePlan, tile: Tile) -> None:
    place = ground.room_for(*MAP_MM)
    if ground.cost(place) > 0:
        return
    ground.add_box(place)
    frame = shifted(place.left - tile.left + MARGIN_MM, place.bottom - tile.bottom + MARGIN_MM)
    sheets.draw(page_map(view, plan, *MAP_MM, here=tile.name), frame)


def _margins(sheets: Sheets, view: BoardView, standing: Standing, plan: TilePlan, tile: Tile,
             title: str, sheet: str) -> None:
    width, height = plan.paper
    right = width - MARGIN_MM
    sheets.draw(bar_across(MARGIN_MM, height - BAR_OFF_MM, TICK_MM))
    sheets.draw(bar_upright(BAR_OFF_MM, MARGIN_MM, TICK_MM))
    sheets.lettering(MARGIN_MM + 101, height - BAR_OFF_MM + 0.2, "100 mm", SMALL)
    sheets.lettering(BAR_OFF_MM - 0.4, MARGIN_MM + 101, "100 mm", SMALL, turn=90)
    name = f"Sheet {tile.name} of {plan.rows} x {plan.columns}" if plan.sheets > 1 else ""
    line = ", ".join(w for w in (name, FACE_WORDS[view.face], f"scale 1:1, sheet {sheet}") if w)
    sheets.lettering(right, height - BAR_OFF_MM + 2.2, line, SMALL, "semibold", "end")
    second = f"rev. {standing.revision}, {standing.as_of}, {view.job.name}"
    sheets.lettering(right, height - BAR_OFF_MM - 0.2,
                     shortened(second, SMALL, width - 2 * MARGIN_MM - 114), SMALL, anchor="end")
    sheets.lettering(MARGIN_MM, WORDS_OFF_MM, CHECK_WORDS_BARS, SMALL, "semibold")
    _neighbours(sheets, plan, tile)


def _neighbours(sheets: Sheets, plan: TilePlan, tile: Tile) -> None:
    """Which sheets go on at the right and below."""
    width, height = plan.paper
    if tile.column < plan.columns:
        sheets.lettering(width - WORDS_OFF_MM, height / 2,
                         f"sheet {tile.row}.{tile.column + 1} goes on here", SMALL,
                         anchor="middle", turn=90)
    if tile.row < plan.rows:
        sheets.lettering(width - MARGIN_MM, WORDS_OFF_MM + 0.0,
                         f"sheet {tile.row + 1}.{tile.column} goes on here", SMALL, anchor="end")

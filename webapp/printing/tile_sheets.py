"""A drawing over several sheets: windows, registration marks, page map, bars in the margins."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from layout_engine.once import cached_property
from layout_engine.sheets.tiles import Tile, TilePlan, registration_marks
from layout_engine.tables.paper import MARGIN
from webapp.drawings.primitives import Item, polygon
from webapp.printing.affine import Affine, shifted
from webapp.printing.canvas import Sheets
from webapp.printing.furniture import registration_mark, warning_band, warning_height
from webapp.printing.margins import MarginWords, draw_margins, draw_neighbour_words
from webapp.printing.page_map import page_map
from webapp.printing.placing import Box, Ground
from webapp.printing.standing import Standing
from webapp.printing.visible import Boxed
from webapp.printing.visible import shown as shown_items

MARGIN_MM = MARGIN.value
BLOCK_WIDTHS_MM = (186.0, 150.0, 110.0, 80.0, 60.0, 45.0)
REASONS = (4, 2, 0)  # shown in a block, fewer where more have no room
MAP_MM = (26.0, 20.0)
MARK_ROOM_MM = 3.3


@dataclass(frozen=True)
class TiledDrawing:
    """A drawing that sheets show window by window, in its own view, mm.

    items: all strokes. ground: what lettering keeps off in a window. lettering: places and returns
    it. keep_off: circles that no registration mark may touch. outline: for the page map.
    title: what the sheet shows, in words; footing: job, revision, date; bottom: what to do first.
    """

    items: tuple[Item, ...]
    ground: Callable[[Box], Ground]
    lettering: Callable[[Ground], tuple[Item, ...]]
    keep_off: tuple[tuple[float, float, float], ...]
    outline: tuple[tuple[float, float], ...]
    title: str
    footing: str
    bottom: str

    @cached_property
    def boxed(self) -> tuple[Boxed, ...]:
        """The items, each with its box."""
        return Boxed.of(self.items)


def draw_tiles(sheets: Sheets, drawing: TiledDrawing, plan: TilePlan, standing: Standing,
               before: int = 0, total: int = 0) -> None:
    """Every tile as a sheet of its own, numbered after the `before` sheets in front of them."""
    marks = registration_marks(plan, drawing.keep_off)
    for number, tile in enumerate(plan.tiles, before + 1):
        with sheets.page(*plan.paper):
            _window(sheets, drawing, plan, standing, tile, marks)
            _edges(sheets, drawing, plan, tile, f"sheet {number} of {total or plan.sheets}")


def _window(sheets: Sheets, drawing: TiledDrawing, plan: TilePlan, standing: Standing, tile: Tile,
            marks: tuple[tuple[float, float], ...]) -> None:
    frame = shifted(MARGIN_MM - tile.left, MARGIN_MM - tile.bottom)
    shown = [mark for mark in marks if tile.shows(*mark, MARK_ROOM_MM - 0.3)]
    window = Box(tile.left, tile.bottom, tile.left + tile.width, tile.bottom + tile.height)
    ground = drawing.ground(window.grown(-1.0))
    for x, y in shown:
        ground.add_box(Box(x, y, x, y).grown(MARK_ROOM_MM))
    with sheets.clipped(MARGIN_MM, MARGIN_MM, tile.width, tile.height):
        sheets.draw(shown_items(drawing.boxed, window), frame)
        sheets.draw((i for mark in shown for i in registration_mark(*mark)), frame)
        _warnings(sheets, ground, standing, frame)
        if plan.sheets > 1:
            _map(sheets, drawing, ground, plan, tile, frame)
        sheets.draw(drawing.lettering(ground), frame)


def _warnings(sheets: Sheets, ground: Ground, standing: Standing, frame: Affine) -> None:
    """NOT FOR BUILDING, and what is not measured, where the sheet has room for it."""
    if not standing.stops and not standing.unmeasured:
        return
    sizes = [(width, warning_height(width - 1, standing, most) + 2, most)
             for most in REASONS for width in BLOCK_WIDTHS_MM]
    rooms = ((ground.clear_room_for(width, height), most) for width, height, most in sizes)
    place, most = next(((room, most) for room, most in rooms if room is not None), (None, 0))
    if place is None:
        blocks = [size[:2] for size in sizes if size[2] == most]
        place = min((ground.room_for(*block) for block in blocks), key=ground.cost)
    ground.add_box(place)
    x, top = frame.point(place.left, place.top)
    warning_band(sheets, x + 0.5, top - 1, place.right - place.left - 1, standing, most)


def _map(sheets: Sheets, drawing: TiledDrawing, ground: Ground, plan: TilePlan, tile: Tile,
         frame: Affine) -> None:
    place = ground.room_for(*MAP_MM)
    if ground.cost(place) == 0:
        ground.add_box(place)
        small = page_map(drawing.outline, plan, *MAP_MM, here=tile.name)
        sheets.draw(small, shifted(*frame.point(place.left, place.bottom)))


def _edges(sheets: Sheets, drawing: TiledDrawing, plan: TilePlan, tile: Tile, sheet: str) -> None:
    """The frame along which a sheet is trimmed, and all that stands in the margins."""
    left, bottom = MARGIN_MM, MARGIN_MM
    right, top = left + tile.width, bottom + tile.height
    if plan.sheets > 1:
        sheets.draw((polygon(((left, bottom), (right, bottom), (right, top), (left, top)),
                             "fold"),))
    name = f"Sheet {tile.name} of {plan.rows} x {plan.columns}" if plan.sheets > 1 else ""
    first = ", ".join(words for words in (name, drawing.title, "scale 1:1", sheet) if words)
    draw_margins(sheets, plan.paper, MarginWords(first, drawing.footing, drawing.bottom))
    draw_neighbour_words(
        sheets, plan.paper,
        f"{tile.row}.{tile.column + 1}" if tile.column < plan.columns else "",
        f"{tile.row + 1}.{tile.column}" if tile.row < plan.rows else "")

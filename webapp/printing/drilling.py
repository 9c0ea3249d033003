"""The 1:1 drilling template of one face: one sheet where the plate fits, else tiles.

Up to 36 holes their coordinates stand on the template; more, or no room, and they take sheets of
their own. Tiles come with such a sheet first: page map, notes, coordinates.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from layout_engine.model.job import Job
from layout_engine.model.plate import Face
from layout_engine.sheets.holes import Hole
from layout_engine.sheets.tiles import TilePlan, tile_plan
from layout_engine.tables.materials import material_name
from layout_engine.tables.paper import MARGIN, Paper
from layout_engine.wiring import Routing
from webapp.printing.affine import shifted
from webapp.printing.board_view import BoardView, datum_items, figure
from webapp.printing.canvas import Sheets
from webapp.printing.cautions import FACE_WORDS, drill_notes
from webapp.printing.furniture import (
    CHECK_WORDS,
    CHECK_WORDS_BARS,
    PLAIN,
    SMALL,
    TITLE,
    TITLE_BLOCK_MM,
    bar_across,
    bar_upright,
    check_square,
    paragraph,
    paragraph_height,
    title_block,
    warning_band,
    warning_height,
)
from webapp.printing.hole_sheets import HoleSheets
from webapp.printing.hole_table import (
    BLOCK_GAP_MM,
    BLOCK_MM,
    MOST_ON_TEMPLATE,
    short_height,
    short_table,
)
from webapp.printing.placing import Box
from webapp.printing.standing import Standing
from webapp.printing.tile_sheets import TiledDrawing, draw_tiles

MARGIN_MM = MARGIN.value
Cells = tuple[tuple[tuple[str, str, float], ...], ...]
HEADER_MM = 12.0
GUTTER_MM = 12.0  # left of the plate, for the upright bar
RIGHT_MM = 4.0
DATUM_MM = 7.0
LEAST_DRAWING_MM = 104.0  # the upright bar with its figure
SQUARES_MM = (50.0, 30.0)
GAP_MM = 2.0


@dataclass(frozen=True, slots=True)
class SheetPlan:
    """How a template lies on one sheet; sizes in mm, `square` is the side of the check square."""

    paper: tuple[float, float]
    with_table: bool
    square: float
    blocks: int
    used: float

    @property
    def usable(self) -> tuple[float, float]:
        """Width and height within the margins."""
        return self.paper[0] - 2 * MARGIN_MM, self.paper[1] - 2 * MARGIN_MM


@dataclass(frozen=True)
class Template:
    """Everything one drilling template is made from."""

    view: BoardView
    paper: Paper
    standing: Standing

    @property
    def notes(self) -> tuple[str, ...]:
        """Drilling notes in order."""
        return tuple(drill_notes(self.view.job, self.view.board, self.view.face))

    def one_sheet(self) -> SheetPlan | None:
        """The first way in which plate, bars and title block share one sheet, if any does."""
        upright = (self.paper.width.value, self.paper.height.value)
        few = len(self.view.board.holes) <= MOST_ON_TEMPLATE
        for with_table in ((True, False) if few else (False,)):
            for paper in (upright, upright[::-1]):
                for square in SQUARES_MM:
                    plan = self._try(paper, square, with_table=with_table)
                    if plan is not None:
                        return plan
        return None

    def _try(self, paper: tuple[float, float], square: float, *, with_table: bool
             ) -> SheetPlan | None:
        width, height = paper[0] - 2 * MARGIN_MM, paper[1] - 2 * MARGIN_MM
        plate_width, plate_height = self.view.size
        if plate_width + GUTTER_MM + RIGHT_MM > width:
            return None
        blocks = max(1, int((width - square - GAP_MM + BLOCK_GAP_MM) / (BLOCK_MM + BLOCK_GAP_MM)))
        used = (HEADER_MM + warning_height(width, self.standing)
                + max(plate_height, LEAST_DRAWING_MM) + DATUM_MM
                + self._foot(width, square, blocks, with_table=with_table)
                + paragraph_height(CHECK_WORDS, width, bold=True) + GAP_MM + TITLE_BLOCK_MM)
        plan = SheetPlan(paper, with_table, square, blocks, used)
        return plan if used <= height else None

    def _foot(self, width: float, square: float, blocks: int, *, with_table: bool) -> float:
        if not with_table:
            return max(square, self.notes_height(width - square - 4)) + GAP_MM
        table = short_height(len(self.view.board.holes), blocks)
        return max(square, table) + GAP_MM + self.notes_height(width) + GAP_MM

    def notes_height(self, room: float, size: float = SMALL) -> float:
        """Height [mm] of the notes in a column of this width."""
        return sum(paragraph_height(note, room, size=size) for note in self.notes)

    def tiles(self) -> TilePlan:
        """The fewest sheets for the bare drawing."""
        return tile_plan(*self.view.size, self.paper)

    def title(self) -> str:
        """Title of the sheets."""
        return f"Drilling template, {self.view.face}"

    def cells(self, sheet: str, title: str = "") -> Cells:
        """The title block: rows of caption, value, share of the width."""
        job, (width, height) = self.view.job, self.view.size
        size = " x ".join(figure(side) for side in (width, height, job.plate.thickness))
        plate = f"{size}, {material_name(job.plate.material)}"
        return (
            (("Job", job.name, 0.25), ("Title", title or self.title(), 0.27),
             ("Face", FACE_WORDS[self.view.face], 0.24), ("Scale", "1:1", 0.1),
             ("Sheet", sheet, 0.14)),
            (("Owner and maker", job.client or "not stated", 0.25), ("Plate, mm", plate, 0.27),
             ("Revision and date", f"rev. {self.standing.revision}, {self.standing.as_of}", 0.24),
             ("Paper", self.paper.label, 0.1), ("Holes", self.holes_words(), 0.14)),
        )

    def holes_words(self) -> str:
        """How many holes there are, and how many of them are new."""
        holes, new = len(self.view.board.holes), len(self.view.board.new)
        return f"{holes}, all new" if holes == new else f"{new} new, {holes - new} there"


def drilling_pdf(job: Job, face: Face, paper: Paper, standing: Standing,
                 routing: Routing | None = None) -> bytes:
    """The template of one face on a paper: PDF, true size, same bytes for the same arguments.

    routing: where the wires run, for the holes that they want.
    """
    template = Template(BoardView.of(job, face, routing), paper, standing)
    sheets = Sheets(f"{job.name}: {template.title()}", job.client,
                    f"Drilling template, {FACE_WORDS[face]}, scale 1:1, {paper.label}")
    plan = template.one_sheet()
    if plan is None:
        _tiled(sheets, template)
    else:
        _single(sheets, template, plan)
    return sheets.finish()


def drilling_sheets(job: Job, face: Face, paper: Paper, standing: Standing,
                    routing: Routing | None = None) -> int:
    """Number of sheets that `drilling_pdf` fills."""
    template = Template(BoardView.of(job, face, routing), paper, standing)
    plan = template.one_sheet()
    if plan is not None:
        return 1 if plan.with_table else 1 + _hole_sheets(template, None).count()
    tiles = template.tiles()
    return tiles.sheets + _hole_sheets(template, tiles).count()


def _hole_sheets(template: Template, tiles: TilePlan | None) -> HoleSheets:
    return HoleSheets(template.view, template.paper, template.standing, template.notes, tiles)


def _single(sheets: Sheets, template: Template, plan: SheetPlan) -> None:
    more = None if plan.with_table else _hole_sheets(template, None)
    total = 1 + (more.count() if more else 0)
    with sheets.page(*plan.paper):
        _template_page(sheets, template, plan, f"1 of {total}")
    if more:
        more.draw(sheets, template.cells, 2, total)


def _tiled(sheets: Sheets, template: Template) -> None:
    tiles = template.tiles()
    cover = _hole_sheets(template, tiles)
    pages = cover.count()
    total = pages + tiles.sheets
    cover.draw(sheets, template.cells, 1, total)
    draw_tiles(sheets, _tiled_drawing(template), tiles, template.standing, pages, total)


def _tiled_drawing(template: Template) -> TiledDrawing:
    view, standing = template.view, template.standing
    return TiledDrawing(
        (*view.items(), *datum_items(view)), view.ground, view.lettering, view.circles(),
        view.points(view.job.plate.outline), FACE_WORDS[view.face],
        f"rev. {standing.revision}, {standing.as_of}, {view.job.name}", CHECK_WORDS_BARS)


def _template_page(sheets: Sheets, template: Template, plan: SheetPlan, sheet: str) -> None:
    width, height = plan.usable
    left, top = MARGIN_MM, MARGIN_MM + height
    _header(sheets, left, top, width, FACE_WORDS[template.view.face], sheet)
    top -= HEADER_MM
    top -= warning_band(sheets, left, top, width, template.standing)
    spare = height - plan.used
    plate_width, plate_height = template.view.size
    x = left + GUTTER_MM + (width - GUTTER_MM - RIGHT_MM - plate_width) / 2
    y = top - spare * 0.4 - max(plate_height, LEAST_DRAWING_MM)
    _board(sheets, template.view, x, y, plate_height)
    bottom = MARGIN_MM
    title_block(sheets, left, bottom, width, template.cells(sheet))
    bottom += TITLE_BLOCK_MM + GAP_MM + paragraph_height(CHECK_WORDS, width, bold=True)
    paragraph(sheets, left, bottom - 0.6, CHECK_WORDS, width, bold=True)
    _foot(sheets, template, plan, bottom + GAP_MM)


def _header(sheets: Sheets, left: float, top: float, width: float, words: str, sheet: str) -> None:
    sheets.draw(bar_across(left + GUTTER_MM, top - 6.0))
    sheets.lettering(left + GUTTER_MM + 102, top - 6.0, "100 mm", PLAIN)
    sheets.lettering(left + width, top - 3.4, words, TITLE, "semibold", "end")
    sheets.lettering(left + width, top - 7.6, f"sheet {sheet}", PLAIN, anchor="end")


def _board(sheets: Sheets, view: BoardView, x: float, y: float, height: float) -> None:
    """Plate at (x, y) of the page with bar and datum corner outside it."""
    frame = shifted(x, y)
    width = view.size[0]
    with sheets.clipped(x - 5, y - 1.5, width + 8, height + 3):
        sheets.draw(view.items(), frame)
        ground = view.ground(Box(0, 0, width, height))
        sheets.draw(view.lettering(ground, datum=False), frame)
    sheets.draw(bar_upright(x - 6.2, y))
    sheets.lettering(x - 7.0, y + 101.5, "100 mm", PLAIN, turn=90)
    sheets.draw(datum_items(view), frame)
    front = view.face == "front"
    words = "datum corner: x to the right, y up" if front else "datum corner: x to the left, y up"
    place = x + 7.5 if front else x + width - 7.5
    sheets.lettering(place, y - 3.4, words, PLAIN, anchor="start" if front else "end")


def _foot(sheets: Sheets, template: Template, plan: SheetPlan, bottom: float) -> None:
    width = plan.usable[0]
    left, right = MARGIN_MM, MARGIN_MM + width
    holes: Sequence[Hole] = template.view.board.holes
    if not plan.with_table:
        room = width - plan.square - 4
        sheets.draw(check_square(right - plan.square, bottom, plan.square))
        size = PLAIN if template.notes_height(room, PLAIN) <= plan.square else SMALL
        tall = max(plan.square, template.notes_height(room, size))
        _notes(sheets, template, left, bottom + tall, room, size)
        return
    notes = template.notes_height(width)
    _notes(sheets, template, left, bottom + notes, width)
    low = bottom + notes + GAP_MM
    tall = max(plan.square, short_height(len(holes), plan.blocks))
    sheets.draw(check_square(right - plan.square, low + tall - plan.square, plan.square))
    short_table(sheets, left, low + tall, holes, template.view.face, plan.blocks)


def _notes(sheets: Sheets, template: Template, left: float, top: float, room: float,
           size: float = SMALL) -> None:
    for note in template.notes:
        top -= paragraph(sheets, left, top, note, room, size=size)

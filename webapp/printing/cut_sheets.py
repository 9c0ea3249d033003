"""The cut list on paper: reel by reel, every wire with boxes to tick, both ends, and the totals.

In the order of making: thickest wire first, each reel once, its longest piece first.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from layout_engine.model.job import Job
from layout_engine.model.plate import Face
from layout_engine.once import cached_property
from layout_engine.sheets.cut_list import CutList, CutRow, ReelTotal, WireEnd
from layout_engine.tables.paper import MARGIN, Paper
from layout_engine.wiring import Routing
from layout_engine.wiring.marking import COLOUR_WORDS
from webapp.drawings.primitives import Line, polygon
from webapp.forms.values import as_written
from webapp.printing.board_view import figure
from webapp.printing.canvas import Sheets
from webapp.printing.fonts import Weight, shortened, wrap
from webapp.printing.furniture import (
    NAME,
    PLAIN,
    SMALL,
    TITLE,
    TITLE_BLOCK_MM,
    paragraph,
    paragraph_height,
    title_block,
    warning_band,
    warning_height,
)
from webapp.printing.hole_table import FULL_ROW_MM, HEAD_MM, Column, spread, table
from webapp.printing.placing import Box
from webapp.printing.run_map import FACE_WORDS, draw_runs, faces_with_runs
from webapp.printing.standing import Standing

MARGIN_MM = MARGIN.value
HEADER_MM = 8.0
GAP_MM = 3.0
BOX_MM = 4.0
PITCH = 1.28  # of lines, in type sizes
ROW_GAP_MM = 1.8
REEL_MM = 7.0
BOXES_MM, NUMBER_MM, LENGTH_MM = 15.0, 10.0, 21.0  # what stands left of the two ends
TOTALS = (Column("size", 22, "start"), Column("colour", 26, "start"), Column("metres", 18, "end"),
          Column("pieces", 16, "end"), Column("remark", 0, "start", 1))
HOW = (
    "Battery unplugged while you wire. Cut reel by reel in this order, slip a marker on each end "
    "before you fit it, tick each wire when it is cut and when it is fitted. Pull each end by hand "
    "after crimping. Lengths are in mm with what two new ends and loops take."
)
NO_SIZE = "size not chosen"
Style = tuple[float, Weight]
NAME_STYLE: Style = (NAME, "medium")
TEXT_STYLE: Style = (PLAIN, "regular")
LOUD_STYLE: Style = (PLAIN, "semibold")
Lines = list[tuple[str, Style]]


@dataclass(frozen=True, slots=True)
class Block:
    """What stands together on one page: a reel's heading, the same on the next page, or a wire."""

    kind: Literal["reel", "again", "wire"]
    height: float
    reel: ReelTotal
    row: CutRow | None = None


@dataclass(frozen=True)
class CutSheets:
    """The cut list of a job on a paper.

    done: ids of wires that are ticked off already; routing: where the wires run, for the sheets
    that show the runs.
    """

    job: Job
    listed: CutList
    paper: Paper
    standing: Standing
    done: Collection[str] = ()
    routing: Routing | None = None

    @property
    def maps(self) -> tuple[Face, ...]:
        """The faces whose runs are shown, each on a sheet of its own behind the list."""
        return faces_with_runs(self.routing) if self.routing else ()

    @property
    def sheets(self) -> int:
        """Number of sheets."""
        return len(self.pages) + len(self.maps)

    @property
    def size(self) -> tuple[float, float]:
        """Paper upright, mm."""
        return self.paper.width.value, self.paper.height.value

    @property
    def width(self) -> float:
        """Width within the margins, mm."""
        return self.size[0] - 2 * MARGIN_MM

    @property
    def end_width(self) -> float:
        """Room for one end of a wire, mm."""
        return (self.width - BOXES_MM - NUMBER_MM - LENGTH_MM) / 2

    @cached_property
    def pages(self) -> list[list[Block]]:
        """The blocks page by page; the first page also carries the totals."""
        room = self.size[1] - 2 * MARGIN_MM - TITLE_BLOCK_MM - GAP_MM - HEADER_MM \
            - warning_height(self.width, self.standing)
        pages: list[list[Block]] = [[]]
        left = room - self._first_height()
        for block, keep in self._blocks():
            if block.height + keep > left and (pages[-1] or len(pages) == 1):
                pages.append([])
                left = room
                if block.kind == "wire":
                    pages[-1].append(Block("again", REEL_MM, block.reel))
                    left -= REEL_MM
            pages[-1].append(block)
            left -= block.height
        return pages

    def _blocks(self) -> Iterator[tuple[Block, float]]:
        """Each block, and what must stand below it on the same page, mm."""
        for reel in self.listed.totals:
            rows = [row for row in self.listed.rows
                    if (row.size, row.colour) == (reel.size, reel.colour)]
            heights = [self._row_height(row) for row in rows]
            yield Block("reel", REEL_MM, reel), heights[0]
            for row, height in zip(rows, heights, strict=True):
                yield Block("wire", height, reel, row), 0.0

    def _first_height(self) -> float:
        return (paragraph_height(HOW, self.width) + GAP_MM + HEAD_MM
                + len(self.listed.totals) * FULL_ROW_MM + GAP_MM)

    # one wire

    def _row_height(self, row: CutRow) -> float:
        ends = max(_height(self._fitted(_end_lines(end))) for end in row.ends)
        left = NAME * PITCH + len(self._notes(row)) * SMALL * PITCH
        return max(ends, left, BOX_MM) + ROW_GAP_MM

    def _fitted(self, lines: Lines, room: float | None = None) -> Lines:
        wide = (self.end_width if room is None else room) - 2.5
        return [(piece, style) for text, style in lines
                for piece in wrap(text, style[0], wide, style[1])]

    def _notes(self, row: CutRow) -> tuple[str, ...]:
        return wrap("; ".join(_notes(row)), SMALL, LENGTH_MM + NUMBER_MM - 4.0) \
            if _notes(row) else ()

    # drawing

    def draw(self, sheets: Sheets) -> None:
        """All sheets."""
        total = self.sheets
        for number, blocks in enumerate(self.pages, 1):
            with sheets.page(*self.size):
                top = self._head(sheets, f"{number} of {total}")
                if number == 1:
                    top = self._first(sheets, top)
                for block in blocks:
                    self._block(sheets, top, block)
                    top -= block.height
                title_block(sheets, MARGIN_MM, MARGIN_MM, self.width,
                            self._cells(f"{number} of {total}"))
        if self.routing is not None:
            for number, face in enumerate(self.maps, len(self.pages) + 1):
                with sheets.page(*self.size):
                    self._map(sheets, self.routing, face, f"{number} of {total}")

    def _map(self, sheets: Sheets, routing: Routing, face: Face, sheet: str) -> None:
        top = self._head(sheets, sheet) - GAP_MM
        sheets.lettering(MARGIN_MM, top - NAME, FACE_WORDS[face], NAME, "semibold")
        low = MARGIN_MM + TITLE_BLOCK_MM + GAP_MM
        draw_runs(sheets, routing, face,
                  Box(MARGIN_MM, low, MARGIN_MM + self.width, top - NAME * 2))
        title_block(sheets, MARGIN_MM, MARGIN_MM, self.width, self._cells(sheet))

    def _head(self, sheets: Sheets, sheet: str) -> float:
        top = self.size[1] - MARGIN_MM
        name = shortened(f"Cut list, {self.job.name}", TITLE, self.width - 30, "semibold")
        sheets.lettering(MARGIN_MM, top - 4.4, name, TITLE, "semibold")
        sheets.lettering(MARGIN_MM + self.width, top - 4.4, f"sheet {sheet}", PLAIN, anchor="end")
        top -= HEADER_MM
        return top - warning_band(sheets, MARGIN_MM, top, self.width, self.standing)

    def _first(self, sheets: Sheets, top: float) -> float:
        top -= paragraph(sheets, MARGIN_MM, top, HOW, self.width) + GAP_MM
        rows = [_total_row(reel) for reel in self.listed.totals]
        table(sheets, MARGIN_MM, top, spread(TOTALS, self.width), rows, FULL_ROW_MM)
        return top - HEAD_MM - len(rows) * FULL_ROW_MM - GAP_MM

    def _block(self, sheets: Sheets, top: float, block: Block) -> None:
        if block.row is None:
            self._reel(sheets, top, block.reel, again=block.kind == "again")
        else:
            self._wire(sheets, top, block.row, block.height)

    def _reel(self, sheets: Sheets, top: float, reel: ReelTotal, *, again: bool) -> None:
        words = f"{as_written(reel.size) or NO_SIZE}, {COLOUR_WORDS[reel.colour]}"
        words += ", continued" * again
        low = top - REEL_MM + 1.4
        sheets.lettering(MARGIN_MM, low + 1.2, words, NAME, "semibold")
        pieces = f"{reel.pieces} piece{'s' if reel.pieces > 1 else ''}"
        sheets.lettering(MARGIN_MM + self.width, low + 1.2, f"{pieces}, {reel.metres:.2f} m", PLAIN,
                         anchor="end")
        sheets.draw((Line(MARGIN_MM, low, MARGIN_MM + self.width, low, "outline"),))

    def _wire(self, sheets: Sheets, top: float, row: CutRow, height: float) -> None:
        x = MARGIN_MM
        for place, word in ((0.3, "cut"), (7.6, "fitted")):
            _box(sheets, x + place, top - 0.9 - BOX_MM, ticked=row.id in self.done)
            sheets.lettering(x + place, top - 0.9 - BOX_MM - 2.2, word, SMALL, grey=0.35)
        x += BOXES_MM
        sheets.lettering(x + NUMBER_MM - 2.2, top - 4.3, str(row.number), NAME, "semibold", "end")
        length = "length?" if row.length is None else f"{figure(row.length)} mm"
        sheets.lettering(x + NUMBER_MM, top - 4.3, length, NAME, "semibold")
        for n, words in enumerate(self._notes(row), 1):
            sheets.lettering(x + 1.5, top - 4.3 - n * SMALL * PITCH, words, SMALL)
        x += NUMBER_MM + LENGTH_MM
        for end in row.ends:
            _write(sheets, x, top - 1.0, self._fitted(_end_lines(end)))
            x += self.end_width
        low = top - height
        sheets.draw((Line(MARGIN_MM, low, MARGIN_MM + self.width, low, "fine"),))

    def _cells(self, sheet: str) -> Sequence[Sequence[tuple[str, str, float]]]:
        wires = len(self.listed.rows)
        metres = sum(reel.metres for reel in self.listed.totals)
        return (
            (("Job", self.job.name, 0.3), ("Title", "Cut list", 0.3),
             ("Wires", f"{wires}, {metres:.2f} m", 0.22), ("Sheet", sheet, 0.18)),
            (("Owner and maker", self.job.client or "not stated", 0.3),
             ("Revision and date", f"rev. {self.standing.revision}, {self.standing.as_of}", 0.3),
             ("Lengths", "mm", 0.22), ("Paper", self.paper.label, 0.18)),
        )


def cut_list_pdf(job: Job, listed: CutList, paper: Paper, standing: Standing,
                 done: Collection[str] = (), routing: Routing | None = None) -> bytes:
    """The cut list as PDF, same bytes for the same arguments.

    done: wires ticked off already; routing: for the sheets that show where the runs lie.
    """
    sheets = Sheets(f"{job.name}: cut list", job.client, f"Cut list, {paper.label}")
    CutSheets(job, listed, paper, standing, done, routing).draw(sheets)
    return sheets.finish()


def cut_list_sheets(job: Job, listed: CutList, paper: Paper, standing: Standing,
                    routing: Routing | None = None) -> int:
    """Number of sheets that `cut_list_pdf` fills."""
    return CutSheets(job, listed, paper, standing, routing=routing).sheets


def _total_row(reel: ReelTotal) -> tuple[str, ...]:
    unknown = f"{reel.unknown} of unknown length not counted" if reel.unknown else ""
    return (as_written(reel.size) or NO_SIZE, COLOUR_WORDS[reel.colour], f"{reel.metres:.2f}",
            str(reel.pieces), unknown)


def _end_lines(end: WireEnd) -> Lines:
    """What is said of one end: where, how it is made, its marker, what shares the terminal."""
    lines: Lines = [
        (end.at, NAME_STYLE), (f"strip {figure(end.strip)}, {as_written(end.fitting)}", TEXT_STYLE),
        (f"marker {end.marker}", TEXT_STYLE),
    ]
    return [*lines, (end.clamp, LOUD_STYLE)] if end.clamp else lines


def _notes(row: CutRow) -> list[str]:
    lies = f"in {', '.join(row.named)}" if row.named else ""
    lead = f"lead: {row.cable}" if row.cable else ""
    return [words for words in (row.label, lead, "twisted pair" * row.twisted, lies, row.remark)
            if words]


def _height(lines: Lines) -> float:
    return sum(size * PITCH for _, (size, _) in lines)


def _write(sheets: Sheets, x: float, top: float, lines: Lines) -> None:
    for words, (size, weight) in lines:
        sheets.lettering(x, top - size * 0.9, words, size, weight)
        top -= size * PITCH


def _box(sheets: Sheets, x: float, y: float, *, ticked: bool) -> None:
    sheets.draw((polygon(((x, y), (x + BOX_MM, y), (x + BOX_MM, y + BOX_MM), (x, y + BOX_MM)),
                         "outline"),))
    if ticked:
        sheets.draw((Line(x + 0.8, y + 2.0, x + 1.7, y + 0.9, "outline"),
                     Line(x + 1.7, y + 0.9, x + 3.3, y + 3.3, "outline")))

"""Display lists on paper, in mm, black on white: pens, fills and lettering of the print look.

One `Sheets` is one PDF: pages of true size, scaling asked off, every typeface embedded as a
subset, the same bytes for the same calls.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from io import BytesIO

from reportlab import rl_config
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject

from webapp.drawings.primitives import (
    Circle,
    Dimension,
    Fill,
    Group,
    Item,
    Lettering,
    Line,
    Path,
    Pen,
    Text,
)
from webapp.printing.affine import Affine
from webapp.printing.dimension_lines import dimension_lines
from webapp.printing.fonts import Weight, chain, runs, width_mm
from webapp.printing.hatching import hatch_lines

CAP_HEIGHT = 0.7  # of the type size, for centring a line on its point
EXISTING_GREY = 0.45
PLAQUE_MARGIN_MM = 0.5


@dataclass(frozen=True, slots=True)
class PrintPen:
    """A line on paper: width [mm], dashes [mm] on and off."""

    width: float
    dashes: tuple[float, ...] = ()


# ISO 128-2 widths; group and 4 : 2 : 1 from memory
PENS: dict[Pen, PrintPen] = {
    "edge": PrintPen(0.70),
    "outline": PrintPen(0.35),
    "thin": PrintPen(0.18),
    "fine": PrintPen(0.13),
    "margin": PrintPen(0.13, (0.3, 1.0)),
    "hidden": PrintPen(0.18, (2.4, 1.2)),
    "axis": PrintPen(0.13, (4.0, 1.0, 0.6, 1.0)),
    "fold": PrintPen(0.13),
}
LETTERING: dict[Lettering, tuple[float, Weight]] = {
    "name": (3.1, "medium"),
    "small": (2.5, "regular"),
    "mark": (2.5, "medium"),
    "dimension": (2.5, "medium"),
    "title": (3.6, "semibold"),
    "scale": (2.0, "regular"),
}
# spacing [mm] and direction [degrees] of the hatching that stands for an area
HATCHES: dict[Fill, tuple[float, float]] = {
    "keep_free": (1.6, 45.0), "room": (2.9, -45.0), "section": (0.9, 45.0),
}
SOLID: dict[Fill, float] = {"ink": 0.0, "sheet": 1.0, "hole": 1.0}


# Streams as bytes: text of them is a quarter longer and takes a tenth of the time of a sheet.
rl_config.useA85 = 0


class Sheets:
    """One PDF under way. Positions are mm from the lower left corner of the page, y up."""

    def __init__(self, title: str, author: str = "", subject: str = "") -> None:
        self._buffer = BytesIO()
        self._canvas = Canvas(self._buffer, invariant=1, pageCompression=1, lang="en",
                              initialFontName=chain("regular")[0].fontName)  # type: ignore[arg-type]
        self._canvas.setTitle(title)
        self._canvas.setAuthor(author or "anonymous")
        self._canvas.setSubject(subject or title)
        self._canvas.setCreator("Platewright")
        self._canvas.setProducer("Platewright")
        self._canvas.setViewerPreference("PrintScaling", "None")  # ISO 32000-1 Table 150
        self._grey = 0.0

    @contextmanager
    def page(self, width: float, height: float) -> Iterator[None]:
        """One page of this size [mm]."""
        self._canvas.setPageSize((width * mm, height * mm))
        self._canvas.setLineCap(0)
        self._canvas.setLineJoin(1)
        yield
        self._canvas.showPage()

    @contextmanager
    def clipped(self, left: float, bottom: float, width: float, height: float) -> Iterator[None]:
        """Nothing drawn inside this block shows outside the rectangle [mm]."""
        self._canvas.saveState()
        window = self._canvas.beginPath()
        window.rect(left * mm, bottom * mm, width * mm, height * mm)
        self._canvas.clipPath(window, stroke=0, fill=0)
        yield
        self._canvas.restoreState()

    def finish(self) -> bytes:
        """The PDF."""
        self._canvas.save()
        return self._buffer.getvalue()

    def draw(self, items: Iterable[Item], frame: Affine | None = None) -> None:
        """A display list in a frame of the page."""
        place = frame or Affine()
        for item in items:
            match item:
                case Line():
                    self._line(item, place)
                case Circle():
                    self._circle(item, place)
                case Path():
                    self._path(item, place)
                case Text():
                    self._text(item, place)
                case Dimension():
                    self.draw(dimension_lines(item), place)
                case Group():
                    self._group(item, place)

    def lettering(self, x: float, y: float, text: str, size: float = 2.5,
                  weight: Weight = "regular", anchor: str = "start", turn: float = 0.0,
                  grey: float = 0.0) -> None:
        """A line of type with its baseline through (x, y); `size` is the type size [mm]."""
        shift = {"start": 0.0, "middle": -0.5, "end": -1.0}[anchor] * width_mm(text, size, weight)
        self._canvas.saveState()
        self._canvas.setFillGray(max(grey, self._grey))
        self._canvas.translate(x * mm, y * mm)
        if turn:
            self._canvas.rotate(turn)
        line = self._canvas.beginText(shift * mm, 0)
        for font, chars in runs(text, weight):
            line.setFont(font, size * mm)
            line.textOut(chars)
        self._canvas.drawText(line)
        self._canvas.restoreState()

    def _group(self, group: Group, place: Affine) -> None:
        before = self._grey
        self._grey = EXISTING_GREY if group.role == "existing" else before
        self.draw(group.items, place.within(group.transform))
        self._grey = before

    def _take(self, pen: Pen) -> None:
        chosen = PENS[pen]
        self._canvas.setLineWidth(chosen.width * mm)
        self._canvas.setDash([dash * mm for dash in chosen.dashes])
        self._canvas.setStrokeGray(self._grey)

    def _line(self, line: Line, place: Affine) -> None:
        if line.pen == "none":
            return
        self._take(line.pen)
        (x1, y1), (x2, y2) = place.point(line.x1, line.y1), place.point(line.x2, line.y2)
        self._canvas.line(x1 * mm, y1 * mm, x2 * mm, y2 * mm)

    def _circle(self, circle: Circle, place: Affine) -> None:
        x, y = place.point(circle.x, circle.y)
        outline = self._canvas.beginPath()
        outline.circle(x * mm, y * mm, circle.diameter / 2 * mm)
        r = circle.diameter / 2
        self._finish_path(outline, circle.pen, circle.fill, (x - r, y - r, x + r, y + r))

    def _path(self, path: Path, place: Affine) -> None:
        outline = self._canvas.beginPath()
        points: list[tuple[float, float]] = []
        for command in path.commands:
            pairs = [place.point(*command[i:i + 2]) for i in range(1, len(command), 2)]  # type: ignore[arg-type]
            points.extend(pairs)
            _add(outline, command[0], [value * mm for pair in pairs for value in pair])
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        if points:
            self._finish_path(outline, path.pen, path.fill, (min(xs), min(ys), max(xs), max(ys)))

    def _finish_path(self, outline: PDFPathObject, pen: Pen, fill: Fill,
                     box: tuple[float, float, float, float]) -> None:
        if fill in HATCHES:
            self._hatch(outline, fill, box)
        if pen != "none":
            self._take(pen)
        solid = SOLID.get(fill)
        if solid is not None:
            self._canvas.setFillGray(solid)
        self._canvas.drawPath(outline, stroke=int(pen != "none"), fill=int(solid is not None),
                              fillMode=0)

    def _hatch(self, outline: PDFPathObject, fill: Fill,
               box: tuple[float, float, float, float]) -> None:
        self._canvas.saveState()
        self._canvas.clipPath(outline, stroke=0, fill=0, fillMode=0)
        self._take("fine")
        self._canvas.setStrokeGray(max(self._grey, 0.5))
        for x1, y1, x2, y2 in hatch_lines(box, *HATCHES[fill]):
            self._canvas.line(x1 * mm, y1 * mm, x2 * mm, y2 * mm)
        self._canvas.restoreState()

    def _text(self, text: Text, place: Affine) -> None:
        size, weight = LETTERING[text.lettering]
        x, y = place.point(text.x, text.y)
        turn = text.turn + place.turn
        anchor = text.anchor
        if place.mirrored and anchor != "middle":
            anchor = "end" if anchor == "start" else "start"
        if text.plaque:
            self._plaque(x, y, width_mm(text.text, size, weight), size, anchor, turn)
        drop = Affine(x=x, y=y).within((turn, False, 0.0, 0.0)).point(0.0, -size * CAP_HEIGHT / 2)
        self.lettering(*drop, text.text, size, weight, anchor, turn)

    def _plaque(self, x: float, y: float, width: float, size: float, anchor: str,
                turn: float) -> None:
        left = {"start": 0.0, "middle": -width / 2, "end": -width}[anchor] - PLAQUE_MARGIN_MM
        right = left + width + 2 * PLAQUE_MARGIN_MM
        half = size * CAP_HEIGHT / 2 + PLAQUE_MARGIN_MM
        frame = Affine(x=x, y=y).within((turn, False, 0.0, 0.0))
        box = (("M", left, -half), ("L", right, -half), ("L", right, half), ("L", left, half),
               ("Z",))
        self._path(Path(box, "none", "sheet"), frame)


def _add(outline: PDFPathObject, letter: str, values: list[float]) -> None:
    match letter:
        case "M":
            outline.moveTo(*values)
        case "L":
            outline.lineTo(*values)
        case "C":
            outline.curveTo(*values)
        case _:
            outline.close()

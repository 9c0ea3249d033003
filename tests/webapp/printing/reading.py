"""A PDF read back with an independent library: strokes, circles and lettering in mm."""

from __future__ import annotations

import ctypes
from collections.abc import Iterator
from dataclasses import dataclass

import pypdfium2 as pdfium
import pypdfium2.raw as raw

MM = 25.4 / 72
Matrix = tuple[float, float, float, float, float, float]
Point = tuple[float, float]
IDENTITY: Matrix = (1, 0, 0, 1, 0, 0)


@dataclass(frozen=True)
class Stroke:
    """A path: its points in mm, its kinds of segments, line width in mm, filled, stroked."""

    points: tuple[Point, ...]
    kinds: tuple[int, ...]
    width: float
    filled: bool
    stroked: bool
    grey: int

    @property
    def box(self) -> tuple[float, float, float, float]:
        xs, ys = [p[0] for p in self.points], [p[1] for p in self.points]
        return min(xs), min(ys), max(xs), max(ys)

    @property
    def is_circle(self) -> bool:
        beziers = self.kinds.count(raw.FPDF_SEGMENT_BEZIERTO)
        lines = self.kinds.count(raw.FPDF_SEGMENT_LINETO)
        left, bottom, right, top = self.box
        return beziers == 12 and lines == 0 and abs((right - left) - (top - bottom)) < 1e-3

    @property
    def centre(self) -> Point:
        left, bottom, right, top = self.box
        return (left + right) / 2, (bottom + top) / 2

    @property
    def diameter(self) -> float:
        return self.box[2] - self.box[0]


@dataclass(frozen=True)
class Page:
    """One page: size in mm, what is drawn and what is written."""

    width: float
    height: float
    strokes: tuple[Stroke, ...]
    texts: tuple[tuple[str, tuple[float, float, float, float]], ...]
    words: str

    @property
    def circles(self) -> list[Stroke]:
        return [s for s in self.strokes if s.is_circle and s.stroked]

    def lines(self, width: float) -> list[Stroke]:
        """Straight strokes of a line width in mm."""
        return [s for s in self.strokes if len(s.points) == 2 and abs(s.width - width) < 5e-3]

    def bars(self) -> tuple[list[float], list[float]]:
        """Lengths of the wide straight strokes over 90 mm: along x, along y."""
        across, up = [], []
        for stroke in self.lines(0.35):
            left, bottom, right, top = stroke.box
            if top - bottom < 1e-6 and 90 < right - left < 110:
                across.append(right - left)
            if right - left < 1e-6 and 90 < top - bottom < 110:
                up.append(top - bottom)
        return across, up


def read(data: bytes) -> list[Page]:
    """Every page of a PDF."""
    document = pdfium.PdfDocument(data)
    return [_page(page) for page in document]


def _page(page: pdfium.PdfPage) -> Page:
    width, height = page.get_size()
    textpage = page.get_textpage()
    strokes, texts = [], []
    for found in _objects(page, IDENTITY, textpage):
        (strokes if isinstance(found, Stroke) else texts).append(found)
    return Page(width * MM, height * MM, tuple(strokes), tuple(texts),
                textpage.get_text_range().replace("\r\n", "\n"))


def _objects(page: pdfium.PdfPage, outer: Matrix, textpage: pdfium.PdfTextPage) -> Iterator[object]:
    for index in range(raw.FPDFPage_CountObjects(page.raw)):
        handle = raw.FPDFPage_GetObject(page.raw, index)
        yield from _read_object(handle, outer, textpage)


def _read_object(handle: object, outer: Matrix, textpage: pdfium.PdfTextPage) -> Iterator[object]:
    matrix = _times(_matrix(handle), outer)
    kind = raw.FPDFPageObj_GetType(handle)
    if kind == raw.FPDF_PAGEOBJ_FORM:
        for index in range(raw.FPDFFormObj_CountObjects(handle)):
            yield from _read_object(raw.FPDFFormObj_GetObject(handle, index), matrix, textpage)
    elif kind == raw.FPDF_PAGEOBJ_PATH:
        yield _stroke(handle, matrix)
    elif kind == raw.FPDF_PAGEOBJ_TEXT:
        text = _text(handle, textpage)
        if text.strip():
            yield text, _bounds(handle)


def _stroke(handle: object, matrix: Matrix) -> Stroke:
    points, kinds = [], []
    for index in range(raw.FPDFPath_CountSegments(handle)):
        segment = raw.FPDFPath_GetPathSegment(handle, index)
        x, y = ctypes.c_float(), ctypes.c_float()
        raw.FPDFPathSegment_GetPoint(segment, x, y)
        points.append(_apply(matrix, x.value, y.value))
        kinds.append(raw.FPDFPathSegment_GetType(segment))
    fill, stroked = ctypes.c_int(), ctypes.c_int()
    raw.FPDFPath_GetDrawMode(handle, fill, stroked)
    width = ctypes.c_float()
    raw.FPDFPageObj_GetStrokeWidth(handle, width)
    red, green, blue, alpha = (ctypes.c_uint() for _ in range(4))
    raw.FPDFPageObj_GetStrokeColor(handle, red, green, blue, alpha)
    return Stroke(tuple(points), tuple(kinds), width.value * MM, bool(fill.value),
                  bool(stroked.value), red.value)


def _matrix(handle: object) -> Matrix:
    matrix = raw.FS_MATRIX()
    raw.FPDFPageObj_GetMatrix(handle, matrix)
    return matrix.a, matrix.b, matrix.c, matrix.d, matrix.e, matrix.f


def _times(inner: Matrix, outer: Matrix) -> Matrix:
    a, b, c, d, e, f = inner
    oa, ob, oc, od, oe, of = outer
    return (a * oa + b * oc, a * ob + b * od, c * oa + d * oc, c * ob + d * od,
            e * oa + f * oc + oe, e * ob + f * od + of)


def _apply(matrix: Matrix, x: float, y: float) -> Point:
    a, b, c, d, e, f = matrix
    return (a * x + c * y + e) * MM, (b * x + d * y + f) * MM


def _bounds(handle: object) -> tuple[float, float, float, float]:
    values = [ctypes.c_float() for _ in range(4)]
    raw.FPDFPageObj_GetBounds(handle, *values)
    left, bottom, right, top = (value.value * MM for value in values)
    return left, bottom, right, top


def _text(handle: object, textpage: pdfium.PdfTextPage) -> str:
    size = raw.FPDFTextObj_GetText(handle, textpage.raw, None, 0)
    buffer = (ctypes.c_ushort * (size // 2))()
    raw.FPDFTextObj_GetText(handle, textpage.raw, buffer, size)
    return bytes(buffer).decode("utf-16-le").rstrip("\0")


def edge(page: Page) -> Stroke | None:
    """The plate's edge, the only heavy outline; it reaches beyond the sheet when tiled."""
    heavy = [s for s in page.strokes if s.stroked and len(s.points) > 3
             and abs(s.width - 0.7) < 5e-3]
    return heavy[0] if heavy else None


def datum(page: Page, face: str) -> Point:
    """The plate's corner from which all is measured, as the page shows it, mm."""
    outline = edge(page)
    assert outline is not None
    left, bottom, right, _ = outline.box
    return (left if face == "front" else right), bottom


def plate_holes(page: Page, face: str) -> list[tuple[float, float, float]]:
    """Every hole on a template page as plate x, y (seen from the front) and diameter, mm."""
    x0, y0 = datum(page, face)
    side = 1 if face == "front" else -1
    return [(side * (c.centre[0] - x0), c.centre[1] - y0, c.diameter)
            for c in page.circles if abs(c.width - 0.35) < 5e-3]


def is_template(page: Page) -> bool:
    """Whether the page shows the plate, not only words and tables."""
    return edge(page) is not None

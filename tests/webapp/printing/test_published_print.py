"""Published and worked rows of tests/data/mechanical.csv on pdf, paper and printers, held against
the printed sheets themselves."""

from __future__ import annotations

import csv
from collections.abc import Callable
from functools import cache
from io import StringIO
from pathlib import Path

import pypdfium2 as pdfium
import pytest

from layout_engine.tables.paper import CHECK_TOLERANCE, PAPERS
from tests.webapp.printing.boards import job, large_document, lighthouse_document, slanted_document
from tests.webapp.printing.reading import MM, Page, is_template, read
from webapp.printing.drilling import drilling_pdf
from webapp.printing.margins import TICK_MM
from webapp.printing.outline import outline_pdf
from webapp.printing.silhouettes import silhouettes_pdf
from webapp.printing.standing import Standing

DATA = Path(__file__).parents[2] / "data" / "mechanical.csv"
ROWS = {(row["topic"], row["quantity"], row["inputs"]): row
        for row in csv.DictReader(StringIO(DATA.read_text(encoding="utf-8")))}
STANDING = Standing(7, "24 Nov 2026, 14:05", ("A reason.",), ("Meter",))
A4 = PAPERS["a4"]


@cache
def sheet_pages(sheet: str) -> list[Page]:
    """One of the sheets, printed and read once for all tests."""
    return read(SHEETS[sheet]())


def row(topic: str, quantity: str, inputs: str) -> dict[str, str]:
    return ROWS[topic, quantity, inputs]


def template(paper: str = "a4") -> bytes:
    return drilling_pdf(job(lighthouse_document()), "front", PAPERS[paper], STANDING)


SHEETS: dict[str, Callable[[], bytes]] = {
    "template": template,
    "tiles": lambda: drilling_pdf(job(large_document()), "back", A4, STANDING),
    "slanted on letter": lambda: drilling_pdf(job(slanted_document()), "front", PAPERS["letter"],
                                              STANDING),
    "outline": lambda: outline_pdf(job(large_document()), A4, STANDING),
    "silhouettes": lambda: silhouettes_pdf(job(lighthouse_document()), A4, STANDING),
}


def test_pdf_row_a_bar_of_100_mm_has_its_points_72_over_25_4() -> None:
    known = row("pdf", "points for a 100 mm bar", "100 mm")
    across, up = next(p for p in read(template()) if is_template(p)).bars()
    for length in (across[0], up[0]):
        assert length / MM == pytest.approx(float(known["expected"]), abs=float(known["tolerance"]))


def test_pdf_row_millimetres_per_point_25_4_over_72() -> None:
    known = row("pdf", "millimetres per point", "1 pt")
    width, _ = pdfium.PdfDocument(template())[0].get_size()
    assert 210 / width == pytest.approx(float(known["expected"]), abs=float(known["tolerance"]))


def test_pdf_row_a4_page_box_computed() -> None:
    known = row("pdf", "A4 page box", "210 x 297")
    wanted = [float(side) for side in known["expected"].split(" x ")]
    assert list(pdfium.PdfDocument(template())[0].get_size()) == pytest.approx(
        wanted, abs=float(known["tolerance"]))


def test_pdf_row_print_scaling_none_iso_32000_1_table_150() -> None:
    import pypdfium2.raw as raw

    known = row("pdf", "viewer key that asks for no scaling", "PrintScaling")
    assert known["expected"] == "None"
    for make in SHEETS.values():
        document = pdfium.PdfDocument(make())
        assert raw.FPDF_VIEWERREF_GetPrintScaling(document.raw) == 0


@pytest.mark.parametrize(("paper", "name"), [
    pytest.param("a4", "A4", id="ISO 216:2007 (from memory) A4"),
    pytest.param("a3", "A3", id="ISO 216:2007 (from memory) A3"),
    pytest.param("letter", "US Letter", id="ANSI/ASME Y14.1 size A (from memory) Letter"),
])
def test_paper_rows_width_x_height(paper: str, name: str) -> None:
    sides = sorted(float(side) for side in row("paper", "width x height", name)["expected"]
                   .split(" x "))
    for page in read(template(paper)):
        assert sorted((page.width, page.height)) == pytest.approx(sides, abs=1e-3)


@pytest.mark.parametrize("sheet", SHEETS)
@pytest.mark.parametrize(("quantity", "inputs"), [
    pytest.param("edge not printable, laser", "every side", id="two laser-printer manuals, 4 mm"),
    pytest.param("edge not printable, laser", "1/6 in", id="driver kit example, 4.23 mm"),
    pytest.param("edge not printable, worst usual laser", "0.200 in",
                 id="label-program help page, 5.08 mm"),
])
def test_printer_rows_nothing_stands_where_a_laser_cannot_print(
        quantity: str, inputs: str, sheet: str) -> None:
    edge = float(row("printer", quantity, inputs)["expected"])
    for page in sheet_pages(sheet):
        boxes = [box for _, box in page.texts] + _bars(page)
        for left, bottom, right, top in boxes:
            assert min(left, bottom, page.width - right, page.height - top) >= edge


def _bars(page: Page) -> list[tuple[float, float, float, float]]:
    """The 100 mm bars with their ticks, which go up from one and to the left from the other."""
    boxes = []
    for stroke in page.lines(0.35):
        left, bottom, right, top = stroke.box
        if abs(right - left - 100) < 1e-3 and top - bottom < 1e-6:
            boxes.append((left, bottom, right, top + TICK_MM))
        if abs(top - bottom - 100) < 1e-3 and right - left < 1e-6:
            boxes.append((left - TICK_MM, bottom, right, top))
    assert len(boxes) == 2
    return boxes


def test_printer_row_the_drawing_keeps_the_default_margin_common_practice_no_source() -> None:
    margin = float(row("printer", "template margin default", "A4 or Letter")["expected"])
    for page in read(template("a3")):
        for circle in page.circles:
            left, bottom, right, top = circle.box
            assert min(left, bottom, page.width - right, page.height - top) >= margin


@pytest.mark.parametrize(("quantity", "inputs"), [
    pytest.param("scale when A4 is fitted on Letter", "paper only", id="A4 on Letter, min ratio"),
    pytest.param("scale when A4 is fitted inside 1/6 in margins on A4", "",
                 id="A4 inside 1/6 in margins, min ratio"),
])
def test_printer_rows_the_bar_betrays_a_fitted_page(quantity: str, inputs: str) -> None:
    """A sheet printed "fitted" shows a bar that is off by far more than the sheet allows."""
    percent = float(row("printer", quantity, inputs)["expected"])
    page = next(p for p in read(template()) if is_template(p))
    length = page.bars()[0][0]
    assert abs(length * percent / 100 - 100) > 5 * CHECK_TOLERANCE.value


def test_printer_row_sheets_for_a_plate_of_400_x_300() -> None:
    known = row("printer", "sheets for a 400 x 300 plate", "A4 landscape, margin 10, overlap 10")
    pages = [p for p in sheet_pages("tiles") if is_template(p)]
    assert len(pages) == int(known["expected"])
    assert all(page.width > page.height for page in pages)


def test_printer_row_check_figure_stands_on_the_sheet_common_practice_no_source() -> None:
    known = row("printer", "check figure", "bar and square")
    words = " ".join(next(p for p in read(template()) if is_template(p)).words.split())
    assert f"both {known['expected']} mm bars" in words
    assert f"more than {known['tolerance']} mm off, do not use this sheet" in words

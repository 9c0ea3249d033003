"""The drilling template measured as a builder would, but with another PDF library."""

from __future__ import annotations

import re
from functools import cache
from math import cos, radians, sin
from typing import Any

import pytest
import shapely

from layout_engine.tables.paper import PAPERS
from tests.webapp.printing.boards import (
    add,
    document,
    job,
    large_document,
    lighthouse_document,
    slanted_document,
)
from tests.webapp.printing.reading import Page, datum, edge, is_template, plate_holes, read
from webapp.printing.drilling import drilling_pdf, drilling_sheets
from webapp.printing.standing import Standing

STANDING = Standing(14, "24 Nov 2026, 14:05")
STOPPED = Standing(14, "24 Nov 2026, 14:05", ("Drive controller hits the wall: 12.4 mm too deep.",
                                              "Meter is off the plate."), ("Lamp relay",))
POSITION_MM = 0.02
BOARDS = {"lighthouse": lighthouse_document, "large": large_document, "slanted": slanted_document}


def template(doc: dict[str, Any], face: str = "front", paper: str = "a4",
             standing: Standing = STANDING) -> list[Page]:
    return read(drilling_pdf(job(doc), face, PAPERS[paper], standing))


@cache
def board_pages(board: str, face: str = "front", paper: str = "a4") -> list[Page]:
    """One of the boards, printed and read once for all tests."""
    return template(BOARDS[board](), face, paper)


def expected_fixings(doc: dict[str, Any]) -> list[tuple[float, float]]:
    """Fixings by the contract's placement rule, written out anew."""
    places = []
    for part in doc["parts"]:
        kind, at = doc["types"][part["type"]], part["placement"]
        c, s = cos(radians(at["turn"])), sin(radians(at["turn"]))
        fixings = kind["fixings"] if kind.get("fixing", "screws") == "screws" else []
        rounds = [t for t in kind.get("through", []) if isinstance(t, dict)]
        for fixing in (*fixings, *rounds):
            qx = -fixing["x"] if at["face"] == "back" else fixing["x"]
            places.append((c * qx - s * fixing["y"] + at["x"], s * qx + c * fixing["y"] + at["y"]))
    mounts = doc["plate"].get("mounts", [])
    return places + [(mount["x"], mount["y"]) for mount in mounts]


@pytest.mark.parametrize("face", ["front", "back"])
@pytest.mark.parametrize("paper", ["a4", "letter", "a3"])
@pytest.mark.parametrize("board", BOARDS)
def test_every_hole_stands_within_a_fiftieth_of_a_millimetre(board: str, paper: str, face: str
                                                            ) -> None:
    doc = BOARDS[board]()
    pages = [page for page in board_pages(board, face, paper) if is_template(page)]
    wanted = expected_fixings(doc)
    assert wanted
    for x, y in wanted:
        near = [max(abs(hx - x), abs(hy - y)) for page in pages
                for hx, hy, _ in plate_holes(page, face)]
        assert min(near) < POSITION_MM, (x, y)


@pytest.mark.parametrize("board", BOARDS)
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_every_hole_lies_wholly_inside_the_margins_of_a_sheet(board: str, paper: str) -> None:
    doc = BOARDS[board]()
    pages = [page for page in board_pages(board, "front", paper) if is_template(page)]
    for x, y in expected_fixings(doc):
        assert any(
            circle.box[0] >= 10 - 1e-3 and circle.box[2] <= page.width - 10 + 1e-3
            and circle.box[1] >= 10 - 1e-3 and circle.box[3] <= page.height - 10 + 1e-3
            for page in pages
            for circle in page.circles
            if abs(circle.centre[0] - datum(page, "front")[0] - x) < POSITION_MM
            and abs(circle.centre[1] - datum(page, "front")[1] - y) < POSITION_MM), (x, y)


@pytest.mark.parametrize(("paper", "width", "height"), [
    pytest.param("a4", 210, 297, id="ISO 216:2007 (from memory) A4"),
    pytest.param("a3", 297, 420, id="ISO 216:2007 (from memory) A3"),
    pytest.param("letter", 215.9, 279.4, id="ANSI Y14.1 size A (from memory) Letter"),
])
@pytest.mark.parametrize("board", BOARDS)
def test_the_page_box_is_the_paper(board: str, paper: str, width: float, height: float) -> None:
    for page in board_pages(board, "front", paper):
        size = sorted((page.width, page.height))
        assert size == pytest.approx(sorted((width, height)), abs=1e-3)


@pytest.mark.parametrize("board", BOARDS)
@pytest.mark.parametrize("paper", ["a4", "letter", "a3"])
def test_bars_on_both_axes_of_every_template_sheet_are_100_mm(board: str, paper: str) -> None:
    for page in board_pages(board, "back", paper):
        across, up = page.bars()
        assert any(abs(length - 100) < 1e-3 for length in across)
        assert any(abs(length - 100) < 1e-3 for length in up)


def test_the_check_square_has_the_diagonal_it_states() -> None:
    (page,) = [p for p in template(document(80, 60)) if is_template(p)]
    squares = [s for s in page.strokes if s.stroked and len(s.points) in (4, 5)
               and s.diameter in (pytest.approx(50, abs=1e-3), pytest.approx(30, abs=1e-3))
               and s.box[3] - s.box[1] == pytest.approx(s.diameter, abs=1e-3)]
    assert squares
    assert f"{squares[0].diameter * 2 ** 0.5:.1f}" in page.words


def test_the_template_is_the_same_bytes_each_time() -> None:
    board = job(large_document())
    first = drilling_pdf(board, "front", PAPERS["a4"], STANDING)
    assert first == drilling_pdf(board, "front", PAPERS["a4"], STANDING)
    assert first != drilling_pdf(board, "back", PAPERS["a4"], STANDING)


def test_scaling_is_asked_off_and_title_and_author_are_set() -> None:
    data = drilling_pdf(job(lighthouse_document()), "front", PAPERS["a4"], STANDING)
    assert re.search(rb"/PrintScaling\s*/None", data), "ISO 32000-1 Table 150"
    assert b"Rolling lighthouse: Drilling template, front" in data
    assert b"Ines Farrow" in data


def test_a_nameless_owner_prints_as_anonymous() -> None:
    doc = document(80, 60)
    doc["client"] = ""
    assert b"anonymous" in drilling_pdf(job(doc), "front", PAPERS["a4"], STANDING)


@pytest.mark.parametrize("board", BOARDS)
def test_front_and_back_fold_onto_each_other(board: str) -> None:
    """Folded along an upright line, printed sides outward, both sheets show the same holes."""
    doc = BOARDS[board]()
    width = doc["plate"]["outline"][1][0]
    front = _in_sheet_frame(board_pages(board, "front", "a3"))
    back = _in_sheet_frame(board_pages(board, "back", "a3"))
    folded = {(round(width - x, 2), y, d) for x, y, d in back}
    assert front == folded
    assert front != back


def _in_sheet_frame(pages: list[Page]) -> set[tuple[float, float, float]]:
    """Holes as they lie on the paper, from the plate's lower left corner on that sheet."""
    holes = set()
    for page in pages:
        if is_template(page):
            edge = next(s for s in page.strokes if abs(s.width - 0.7) < 5e-3 and len(s.points) > 3)
            left, bottom = edge.box[:2]
            holes |= {(round(c.centre[0] - left, 2), round(c.centre[1] - bottom, 2),
                       round(c.diameter, 2)) for c in page.circles if abs(c.width - 0.35) < 5e-3}
    return holes


def test_published_row_back_x_is_width_less_front_x() -> None:
    """Row "hole x on the back-side sheet": width 300, front x 42 gives 258 (x_back = W - x)."""
    doc = document(300, 100)
    add(doc, "one", "One", (32, 40), (20, 20), [(10, 10)])
    (page,) = [p for p in template(doc, "back", "a3") if is_template(p)]
    edge = next(s for s in page.strokes if abs(s.width - 0.7) < 5e-3 and len(s.points) > 3)
    hole = next(c for c in page.circles if abs(c.width - 0.35) < 5e-3)
    assert hole.centre[0] - edge.box[0] == pytest.approx(258, abs=POSITION_MM)
    assert hole.centre[1] - edge.box[1] == pytest.approx(50, abs=POSITION_MM)
    assert "Back, seen from behind" in page.words


def test_lettering_on_the_back_is_not_mirrored() -> None:
    import pypdfium2 as pdfium
    import pypdfium2.raw as raw

    page = pdfium.PdfDocument(
        drilling_pdf(job(lighthouse_document()), "back", PAPERS["a4"], STANDING))[0]
    for index in range(raw.FPDFPage_CountObjects(page.raw)):
        handle = raw.FPDFPage_GetObject(page.raw, index)
        if raw.FPDFPageObj_GetType(handle) == raw.FPDF_PAGEOBJ_TEXT:
            matrix = raw.FS_MATRIX()
            raw.FPDFPageObj_GetMatrix(handle, matrix)
            assert matrix.a * matrix.d - matrix.b * matrix.c > 0


def test_stops_print_not_for_building_with_reasons_on_every_sheet() -> None:
    for doc, paper in ((lighthouse_document(), "a3"), (large_document(), "a4")):
        pages = template(doc, "front", paper, STOPPED)
        assert pages
        for page in pages:
            words = " ".join(page.words.split())
            assert "NOT FOR BUILDING" in words
            assert "Drive controller hits the wall: 12.4 mm too deep." in words


@pytest.mark.parametrize("free", [52.0, 66.0])
def test_what_forbids_building_stands_clear_in_a_narrow_strip(free: float) -> None:
    """The only clear ground of a plate of 190 x 250 mm is a strip beside a module full of holes."""
    doc = document(190, 250)
    wide = 180 - free
    holes = [(5 + (wide - 10) * column / 5, 5 + 230 * row / 9)
             for row in range(10) for column in range(6)]
    add(doc, "wide", "Wide module", (5, 5), (wide, 240), holes)
    reasons = tuple(f"Module {n} and module {n + 1} touch. They overlap by {n} mm in two places."
                    for n in range(10, 17))
    standing = Standing(14, "24 Nov 2026, 14:05", reasons, ())
    (page,) = (p for p in template(doc, "front", "a4", standing) if is_template(p))
    (box,) = (box for words, box in page.texts if words == "NOT FOR BUILDING")
    outline = edge(page)
    assert outline is not None
    left, _, right, _ = outline.box
    assert left + 5 + wide < box[0] < box[2] < right
    assert "see the findings on the Layout page" in " ".join(page.words.split())


def test_without_stops_nothing_forbids_building() -> None:
    for doc, paper in ((lighthouse_document(), "a3"), (large_document(), "a4")):
        for page in template(doc, "front", paper):
            assert "NOT FOR BUILDING" not in page.words
            assert "not measured" not in page.words


@pytest.mark.parametrize(("names", "words"), [
    (("Lamp relay",), "1 module not measured: do not drill."),
    (("Lamp relay", "Meter"), "2 modules not measured: do not drill."),
])
def test_modules_not_measured_are_named(names: tuple[str, ...], words: str) -> None:
    standing = Standing(3, "today", (), names)
    page = template(lighthouse_document(), "front", "a3", standing)[0]
    text = " ".join(page.words.split())
    assert words in text
    assert f"Still a guess: {', '.join(names)}." in text


@pytest.mark.parametrize("face", ["front", "back"])
def test_the_datum_corner_is_marked_beside_the_plate(face: str) -> None:
    """A filled square 2.5 mm outside both edges, at the mirrored corner on the back."""
    page = board_pages("lighthouse", face)[0]
    (square,) = [s for s in page.strokes if s.filled and not s.stroked
                 and s.diameter == pytest.approx(1.8, abs=1e-3)]
    x, y = datum(page, face)
    side = -1 if face == "front" else 1
    assert square.centre == pytest.approx((x + side * 2.5, y - 2.5), abs=1e-3)
    way = {"front": "x to the right, y up", "back": "x to the left, y up"}[face]
    assert way in " ".join(page.words.split())


def test_the_title_block_says_what_sheet_this_is() -> None:
    page = board_pages("lighthouse")[0]
    for words in ("Rolling lighthouse", "Drilling template, front", "Front, seen from the front",
                  "1:1", "A4", "170 x 200 x 3, acrylic", "rev. 14, 24 Nov 2026, 14:05",
                  "35, all new", "Ines Farrow"):
        assert words in page.words


def test_coordinates_and_slack_of_a_small_board_stand_on_the_template_itself() -> None:
    doc = document(100, 80)
    add(doc, "one", "One", (30, 20), (40, 40), [(5, 5), (35.5, 35)])
    pages = template(doc)
    assert len(pages) == 1
    assert re.search(r"1\s+35\.0\s+25\.0\s+3\.5\s+0\.5", pages[0].words)
    assert re.search(r"2\s+65\.5\s+55\.0\s+3\.5\s+0\.5", pages[0].words)


def test_over_36_holes_the_coordinates_take_sheets_of_their_own() -> None:
    doc = document(150, 150)
    add(doc, "dense", "Dense", (5, 5), (140, 140),
        [(6 + 20 * column, 6 + 20 * row) for column in range(7) for row in range(7)])
    pages = template(doc)
    assert len(pages) == 2
    assert [is_template(page) for page in pages] == [True, False]
    assert all(re.search(rf"\b{number}\b", pages[1].words) for number in range(1, 50))


@pytest.mark.parametrize("board", BOARDS)
@pytest.mark.parametrize("paper", ["a4", "letter", "a3"])
def test_the_number_of_sheets_is_known_beforehand(board: str, paper: str) -> None:
    doc = BOARDS[board]()
    pages = board_pages(board, "front", paper)
    count = drilling_sheets(job(doc), "front", PAPERS[paper], STANDING)
    assert len(pages) == count
    assert f"of {count}" in pages[-1].words


def test_modules_of_the_other_face_are_dashed_and_named_so() -> None:
    page = board_pages("lighthouse")[0]
    assert "Horn amplifier, on the back" in " ".join(page.words.split())


def test_holes_that_exist_already_are_grey_and_called_so() -> None:
    pages = [p for p in board_pages("slanted", "front", "a3") if is_template(p)]
    (page,) = pages
    grey = [c for c in page.circles if c.grey > 60]
    assert sorted(round(c.diameter, 2) for c in grey) == [4.2, 6.0]
    assert "there already" in page.words
    assert "not used" in page.words


def test_lettering_crosses_no_stroke_and_no_other_lettering() -> None:
    """Inside the plate's edge, read back: boxes of lettering against strokes and each other."""
    (page,) = [p for p in board_pages("lighthouse", "front", "a3") if is_template(p)]
    edge = next(s for s in page.strokes if abs(s.width - 0.7) < 5e-3 and len(s.points) > 3)
    plate = shapely.box(*edge.box)
    boxes = [(text, shapely.box(*bounds)) for text, bounds in page.texts]
    boxes = [(text, box) for text, box in boxes if plate.contains(box)]
    lines = [shapely.LineString(s.points) for s in page.strokes
             if s.stroked and not s.is_circle and plate.buffer(1).contains(shapely.box(*s.box))]
    rings = [shapely.Point(c.centre).buffer(c.diameter / 2).exterior for c in page.circles]
    assert len(boxes) > 40
    for number, (text, box) in enumerate(boxes):
        inner = box.buffer(-0.05)
        assert not any(stroke.intersects(inner) for stroke in (*lines, *rings)), text
        assert not any(inner.intersects(other.buffer(-0.05))
                       for _, other in boxes[number + 1:]), text


HOSTILE = ["<b>bold</b> & \"quotes\"", "=1+1", "{{ 7 * 7 }} ${x}", "a\\b(c)%d %s", "]]> <!-- x"]


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_names_print_as_they_are(name: str) -> None:
    doc = document(180, 120)
    add(doc, "one", name, (20, 20), (140, 80), [(5, 5)])
    doc["name"] = name
    page = template(doc)[0]
    assert page.words.count(name) >= 2


def test_a_name_of_200_characters_breaks_nothing() -> None:
    doc = document(180, 120)
    add(doc, "one", "W" * 200, (20, 20), (12, 12), [(5, 5)])
    doc["name"] = "M" * 200
    page = template(doc)[0]
    for text, (left, bottom, right, top) in page.texts:
        assert left >= 5, text
        assert right <= page.width - 5, text
        assert 5 <= bottom < top <= page.height - 5, text


def test_every_typeface_is_embedded() -> None:
    doc = lighthouse_document()
    doc["parts"][0]["label"] = "Empfänger Ω µ \u05e9\u05dc\u05d5\u05dd \U0001f600"
    data = drilling_pdf(job(doc), "front", PAPERS["a4"], STANDING)
    descriptors = data.count(b"/FontDescriptor")
    fonts = len(re.findall(rb"/Type /Font\b(?!D)", data))
    assert fonts >= 1
    assert data.count(b"/FontFile2") >= fonts
    assert descriptors >= fonts
    assert b"Helvetica" not in data


@pytest.mark.parametrize("material", [
    "acrylic", "polycarbonate", "hdpe", "pvc_foam", "pvc", "plywood", "mdf", "fr4", "aluminium",
    "steel", "aluminium_composite"])
def test_cautions_fit_the_material(material: str) -> None:
    doc = document(100, 80, material=material)
    add(doc, "one", "One", (30, 20), (40, 40), [(5, 5)], thread="M5")
    words = " ".join(template(doc)[0].words.split())
    assert "Clamp the plate on scrap board and wear eye protection" in words
    assert "Start holes over 4 mm with a 2.5 mm pilot" in words
    assert "Before drilling, measure both 100 mm bars" in words
    assert "0.5 mm off, do not use this sheet" in words
    expected = {"acrylic": "cracks", "plywood": "splinters", "fr4": "dust", "steel": "deburr"}
    assert expected.get(material, "") in words


def test_an_empty_plate_prints() -> None:
    page = template(document(120, 90))[0]
    assert "0, all new" in page.words


def test_tiles_overlap_and_share_their_registration_marks() -> None:
    pages = [p for p in board_pages("large") if is_template(p)]
    assert len(pages) == 4
    marks: dict[tuple[float, float], int] = {}
    for page in pages:
        x0, y0 = datum(page, "front")
        for circle in page.circles:
            if abs(circle.width - 0.13) < 5e-3:
                place = round(circle.centre[0] - x0, 2), round(circle.centre[1] - y0, 2)
                marks[place] = marks.get(place, 0) + 1
    assert len(marks) >= 8
    assert all(count >= 2 for count in marks.values())
    holes = plate_holes(pages[0], "front")
    for x, y in marks:
        assert all(((x - hx) ** 2 + (y - hy) ** 2) ** 0.5 > d / 2 + 3 for hx, hy, d in holes)


def test_tiles_say_where_they_belong() -> None:
    pages = [p for p in board_pages("large") if is_template(p)]
    for page, name in zip(pages, ("1.1", "1.2", "2.1", "2.2"), strict=True):
        assert f"Sheet {name} of 2 x 2" in page.words
    assert "sheet 1.2 goes on here" in pages[0].words
    assert "sheet 2.1 goes on here" in pages[0].words
    assert "goes on here" not in pages[3].words



"""The plate as SVG and the holes as CSV, read by other libraries; names of downloads."""

from __future__ import annotations

import csv
import re
from io import StringIO

import pytest
from defusedxml import ElementTree

from layout_engine import load_document
from layout_engine.sheets.holes import board_holes
from layout_engine.sheets.materials import Material
from tests.webapp.printing.boards import (
    add,
    document,
    job,
    lighthouse_document,
    slanted_document,
)
from webapp.printing.cautions import board_notes
from webapp.printing.drilling_csv import HEADER, drilling_csv, plain_text
from webapp.printing.file_names import attachment
from webapp.printing.materials_csv import materials_csv
from webapp.printing.plate_svg import plate_svg

SVG = "{http://www.w3.org/2000/svg}"


def rows(doc: dict) -> list[dict[str, str]]:
    return list(csv.DictReader(StringIO(drilling_csv(job(doc)).decode("utf-8"), newline="")))


def test_one_user_unit_is_one_millimetre() -> None:
    """Published row "user unit", SVG 1.1 sec. 7.7 to 7.10: width 300mm, viewBox 0 0 300 200."""
    root = ElementTree.fromstring(plate_svg(job(slanted_document())))
    assert root.attrib["width"] == "300mm"
    assert root.attrib["height"] == "200mm"
    assert root.attrib["viewBox"] == "0 0 300 200"


def test_every_hole_stands_in_the_svg_with_exact_figures() -> None:
    board = job(lighthouse_document())
    root = ElementTree.fromstring(plate_svg(board))
    circles = root.findall(f".//{SVG}circle")
    found = {(float(c.attrib["cx"]), 200 - float(c.attrib["cy"]), 2 * float(c.attrib["r"]))
             for c in circles}
    wanted = {(h.x, h.y, h.diameter) for h in board_holes(board).holes}
    assert found == wanted
    assert len(circles) == 35


def test_edge_and_holes_have_groups_of_their_own() -> None:
    root = ElementTree.fromstring(plate_svg(job(slanted_document())))
    groups = {group.attrib["id"]: group for group in root.findall(f"{SVG}g")}
    assert list(groups) == ["PLATE_EDGE", "HOLES"]
    assert len(groups["PLATE_EDGE"].findall(f"{SVG}path")) == 2
    assert len(groups["HOLES"].findall(f"{SVG}path")) == 3


def test_rounded_corners_are_true_arcs() -> None:
    root = ElementTree.fromstring(plate_svg(job(lighthouse_document())))
    path = root.find(f".//{SVG}path").attrib["d"]
    assert re.findall(r"A(\d+) (\d+) 0 0 0", path) == [("4", "4")] * 4


@pytest.mark.parametrize("name", ["<script>alert(1)</script>", "]]>&amp;", "a\"b'c", "\U0001f600"])
def test_names_stay_text_in_the_svg(name: str) -> None:
    doc = document(80, 60)
    doc["name"] = name
    add(doc, "one", name, (10, 10), (30, 30), [(5, 5)])
    root = ElementTree.fromstring(plate_svg(job(doc)))
    assert root.find(f"{SVG}title").text == f"{name}: plate, seen from the front"
    assert root.find(f".//{SVG}circle/{SVG}title").text == f"1: {name}"
    assert not root.findall(".//script")


def test_the_csv_has_the_header_of_the_contract_and_ends_lines_by_rfc_4180() -> None:
    data = drilling_csv(job(lighthouse_document()))
    assert data.startswith(b"id,x_mm,y_mm,diameter_mm,for,face\r\n")
    assert data.endswith(b"\r\n")
    assert data.replace(b"\r\n", b"").count(b"\n") == 0
    assert HEADER == ("id", "x_mm", "y_mm", "diameter_mm", "for", "face")


def test_the_csv_has_every_round_hole_in_plate_coordinates() -> None:
    board = job(lighthouse_document())
    found = [(r["id"], float(r["x_mm"]), float(r["y_mm"]), float(r["diameter_mm"]), r["for"],
              r["face"]) for r in rows(lighthouse_document())]
    wanted = [(h.id, h.x, h.y, h.diameter, h.for_, h.face) for h in board_holes(board).holes]
    assert found == wanted


def test_the_back_keeps_plate_coordinates_in_the_csv() -> None:
    horn = [row for row in rows(lighthouse_document()) if row["for"] == "Horn amplifier"]
    assert {row["face"] for row in horn} == {"back"}
    assert {(row["x_mm"], row["y_mm"]) for row in horn} == {
        ("100", "19"), ("54", "19"), ("100", "51"), ("54", "51")}


@pytest.mark.parametrize("name", ["=1+1", "+1", "-1", "@SUM(A1)", "  =cmd", "=\"x\",\"y\""])
def test_no_name_becomes_a_formula(name: str) -> None:
    doc = document(80, 60)
    add(doc, "one", name, (10, 10), (30, 30), [(5, 5)])
    (row,) = rows(doc)
    assert row["for"] == f"'{name}"


def test_commas_and_quotes_survive_the_csv() -> None:
    doc = document(80, 60)
    add(doc, "one", 'Driver, "25 A"', (10, 10), (30, 30), [(5, 5)])
    assert rows(doc)[0]["for"] == 'Driver, "25 A"'
    assert plain_text("2 x 5 V") == "2 x 5 V"


def test_a_hole_that_is_there_already_says_so() -> None:
    marked = [row["for"] for row in rows(slanted_document()) if "already" in row["for"]]
    assert marked == ["Used again (in the plate already)"]


@pytest.mark.parametrize(("name", "plain"), [
    ("Rolling lighthouse", "Rolling-lighthouse-holes.csv"),
    ("Löwe / Bär", "Lowe-Bar-holes.csv"),
    ("\u65e5\u672c", "holes.csv"),
    ("../../etc/passwd", "etc-passwd-holes.csv"),
    ('a"b\\c', "a-b-c-holes.csv"),
])
def test_file_names_are_safe_and_carry_the_whole_name(name: str, plain: str) -> None:
    header = attachment(name, "holes", "csv")
    assert header.isascii()
    assert f'filename="{plain}"' in header
    assert re.search(r"filename\*=UTF-8''[A-Za-z0-9%._~-]+$", header)
    assert "/" not in header.split("filename")[1]


def test_the_materials_have_a_header_and_plain_figures() -> None:
    one = Material("wire", "stranded wire", "0.5 mm2", "red", 3.525, "m", '=HYPERLINK("x")', "a, b")
    data = materials_csv([one])
    assert data.startswith(b"group,item,size,colour,quantity,unit,for,note\r\n")
    (row,) = csv.DictReader(StringIO(data.decode("utf-8"), newline=""))
    assert (row["quantity"], row["unit"], row["note"]) == ("3.525", "m", "a, b")
    assert row["for"] == '\'=HYPERLINK("x")'


@pytest.mark.parametrize(("count", "words"), [
    (1, ("Countersink hole {} on", "Hole {} (grey, r) is in the plate already: do not drill it")),
    (2, ("Countersink holes {} on",
         "Holes {} (grey, r) are in the plate already: do not drill them")),
])
def test_notes_count_the_holes_that_they_name(count: int, words: tuple[str, str]) -> None:
    places = [(10.0, 10.0), (50.0, 10.0)][:count]
    existing = [{"x": 20 + x, "y": 20 + y, "diameter": 3.4} for x, y in places]
    doc = document(200, 160, existing_holes=existing)
    add(doc, "a", "Relay", (20, 20), (60, 40), places)
    for fixing in doc["types"]["t_a"]["fixings"]:
        fixing["head"] = "countersunk"
    board = board_holes(load_document(doc))
    ids = ", ".join(hole.id for hole in board.holes)
    notes = " ".join(board_notes(board))
    assert all(part.format(ids) in notes for part in words)

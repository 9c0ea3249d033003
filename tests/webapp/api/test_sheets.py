"""The sheets as programs get them: status, type, name, and what stands in them."""

from __future__ import annotations

import csv
from collections.abc import Callable
from io import StringIO
from typing import Any

import httpx
import pytest
from defusedxml import ElementTree

from tests.webapp.printing.boards import add, document, large_document, lighthouse_document
from tests.webapp.printing.reading import is_template, read

NewJob = Callable[[dict[str, Any]], str]
SHEETS = {
    "drilling.pdf": "application/pdf", "cardboard.pdf": "application/pdf",
    "silhouettes.pdf": "application/pdf", "drilling.csv": "text/csv; charset=utf-8",
    "materials.csv": "text/csv; charset=utf-8", "wires.pdf": "application/pdf",
    "plate.svg": "image/svg+xml",
}


@pytest.mark.parametrize("sheet", SHEETS)
def test_every_sheet_is_a_safe_download(http: httpx.Client, new_job: NewJob, sheet: str) -> None:
    answer = http.get(f"/api/projects/{new_job(lighthouse_document())}/{sheet}")
    assert answer.status_code == 200
    assert answer.headers["content-type"] == SHEETS[sheet]
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert "sandbox" in answer.headers["content-security-policy"]
    disposition = answer.headers["content-disposition"]
    assert disposition.startswith('attachment; filename="Rolling-lighthouse-')
    assert "filename*=UTF-8''Rolling%20lighthouse" in disposition


@pytest.mark.parametrize("sheet", SHEETS)
def test_no_sheet_of_a_job_that_is_not_there(http: httpx.Client, sheet: str) -> None:
    answer = http.get(f"/api/projects/nosuchjob/{sheet}")
    assert answer.status_code == 404
    assert answer.headers["content-type"] == "application/problem+json"


@pytest.mark.parametrize(("query", "sent"), [
    ("paper=a5", {"query.paper": "a5"}), ("face=side", {"query.face": "side"}),
    ("paper=", {"query.paper": ""}),
    ("paper=A4&face=FRONT", {"query.paper": "A4", "query.face": "FRONT"})])
def test_a_wrong_choice_names_the_parameter_and_what_is_allowed(
        http: httpx.Client, new_job: NewJob, query: str, sent: dict[str, str]) -> None:
    answer = http.get(f"/api/projects/{new_job(document(80, 60))}/drilling.pdf?{query}")
    assert answer.status_code == 422
    errors = answer.json()["errors"]
    assert {error["path"]: error["value"] for error in errors} == sent
    allowed = {"query.paper": "a4, letter or a3", "query.face": "front or back"}
    assert all(allowed[error["path"]] == error["allowed"] for error in errors)


@pytest.mark.parametrize(("paper", "sides"), [
    ("a4", (210, 297)), ("letter", (215.9, 279.4)), ("a3", (297, 420))])
@pytest.mark.parametrize("face", ["front", "back"])
def test_paper_and_face_are_those_asked_for(
        http: httpx.Client, new_job: NewJob, paper: str, sides: tuple[float, float], face: str
        ) -> None:
    path = f"/api/projects/{new_job(lighthouse_document())}/drilling.pdf"
    pages = read(http.get(path, params={"paper": paper, "face": face}).content)
    assert sorted((pages[0].width, pages[0].height)) == pytest.approx(sides, abs=1e-3)
    words = {"front": "Front, seen from the front", "back": "Back, seen from behind"}
    assert words[face] in pages[0].words


def test_a_board_fit_for_building_carries_no_prohibition(http: httpx.Client, new_job: NewJob
                                                         ) -> None:
    doc = document(200, 160, mounts=[
        {"id": "m", "x": 100, "y": 12, "diameter": 4.5, "head_diameter": 9}])
    add(doc, "one", "One", (60, 60), (60, 40), [(10, 10), (50, 30)])
    project = new_job(doc)
    findings = http.get(f"/api/projects/{project}/findings").json()["findings"]
    assert not [finding for finding in findings if finding["severity"] == "stop"]
    for page in read(http.get(f"/api/projects/{project}/drilling.pdf").content):
        assert "NOT FOR BUILDING" not in page.words
        assert "not measured" not in page.words


def test_stops_of_the_check_stand_on_every_sheet_of_the_template(
        http: httpx.Client, new_job: NewJob) -> None:
    doc = large_document()
    doc["parts"][0]["placement"]["x"] = -40
    project = new_job(doc)
    findings = http.get(f"/api/projects/{project}/findings").json()["findings"]
    stops = [finding for finding in findings if finding["severity"] == "stop"]
    assert stops
    pages = read(http.get(f"/api/projects/{project}/drilling.pdf").content)
    assert len(pages) > 4
    for page in pages:
        words = " ".join(page.words.split())
        assert "NOT FOR BUILDING" in words
        assert " ".join(stops[0]["message"].split()) in words


def test_guessed_footprints_are_named_on_the_template(http: httpx.Client, new_job: NewJob) -> None:
    doc = document(200, 160)
    add(doc, "one", "First guess", (20, 60), (60, 40), [(10, 10)], basis="guess")
    add(doc, "two", "Second guess", (110, 60), (60, 40), [(10, 10)], basis="guess")
    page = read(http.get(f"/api/projects/{new_job(doc)}/drilling.pdf").content)[0]
    words = " ".join(page.words.split())
    assert "2 modules not measured: do not drill." in words
    assert "First guess, Second guess" in words


def test_the_same_revision_gives_the_same_bytes(http: httpx.Client, new_job: NewJob) -> None:
    path = f"/api/projects/{new_job(lighthouse_document())}/drilling.pdf"
    assert http.get(path).content == http.get(path).content


def test_csv_svg_and_pdf_speak_of_the_same_holes(http: httpx.Client, new_job: NewJob) -> None:
    root = f"/api/projects/{new_job(lighthouse_document())}"
    rows = csv.DictReader(StringIO(http.get(f"{root}/drilling.csv").text, newline=""))
    table = {(float(r["x_mm"]), float(r["y_mm"]), float(r["diameter_mm"])) for r in rows}
    svg = ElementTree.fromstring(http.get(f"{root}/plate.svg").content)
    drawn = {(float(c.attrib["cx"]), 200 - float(c.attrib["cy"]), 2 * float(c.attrib["r"]))
             for c in svg.iter("{http://www.w3.org/2000/svg}circle")}
    (page,) = [p for p in read(http.get(f"{root}/drilling.pdf?paper=a3").content)
               if is_template(p)]
    edge = next(s for s in page.strokes if abs(s.width - 0.7) < 5e-3 and len(s.points) > 3)
    printed = {(round(c.centre[0] - edge.box[0], 2), round(c.centre[1] - edge.box[1], 2),
                round(c.diameter, 2)) for c in page.circles}
    assert table == drawn == printed
    assert len(table) == 35


@pytest.mark.parametrize("sheet", ["drilling.csv", "wires.csv", "materials.csv"])
def test_only_a_table_for_spreadsheets_begins_with_the_signature_of_utf_8(
        http: httpx.Client, new_job: NewJob, sheet: str) -> None:
    """RFC 3629, section 6: EF BB BF is the signature; it is no letter of the text."""
    address = f"/api/projects/{new_job(document(80, 60))}/{sheet}"
    plain, signed = (http.get(address, params={"for": who}).content
                     for who in ("programs", "spreadsheets"))
    assert http.get(address).content == plain
    assert plain[:1].isascii()
    assert signed == b"\xef\xbb\xbf" + plain
    assert http.get(address, params={"for": "nobody"}).status_code == 422


def test_the_description_of_the_interface_names_every_sheet_and_choice(http: httpx.Client) -> None:
    described = http.get("/api/openapi.json").json()["paths"]
    for sheet in SHEETS:
        assert f"/api/projects/{{project_id}}/{sheet}" in described
    parameters = described["/api/projects/{project_id}/drilling.pdf"]["get"]["parameters"]
    choices = {p["name"]: p["schema"].get("enum") for p in parameters}
    assert choices["paper"] == ["a4", "letter", "a3"]
    assert choices["face"] == ["front", "back"]

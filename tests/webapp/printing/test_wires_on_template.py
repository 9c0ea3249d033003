"""What wires want on the drilling template, read back: holes at true size, feet not drilled."""

from __future__ import annotations

from typing import Any

import pytest

from layout_engine import load_document
from layout_engine.sheets.holes import board_holes
from layout_engine.tables.paper import PAPERS
from layout_engine.wiring import plan_routes
from tests.layout_engine.wiring.boards import at, block, board, terminal, wire
from tests.webapp.printing.reading import Page, read
from webapp.printing.drilling import drilling_pdf, drilling_sheets
from webapp.printing.drilling_csv import drilling_csv
from webapp.printing.standing import Standing

STANDING = Standing(7, "28 Nov 2026, 10:00")
FOOT_MM = 20.0


def one_wire(*, covered: bool) -> dict[str, Any]:
    """A wire of 160 mm on the front; covered: a module on the back lies behind all of it."""
    types = {"left": block(terminal("t", 40, 15, 0)), "right": block(terminal("t", 0, 15, 180)),
             "slab": block(size=(150, 140))}
    parts = [at("a", "left", 20, 60), at("b", "right", 220, 60)]
    if covered:
        parts.append(at("s", "slab", 215, 5, face="back"))
    else:
        del types["slab"]
    return board(types, parts, [wire("w", "a.t", "b.t")], size=(280, 150))


def pages(document: dict[str, Any], face: Any) -> list[Page]:
    job = load_document(document)
    routing = plan_routes(job)
    found = list(read(drilling_pdf(job, face, PAPERS["a3"], STANDING, routing)))
    assert len(found) == drilling_sheets(job, face, PAPERS["a3"], STANDING, routing)
    return found


def squares(found: list[Page]) -> int:
    return sum(
        abs(right - left - FOOT_MM) < 0.01 and abs(top - bottom - FOOT_MM) < 0.01
        for page in found for stroke in page.strokes if not stroke.is_circle
        for left, bottom, right, top in (stroke.box,))


def test_the_pairs_of_holes_for_ties_are_drawn_at_true_size() -> None:
    document = one_wire(covered=False)
    job = load_document(document)
    holes = board_holes(job, plan_routes(job)).holes
    assert {hole.kind for hole in holes} == {"tie"}
    drawn = sorted(round(c.diameter, 2) for page in pages(document, "front") for c in page.circles)
    assert drawn == sorted(round(hole.diameter, 2) for hole in holes)
    assert squares(pages(document, "front")) == 0


@pytest.mark.parametrize(("face", "shown"), [("front", True), ("back", False)])
def test_feet_are_shown_on_their_face_and_nothing_is_drilled_for_them(face: str, shown: bool
                                                                     ) -> None:
    found = pages(one_wire(covered=True), face)
    assert (squares(found) > 0) == shown
    assert [circle for page in found for circle in page.circles] == []
    assert ("foot" in " ".join(page.words for page in found)) == shown


def test_the_hole_list_says_what_each_hole_for_a_wire_is_for() -> None:
    job = load_document(one_wire(covered=False))
    lines = drilling_csv(job, plan_routes(job)).decode().splitlines()
    assert lines[0] == "id,x_mm,y_mm,diameter_mm,for,face"
    assert all('"tie T' in line and line.endswith(",front") for line in lines[1:])
    assert len(lines) > 2

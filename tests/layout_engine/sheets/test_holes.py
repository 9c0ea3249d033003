"""Every hole of a board, its number, place and drill."""

from __future__ import annotations

from math import hypot
from typing import Any

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from layout_engine import load_document
from layout_engine.sheets.holes import BoardHoles, board_holes, drills_used
from tests.webapp.printing.boards import add, document, lighthouse_document, slanted_document


def holes_of(doc: dict[str, Any]) -> BoardHoles:
    return board_holes(load_document(doc))


def test_numbers_run_by_drill_then_from_bottom_to_top_then_from_left_to_right() -> None:
    holes = holes_of(lighthouse_document()).holes
    assert [hole.id for hole in holes] == [str(n) for n in range(1, 36)]
    keys = [(h.diameter, round(h.y, 1), round(h.x, 1)) for h in holes]
    assert keys == sorted(keys)


def test_numbers_do_not_depend_on_the_order_of_the_parts() -> None:
    doc = lighthouse_document()
    turned = {**doc, "parts": doc["parts"][::-1]}
    assert holes_of(doc).holes == holes_of(turned).holes


def test_what_a_hole_is_for_and_of_which_face() -> None:
    holes = {(h.x, h.y): h for h in holes_of(lighthouse_document()).holes}
    horn = holes[100.0, 19.0]
    found = (horn.for_, horn.part, horn.face, horn.thread)
    assert found == ("Horn amplifier", "horn", "back", "M3")
    assert (horn.wanted, horn.diameter, horn.slack) == (3.4, 3.5, 0.5)
    mount = holes[8.0, 8.0]
    assert (mount.for_, mount.kind) == ("plate fixing corner 1", "mount")
    assert (mount.wanted, mount.slack) == (4.5, None)
    window = holes[91.0, 177.0]
    assert (window.kind, window.diameter, window.drill.drilled) == ("cut_out", 20.0, False)


@given(st.floats(-200, 200), st.floats(-200, 200), st.floats(-360, 360),
       st.sampled_from(["front", "back"]))
@settings(max_examples=80, deadline=None)
def test_holes_keep_their_pattern_under_every_placement(x: float, y: float, turn: float, face: str
                                                        ) -> None:
    """Distances between a part's holes do not change; on the back their sense of turning does."""
    pattern = [(4.0, 5.0), (40.0, 5.0), (4.0, 25.0)]
    doc = document(200, 200)
    add(doc, "one", "One", (x, y), (50, 30), pattern, face=face, turn=turn)
    by_part = {(h.x, h.y) for h in holes_of(doc).holes}
    spans = sorted(hypot(a[0] - b[0], a[1] - b[1]) for a in by_part for b in by_part if a < b)
    assert spans == pytest.approx([20.0, 36.0, hypot(36, 20)], abs=1e-9)


def test_taped_parts_need_no_hole_and_tied_ones_need_slots() -> None:
    board = holes_of(slanted_document())
    assert not [hole for hole in board.holes if hole.part in ("taped", "pack")]
    slots = [cut for cut in board.cut_outs if cut.kind == "slot"]
    assert len(slots) == 2
    for cut in slots:
        shape = shapely.Polygon(cut.outline)
        full = 4 * 10 + 3.141592653589793 * 4  # a slot of 4 x 14 with half-round ends
        assert shape.area == pytest.approx(full, rel=0.005)
        assert hypot(cut.ends[0][0] - cut.ends[1][0], cut.ends[0][1] - cut.ends[1][1]) \
            == pytest.approx(10)
        assert "drill 4 at" in cut.words


def test_polygon_cut_outs_are_lettered_from_bottom_to_top() -> None:
    cuts = holes_of(slanted_document()).cut_outs
    assert [cut.id for cut in cuts] == ["A", "B", "C"]
    assert [cut.kind for cut in cuts] == ["slot", "slot", "polygon"]
    assert cuts[2].box == (30.0, 110.0, 60.0, 124.0)
    assert "30 x 14" in cuts[2].words


def test_letters_go_on_after_z() -> None:
    doc = document(400, 400)
    squares = [[[10 * n, 10], [10 * n + 4, 10], [10 * n + 4, 14], [10 * n, 14]] for n in range(28)]
    add(doc, "one", "One", (5, 5), (300, 60), [], through=squares)
    assert [cut.id for cut in holes_of(doc).cut_outs][-3:] == ["Z", "AA", "AB"]


def test_a_hole_that_is_there_already_is_used_again() -> None:
    board = holes_of(slanted_document())
    (again,) = [hole for hole in board.holes if hole.reused]
    assert (again.part, again.diameter) == ("again", 4.2)
    assert again not in board.new
    assert [old.diameter for old in board.unused] == [6.0]


def test_a_near_miss_of_an_old_hole_is_said() -> None:
    doc = document(100, 100, existing_holes=[{"x": 52, "y": 50, "diameter": 3.4}])
    add(doc, "one", "One", (40, 40), (20, 20), [(10, 10)])
    (warning,) = holes_of(doc).warnings
    assert "runs into a hole of 3.4 mm" in warning
    assert "the drill will wander" in warning


def test_missing_drills_are_said_once_with_the_numbers_of_their_holes() -> None:
    doc = lighthouse_document()
    doc["assumptions"] = {"drills": [2.5, 7]}
    board = holes_of(doc)
    (warning,) = [words for words in board.warnings if "No suitable drill" in words]
    assert "3.5 mm is the usual size" in warning
    assert all(h.diameter == 3.5 for h in board.holes if h.thread == "M3")


def test_drills_in_the_order_of_use_cover_every_new_hole() -> None:
    board = holes_of(lighthouse_document())
    used = drills_used(board)
    assert list(used) == [2.5, 3.5, 4.5, 20.0]
    assert sum(len(holes) for holes in used.values()) == len(board.new)


def test_parts_in_the_tray_and_elsewhere_need_no_holes() -> None:
    doc = lighthouse_document()
    for part in doc["parts"]:
        del part["placement"]
    doc["parts"][0]["away"] = {"exit": "top", "lead": 100}
    assert {hole.kind for hole in holes_of(doc).holes} == {"mount"}


def test_published_row_chain_error_is_avoided_by_one_datum() -> None:
    """Row "chain error": 6 holes, each step rounded 0.3 low makes 1.5; from one datum 0.3 stays."""
    step = 10.3
    places = [4 + n * step for n in range(6)]
    chained = 4 + 5 * round(step)
    assert places[5] - chained == pytest.approx(1.5)
    doc = document(100, 60)
    add(doc, "one", "One", (5, 5), (80, 30), [(x, 10) for x in places])
    for hole, x in zip(holes_of(doc).holes, places, strict=True):
        assert hole.x == pytest.approx(5 + x, abs=1e-9)

"""A drawing over several sheets."""

from __future__ import annotations

from math import hypot

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout_engine.sheets.tiles import MARK_RADIUS_MM, registration_marks, tile_plan
from layout_engine.tables.paper import PAPERS

A4 = PAPERS["a4"]
sizes = st.floats(20, 900)
papers = st.sampled_from(sorted(PAPERS))


def test_published_row_400_x_300_on_a4_takes_4_sheets_lying_down() -> None:
    """Row "sheets for a 400 x 300 plate": A4 landscape, margin 10, overlap 10: 4 sheets, 2 x 2."""
    plan = tile_plan(400, 300, A4)
    assert (plan.sheets, plan.rows, plan.columns, plan.landscape) == (4, 2, 2, True)
    assert plan.paper == (297.0, 210.0)


@given(sizes, sizes, papers)
@settings(max_examples=60, deadline=None)
def test_no_other_way_round_takes_fewer_sheets(width: float, height: float, paper: str) -> None:
    sheet = PAPERS[paper]
    plan = tile_plan(width, height, sheet)
    for w, h in ((sheet.width.value, sheet.height.value), (sheet.height.value, sheet.width.value)):
        columns = _needed(width, w - 20)
        rows = _needed(height, h - 20)
        assert plan.sheets <= columns * rows


def _needed(length: float, usable: float) -> int:
    """Sheets laid one by one, each but the first adding its length less the overlap."""
    count, covered = 1, usable
    while covered < length - 1e-6:
        count, covered = count + 1, covered + usable - 10
    return count


@given(sizes, sizes, papers, st.floats(0, 1), st.floats(0, 1), st.floats(0.5, 5))
@settings(max_examples=150, deadline=None)
def test_every_hole_up_to_the_overlap_lies_wholly_on_a_sheet(
        width: float, height: float, paper: str, along: float, up: float, radius: float) -> None:
    plan = tile_plan(width, height, PAPERS[paper])
    x = radius + along * (width - 2 * radius)
    y = radius + up * (height - 2 * radius)
    assert any(tile.shows(x, y, radius) for tile in plan.tiles)


@given(sizes, sizes, papers)
@settings(max_examples=60, deadline=None)
def test_neighbours_overlap_by_ten_millimetres_and_the_drawing_lies_in_the_middle(
        width: float, height: float, paper: str) -> None:
    plan = tile_plan(width, height, PAPERS[paper])
    at = {(tile.row, tile.column): tile for tile in plan.tiles}
    for (row, column), tile in at.items():
        right, below = at.get((row, column + 1)), at.get((row + 1, column))
        if right:
            assert tile.left + tile.width - right.left == pytest.approx(10)
        if below:
            assert below.bottom + below.height - tile.bottom == pytest.approx(10)
    first, last = at[plan.rows, 1], at[1, plan.columns]
    assert first.left == pytest.approx(width - last.left - last.width)
    assert first.bottom == pytest.approx(height - last.bottom - last.height)
    assert first.left <= 1e-6


holes = st.lists(st.tuples(st.floats(0, 400), st.floats(0, 300), st.floats(1, 12)), max_size=60)


@given(holes)
@settings(max_examples=60, deadline=None)
def test_marks_keep_off_holes_and_show_on_two_sheets(spots: list[tuple[float, float, float]]
                                                     ) -> None:
    plan = tile_plan(400, 300, A4)
    marks = registration_marks(plan, spots)
    for x, y in marks:
        assert all(hypot(x - hx, y - hy) >= r + MARK_RADIUS_MM for hx, hy, r in spots)
        assert sum(tile.shows(x, y, MARK_RADIUS_MM) for tile in plan.tiles) >= 2


def test_each_overlap_has_two_marks() -> None:
    assert len(registration_marks(tile_plan(400, 300, A4), ())) == 8


def test_one_sheet_needs_no_marks() -> None:
    plan = tile_plan(190, 277, A4)
    assert plan.sheets == 1
    assert registration_marks(plan, ()) == ()

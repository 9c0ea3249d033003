"""Rounded corners: radii that the edges have no room for, and rings that turn either way."""

from __future__ import annotations

import pytest

from layout_engine.geometry.corners import Corner, rounded

BAR = [(0.0, 0.0), (10.0, 0.0), (10.0, 4.0), (0.0, 4.0)]


@pytest.mark.parametrize("ring", [BAR, BAR[::-1]])
@pytest.mark.parametrize(("radius", "taken"), [(1, 1), (2, 2), (5, 2)])
def test_an_arc_takes_half_of_an_edge_at_most(ring: list[tuple[float, float]], radius: float,
                                              taken: float) -> None:
    arcs = [corner for corner in rounded(ring, radius) if isinstance(corner, Corner)]
    assert [arc.radius for arc in arcs] == pytest.approx([taken] * 4)
    assert {(round(x, 9), round(y, 9)) for x, y in (arc.centre for arc in arcs)} == {
        (x, y) for x in (taken, 10 - taken) for y in (taken, 4 - taken)}
    assert [arc.sweep for arc in arcs] == pytest.approx([90] * 4)


def test_only_corners_that_point_outwards_are_rounded() -> None:
    angle = [(0, 0), (20, 0), (20, 10), (10, 10), (10, 20), (0, 20)]
    plain = [corner for corner in rounded(angle, 2) if not isinstance(corner, Corner)]
    assert plain == [(10, 10)]

"""Through an opening: worked rows of Carver 1957 and a search over the turn."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout_engine.geometry.openings import enclosing_diameter, turn_through_rectangle


def rectangle(p: float, q: float) -> np.ndarray:
    return np.array([[0.0, 0.0], [p, 0.0], [p, q], [0.0, q]])


@pytest.mark.parametrize(
    ("p", "q", "width", "height", "passes"),
    [(225, 20, 200, 150, True), (225, 20, 200, 138.64, True), (225, 20, 200, 138.62, False),
     (225, 40, 200, 150, False), (190, 60, 200, 80, True), (60, 190, 200, 80, True)],
    ids=lambda v: str(v),
)
def test_rectangle_in_rectangle_carver_1957(p: float, q: float, width: float, height: float,
                                            passes: bool) -> None:
    turn = turn_through_rectangle(rectangle(p, q), width, height)
    assert (turn is not None) is passes


def test_a_straight_pass_needs_no_turn() -> None:
    assert turn_through_rectangle(rectangle(190, 60), 200, 80) == 0.0


def test_round_opening_240_x_60_needs_247_386() -> None:
    """Edge-on, sqrt(w^2 + t^2) (worked row opening-round)."""
    assert enclosing_diameter(rectangle(240, 60)) == pytest.approx(247.386, abs=1e-3)


points = st.lists(st.tuples(st.floats(-50, 50), st.floats(-50, 50)), min_size=4, max_size=9)


@settings(max_examples=150, deadline=None)
@given(points, st.floats(20, 120), st.floats(20, 120))
def test_against_a_search_over_the_turn(corners: list[tuple[float, float]], width: float,
                                        height: float) -> None:
    outline = np.array(corners)
    if np.linalg.matrix_rank(outline - outline[0], tol=1e-3) < 2:
        return
    turns = np.linspace(0, np.pi, 3601)
    across = outline @ np.array([np.cos(turns), np.sin(turns)])
    along = outline @ np.array([-np.sin(turns), np.cos(turns)])
    over = np.maximum(np.ptp(across, axis=0) - width, np.ptp(along, axis=0) - height).min()
    if abs(over) > 0.1:  # the search's own grain
        assert (turn_through_rectangle(outline, width, height) is not None) is bool(over < 0)

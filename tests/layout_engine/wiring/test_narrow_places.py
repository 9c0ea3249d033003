"""Narrow places that serve: holes between modules of both faces, gaps beside an aerial's ground."""

from __future__ import annotations

import numpy as np
import pytest

from layout_engine import load_document
from layout_engine.wiring import plan_routes
from layout_engine.wiring.grommets import hole_spare
from layout_engine.wiring.site import Site
from tests.layout_engine.wiring.boards import Document, at, block, board, terminal, wire
from tests.layout_engine.wiring.laws import faults

QUARTER_WAVE_MM = 299_792.458 / 2440 / 4  # of 2440 MHz


def crossed_channels(wide: float) -> Document:
    """On the front a channel along x from y = 70.4 mm, on the back one along y from x = 90.7 mm,
    both so wide: a hole has its ground where they cross, and nowhere else.
    """
    low, high = block(terminal("t", 50, 70.4, 90), size=(200, 70.4)), block(
        size=(200, 150 - 70.4 - wide))
    left, right = block(terminal("t", 0, 20, 180), size=(90.7, 150)), block(
        size=(200 - 90.7 - wide, 150))
    parts = [at("low", "low", 0, 0), at("high", "high", 0, 70.4 + wide),
             at("left", "left", 90.7, 0, face="back"), at("right", "right", 200, 0, face="back")]
    return board({"low": low, "high": high, "left": left, "right": right}, parts,
                 [wire("w", "low.t", "left.t")])


def test_a_grommet_goes_where_both_faces_are_just_as_wide_as_its_rim() -> None:
    """The smallest has a rim of 9 mm."""
    job = load_document(crossed_channels(9.0))
    routing = plan_routes(job)
    assert faults(job, routing) == []
    (hole,) = routing.passes
    assert (hole.kind, hole.hole) == ("drilled", 6.0)
    assert (hole.x, hole.y) == pytest.approx((90.7 + 4.5, 70.4 + 4.5), abs=0.01)


def test_where_both_faces_are_narrower_than_any_rim_no_hole_is_drilled() -> None:
    routing = plan_routes(load_document(crossed_channels(8.9)))
    assert [one for one in routing.passes if one.kind == "drilled"] == []


def test_a_wire_passes_between_a_module_and_an_aerials_ground() -> None:
    """3.4 mm are free there; on the other side of the aerial the way is 130 mm longer."""
    side = 112.8
    left = block(terminal("t", 40, 15, 0))
    radio = block(size=(10, 10), antenna={"x": 5, "y": 5, "z": 4, "band_mhz": 2440})
    middle = side + 3.4 + QUARTER_WAVE_MM
    parts = [at("a", "left", 20, 10), at("b", "left", 20, 110), at("wall", "wall", 0, 60),
             at("radio", "radio", middle - 5, 70)]
    job = load_document(board({"left": left, "wall": block(size=(side, 30)), "radio": radio},
                              parts, [wire("w", "a.t", "b.t")]))
    routing = plan_routes(job)
    assert faults(job, routing) == []
    (one,) = routing.wires
    assert one.on_board <= 100 + 2 * (side + 3.4 - 60)


def test_a_hole_drilled_before_serves_for_a_grommet_that_it_hardly_exceeds() -> None:
    """It may be 0.5 mm wider than what sits in it covers (`CUT_OUT_PLAY`), no narrower; beside one
    that does not serve there is no bridge.
    """
    wide = (5.9, 6.0, 6.4, 8.0, 12.0)
    spots = [(20.0 + 35 * n, 75.0) for n in range(len(wide))]
    document = board({}, [], [], existing_holes=[
        {"x": x, "y": y, "diameter": d} for (x, y), d in zip(spots, wide, strict=True)])
    site = Site(load_document(document))
    seen = np.array([site.view.point(x, y) for x, y in spots])
    assert (hole_spare(site, seen, [6.0])[:, 0] >= 0).tolist() == [
        False, True, True, False, False]

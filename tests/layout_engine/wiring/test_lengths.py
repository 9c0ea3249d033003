"""Lengths of wires against sums made by hand, and bundles against published packings."""

from __future__ import annotations

from math import pi, sin, sqrt

import pytest

from layout_engine import load_document, route
from layout_engine.tables.dressing import (
    bundle_diameter,
    ferrule_for,
    flat_height,
    grommet_for,
    ring_colour,
)
from layout_engine.wiring import plan_routes
from layout_engine.wiring.lengths import bends
from tests.layout_engine.wiring.boards import at, block, board, facing_pair, terminal, wire


@pytest.mark.parametrize("given", [None, 400.0])
def test_wires_of_one_lead_have_one_length(given: float | None) -> None:
    """As long as the longest of them, or as the length that was given with one."""
    document = facing_pair()
    for kind, terminal_x in (("left", 40), ("right", 0)):
        document["types"][kind]["terminals"].append(
            terminal("u", terminal_x, 25, 0 if kind == "left" else 180) | {"z": 14})
    document["connections"] = [wire("w", "a.t", "b.t", cable="lead"),
                               wire("x", "a.u", "b.u", cable="lead", length=given),
                               wire("y", "a.t", "b.u")]  # fmt: skip
    for kind in document["types"].values():
        for one in kind["terminals"]:
            one["max_wires"] = 2
    if given is None:
        del document["connections"][1]["length"]
    short, long, alone = plan_routes(load_document(document)).wires
    assert short.length == long.length
    assert short.working
    assert "lead" in short.working.formula
    assert short.working.result == long.length
    assert alone.length
    assert alone.length < (given or 150)  # 60 mm along and 10 aside, and what both ends take
    assert "lead" not in alone.working.formula
    if given is None:  # the longer one ends 10 mm higher at both ends
        plain = [plan_routes(load_document(document | {"connections": [
            {k: v for k, v in c.items() if k != "cable"} for c in document["connections"]]})).wires]
        assert long.length == max(w.length or 0 for w in plain[0][:2])
    else:
        assert long.length == given
    assert short.reaches
    assert short.reaches.result < (short.length or 0)


def test_straight_wire_by_hand() -> None:
    """60 mm on the plate, both rises 4 mm less half the wire, no bend, two ends made twice."""
    (one,) = route(load_document(facing_pair()))
    ends = 2 * 2 * (8 + 3)  # two ends, each twice: 8 mm bared and 3 mm cut off
    whole = 60 + 2 * (4 - one.outer / 2) + ends
    assert one.length == 5 * -(-whole // 5)
    assert one.working is not None
    assert one.working.result == one.length


def test_service_loops_leads_and_twist_add_up() -> None:
    document = facing_pair()
    plain = route(load_document(document))[0].length
    document["types"]["left"]["lift_out"] = True
    assert route(load_document(document))[0].length == plain + 80
    document["parts"][1] = {"id": "b", "type": "right", "away": {"exit": "right", "lead": 500}}
    (away,) = route(load_document(document))
    assert away.path[-1][:2] == (200.0, 75.0)
    assert away.length is not None
    assert 130 + 500 + 80 < away.length < 130 + 500 + 80 + 60


def test_a_length_in_the_document_overrides() -> None:
    document = facing_pair()
    document["connections"][0]["length"] = 321
    assert route(load_document(document))[0].length == 321


def test_motor_leads_of_one_cable_are_twisted_and_take_more() -> None:
    ends = [terminal("p", 40, 10, 0, "motor"), terminal("q", 40, 20, 0, "motor")]
    motor = [terminal("p", 0, 10, 180, "motor"), terminal("q", 0, 20, 180, "motor")]
    types = {"drive": block(*ends, drives=[]), "motor": block(
        *motor, motor={"terminals": ["p", "q"], "volts": 12})}
    parts = [at("a", "drive", 20, 60), at("m", "motor", 140, 60)]
    wires = [wire("w1", "a.p", "m.p"), wire("w2", "a.q", "m.q")]
    apart = route(load_document(board(types, parts, wires)))
    for each in wires:
        each["cable"] = "motor lead"
    twisted = route(load_document(board(types, parts, wires)))
    assert [w.twisted for w in apart] == [False, False]
    assert [w.twisted for w in twisted] == [True, True]
    assert twisted[0].length >= apart[0].length
    assert {w.colour for w in twisted} == {"BU", "BN"}


def test_bends_are_counted_on_the_face_and_through_the_plate() -> None:
    path = ((0.0, 0.0, "front"), (10.0, 0.0, "front"), (10.0, 5.0, "front"),
            (10.0, 5.0, "back"), (20.0, 5.0, "back"))
    assert bends(path) == 3


@pytest.mark.parametrize(("count", "ratio"), [
    (1, 1.0), (2, 2.0), (3, 1 + 2 / sqrt(3)), (4, 1 + sqrt(2)), (5, 1 + 1 / sin(pi / 5)),
    (6, 3.0), (7, 3.0)])
def test_bundles_are_circles_in_a_circle(count: int, ratio: float) -> None:
    """Enclosing circle of equal circles, from plane geometry."""
    assert bundle_diameter([2.0] * count) == pytest.approx(2 * ratio, rel=1e-4)


def test_two_wires_lie_side_by_side_however_thick() -> None:
    """The enclosing circle of two circles that touch has the sum of both diameters."""
    assert bundle_diameter([4.5, 1.5]) == 6.0


def test_bundle_holds_its_two_thickest_side_by_side() -> None:
    assert bundle_diameter([5.0, 5.0, 0.8]) >= 10.0


def test_flat_bundles_stand_in_columns() -> None:
    assert flat_height([2.0] * 6, 4.1) == pytest.approx(6.0)
    assert flat_height([2.0] * 6, 3.9) == pytest.approx(12.0)
    assert flat_height([2.0], 1.9) == float("inf")


def test_crimps_ferrules_and_grommets_step_up() -> None:
    """Colours: DIN 46228-4 and the trade's pre-insulated crimps; grommets: common practice."""
    assert [ring_colour(a) for a in (1.0, 2.5, 4.0, 10.0)] == ["red", "blue", "yellow", "bare"]
    assert ferrule_for(1.2).mm2 == 1.5  # type: ignore[union-attr]
    assert ferrule_for(50.0) is None
    assert grommet_for(4.1).bundle == 6.0  # type: ignore[union-attr]
    assert grommet_for(17.0) is None


def test_markers_begin_at_the_end_they_are_on() -> None:
    document = facing_pair()
    document["parts"][0]["label"] = "Switch"
    document["types"]["left"]["terminals"][0]["mark"] = "OUT"
    (one,) = route(load_document(document))
    assert one.markers == ("1: Switch OUT / b t", "1: b t / Switch OUT")


def test_lengths_are_told_by_connection() -> None:
    routing = plan_routes(load_document(facing_pair()))
    assert routing.lengths == {"w": routing.wires[0].length}

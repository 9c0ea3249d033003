"""A pinned path is held to the laws of all routes; bends that are too tight are told."""

from __future__ import annotations

from math import tan

import pytest

from layout_engine import Job, load_document
from layout_engine.wiring import Conflict, plan_routes
from tests.layout_engine.wiring.boards import at, block, facing_pair

AT_TERMINAL = 3.0  # outer diameters, a supported wire at a terminal strip: FAA AC 43.13-1B


def pinned(via: list[tuple[float, float]], **wall: float) -> Job:
    """The pair's wire over points of the front; with a wall where one is given."""
    document = facing_pair()
    document["connections"][0] |= {"via": [[x, y, "front"] for x, y in via], "pinned": True}
    if wall:
        document["types"]["wall"] = block(size=(10, 30))
        document["parts"].append(at("wall", "wall", wall["x"], wall["y"]))
    return load_document(document)


def told(job: Job) -> list[Conflict]:
    return [c for c in plan_routes(job).conflicts if c.kind == "pinned"]


def test_a_good_pinned_path_is_not_told() -> None:
    assert told(pinned([(85, 75), (85, 30), (115, 30), (115, 75)])) == []
    assert told(pinned([(85, 75), (85, 30), (115, 30), (115, 75)], x=95, y=60)) == []


def test_a_pinned_path_through_a_part_names_the_part_and_the_place() -> None:
    (found,) = told(pinned([(85, 75), (115, 75)], x=95, y=60))
    assert (found.parts, found.gap, found.face) == (("wall",), 0.0, "front")
    assert found.wires == ("w",)
    assert 95 <= found.x <= 105
    assert found.y == pytest.approx(75)


def test_a_pinned_path_that_grazes_a_part_tells_the_room_that_is_there() -> None:
    (found,) = told(pinned([(85, 75), (85, 59.6), (115, 59.6), (115, 75)], x=95, y=60))
    assert found.gap == pytest.approx(2 * 0.4, abs=1e-3)  # 0.4 mm on the wall's side, both sides
    assert found.needs == pytest.approx(plan_routes(pinned([(100, 75)])).wires[0].outer, abs=1e-3)


def test_a_pinned_path_off_the_plate_is_told() -> None:
    found = told(pinned([(85, 75), (85, 149.5), (115, 149.5), (115, 75)]))
    assert [c.parts for c in found] == [(), (), ()]  # both risers end too near, the middle lies so
    assert all(c.gap < c.needs for c in found)


def test_a_short_way_aside_is_a_tight_bend_and_a_wide_turn_is_none() -> None:
    jog = plan_routes(pinned([(90, 75), (90, 77), (94, 77), (94, 75)]))
    outer = jog.wires[0].outer
    assert {(b.x, b.y) for b in jog.tight_bends} == {(90, 77), (90, 75), (94, 77), (94, 75)}
    for bend in jog.tight_bends:
        # Two arcs lead 2 mm aside over the 4 mm that end in the middle of the leg between:
        # 2 R (1 - cos t) = 2 and 2 R sin t = 4, so that tan(t / 2) = 1/2 and R = 2.5.
        assert bend.radius == pytest.approx(2.5)
        assert bend.needs == pytest.approx(AT_TERMINAL * outer, abs=1e-3)
    wide = plan_routes(pinned([(85, 75), (85, 30), (115, 30), (115, 75)]))
    assert wide.tight_bends == ()


def test_a_wire_is_led_aside_by_a_gentle_curve_where_the_ground_beside_it_is_free() -> None:
    way: list[tuple[float, float]] = [(90, 75), (90, 77), (110, 77), (110, 75)]
    assert plan_routes(pinned(way)).tight_bends == ()
    held = plan_routes(pinned(way, x=91.5, y=55.7))  # a wall just beside the curve
    assert {(b.x, b.y) for b in held.tight_bends} >= {(90, 77), (90, 75)}


def test_radius_follows_from_the_tangents_of_a_slanting_turn() -> None:
    job = pinned([(80, 75), (84, 79), (116, 79), (120, 75)])
    found = {(b.x, b.y): b.radius for b in plan_routes(job).tight_bends}
    half = 4 * 2**0.5 / 2  # mm of the slanting leg that each of its bends has
    eighth = tan(3.141592653589793 / 8)  # of half the turn of 45 degrees
    assert half / eighth > 3 * plan_routes(job).wires[0].outer
    assert found == {}

"""What is told of wires that find no way: the narrowest place, both sides of it, who gives way."""

from __future__ import annotations

from math import ceil
from typing import Any

import pytest

from layout_engine import Job, dump_document, load_document
from layout_engine.checks.scene import Scene
from layout_engine.geometry.shapes import bounds_of
from layout_engine.wiring import Conflict, Moved, plan_routes
from layout_engine.wiring.obstacles import obstacles_of
from tests.layout_engine.wiring.boards import at, block, facing_pair, seen_from_behind

AIR = 0.2  # mm on both sides of a wire, as the engine's table has it; common practice, no source


def walled(gap: float, over: float, **upper: Any) -> Job:
    """A pair on either side of a wall with one gap in it, on both faces; `over` mm at its top."""
    document = facing_pair(edge_margin=0)
    document["connections"][0]["wire"] = {"size": "10 mm2"}
    low, high = 70.0, 149.8 - gap - over - 70.0
    document["types"] |= {"low": block(size=(20, low), clearance=0),
                          "high": block(size=(20, high), clearance=0)}
    for face, x in (("front", 90), ("back", 110)):
        document["parts"] += [at(f"low_{face}", "low", x, 0.2, face=face),
                              at(f"high_{face}", "high", x, 0.2 + low + gap, face=face)]
        document["parts"][-2]["locked"] = True
        document["parts"][-1] |= upper
    return load_document(document)


def only(job: Job) -> Conflict:
    routing = plan_routes(job)
    (conflict,) = routing.conflicts
    assert routing.wires[0].state == "no_corridor"
    return conflict


def test_a_mount_is_in_the_way_with_its_head() -> None:
    """A hole of 4 mm under a head of 10 mm takes 10 mm on both faces; one without a head 4 mm."""
    mounts = [{"id": "m", "x": 50, "y": 40, "diameter": 4, "head_diameter": 10, "head_height": 3},
              {"id": "n", "x": 150, "y": 40, "diameter": 4, "head_diameter": 0, "head_height": 3}]
    job = load_document(facing_pair(mounts=mounts))
    for obstacles in obstacles_of(job, Scene(job)).values():
        ground = {o.owner: bounds_of(o.shape)[0] for o in obstacles}
        assert ground["m"] == pytest.approx((45, 35, 55, 45), abs=0.05)
        assert ground["n"] == pytest.approx((148, 38, 152, 42), abs=0.05)


def test_the_gap_is_the_one_that_a_ruler_measures() -> None:
    conflict = only(walled(gap=3.5, over=2.0))
    outer = plan_routes(walled(gap=3.5, over=2.0)).wires[0].outer
    assert conflict.gap == pytest.approx(3.5, abs=1e-3)
    assert conflict.needs == pytest.approx(outer + 2 * AIR, abs=1e-3)
    assert set(conflict.sides) == {f"low_{conflict.face}", f"high_{conflict.face}"}
    assert 90 <= conflict.x <= 110
    assert 70.2 <= conflict.y <= 73.7


def test_the_best_blocked_way_is_the_widest() -> None:
    at_top = only(walled(gap=2.0, over=3.5))
    assert at_top.gap == pytest.approx(3.5, abs=1e-3)
    assert set(at_top.sides) == {f"high_{at_top.face}", ""}
    assert at_top.parts == (f"high_{at_top.face}",)


def test_the_part_that_is_not_locked_gives_way_by_what_is_lacking() -> None:
    job = walled(gap=4.0, over=3.0)
    conflict = only(job)
    lacking = conflict.needs - 4.0
    by = ceil(lacking / 0.5) * 0.5
    assert conflict.move == Moved(f"high_{conflict.face}", 0.0, by, True)
    document = dump_document(job)
    part = next(p for p in document["parts"] if p["id"] == conflict.move.part)
    part["placement"]["y"] += by
    assert plan_routes(load_document(document)).wires[0].state == "routed"


def test_a_move_that_meets_something_is_told_as_such() -> None:
    conflict = only(walled(gap=3.5, over=0.2))
    assert conflict.move is not None
    assert not conflict.move.clear


def test_nobody_gives_way_where_all_are_locked() -> None:
    assert only(walled(gap=3.5, over=3.0, locked=True)).move is None


def test_the_mirrored_board_has_the_mirrored_gap() -> None:
    job = walled(gap=3.5, over=3.0)
    one, other = only(job), only(seen_from_behind(job))
    assert other.gap == pytest.approx(one.gap, abs=1e-3)
    assert other.y == pytest.approx(one.y, abs=1e-3)
    assert other.x == pytest.approx(200 - one.x, abs=1e-3)
    assert one.move is not None
    assert other.move is not None
    assert (other.move.part, other.move.dy) == (one.move.part, one.move.dy)


def test_a_wire_that_must_end_near_an_aerial_may_lie_there_when_another_part_moves() -> None:
    document = facing_pair()
    aerial = {"x": 5, "y": 5, "z": 4, "band_mhz": 2440}
    document["types"]["radio"] = block(size=(10, 10), antenna=aerial)
    document["types"]["other"] = block(size=(10, 10))
    document["parts"] += [at("radio", "radio", 95, 80), at("other", "other", 5, 5)]
    before = plan_routes(load_document(document))
    document["parts"][-1]["placement"]["x"] = 10
    after = plan_routes(load_document(document), previous=before)
    assert after.kept == {"w"}
    assert [c.kind for c in (*before.conflicts, *after.conflicts)] == []

"""Wires without a way, told without routing them: those that the router has no corridor for."""

from __future__ import annotations

import numpy as np
import pytest

from layout_engine import Job, dump_document, load_document
from layout_engine.tables.radio import metal_warn_distance
from layout_engine.wiring import plan_routes
from layout_engine.wiring.lost import lost_wires
from layout_engine.wiring.zones import wires_at_aerials
from tests.benchmarks.arranging.family import Member, made
from tests.layout_engine.wiring.boards import at, block, board, facing_pair, terminal, wire
from tests.layout_engine.wiring.test_conflicts import AIR, walled


def unrouted(job: Job) -> set[str]:
    return {w.id for w in plan_routes(job).wires if w.state == "no_corridor"}


def outer() -> float:
    """Outer diameter [mm] of the wire of a walled pair."""
    return plan_routes(walled(gap=20, over=2)).wires[0].outer


def test_a_wire_is_lost_where_the_only_gap_is_narrower_than_it_needs() -> None:
    """Its outer diameter and 0.2 mm of air on both sides."""
    needs = outer() + 2 * AIR
    assert [one.wire for one in lost_wires(walled(gap=needs - 0.05, over=2.0))] == ["w"]
    assert lost_wires(walled(gap=needs + 0.05, over=2.0)) == []


def test_the_place_is_told_with_both_its_sides_as_they_stand() -> None:
    (lost,) = lost_wires(walled(gap=3.5, over=2.0))
    assert lost.pinch is not None
    assert lost.pinch.needs == pytest.approx(outer() + 2 * AIR, abs=1e-6)
    assert lost.pinch.apart == pytest.approx(3.5, abs=1e-3)
    low, high = sorted(lost.pinch.sides, key=lambda side: side.corners[:, 1].min())
    assert (low.owner[:3], high.owner[:4]) == ("low", "high")
    assert low.corners[:, 1].max() == pytest.approx(70.2, abs=1e-3)  # 0.2 and a height of 70
    assert high.corners[:, 1].min() == pytest.approx(73.7, abs=1e-3)
    assert np.allclose((low.way, high.way), ((0, -1), (0, 1)), atol=1e-3)


def test_a_thicker_size_is_lost_where_the_guess_would_pass() -> None:
    document = facing_pair(edge_margin=0)
    del document["connections"][0]["wire"]
    document["types"] |= {"wall": block(size=(20, 72), clearance=0)}
    for face, x in (("front", 90), ("back", 110)):
        document["parts"] += [at(f"low_{face}", "wall", x, 0.2, face=face),
                              at(f"high_{face}", "wall", x, 77.8, face=face)]
    job = load_document(document)
    assert lost_wires(job) == []  # 5.6 mm are enough for what 1 A asks for
    assert [one.wire for one in lost_wires(job, {"w": "10 mm2"})] == ["w"]


def test_wires_with_an_end_in_the_tray_are_not_lost() -> None:
    document = facing_pair()
    del document["parts"][0]["placement"]
    assert lost_wires(load_document(document)) == []


def test_wires_with_both_ends_elsewhere_are_not_lost() -> None:
    """From the left edge to the right one, past walls that nothing of 10 mm2 gets through."""
    document = dump_document(walled(gap=3.5, over=2.0))
    document["types"]["away"] = block(terminal("t", 0, 0, 0))
    document["parts"] += [{"id": side, "type": "away", "away": {"exit": side}}
                          for side in ("left", "right")]
    through = {"wire": {"size": "10 mm2"}}
    document["connections"] = [wire("w", "a.t", "b.t", **through),
                               wire("off", "left.t", "right.t", **through)]
    assert [one.wire for one in lost_wires(load_document(document))] == ["w"]


@pytest.mark.parametrize("seed", [1, 5, 7])
def test_the_router_has_no_corridor_for_a_wire_that_is_lost(seed: int) -> None:
    """The family's known layouts, in which modules stand as close as they may."""
    job = made(Member(12, 2, "all", seed)).known
    lost = {one.wire for one in lost_wires(job)}
    assert lost
    assert lost <= unrouted(job)


def with_receiver(x: float, face: str = "front") -> Job:
    """A pair of blocks 60 mm apart; a receiver of 2400 MHz, its aerial at (x, 75), 0 mm high."""
    receiver = block(terminal("d", 5, 10, 90), size=(10, 10)) | {
        "antenna": {"x": 5, "y": 5, "z": 0, "band_mhz": 2400}}
    types = {"left": block(terminal("t", 40, 15, 0)), "right": block(terminal("t", 0, 15, 180)),
             "receiver": receiver}
    parts = [at("a", "left", 30, 60), at("b", "right", 130, 60),
             at("r", "receiver", x - 5 if face == "front" else x + 5, 70, face=face)]
    return load_document(board(types, parts, [wire("w", "a.t", "b.t"), wire("v", "a.t", "r.d")]))


def test_wires_count_that_leave_their_part_near_an_aerial_which_is_not_theirs() -> None:
    """The mouths of the pair are at x = 75 and 125, y = 75: half of 10 mm of room out of a part.

    A quarter wave of 2400 MHz is 31.2 mm (c / 4 f). Runs lie up to 10 mm high: on the aerial's face
    their middle is 5 mm over it, which in plan leaves sqrt(31.2^2 - 5^2) = 30.8 mm; through 5 mm
    of plate it is at the height of that middle, and the whole counts.
    """
    whole = metal_warn_distance(2400, None)
    assert whole == pytest.approx(31.2, abs=0.05)
    reach = (metal_warn_distance(2400, None) ** 2 - 25) ** 0.5
    assert reach == pytest.approx(30.8, abs=0.1)
    assert wires_at_aerials(with_receiver(75 - reach - 0.5)) == 0
    assert wires_at_aerials(with_receiver(75 - reach + 0.5)) == 1
    assert wires_at_aerials(with_receiver(75 - reach + 0.5, face="back")) == 1
    assert wires_at_aerials(with_receiver(75 - whole - 0.1, face="back")) == 0
    assert wires_at_aerials(with_receiver(75 - whole + 0.1, face="back")) == 1


def test_an_aerial_far_over_the_other_face_is_none_there() -> None:
    """36 mm over the back: 31 mm from the middle of a run there, which is just within its reach of
    31.2 mm, and 5 mm of plate more from one on the front.
    """
    document = dump_document(with_receiver(75, face="back"))
    document["types"]["receiver"]["antenna"]["z"] = 36
    assert wires_at_aerials(load_document(document)) == 0


def test_no_wire_counts_where_there_is_no_aerial() -> None:
    assert wires_at_aerials(load_document(facing_pair())) == 0

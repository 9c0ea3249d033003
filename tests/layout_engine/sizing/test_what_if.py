"""What if, on chosen wires and fuses: what gets too hot, which fuse ends it, what is dead then."""

from __future__ import annotations

from math import inf, sqrt
from typing import Any

import pytest

from layout_engine import load_document
from layout_engine.sizing.board import Sizing
from layout_engine.sizing.what_if import what_if_sized, zero_end
from layout_engine.supply.state import SupplyError
from layout_engine.tables.conductors import wire_size
from tests.layout_engine.supply.circuits import battery, circuit, load, part_type
from webapp.resources import folder

LIGHTHOUSE = Sizing(load_document(
    (folder("seed_data") / "demos" / "rolling_lighthouse.json").read_bytes()
))  # fmt: skip


def board(rating: float | None = 10, size: str = "1 mm2") -> Sizing:
    """12 V, a fuse, a lamp at the end of thin wires, and one beside the fuse."""
    fuse = part_type("fuse_holder", {"a": "positive", "b": "positive"},
                     paths=[{"from": "a", "to": "b", "ohms": 0.002, "fuse": {"form": "blade"}}])
    document: Any = circuit(
        {"pack": battery(12, 0.02), "fuse": fuse, "lamp": load(2, (8, 15)),
         "other": load(1, (8, 15))},
        ["pack.plus fuse.a", "fuse.b lamp.plus 500", "pack.minus lamp.minus 500",
         "pack.plus other.plus 500", "pack.minus other.minus 500"],
    )  # fmt: skip
    if rating is not None:
        document["parts"][1]["fuses"] = {"b": rating}
    for wire in document["connections"][1:]:
        wire["wire"] = {"size": size, "insulation": "pvc70"}
    return Sizing(load_document(document))


def test_a_short_behind_a_fuse_is_ended_and_only_its_module_is_dead_then() -> None:
    found = what_if_sized(board(), shorted=(("lamp.plus", "lamp.minus"),))
    assert [fuse.branch for fuse in found.opens] == ["fuse.a>b"]
    assert found.ended is not None
    assert found.ended.dead == ("lamp",)
    assert {hot.wire for hot in found.hot} >= {"w2", "w3"}
    assert found.too_late == ()
    assert found.still_hot == ()
    assert found.is_cleared
    assert found.within is not None
    assert found.within <= 0.15  # ISO 8820-3: six times the rating


def test_a_short_that_no_fuse_guards_stays_and_its_wires_burn() -> None:
    found = what_if_sized(board(), shorted=(("other.plus", "other.minus"),))
    assert found.opens == ()
    assert found.within is None
    assert found.ended is None
    assert {hot.wire for hot in found.too_late} >= {"w4", "w5"}
    assert not found.is_cleared


def test_how_long_a_wire_stands_it_follows_the_adiabatic_formula() -> None:
    """IEC 60364-5-54: t = (k S / I)^2 with k between running warm and the 70 C of PVC."""
    found = what_if_sized(board(), shorted=(("other.plus", "other.minus"),))
    hot = next(hot for hot in found.hot if hot.wire == "w4")
    given = {g.symbol: g.value for g in hot.lasts.given}
    k = hot.amps * sqrt(hot.lasts.result) / wire_size("1 mm2").area
    assert 0 < k < 115  # 115 is for 70 C to 160 C; here the copper ends at 70 C
    assert given["T2"] == 70
    assert hot.amps > hot.carries


def test_a_proposed_fuse_counts_where_nobody_fitted_one() -> None:
    found = what_if_sized(board(None), shorted=(("lamp.plus", "lamp.minus"),))
    (opened,) = found.opens
    assert opened.rating == board(None).fuses["fuse.a>b"].rating
    assert opened.most < inf


def test_an_opened_wire_is_the_same_as_a_blown_fuse_before_it() -> None:
    one = what_if_sized(board(), opened=("w2",))
    two = what_if_sized(board(), opened=("fuse.a>b",))
    assert one.outcome.dead == two.outcome.dead == ("lamp",)
    assert one.hot == ()
    assert one.is_cleared


@pytest.mark.parametrize("asked", [
    {"opened": ("w99",)}, {"shorted": (("lamp.plus", "nobody.x"),)},
    {"shorted": (("lamp.plus", "lamp.plus"),)}, {"case": "asleep"},
])  # fmt: skip
def test_what_the_job_does_not_have_is_refused_with_its_name(asked: Any) -> None:
    with pytest.raises(SupplyError) as refused:
        what_if_sized(board(), **asked)
    assert any(word in str(refused.value) for word in ("w99", "nobody.x", "itself", "asleep"))


def test_any_terminal_of_a_demo_may_touch_0_volts() -> None:
    """Never a traceback; every wire has its current."""
    network = LIGHTHOUSE.study.network
    tried = 0
    for end in network.names[::3]:
        other = zero_end(network, end)
        if other is None:
            continue
        found = what_if_sized(LIGHTHOUSE, shorted=((end, other),))
        assert set(found.outcome.flows) == set(LIGHTHOUSE.wires)
        tried += 1
    assert tried > 12


def test_zero_volts_touch_nothing_below_them() -> None:
    network = LIGHTHOUSE.study.network
    assert zero_end(network, "battery.minus") is None
    assert zero_end(network, "conv5.in_plus") == "conv5.in_minus"

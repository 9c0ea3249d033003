"""Open terminals: those without a wire that nobody called left open on purpose."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from layout_engine import load_document
from layout_engine.joining import end_name, open_terminals
from tests.layout_engine.joining.demos import DEMOS, demo


def ends(document: dict[str, Any]) -> list[str]:
    return [terminal.end for terminal in open_terminals(load_document(document))]


@pytest.mark.parametrize("name", DEMOS)
def test_a_finished_demo_has_none(name: str) -> None:
    assert ends(demo(name)) == []


def test_a_wire_taken_away_leaves_its_ends_open_unless_another_wire_is_there() -> None:
    document = demo("rolling_lighthouse")
    document["connections"] = [c for c in document["connections"] if c["id"] != "w7"]
    assert ends(document) == ["fuses.out1", "drive.bplus"]
    document = demo("rolling_lighthouse")  # w6: charge fuse to a terminal with the battery's wire
    document["connections"] = [c for c in document["connections"] if c["id"] != "w6"]
    assert ends(document) == ["charge_fuse.out"]


def test_left_open_on_purpose_is_not_open() -> None:
    document = demo("rolling_lighthouse")
    control = next(p for p in document["parts"] if p["id"] == "control")
    control["unused"] = []
    assert ends(document) == ["control.enable", "control.rx_gnd", "control.s6"]


def test_what_is_needed_and_what_is_only_spare_metal() -> None:
    document = demo("rolling_lighthouse")
    document["connections"] = [
        c for c in document["connections"]
        if "motor_left.a" not in (c["from"], c["to"]) and "conv5.out2_plus" not in c["from"]
    ]
    zero = next(p for p in document["parts"] if p["id"] == "zero")
    zero["unused"] = ["r9", "r10", "r11", "r12"]
    found = {t.end: t for t in open_terminals(load_document(document))}
    assert found["motor_left.a"].needed
    assert found["drive.m1a"].needed
    assert not found["zero.r8"].needed
    assert found["zero.r8"].spare
    assert found["conv5.out2_plus"].spare  # the same metal as out_plus, which feeds the controller
    assert found["player.v5"].needed
    assert not found["player.v5"].spare


def test_names_are_the_printed_marks_else_the_ids() -> None:
    job = load_document(copy.deepcopy(demo("parade_tortoise")))
    assert end_name(job, "drive.bplus") == "Leg drive controller B+"
    assert end_name(job, "charge_fuse.in") == "Charge fuse in"  # nothing is printed on it
    assert end_name(job, "conv12.out_minus") == "12 V converter GND (out minus)"  # printed twice
    with pytest.raises(KeyError):
        end_name(job, "drive.nothing")

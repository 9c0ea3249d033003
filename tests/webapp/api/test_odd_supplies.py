"""Odd supplies over the calls for programs: refused with the path, or a finding; never a 500."""

from __future__ import annotations

from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.layout_engine.supply.circuits import battery, circuit, load, part_type, resistor
from webapp.api.asked import CALLS

Json = dict[str, Any]
PACK, LAMP = battery(12, 0.02), load(2, (8, 15))
FEED = ["pack.plus lamp.plus", "pack.minus lamp.minus"]
DRIVEN = ["pack.plus drive.p", "pack.minus drive.m", "drive.a motor.a", "drive.b motor.b"]
THROUGH = ["pack.plus conv.p", "pack.minus conv.m", "conv.op lamp.plus", "conv.om lamp.minus"]


def motor(**more: Any) -> Json:
    block = {"terminals": ["a", "b"], "volts": 12, "free_rpm": 3000, "free_amps": 0.5,
             "stall_amps": 20, "gear": 20, "wheel_diameter": 150, **more}  # fmt: skip
    return part_type("motor", {"a": "motor", "b": "motor"}, motor=block)


def drive(outs: tuple[str, str] = ("a", "b")) -> Json:
    return part_type("motor_driver", {"p": "positive", "m": "negative", "a": "motor", "b": "motor"},
                     drives=[{"plus": "p", "minus": "m", "outs": list(outs), "continuous": 20}])


def conv(**more: Any) -> Json:
    block = {"plus": "p", "minus": "m", "out_plus": "op", "out_minus": "om", "out_volts": 5,
             "max_amps": 5, "efficiency": 0.9, **more}  # fmt: skip
    return part_type("converter", {"p": "positive", "m": "negative", "op": "positive",
                                   "om": "negative"}, converters=[block])  # fmt: skip


REFUSED: dict[str, tuple[Json, str]] = {
    "negative path": (circuit({"pack": PACK, "r": resistor(-5), "lamp": LAMP}, FEED),
                      "$.types.r.paths[0].ohms"),
    "negative battery": (circuit({"pack": battery(12, -1), "lamp": LAMP}, FEED),
                         "$.types.pack.battery.ohms"),
    "no gear": (circuit({"pack": PACK, "drive": drive(), "motor": motor(gear=0)}, DRIVEN),
                "$.types.motor.motor.gear"),
    "over 60 V": (circuit({"pack": battery(60.1, 0.1), "lamp": LAMP}, FEED),
                  "$.types.pack.battery.volts"),
    "too efficient": (circuit({"pack": PACK, "conv": conv(efficiency=2), "lamp": LAMP}, THROUGH),
                      "$.types.conv.converters[0].efficiency"),
    "next to no efficiency": (circuit({"pack": PACK, "conv": conv(efficiency=1e-300),
                                       "lamp": LAMP}, THROUGH),
                              "$.types.conv.converters[0].efficiency"),
    "volts under nothing": (circuit({"pack": PACK, "lamp": load(2, (-5, 15))}, FEED),
                            "$.types.lamp.loads[0].volts[0]"),
    "volts upside down": (circuit({"pack": PACK, "lamp": load(2, (15, 8))}, FEED),
                          "$.types.lamp.loads[0].volts"),
    "shares over 1": (circuit({"pack": PACK, "lamp": LAMP}, FEED, cases=[
        {"id": "x", "share": 0.7}, {"id": "y", "share": 0.7}]), "$.cases"),
    "a driver in a case": (circuit({"pack": PACK, "drive": drive(), "motor": motor()}, DRIVEN,
                                   cases=[{"id": "x", "amps": {"drive": 3}}]),
                           "$.cases[0].amps.drive"),
}  # fmt: skip
FOUND: dict[str, tuple[Json, str, tuple[str, ...]]] = {
    "a motor without resistance": (
        circuit({"pack": PACK, "drive": drive(), "motor": motor(stall_amps=0)}, DRIVEN),
        "driver_overloaded", ("motor",)),
    "batteries in opposition": (
        circuit({"one": PACK, "two": PACK, "lamp": LAMP},
                ["one.plus two.plus", "one.minus lamp.minus", "two.minus lamp.plus"]),
        "wrong_polarity", ("w3",)),
    "batteries in a ring": (
        circuit({"one": PACK, "two": battery(24, 0.02)},
                ["one.plus two.minus", "one.minus two.plus"]), "wrong_polarity", ("one", "two")),
    "unequal batteries side by side": (
        circuit({"one": PACK, "two": battery(24, 0.02), "lamp": LAMP},
                ["one.plus two.plus", "one.minus two.minus", "one.plus lamp.plus",
                 "one.minus lamp.minus"]), "battery_overloaded", ("one",)),
    "a shorted battery": (circuit({"pack": PACK}, ["pack.plus pack.minus"]),
                          "wrong_polarity", ("pack",)),
    "a floating island": (
        circuit({"pack": PACK, "lamp": LAMP, "one": LAMP, "two": LAMP},
                [*FEED, "one.plus two.plus", "one.minus two.minus"]), "not_connected", ("one",)),
    "one wire only": (circuit({"pack": PACK, "lamp": LAMP}, ["pack.plus lamp.plus"]),
                      "return_missing", ("lamp",)),
    "a lamp the wrong way round": (
        circuit({"pack": PACK, "lamp": LAMP}, ["pack.plus lamp.minus", "pack.minus lamp.plus"]),
        "wrong_polarity", ("w1",)),
    "a battery without volts": (circuit({"pack": battery(0, 0.02), "lamp": LAMP}, FEED),
                                "volts_out_of_range", ("pack",)),
    "a load that no pack gives": (
        circuit({"pack": battery(12, 0.5), "lamp": load(500, (8, 15))}, FEED),
        "volts_out_of_range", ("lamp",)),
    "a bridge shorted at its output": (
        circuit({"pack": PACK, "drive": drive()},
                ["pack.plus drive.p", "pack.minus drive.m", "drive.a drive.b"]),
        "driver_overloaded", ("drive",)),
    "air hotter than any wire": (circuit({"pack": PACK, "lamp": LAMP}, FEED,
                                         assumptions={"ambient": 250}), "wire_thin", ("w1",)),
}  # fmt: skip
QUIET: dict[str, Json] = {
    "a converter fed by itself": circuit({"conv": conv(out_volts=12), "lamp": LAMP}, [
        "conv.op conv.p", "conv.om conv.m", "conv.op lamp.plus", "conv.om lamp.minus"]),
    "converters in a ring": circuit({"pack": PACK, "conv": conv(out_volts=12),
                                     "back": conv(out_volts=12)}, [
        "pack.plus conv.p", "pack.minus conv.m", "conv.op back.p", "conv.om back.m",
        "back.op conv.p", "back.om conv.m"]),
    "a linear converter upwards": circuit({"pack": PACK, "conv": conv(out_volts=24, linear=True),
                                           "lamp": load(1, (20, 28))}, THROUGH),
    "a load from plus to plus": circuit({"pack": PACK, "lamp": part_type(
        "lamp", {"plus": "positive", "minus": "negative"},
        loads=[{"plus": "plus", "minus": "plus", "typical": 1}])}, FEED),
    "a bridge with one output twice": circuit(
        {"pack": PACK, "drive": drive(("a", "a")), "motor": motor()}, DRIVEN),
    "a machine that weighs a mountain": circuit(
        {"pack": PACK, "drive": drive(), "motor": motor()}, DRIVEN,
        machine={"mass_kg": 1e9, "speed_kmh": 1e6, "slope_percent": 1e9}),
    "parts called like cases": circuit({"stall_all": PACK, "idle": LAMP}, [
        "stall_all.plus idle.plus", "stall_all.minus idle.minus"]),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_it_is_refused_with_the_place(client: TestClient, name: str) -> None:
    document, path = REFUSED[name]
    answer = client.post("/api/projects", json=document)
    assert answer.status_code == 422
    assert path in {fault["path"] for fault in answer.json()["errors"]}


@pytest.mark.parametrize("name", FOUND)
def test_it_is_found_and_named(client: TestClient, name: str) -> None:
    document, rule, subjects = FOUND[name]
    findings = client.post("/api/check", json=document).json()["findings"]
    named = [f["subjects"] for f in findings if f["rule"] == rule]
    assert any(set(subjects) <= set(found) for found in named), named


@pytest.mark.parametrize("name", [*FOUND, *QUIET])
def test_every_call_answers_or_says_why(client: TestClient, name: str) -> None:
    document = FOUND[name][0] if name in FOUND else QUIET[name]
    project = client.post("/api/projects", json=document).headers["location"]
    for case in ("idle", "typical", "peak", "stall_all"):
        answer = client.get(f"{project}/supply", params={"case": case})
        assert answer.status_code in (200, 422), answer.text
    first, last = document["connections"][0]["from"], document["connections"][-1]["to"]
    for path in (*CALLS, f"what-if?short={first},{last}", "what-if?open=w1"):
        answer = client.get(f"{project}/supply/{path}")
        assert answer.status_code in (200, 422), (path, answer.text)
        if answer.status_code == 422:
            assert answer.json()["errors"]

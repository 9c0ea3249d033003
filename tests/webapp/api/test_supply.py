"""The solved supply as programs get it."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

import pytest
from starlette.testclient import TestClient

from layout_engine import Job, load_document, solve_supply
from tests import samples
from tests.layout_engine.supply.circuits import battery, circuit, load
from webapp.resources import folder

LIGHTHOUSE = json.loads((folder("seed_data") / "demos" / "rolling_lighthouse.json").read_bytes())


@cache
def lighthouse() -> Job:
    """One object: what was routed for one of its cases serves the others."""
    return load_document(LIGHTHOUSE)


def stored(client: TestClient, document: dict[str, Any]) -> str:
    made = client.post("/api/projects", json=document)
    assert made.status_code == 201
    return str(made.headers["location"])


@pytest.mark.parametrize("case", ["idle", "rolling", "typical", "peak", "stall.motor_left",
                                  "stall_all"])
def test_a_case_is_the_engines(client: TestClient, case: str) -> None:
    answer = client.get(stored(client, LIGHTHOUSE) + "/supply", params={"case": case})
    assert answer.status_code == 200
    assert answer.headers["etag"] == '"1"'
    said = answer.json()
    assert said == solve_supply(lighthouse(), case).as_json()
    assert said["nodes"]["battery.minus"] == 0
    assert said["run_time_min"] > 0
    wires = {branch["id"]: branch for branch in said["branches"]}
    assert wires["w1"]["amps"] == pytest.approx(-wires["w2"]["amps"], rel=1e-6)


def test_one_lamp_worked_by_hand(client: TestClient) -> None:
    """12 V behind 0.1 ohm, 2 A: 11.8 V at the pack (Ohm)."""
    document = circuit({"pack": battery(12, 0.1), "lamp": load(2, (8, 15))},
                       ["pack.plus lamp.plus", "pack.minus lamp.minus"])  # fmt: skip
    said = client.get(stored(client, document) + "/supply").json()
    assert said["case"] == "typical"
    assert said["nodes"]["pack.plus"] == pytest.approx(11.8, abs=1e-6)
    assert {b["id"]: b["amps"] for b in said["branches"]}["w1"] == pytest.approx(2, rel=1e-6)


@pytest.mark.parametrize(("pack", "volts"), [("full", 14.7), ("empty", 10.8)])
def test_a_full_and_an_empty_pack(client: TestClient, pack: str, volts: float) -> None:
    """Idle, the pack loses 18 mohm times a fifth of an ampere."""
    said = client.get(stored(client, LIGHTHOUSE) + "/supply",
                      params={"case": "idle", "pack": pack}).json()  # fmt: skip
    assert said["nodes"]["battery.plus"] == pytest.approx(volts, abs=0.005)


def test_an_unknown_case_is_refused_with_the_known_ones(client: TestClient) -> None:
    answer = client.get(stored(client, LIGHTHOUSE) + "/supply", params={"case": "asleep"})
    assert answer.status_code == 422
    assert answer.headers["content-type"] == "application/problem+json"
    (fault,) = answer.json()["errors"]
    assert fault["value"] == "asleep"
    assert "stall_all" in fault["allowed"]


def test_a_motor_without_resistance_is_named(client: TestClient) -> None:
    document = json.loads(json.dumps(LIGHTHOUSE))
    document["types"]["turning_motor_12v"]["motor"]["stall_amps"] = 0
    answer = client.get(stored(client, document) + "/supply",
                        params={"case": "stall.turn_motor"})  # fmt: skip
    assert answer.status_code == 422
    assert "stall current" in answer.json()["detail"]


def test_over_60_volts_is_declined(client: TestClient) -> None:
    document = circuit({"one": battery(40, 0.1), "two": battery(40, 0.1), "lamp": load(1)},
                       ["one.minus two.plus", "one.plus lamp.plus", "two.minus lamp.minus"])
    answer = client.get(stored(client, document) + "/supply")
    assert answer.status_code == 422
    assert "licensed electrician" in answer.json()["detail"]


def test_a_job_without_wires_is_dead_but_no_fault(client: TestClient) -> None:
    answer = client.get(stored(client, samples.ten_module_board()) + "/supply")
    said = answer.json()
    assert said["nodes"] == {}
    assert said["run_time_min"] is None
    assert "-0" not in answer.text


def test_a_project_that_is_not_there_is_404(client: TestClient) -> None:
    assert client.get("/api/projects/nothing23/supply").status_code == 404

"""Questions about the supply as programs get them: the engine's answers, as they are described."""

from __future__ import annotations

import json
from math import inf
from typing import Any

import pytest
from jsonschema_rs import validator_for
from starlette.testclient import TestClient

from layout_engine import load_document
from layout_engine.sizing.routed import sized_routes
from layout_engine.sizing.what_if import what_if_sized
from layout_engine.supply.running import running_currents
from tests import samples
from tests.layout_engine.supply.circuits import battery, circuit, load, part_type
from webapp.api.asked import CALLS
from webapp.api.records import plain, schema_of
from webapp.resources import folder

LIGHTHOUSE = json.loads((folder("seed_data") / "demos" / "rolling_lighthouse.json").read_bytes())


def stored(client: TestClient, document: dict[str, Any]) -> str:
    made = client.post("/api/projects", json=document)
    assert made.status_code == 201
    return str(made.headers["location"])


@pytest.fixture
def lighthouse(client: TestClient) -> str:
    return stored(client, LIGHTHOUSE)


@pytest.mark.parametrize("question", [*CALLS, "what-if"])
def test_an_answer_is_as_it_is_described(
        client: TestClient, lighthouse: str, question: str) -> None:
    described = client.get("/api/openapi.json").json()
    path = f"/api/projects/{{project_id}}/supply/{question}"
    schema = described["paths"][path]["get"]["responses"]["200"]["content"]["application/json"][
        "schema"]  # fmt: skip
    answer = client.get(f"{lighthouse}/supply/{question}")
    assert answer.status_code == 200
    assert answer.headers["etag"] == '"1"'
    validator_for(schema).validate(answer.json())
    assert answer.json()


def test_drives_are_the_engines(client: TestClient, lighthouse: str) -> None:
    runs = running_currents(load_document(LIGHTHOUSE))
    found = {one["part"]: one for one in client.get(f"{lighthouse}/supply/drives").json()["wheels"]}
    assert found.keys() == runs.keys()
    for part, one in found.items():
        assert one["ramp"]["value"] == pytest.approx(runs[part].ramp.value)
        assert {given["symbol"] for given in one["ramp"]["working"]["given"]} >= {"m", "s", "G"}


def test_heat_is_what_is_lost_and_adds_up(client: TestClient, lighthouse: str) -> None:
    found = client.get(f"{lighthouse}/supply/heat").json()
    parts = sum(part["watts"]["value"] for part in found["parts"])
    assert found["watts"] == pytest.approx(parts + sum(found["wires"].values()))
    assert found["air"]["result"] == pytest.approx(28 + found["rise"]["result"])
    assert found["air_range"][0] < found["air"]["result"] < found["air_range"][1]


def test_sizes_are_those_of_the_wires(client: TestClient, lighthouse: str) -> None:
    wires = {one["id"]: one for one in client.get(f"{lighthouse}/wires").json()}
    for one in client.get(f"{lighthouse}/supply/sizes").json()["wires"]:
        assert one["size_mm2"] == pytest.approx(wires[one["id"]]["size_mm2"], abs=1e-4)
        assert one["amps"]["result"] == pytest.approx(wires[one["id"]]["amps"])


def test_a_short_opens_its_fuse(client: TestClient, lighthouse: str) -> None:
    found = client.get(f"{lighthouse}/supply/what-if",
                       params={"short": "conv5.in_plus,conv5.in_minus"}).json()
    sizing = sized_routes(load_document(LIGHTHOUSE)).sizing
    assert sizing is not None
    ours = what_if_sized(sizing, shorted=(("conv5.in_plus", "conv5.in_minus"),))
    assert [fuse["branch"] for fuse in found["opens"]] == ["fuses.feed>out3"]
    assert found["within"] == pytest.approx(ours.within)
    assert found["ended"]["dead"] == list(ours.ended.dead if ours.ended else ())
    assert found["still_hot"] == []


def test_an_open_wire_by_hand(client: TestClient) -> None:
    """12 V, two lamps of 1 A side by side; without w1 one is dead, the other takes its ampere."""
    project = stored(client, circuit(
        {"pack": battery(12, 0.1), "lamp": load(1, (8, 15)), "other": load(1, (8, 15))},
        ["pack.plus lamp.plus", "pack.minus lamp.minus", "pack.plus other.plus",
         "pack.minus other.minus"]))  # fmt: skip
    found = client.get(f"{project}/supply/what-if", params={"open": "w1"}).json()
    assert found["outcome"]["dead"] == ["lamp"]
    assert found["outcome"]["sources"]["pack"] == pytest.approx(1, rel=1e-5)
    assert found["outcome"]["flows"]["w3"] == pytest.approx(1, rel=1e-5)
    both = client.get(f"{project}/supply/what-if", params={"open": ["w1", "w3"]}).json()
    assert both["outcome"]["dead"] == ["lamp", "other"]


@pytest.mark.parametrize(("asked", "words"), [
    ({"open": "w999"}, "w999"), ({"short": "conv5.in_plus"}, "two terminals"),
    ({"short": "conv5.in_plus,nobody.x"}, "nobody.x"), ({"case": "asleep"}, "stall_all"),
    ({"short": "conv5.in_plus,conv5.in_plus"}, "itself"),
])  # fmt: skip
def test_what_cannot_be_asked_is_refused_with_words(
        client: TestClient, lighthouse: str, asked: dict[str, str], words: str) -> None:
    answer = client.get(f"{lighthouse}/supply/what-if", params=asked)
    assert answer.status_code == 422
    assert answer.headers["content-type"] == "application/problem+json"
    assert words in answer.text


def test_without_a_sized_supply_each_says_why(client: TestClient) -> None:
    empty = stored(client, samples.ten_module_board())
    high = stored(client, circuit(
        {"one": battery(40, 0.1), "two": battery(40, 0.1), "lamp": load(1)},
        ["one.minus two.plus", "one.plus lamp.plus", "two.minus lamp.minus"]))  # fmt: skip
    for question in (*CALLS, "what-if"):
        answer = client.get(f"{empty}/supply/{question}")
        assert answer.status_code == 422
        assert "nothing flows" in answer.json()["detail"]
        declined = client.get(f"{high}/supply/{question}")
        assert declined.status_code == 422
        assert "licensed electrician" in declined.json()["detail"]
        assert client.get(f"/api/projects/nothing23/supply/{question}").status_code == 404


def test_what_has_no_end_is_null() -> None:
    assert plain({"a": inf, "b": (1.5, -inf), "c": True, "d": "x"}) == {
        "a": None, "b": [1.5, None], "c": True, "d": "x"}  # fmt: skip
    assert schema_of(dict[str, float])["additionalProperties"] == {"type": ["number", "null"]}
    with pytest.raises(TypeError):
        schema_of(set[str])


def test_a_fuse_nobody_fitted_is_told_as_proposed(client: TestClient) -> None:
    fuse = part_type("fuse_holder", {"a": "positive", "b": "positive"},
                     paths=[{"from": "a", "to": "b", "fuse": {"form": "blade"}}])
    project = stored(client, circuit(
        {"pack": battery(12, 0.02), "fuse": fuse, "lamp": load(2, (8, 15))},
        ["pack.plus fuse.a", "fuse.b lamp.plus", "pack.minus lamp.minus"]))  # fmt: skip
    (found,) = client.get(f"{project}/supply/sizes").json()["fuses"]
    assert (found["rating"], found["fitted"]) == (3, False)  # 2 A / 0.75: the next is 3 A

"""Routed wires and the cut list as programs get them."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from io import StringIO
from pathlib import Path
from typing import Any

import httpx
import pytest

from layout_engine import load_document, route
from tests.layout_engine.sizing.boards import fuse_holder, unsized
from tests.layout_engine.supply.circuits import battery, circuit, load

DEMO = Path(__file__).parents[3] / "seed_data" / "demos" / "rolling_lighthouse.json"
NewJob = Callable[[dict[str, Any]], str]
KEYS = {"id", "from", "to", "length", "size_mm2", "size_awg", "colour", "amps", "fuse",
        "drop_volts", "path"}


def test_wires_are_those_of_the_engine(http: httpx.Client, new_job: NewJob) -> None:
    document = json.loads(DEMO.read_text())
    answer = http.get(f"/api/projects/{new_job(document)}/wires")
    assert answer.status_code == 200
    assert answer.headers["etag"] == '"1"'
    wires = answer.json()
    routed = route(load_document(document))
    assert [w["id"] for w in wires] == [c["id"] for c in document["connections"]]
    assert all(set(w) >= KEYS for w in wires)
    for sent, wire in zip(wires, routed, strict=True):
        assert sent["length"] == wire.length
        assert [tuple(point) for point in sent["path"]] == list(wire.path)
        assert (sent["from"], sent["to"]) == (wire.from_, wire.to)


def test_each_wire_of_one_loop_carries_what_its_load_draws(
    http: httpx.Client, new_job: NewJob
) -> None:
    """Kirchhoff's current law: pack, fuse and lamp in a row, the lamp draws 2 A whatever the volts.

    Nothing is lost of 12 V but in these wires, and the fuse guards all of them.
    """
    types = {"pack": battery(12, 0.02), "fuse": fuse_holder(), "lamp": load(2, (8, 16))}
    wires = ["pack.plus fuse.a 100", "fuse.b lamp.plus 300", "lamp.minus pack.minus 300"]
    job = new_job(unsized(circuit(types, wires)))
    sent = http.get(f"/api/projects/{job}/wires").json()
    assert [wire["amps"] for wire in sent] == [pytest.approx(2)] * 3
    assert {wire["fuse"] for wire in sent} == {"fuse.b"}
    assert all(0 < wire["drop_volts"] < 1 for wire in sent)
    assert sent[1]["drop_volts"] == pytest.approx(sent[2]["drop_volts"])  # both are 300 mm long


def test_cut_list_holds_every_wire_once(http: httpx.Client, new_job: NewJob) -> None:
    document = json.loads(DEMO.read_text())
    answer = http.get(f"/api/projects/{new_job(document)}/wires.csv")
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "text/csv; charset=utf-8"
    assert "sandbox" in answer.headers["content-security-policy"]
    rows = list(csv.DictReader(StringIO(answer.text)))
    assert sorted(r["id"] for r in rows) == sorted(c["id"] for c in document["connections"])
    assert all(float(r["length_mm"]) % 5 == 0 for r in rows if r["length_mm"])


def test_no_wires_of_a_job_that_is_not_there(http: httpx.Client) -> None:
    for sheet in ("wires", "wires.csv"):
        answer = http.get(f"/api/projects/nosuchjob/{sheet}")
        assert answer.status_code == 404
        assert answer.headers["content-type"] == "application/problem+json"

"""The Wires page: runs drawn on both faces, the cut list, ticks that are remembered."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import httpx

from tests.layout_engine.wiring.boards import at, block, facing_pair

DEMO = Path(__file__).parents[3] / "seed_data" / "demos" / "rolling_lighthouse.json"
NewJob = Callable[[dict[str, Any]], str]


def page(http: httpx.Client, project: str) -> str:
    answer = http.get(f"/jobs/{project}/wires")
    assert answer.status_code == 200
    return answer.text


def test_both_faces_are_drawn_and_every_wire_is_listed(http: httpx.Client, new_job: NewJob) -> None:
    document = json.loads(DEMO.read_text())
    text = page(http, new_job(document))
    assert text.count('<figure class="wir-board">') == 2
    assert len(re.findall(r'name="cut-w\d+"', text)) == len(document["connections"])
    assert 'class="runs"' in text
    assert "Stop:" not in text


def test_ticks_are_kept_and_taken_away(http: httpx.Client, new_job: NewJob) -> None:
    project = new_job(facing_pair())
    assert "0 of 1 done" in page(http, project)
    answer = http.post(f"/jobs/{project}/wires/ticks", data={"revision": 1, "cut-w": "1"})
    assert answer.status_code in (200, 303)
    assert "1 of 1 done" in page(http, project)
    record = http.get(f"/api/projects/{project}").json()["document"]["record"]
    assert [(entry["step"], entry["value"]) for entry in record] == [("cut.w", True)]
    http.post(f"/jobs/{project}/wires/ticks", data={"revision": 2})
    assert "0 of 1 done" in page(http, project)


def test_a_wire_without_a_way_is_said_with_gap_and_remedy(http: httpx.Client, new_job: NewJob
                                                         ) -> None:
    document = facing_pair()
    document["connections"][0]["wire"]["size"] = "25 mm2"
    document["types"]["cage"] = block(size=(5, 149))
    document["parts"] += [at("cage", "cage", 79, 0.5), at("behind", "cage", 84, 0.5, face="back")]
    text = page(http, new_job(document))
    assert "Stop: 1 thing to settle" in text
    assert "no way is wide enough" in text
    assert "mm wanted" in text


def test_a_job_without_wires_says_where_they_come_from(http: httpx.Client, new_job: NewJob) -> None:
    document = facing_pair()
    document["connections"] = []
    assert "No wires yet" in page(http, new_job(document))

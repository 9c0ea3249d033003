"""Runs of an open Layout page: drawn apart from the page, and led over points as saved edits."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import httpx
import pytest

from layout_engine import dump_document
from tests.layout_engine.wiring.boards import facing_pair
from tests.layout_engine.wiring.test_conflicts import walled

NewJob = Callable[[dict[str, Any]], str]
POINT = [100, 110, "front"]


@pytest.fixture
def job(new_job: NewJob) -> str:
    return new_job(facing_pair())


def runs(http: httpx.Client, job: str, **query: Any) -> dict[str, Any]:
    answer = http.get(f"/jobs/{job}/layout/runs", params=query)
    assert answer.status_code == 200
    return dict(answer.json())


def lead(http: httpx.Client, job: str, revision: int, **body: Any) -> httpx.Response:
    sent = {"revision": revision, "view": "front", "wire": "w", "via": [], **body}
    return http.post(f"/jobs/{job}/layout/wire", json=sent)


def test_the_page_itself_carries_no_run(http: httpx.Client, job: str) -> None:
    text = http.get(f"/jobs/{job}/layout").text
    assert "pen-band" not in text
    assert "The wires are being laid." in text
    assert "pages/layout/runs.js" not in text  # nor is its script fetched with those of the page


def test_a_job_without_wires_has_no_place_for_them(http: httpx.Client, new_job: NewJob) -> None:
    text = http.get(f"/jobs/{new_job(facing_pair() | {'connections': []})}/layout").text
    assert "data-runs-list" not in text


def test_bands_list_and_ways_come_in_one_answer(http: httpx.Client, job: str) -> None:
    """The terminals face each other at y 75, from x 70 to x 130."""
    found = runs(http, job)
    assert (found["revision"], found["view"], found["settled"]) == (1, "front", True)
    (wire,) = found["wires"]
    assert wire["path"] == [[70, 75, "front"], [130, 75, "front"]]
    assert (wire["near"], wire["far"]) == ("M70 75L130 75", "")
    assert (wire["via"], wire["pinned"], wire["parts"]) == ([], False, ["a", "b"])
    assert wire["runs"] == []  # it shares none
    assert 'class="pen-band fill-none"' in found["svg"]
    assert "60 mm on the plate" in found["html"]


def test_wires_that_wait_and_wires_that_find_no_way_are_told_apart(
        http: httpx.Client, new_job: NewJob) -> None:
    document = dump_document(walled(gap=3.5, over=5.0))
    walls = runs(http, new_job(document))["html"]
    assert "Wire 1 finds no way" in walls
    assert "No wire runs" not in walls
    document["parts"].append({"id": "c", "type": document["parts"][0]["type"]})
    document["connections"].append({"id": "x", "from": "a.t", "to": "c.t"})
    both = runs(http, new_job(document))["html"]
    assert "Wire 1 finds no way" in both
    assert "1 more waits for modules to be placed." in both
    tray = facing_pair()
    for part in tray["parts"]:
        part.pop("placement", None)
    alone = runs(http, new_job(tray))["html"]
    assert "No wire runs on the plate yet" in alone
    assert "finds no way" not in alone


def test_seen_from_behind_the_front_is_far(http: httpx.Client, job: str) -> None:
    (wire,) = runs(http, job, view="back")["wires"]
    assert (wire["near"], wire["far"]) == ("", "M130 75L70 75")


def test_a_point_is_an_edit_that_undo_takes_back(http: httpx.Client, job: str) -> None:
    answer = lead(http, job, 1, via=[POINT])
    assert answer.status_code == 200
    assert answer.json()["words"] == "lead wire 1 over 1 point"
    (wire,) = runs(http, job)["wires"]
    assert max(y for _, y, _ in wire["path"]) == POINT[1]
    assert http.post(f"/jobs/{job}/undo", data={"revision": 2}).status_code in (200, 303)
    (back,) = runs(http, job)["wires"]
    assert back["path"] == [[70, 75, "front"], [130, 75, "front"]]


def test_a_pinned_wire_runs_straight_from_point_to_point(http: httpx.Client, job: str) -> None:
    answer = lead(http, job, 1, via=[POINT], pinned=True)
    assert answer.json()["words"] == "pin wire 1"
    (wire,) = runs(http, job)["wires"]
    assert wire["pinned"] is True
    assert wire["path"] == [[70, 75, "front"], POINT, [130, 75, "front"]]


def test_after_a_change_both_answers_lead_over_the_point(http: httpx.Client, job: str) -> None:
    assert runs(http, job)["settled"] is True
    lead(http, job, 1, via=[[97, 109, "front"]])
    for quick in (True, False):
        found = runs(http, job, quick=quick)
        assert found["revision"] == 2
        assert max(y for _, y, _ in found["wires"][0]["path"]) == 109
    assert found["settled"] is True


def test_what_cannot_be_is_refused_and_nothing_is_saved(http: httpx.Client, job: str) -> None:
    assert lead(http, job, 1, wire="nobody").status_code == 404
    assert lead(http, job, 1, via=[[9000, 0, "front"]]).status_code == 422
    assert lead(http, job, 1, via=[[1, 0, "side"]]).status_code == 422
    assert lead(http, job, 1, via=[[1, 1, "front"]] * 101).status_code == 422
    assert lead(http, job, 1, via=[POINT]).status_code == 200
    assert lead(http, job, 1, via=[]).status_code == 412
    assert http.get(f"/api/projects/{job}").json()["revision"] == 2

"""Arrange jobs for programs, with the real worker process."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from typing import Any

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from tests import samples
from tests.webapp.jobs import engines
from webapp.jobs.service import ArrangeJobs

KEYS = {"state", "progress", "cost", "wire_cost", "wish_cost", "bound", "document"}
PATIENCE_S = 240  # a busy machine that has to compile the search first


@pytest.fixture
def arranging(local_app: FastAPI) -> Iterator[ArrangeJobs]:
    """The app's jobs served by a stand-in that ends when it was asked to."""
    before = local_app.state.jobs
    jobs = local_app.state.jobs = ArrangeJobs(queue=2, engine=engines.polite)
    yield jobs
    jobs.close()
    local_app.state.jobs = before


def _job(answer: Any) -> str:
    assert answer.status_code == 202, answer.text
    job = answer.json()["job"]
    assert answer.headers["location"] == f"/api/jobs/{job}"
    return str(answer.headers["location"])


def _ended(client: TestClient, path: str) -> dict[str, Any]:
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        job: dict[str, Any] = client.get(path).json()
        assert set(job) >= KEYS
        if job["state"] not in ("waiting", "running"):
            return job
        time.sleep(0.05)
    raise AssertionError(f"the job did not end in {PATIENCE_S} s")


def test_a_document_is_arranged(client: TestClient, arranging: ArrangeJobs) -> None:
    arranging.start()
    document = samples.two_module_board()
    order = {"document": document, "seconds": 0.3, "seed": 3}
    done = _ended(client, _job(client.post("/api/arrange", json=order)))
    assert (done["state"], done["progress"]) == ("done", 1.0)
    assert (done["cost"], done["wire_cost"], done["wish_cost"], done["bound"]) == (10, 7, 3, 5)
    assert done["document"]["name"] == f"{document['name']} step 20"


def test_an_offer_never_changes_the_project(client: TestClient, arranging: ArrangeJobs) -> None:
    arranging.start()
    document = samples.two_module_board()
    path = f"/api/projects/{client.post('/api/projects', json=document).json()['id']}"
    before = client.get(path).json()
    started = client.post(f"{path}/arrange", json={"seconds": 0.5})
    document["name"] = "moved meanwhile"
    changed = client.put(path, json=document, headers={"if-match": '"1"'})
    done = _ended(client, _job(started))
    assert done["state"] == "done"
    after = client.get(path).json()
    assert after["revision"] == changed.json()["revision"] == before["revision"] + 1
    assert after["document"]["name"] == "moved meanwhile"


def test_stopping_keeps_the_best_so_far(client: TestClient, arranging: ArrangeJobs) -> None:
    arranging.start()
    order = {"document": samples.two_module_board(), "seconds": 40}
    path = _job(client.post("/api/arrange", json=order))
    while client.get(path).json()["document"] is None:
        time.sleep(0.05)
    client.delete(path)
    ended = _ended(client, path)
    assert ended["state"] == "stopped"
    assert ended["document"]["name"].startswith(samples.two_module_board()["name"])
    assert client.delete(path).json() == ended  # stopping it again changes nothing


@pytest.mark.usefixtures("arranging")
def test_a_project_has_one_job_at_a_time(client: TestClient) -> None:
    project = client.post("/api/projects", json=samples.two_module_board()).json()["id"]
    first = client.post(f"/api/projects/{project}/arrange")
    assert first.status_code == 202
    second = client.post(f"/api/projects/{project}/arrange")
    assert second.status_code == 409
    assert first.json()["job"] in second.json()["detail"]


@pytest.mark.usefixtures("arranging")
def test_a_full_queue_says_when_to_come_again(client: TestClient) -> None:
    order = {"document": samples.two_module_board()}
    answers = [client.post("/api/arrange", json=order) for _ in range(3)]
    assert [answer.status_code for answer in answers] == [202, 202, 429]
    assert int(answers[-1].headers["retry-after"]) > 0
    assert answers[-1].headers["content-type"] == "application/problem+json"


@pytest.mark.parametrize(("order", "path"), [
    ({"seconds": 0}, "$.seconds"), ({"seconds": -1}, "$.seconds"), ({"seconds": 301}, "$.seconds"),
    ({"seconds": True}, "$.seconds"), ({"seconds": "3"}, "$.seconds"),
    ({"seconds": None}, "$.seconds"),
    ({"seed": 1.5}, "$.seed"), ({"seed": -1}, "$.seed"), ({"seed": 10**400}, "$.seed"),
    ({"seed": False}, "$.seed"), ({"more": 1}, "$.more"), ({"document": None}, "$.document"),
    ({"document": []}, "$.document"), ({"document": {"format": "other"}}, "$.document.format"),
])
def test_a_wrong_order_is_answered_with_its_place(
    client: TestClient, order: dict[str, Any], path: str
) -> None:
    whole = {"document": samples.two_module_board()} | order
    text = json.dumps(whole)
    answer = client.post("/api/arrange", content=text)
    assert answer.status_code == 422
    assert path in [error["path"] for error in answer.json()["errors"]]


def test_all_faults_of_an_order_come_at_once(client: TestClient) -> None:
    order = {"document": {"format": "other"}, "seconds": 0, "seed": -1}
    errors = client.post("/api/arrange", json=order).json()["errors"]
    assert {"$.document.format", "$.document.name", "$.seconds", "$.seed"} <= {
        error["path"] for error in errors
    }


@pytest.mark.parametrize("job", ["nothing", "0" * 16, "%00"])
def test_an_unknown_job_is_404(client: TestClient, job: str) -> None:
    assert client.get(f"/api/jobs/{job}").status_code == 404
    assert client.delete(f"/api/jobs/{job}").status_code == 404


@pytest.mark.parametrize(("key", "value", "allowed"), [
    ("character", "finest", "one of shortest, coolest, serviceable, tidiest"),
    ("character", ["coolest"], "one of shortest"),
    ("ask", "riddle", "one of arrange, holds, plate"),
    ("only", [], "a list of ids of parts, at least one"),
    ("only", "left", "a list of ids"),
    ("at_most_mm", 0, "over 0.01, up to 5000 mm"),
    ("at_most_mm", True, "over 0.01, up to 5000 mm"),
])
def test_unknown_wishes_are_refused_with_what_is_allowed(
    client: TestClient, key: str, value: Any, allowed: str,
) -> None:
    answer = client.post("/api/arrange", json={"document": samples.two_module_board(), key: value})
    assert answer.status_code == 422
    (error,) = answer.json()["errors"]
    assert error["path"] == f"$.{key}"
    assert allowed in error["allowed"]


def test_an_unknown_part_among_those_that_may_move_is_named(client: TestClient) -> None:
    order = {"document": samples.two_module_board(), "only": ["left", "nobody"]}
    (error,) = client.post("/api/arrange", json=order).json()["errors"]
    assert (error["path"], error["value"]) == ("$.only[1]", "nobody")


def test_wishes_go_with_an_arrangement_only(client: TestClient) -> None:
    order = {"document": samples.two_module_board(), "ask": "plate", "character": "coolest"}
    (error,) = client.post("/api/arrange", json=order).json()["errors"]
    assert error["path"] == "$.ask"


@pytest.mark.slow
def test_the_real_optimiser_tells_details_and_moves_only_a_little(
    client: TestClient, local_app: FastAPI,
) -> None:
    before = local_app.state.jobs
    jobs = local_app.state.jobs = ArrangeJobs(queue=3)
    jobs.start()
    document = samples.ten_module_board()
    try:
        order = {"document": document, "seconds": 3, "character": "tidiest", "at_most_mm": 5,
                 "only": ["relay", "player"]}
        done = _ended(client, _job(client.post("/api/arrange", json=order)))
        after = {p["id"]: p["placement"] for p in done["document"]["parts"]}
        for part in document["parts"]:
            was, now = part["placement"], after[part["id"]]
            way = ((was["x"] - now["x"]) ** 2 + (was["y"] - now["y"]) ** 2) ** 0.5
            assert way <= (5 if part["id"] in order["only"] else 0)
        details = done["details"]
        assert details["character"] == "tidiest"
        assert [r["name"] for r in details["respects"]] == ["wire", "heat", "service", "tidiness"]
        assert details["bound"]["result"] == done["bound"]
        asked = {"document": document, "seconds": 3, "ask": "holds"}
        held = _ended(client, _job(client.post("/api/arrange", json=asked)))
        assert held["details"] == {"holds": []}  # nothing is required and nothing locked
        # All sizes that are to be tried for two modules are tried in a few of these seconds.
        asked = {"document": samples.two_module_board(), "seconds": 60, "ask": "plate"}
        plate = _ended(client, _job(client.post("/api/arrange", json=asked)))["details"]["plate"]
        assert {size["does"] for size in plate["tried"]} == {True, False}
    finally:
        jobs.close()
        local_app.state.jobs = before

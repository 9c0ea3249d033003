"""Findings for programs."""

from __future__ import annotations

import asyncio
import threading
from concurrent.futures import ThreadPoolExecutor

import httpx
import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from layout_engine import check, load_document
from tests import samples
from tests.webapp.conftest import ADDRESS
from webapp.api import checks

KEYS = {
    "rule", "severity", "subjects", "message", "value", "limit", "unit", "source", "remedy",
    "rests_on_guess",
}


def test_a_document_is_checked_without_being_stored(client: TestClient) -> None:
    before = client.get("/api/projects").json()
    document = samples.two_module_board()
    for part in document["parts"]:
        part["placement"] = {"face": "front", "x": 30, "y": 30, "turn": 0}
    answer = client.post("/api/check", json=document)
    assert answer.status_code == 200
    findings = answer.json()["findings"]
    assert findings == [finding.as_json() for finding in check(load_document(document))]
    assert all(set(finding) >= KEYS for finding in findings)
    overlap = next(finding for finding in findings if finding["rule"] == "overlap")
    assert overlap["severity"] == "stop"
    assert sorted(overlap["subjects"]) == sorted(part["id"] for part in document["parts"])
    assert client.get("/api/projects").json() == before


def test_the_findings_of_a_project_are_those_of_its_document(client: TestClient) -> None:
    document = samples.two_module_board()
    project = client.post("/api/projects", json=document).json()["id"]
    answer = client.get(f"/api/projects/{project}/findings")
    assert answer.json() == client.post("/api/check", json=document).json()
    assert answer.headers["etag"] == '"1"'


def test_every_demo_job_can_be_checked(client: TestClient) -> None:
    for project in client.get("/api/projects").json()["projects"]:
        answer = client.get(f"/api/projects/{project['id']}/findings")
        assert answer.status_code == 200
        assert answer.json()["findings"]


def test_many_long_checks_leave_threads_to_all_others(
    local_app: FastAPI, monkeypatch: pytest.MonkeyPatch
) -> None:
    release, lock = threading.Event(), threading.Lock()
    under_way, most = 0, 0

    def long_check(_job: object, **_routes: object) -> list[object]:
        nonlocal under_way, most
        with lock:
            under_way += 1
            most = max(most, under_way)
        release.wait(20)
        with lock:
            under_way -= 1
        return []

    async def run() -> None:
        transport = httpx.ASGITransport(local_app)
        async with httpx.AsyncClient(transport=transport, base_url=ADDRESS) as http:
            document = samples.two_module_board()
            long = [asyncio.create_task(http.post("/api/check", json=document))
                    for _ in range(50)]
            while under_way < checks.AT_ONCE:
                await asyncio.sleep(0.01)
            assert (await asyncio.wait_for(http.get("/api/projects"), 10)).status_code == 200
            release.set()
            assert {answer.status_code for answer in await asyncio.gather(*long)} == {200}

    monkeypatch.setattr(checks, "check", long_check)
    # In a thread of its own: browser tests leave an event loop running in this one.
    with ThreadPoolExecutor(1) as other:
        other.submit(lambda: asyncio.run(asyncio.wait_for(run(), 60))).result()
    assert most == checks.AT_ONCE

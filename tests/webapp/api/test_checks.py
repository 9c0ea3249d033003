"""Findings for programs."""

from __future__ import annotations

from starlette.testclient import TestClient

from layout_engine import check, load_document
from tests import samples

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

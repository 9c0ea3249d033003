"""Projects for programs, each call and each refusal of the contract."""

from __future__ import annotations

import json
from datetime import datetime
from typing import Any

import pytest
from starlette.testclient import TestClient

from layout_engine import document_bytes, load_document
from tests import samples

PROBLEM = "application/problem+json"


@pytest.fixture
def document() -> dict[str, Any]:
    return samples.two_module_board()


@pytest.fixture
def project(client: TestClient, document: dict[str, Any]) -> str:
    return str(client.post("/api/projects", json=document).json()["id"])


def _problem(answer: Any, status: int) -> dict[str, Any]:
    """A refusal as problem details, whole and of that status."""
    assert answer.status_code == status, answer.text
    assert answer.headers["content-type"] == PROBLEM
    body: dict[str, Any] = answer.json()
    assert set(body) == {"type", "title", "status", "detail", "errors"}
    assert body["status"] == status
    assert body["detail"]
    return body


def test_a_document_is_stored_and_comes_back(
    client: TestClient, document: dict[str, Any]
) -> None:
    made = client.post("/api/projects", json=document)
    assert made.status_code == 201
    assert made.json()["revision"] == 1
    assert made.headers["etag"] == '"1"'
    read = client.get(made.headers["location"])
    assert read.json() == {
        "id": made.json()["id"], "revision": 1,
        "document": json.loads(document_bytes(load_document(document))),
    }
    assert read.headers["etag"] == '"1"'
    assert made.headers["location"] == f"/api/projects/{made.json()['id']}"


def test_the_list_names_id_name_revision_and_time(client: TestClient, project: str) -> None:
    listed = client.get("/api/projects").json()["projects"]
    mine = next(entry for entry in listed if entry["id"] == project)
    assert set(mine) == {"id", "name", "revision", "changed"}
    assert datetime.fromisoformat(mine["changed"]).utcoffset() is not None


def test_three_demo_jobs_are_there_from_the_start(client: TestClient) -> None:
    assert len(client.get("/api/projects").json()["projects"]) >= 3


@pytest.mark.parametrize("tag", ['"1"', "1", '"7", "1"', 'W/"1", "1"'])
def test_a_change_names_the_revision_it_was_made_from(
    client: TestClient, project: str, document: dict[str, Any], tag: str
) -> None:
    """RFC 9110, 13.1.1: of several tags one that matches is enough; a weak one never does."""
    document["name"] = "changed"
    answer = client.put(f"/api/projects/{project}", json=document, headers={"if-match": tag})
    assert answer.status_code == 200
    assert answer.json() == {"id": project, "revision": 2}
    assert answer.headers["etag"] == '"2"'
    assert client.get(f"/api/projects/{project}").json()["document"]["name"] == "changed"


@pytest.mark.parametrize("tag", ['"0"', '"2"', '"99999999999999999999"', 'W/"1"', '"x"', "x", '""'])
def test_a_change_of_another_revision_is_a_lost_update(
    client: TestClient, project: str, document: dict[str, Any], tag: str
) -> None:
    answer = client.put(f"/api/projects/{project}", json=document, headers={"if-match": tag})
    _problem(answer, 412)
    assert client.get(f"/api/projects/{project}").json()["revision"] == 1


@pytest.mark.parametrize("headers", [{}, {"if-match": "*"}, {"if-match": ""}])
def test_a_change_without_a_revision_is_refused(
    client: TestClient, project: str, document: dict[str, Any], headers: dict[str, str]
) -> None:
    answer = client.put(f"/api/projects/{project}", json=document, headers=headers)
    assert "If-Match" in _problem(answer, 428)["detail"]


def test_a_save_that_arrived_unseen_is_told_apart(
    client: TestClient, project: str, document: dict[str, Any]
) -> None:
    document["name"] = "changed"
    for _ in range(2):
        answer = client.put(f"/api/projects/{project}", json=document, headers={"if-match": '"1"'})
    assert "your version already" in _problem(answer, 412)["detail"]


def test_into_the_bin_and_back(
    client: TestClient, project: str, document: dict[str, Any]
) -> None:
    path = f"/api/projects/{project}"
    assert client.delete(path).status_code == 204
    _problem(client.get(path), 404)
    _problem(client.delete(path), 404)
    _problem(client.put(path, json=document, headers={"if-match": '"1"'}), 404)
    assert all(p["id"] != project for p in client.get("/api/projects").json()["projects"])
    back = client.post(f"{path}/restore")
    assert (back.status_code, back.json()) == (200, {"id": project, "revision": 1})
    assert client.get(path).status_code == 200


def test_the_document_as_a_file_is_the_same_bytes_each_time_and_can_be_imported(
    client: TestClient, project: str
) -> None:
    path = f"/api/projects/{project}/document.json"
    first, again = client.get(path), client.get(path)
    assert first.content == again.content
    assert first.headers["content-disposition"].startswith("attachment; filename=")
    assert first.headers["content-type"] == "application/json"
    copied = client.post("/api/projects", content=first.content).json()["id"]
    assert client.get(f"/api/projects/{copied}/document.json").content == first.content


@pytest.mark.parametrize(("method", "path"), [
    ("GET", ""), ("GET", "/findings"), ("GET", "/document.json"), ("DELETE", ""),
    ("POST", "/restore"), ("POST", "/arrange"),
])
@pytest.mark.parametrize("project_id", ["nothing", "x", "a" * 3000, "%00", "%ED%A0%80", "..%2f"])
def test_an_unknown_project_is_404(
    client: TestClient, method: str, path: str, project_id: str
) -> None:
    _problem(client.request(method, f"/api/projects/{project_id}{path}"), 404)


@pytest.mark.parametrize(("method", "path"), [
    ("PATCH", "/api/projects"), ("DELETE", "/api/projects"), ("GET", "/api/check"),
    ("PUT", "/api/arrange"), ("POST", "/api/openapi.json"),
])
def test_another_method_is_405_and_says_which_are_allowed(
    client: TestClient, method: str, path: str
) -> None:
    answer = client.request(method, path)
    _problem(answer, 405)
    assert answer.headers["allow"]


@pytest.mark.parametrize("media", ["text/plain", "application/xml", "application/jsonx", "x"])
def test_another_media_type_is_415(
    client: TestClient, document: dict[str, Any], media: str
) -> None:
    body = json.dumps(document)
    for path in ("/api/projects", "/api/check", "/api/arrange"):
        answer = client.post(path, content=body, headers={"content-type": media})
        _problem(answer, 415)


@pytest.mark.parametrize("media", ["application/json; charset=utf-8", "application/problem+json"])
def test_json_by_other_names_is_read(
    client: TestClient, document: dict[str, Any], media: str
) -> None:
    headers = {"content-type": media}
    answer = client.post("/api/check", content=json.dumps(document), headers=headers)
    assert answer.status_code == 200


def test_every_fault_is_listed_with_its_place(
    client: TestClient, document: dict[str, Any]
) -> None:
    document["plate"]["thickness"] = -1
    document["parts"][0]["type"] = "nosuch"
    document["nonsense"] = 1
    body = _problem(client.post("/api/projects", json=document), 422)
    paths = {error["path"]: error for error in body["errors"]}
    assert {"$.plate.thickness", "$.parts[0].type", "$.nonsense"} <= set(paths)
    assert paths["$.plate.thickness"]["value"] == -1
    assert all(set(e) == {"path", "value", "allowed"} and e["allowed"] for e in body["errors"])


def test_a_refused_document_leaves_nothing_behind(
    client: TestClient, document: dict[str, Any]
) -> None:
    before = client.get("/api/projects").json()
    document["parts"][0]["type"] = "nosuch"
    client.post("/api/projects", json=document)
    assert client.get("/api/projects").json() == before

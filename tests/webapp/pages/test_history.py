"""Undo and redo from the bar."""

from __future__ import annotations

import re

import pytest
from starlette.testclient import TestClient

from tests import samples


@pytest.fixture
def project(client: TestClient) -> str:
    """A job that was renamed once: revision 2."""
    made = client.post("/api/projects", json=samples.two_module_board()).json()["id"]
    client.post(f"/jobs/{made}/rename", data={"name": "Second", "revision": "1"})
    return str(made)


def _name(client: TestClient, project: str) -> str:
    return str(client.get(f"/api/projects/{project}").json()["document"]["name"])


def test_the_button_says_what_it_takes_back(client: TestClient, project: str) -> None:
    page = client.get(f"/jobs/{project}/inside").text
    assert "Undo: rename to Second" in page
    assert re.search(r"<button[^>]* disabled>Redo</button>", page)


def test_undo_and_redo_go_back_to_the_page(client: TestClient, project: str) -> None:
    form = {"revision": "2", "page": "modules"}
    undone = client.post(f"/jobs/{project}/undo", data=form)
    assert (undone.status_code, undone.headers["location"]) == (303, f"/jobs/{project}/modules")
    assert _name(client, project) == samples.two_module_board()["name"]
    assert "Redo: rename to Second" in client.get(f"/jobs/{project}/modules").text
    redone = client.post(f"/jobs/{project}/redo", data={"revision": "3", "page": "modules"})
    assert redone.status_code == 303
    assert _name(client, project) == "Second"


@pytest.mark.parametrize("page", ["", "nosuch", "//evil.example", "../..", "jobs"])
def test_it_never_leads_elsewhere(client: TestClient, project: str, page: str) -> None:
    answer = client.post(f"/jobs/{project}/undo", data={"revision": "2", "page": page})
    assert answer.headers["location"] == f"/jobs/{project}/inside"


def test_pressing_it_twice_takes_back_one_change(client: TestClient, project: str) -> None:
    form = {"revision": "2", "page": "inside"}
    assert client.post(f"/jobs/{project}/undo", data=form).status_code == 303
    assert client.post(f"/jobs/{project}/undo", data=form).status_code == 412
    assert client.get(f"/api/projects/{project}").json()["revision"] == 3


@pytest.mark.parametrize("way", ["undo", "redo"])
def test_nothing_to_undo_or_redo_is_said(client: TestClient, way: str) -> None:
    made = client.post("/api/projects", json=samples.empty_plate()).json()["id"]
    answer = client.post(f"/jobs/{made}/{way}", data={"revision": "1"})
    assert answer.status_code == 409
    assert f"There is nothing to {way}." in answer.text


@pytest.mark.parametrize("way", ["undo", "redo", "keep"])
def test_an_unknown_job_is_404(client: TestClient, way: str) -> None:
    form = {"revision": "1", "document": "{}"}
    answer = client.post(f"/jobs/nothing/{way}", data=form)
    assert answer.status_code in ((404,) if way != "keep" else (404, 422))


@pytest.mark.parametrize("way", ["undo", "redo"])
def test_looking_changes_nothing(client: TestClient, project: str, way: str) -> None:
    assert client.get(f"/jobs/{project}/{way}").status_code in (404, 405)
    assert client.get(f"/api/projects/{project}").json()["revision"] == 2

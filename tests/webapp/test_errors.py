"""Every error is a planned answer that gives nothing away."""

from __future__ import annotations

import logging
import shutil
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from tests.webapp.conftest import ADDRESS
from webapp.app import create_app
from webapp.settings import Settings

SECRET = "/home/somebody/secret.txt"


@pytest.fixture
def breaking(first_start: Path, tmp_path: Path) -> Iterator[FastAPI]:
    """An app with two addresses that fail in a way nobody planned."""
    shutil.copytree(first_start, tmp_path / "data")
    app = create_app(Settings(data=tmp_path / "data"))

    def fail() -> None:
        raise ZeroDivisionError(SECRET)

    app.get("/fail")(fail)
    app.get("/api/fail")(fail)
    yield app
    app.state.database.close()


def test_what_nobody_planned_is_answered_without_details_and_logged(
    breaking: FastAPI, caplog: pytest.LogCaptureFixture
) -> None:
    client = TestClient(breaking, ADDRESS, raise_server_exceptions=False)
    with caplog.at_level(logging.ERROR, "platewright"):
        program, person = client.get("/api/fail"), client.get("/fail")
    assert (program.status_code, person.status_code) == (500, 500)
    assert program.headers["content-type"] == "application/problem+json"
    assert "<h1>" in person.text
    for answer in (program, person):
        for told in (SECRET, "Traceback", "ZeroDivision", ".py"):
            assert told not in answer.text
        assert answer.headers["x-content-type-options"] == "nosniff"
    assert SECRET in caplog.text


def test_a_page_that_fails_behind_its_bar_says_so_and_ends_unfinished(
    breaking: FastAPI, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def fail(*_args: object) -> None:
        raise ZeroDivisionError(SECRET)

    client = TestClient(breaking, ADDRESS, raise_server_exceptions=False)
    job = client.get("/api/projects").json()["projects"][0]
    monkeypatch.setattr("webapp.pages.layout.layout_state", fail)
    with caplog.at_level(logging.ERROR, "platewright"):
        answer = client.get(f"/jobs/{job['id']}/layout")
    assert job["name"] in answer.text
    assert answer.text.count("<main") == 1
    assert "What was saved before is still there." in answer.text
    assert SECRET not in answer.text
    assert SECRET in caplog.text


def test_an_error_page_that_fails_too_is_still_an_answer(
    breaking: FastAPI, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_args: object) -> None:
        raise RuntimeError(SECRET)

    monkeypatch.setattr("webapp.errors.render", fail)
    answer = TestClient(breaking, ADDRESS, raise_server_exceptions=False).get("/fail")
    assert answer.status_code == 500
    assert answer.headers["content-type"].startswith("text/plain")
    assert SECRET not in answer.text


def test_data_held_by_another_program_is_said_and_nothing_half_saved(breaking: FastAPI) -> None:
    client = TestClient(breaking, ADDRESS, raise_server_exceptions=False)
    with breaking.state.database.write() as session:
        session.connection().exec_driver_sql("PRAGMA busy_timeout=50")
    other = sqlite3.connect(breaking.state.settings.database, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    try:
        answer = client.post("/jobs", data={"name": "Late", "start": "empty"})
        program = client.delete(f"/api/projects/{_first(client)}")
    finally:
        other.execute("ROLLBACK")
        other.close()
    assert (answer.status_code, program.status_code) == (503, 503)
    assert int(program.headers["retry-after"]) > 0
    assert "Late" not in client.get("/").text
    assert client.post("/jobs", data={"name": "Late", "start": "empty"},
                       follow_redirects=False).status_code == 303


def _first(client: TestClient) -> str:
    return str(client.get("/api/projects").json()["projects"][0]["id"])


def test_an_unknown_page_leads_back(client: TestClient) -> None:
    answer = client.get("/nothing/here")
    assert answer.status_code == 404
    assert 'href="/"' in answer.text
    assert "<h1>Nothing here</h1>" in answer.text

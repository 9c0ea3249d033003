"""The app inside the test's own process, on a data folder of its own."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from webapp.app import create_app
from webapp.database import Database, open_database
from webapp.settings import Settings
from webapp.stores.projects import ProjectStore

ADDRESS = "http://127.0.0.1:8460"


@pytest.fixture(scope="session")
def first_start(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder as the first start leaves it, with shelf and demo jobs."""
    data = tmp_path_factory.mktemp("first")
    create_app(Settings(data=data)).state.database.close()
    return data


@pytest.fixture(scope="module")
def local_app(first_start: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[FastAPI]:
    """The application; its arrange worker is not started."""
    data = tmp_path_factory.mktemp("data") / "jobs"
    shutil.copytree(first_start, data)
    app = create_app(Settings(data=data))
    yield app
    app.state.database.close()


@pytest.fixture
def client(local_app: FastAPI, caplog: pytest.LogCaptureFixture) -> Iterator[TestClient]:
    """A program that talks to it; answers of errors are looked at, not raised.

    Nothing unexpected may have happened: a page that fails behind its bar has status 200.
    """
    client = TestClient(
        local_app, ADDRESS, raise_server_exceptions=False, follow_redirects=False
    )
    yield client
    client.close()
    failed = [record.exc_text for record in caplog.get_records("call") if record.exc_info]
    assert not failed, failed[-1]


@pytest.fixture(scope="session")
def empty_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A database file with all tables and nothing in them."""
    path = tmp_path_factory.mktemp("empty") / "platewright.db"
    open_database(path).close()
    return path


@pytest.fixture
def database(empty_file: Path, tmp_path: Path) -> Iterator[Database]:
    """An empty database."""
    path = tmp_path / "platewright.db"
    shutil.copy(empty_file, path)
    database = open_database(path)
    yield database
    database.close()


@pytest.fixture
def store(database: Database) -> ProjectStore:
    """A store on an empty database."""
    return ProjectStore(database)

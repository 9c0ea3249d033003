"""What all tests share: the real app in its own process, and a client of its HTTP calls."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from hypothesis import HealthCheck, settings

from tests.running import RunningApp, start

settings.register_profile(
    "same_every_time", derandomize=True, deadline=None, print_blob=True,
    suppress_health_check=[HealthCheck.too_slow],
)  # fmt: skip
settings.load_profile("same_every_time")


@pytest.fixture(scope="session")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningApp]:
    """The app, started once for each test process, on data of its own."""
    app = start(tmp_path_factory.mktemp("app") / "data")
    yield app
    app.stop()


@pytest.fixture
def start_app(tmp_path: Path) -> Iterator[Callable[..., RunningApp]]:
    """Starts further apps: `start_app(folder, *options)`; what is still running is ended."""
    started: list[RunningApp] = []

    def begin(data: Path = tmp_path / "data", *options: str) -> RunningApp:
        started.append(start(data, *options))
        return started[-1]

    yield begin
    for app in started:
        app.kill()


@pytest.fixture
def http(server: RunningApp) -> Iterator[httpx.Client]:
    """A program that talks to the app: `http.get("/api/projects")`."""
    with httpx.Client(base_url=server.address, timeout=30) as client:
        yield client


@pytest.fixture
def new_job(http: httpx.Client) -> Callable[[dict[str, Any]], str]:
    """Stores a document as a job: `new_job(document) -> project id`."""

    def store(document: dict[str, Any]) -> str:
        answer = http.post("/api/projects", json=document)
        assert answer.status_code == 201, answer.text
        return str(answer.json()["id"])

    return store

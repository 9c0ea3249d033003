"""The command: what it prints, what it refuses, how it stops, and what a crash costs."""

from __future__ import annotations

import json
import random
import signal
import socket
import sqlite3
import subprocess
import sys
import time
import zlib
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import httpx
import pytest
from websockets.sync.client import connect

from layout_engine import document_bytes, load_document
from tests import samples
from tests.running import ROOT, RunningApp
from webapp.__main__ import read_options
from webapp.database import Database
from webapp.stores.projects import ProjectStore

Start = Callable[..., RunningApp]
KILLS = 10
PATIENCE_S = 60.0  # for a busy machine
LEAST_S, MOST_S = 0.02, 0.6


def _run(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "webapp", "--no-browser", *arguments], cwd=ROOT, text=True,
        capture_output=True, timeout=120, check=False,
    )


def _get(url: str) -> httpx.Response:
    return httpx.get(url, timeout=PATIENCE_S)


def _document(name: str = "Lamp") -> dict[str, Any]:
    return samples.two_module_board() | {"name": name}


def test_one_line_says_where_it_is_and_nothing_else_is_printed(
    start_app: Start, tmp_path: Path
) -> None:
    app = start_app(tmp_path / "data")
    assert _get(app.address).status_code == 200
    app.stop()
    said = app.log.read_text().strip().splitlines()
    assert said == [f"Platewright is ready at {app.address}/"]


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_it_stops_cleanly_with_open_sockets_and_running_jobs(
    start_app: Start, tmp_path: Path, number: signal.Signals
) -> None:
    app = start_app(tmp_path / "data")
    with httpx.Client(base_url=app.address, timeout=60) as client:
        project = client.post("/api/projects", json=_document()).json()["id"]
        job = client.post("/api/arrange", json={"document": _document(), "seconds": 60})
        assert job.status_code == 202
        address = app.address.replace("http", "ws")
        with connect(f"{address}/jobs/{project}/live", origin=app.address) as socket_:
            time.sleep(0.5)
            app.process.send_signal(number)
            assert app.process.wait(30) == 0  # before the job ends by itself; 2 s when it is quiet
            del socket_
    with closing(sqlite3.connect(tmp_path / "data" / "platewright.db")) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    assert not Path(f"{tmp_path}/data/platewright.db-wal").exists()


def test_a_second_server_on_the_same_folder_is_refused_in_words(
    start_app: Start, tmp_path: Path
) -> None:
    app = start_app(tmp_path / "data")
    second = _run("--port", "0", "--data", str(tmp_path / "data"))
    assert second.returncode == 1
    assert second.stdout == ""
    assert "already runs on the folder" in second.stderr
    assert app.address in second.stderr
    assert "Traceback" not in second.stderr
    app.stop()
    third = start_app(tmp_path / "data")
    assert _get(third.address).status_code == 200


def test_a_port_in_use_is_said(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        refused = _run("--port", str(port), "--data", str(tmp_path))
    assert refused.returncode == 1
    assert f"Port {port} cannot be used" in refused.stderr
    assert len(refused.stderr.strip().splitlines()) == 1


def test_a_damaged_file_is_said_and_left(tmp_path: Path) -> None:
    path = tmp_path / "platewright.db"
    path.write_bytes(b"damaged" * 1000)
    refused = _run("--port", "0", "--data", str(tmp_path))
    assert refused.returncode == 1
    assert str(path) in refused.stderr
    assert "Traceback" not in refused.stderr
    assert path.read_bytes() == b"damaged" * 1000


def test_a_folder_that_is_none_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    refused = _run("--port", "0", "--data", str(tmp_path / "file"))
    assert refused.returncode == 1
    assert str(tmp_path / "file") in refused.stderr
    assert len(refused.stderr.strip().splitlines()) == 1


@pytest.mark.parametrize("port", ["x", "-1", "65536", "1.5", "", "99999999999999999999", "\u0661"])
def test_a_port_that_is_none_is_refused(port: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        read_options([f"--port={port}"])
    assert ended.value.code == 2
    assert "0 to 65535" in capsys.readouterr().err


def test_options_have_defaults() -> None:
    options = read_options([])
    assert (options.port, options.data, options.no_browser) == (8460, None, False)


def test_two_servers_on_two_folders_do_not_know_each_other(
    start_app: Start, tmp_path: Path
) -> None:
    one, two = start_app(tmp_path / "one"), start_app(tmp_path / "two")
    httpx.post(f"{one.address}/api/projects", json=_document("Only in one"),
               timeout=PATIENCE_S)
    assert "Only in one" in _get(one.address).text
    assert "Only in one" not in _get(two.address).text


WRITER = """
import sys
from pathlib import Path
from layout_engine import load_document
from layout_engine.edits import rename_job
from webapp.database import open_database
from webapp.stores.projects import ProjectStore

store = ProjectStore(open_database(Path(sys.argv[1])))
opened = store.open(sys.argv[2])
while True:
    job = rename_job(opened.job, f"state {opened.revision + 1}").job
    opened = store.save(opened.id, job, "rename", opened.revision)
    print(opened.revision, flush=True)
"""


def _saved_until_killed(path: Path, project: str, seconds: float) -> int:
    """The last revision that a writer told of before it was killed, so long after its first."""
    writer = subprocess.Popen(
        [sys.executable, "-c", WRITER, str(path), project], cwd=ROOT, stdout=subprocess.PIPE,
        text=True,
    )
    assert writer.stdout is not None
    with writer, writer.stdout as told:
        said = [told.readline()]
        time.sleep(seconds)
        writer.kill()
        said += told.readlines()
    return int([line for line in said if line.endswith("\n")][-1])


@pytest.mark.slow
def test_no_acknowledged_save_is_lost_when_the_writer_is_killed(
    store: ProjectStore, database: Database
) -> None:
    """SIGKILL while saving, at random moments (SQLite's own crash tests: sqlite.org/testing)."""
    chance, revision, saves = random.Random(7), 1, 0
    project = store.create(load_document(_document("state 1"))).id
    database.close()
    for _ in range(KILLS):
        acknowledged = _saved_until_killed(database.path, project, chance.uniform(LEAST_S, MOST_S))
        saves += acknowledged - revision
        _assert_whole(database.path, project, acknowledged)
        opened = ProjectStore(database).open(project)
        assert opened.revision in (acknowledged, acknowledged + 1)
        revision = opened.revision
        database.close()
    assert saves > 2 * KILLS, "hardly anything was saved: the test shows nothing"


def test_a_server_killed_while_saving_opens_again_with_what_it_told(
    start_app: Start, tmp_path: Path
) -> None:
    app = start_app(tmp_path / "data")
    told = 0
    with httpx.Client(base_url=app.address, timeout=PATIENCE_S) as client:
        project = client.post("/api/projects", json=_document("state 1")).json()["id"]
        for revision in range(1, 6):
            answer = client.put(f"/api/projects/{project}", json=_document(f"state {revision + 1}"),
                                headers={"if-match": f'"{revision}"'})
            told = answer.json()["revision"]
        app.kill()
    again = start_app(tmp_path / "data")
    opened = _get(f"{again.address}/api/projects/{project}").json()
    assert (opened["revision"], opened["document"]["name"]) == (told, "state 6")


def _assert_whole(path: Path, project: str, acknowledged: int) -> None:
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
        rows = connection.execute(
            "SELECT number, document FROM revisions WHERE project = ? ORDER BY number", (project,)
        ).fetchall()
    numbers = [number for number, _ in rows]
    assert acknowledged <= numbers[-1] <= acknowledged + 1
    assert numbers == list(range(numbers[0], numbers[-1] + 1))
    first = json.loads(document_bytes(load_document(_document())))
    for number, packed in rows:
        assert json.loads(zlib.decompress(packed)) == first | {"name": f"state {number}"}

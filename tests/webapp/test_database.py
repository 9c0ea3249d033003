"""The database file: how it is opened, when it is refused, how it is brought up to date."""

from __future__ import annotations

import hashlib
import shutil
import sqlite3
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest
import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlmodel import Session, SQLModel

from layout_engine import load_document
from tests import samples
from webapp import database as module
from webapp.database import HEAD, Database, Unusable, back_up, known_versions, open_database
from webapp.stores.projects import ProjectStore

BREAKING = '''
"""A step that fails half way."""
revision = "0002"
down_revision = "0001"
from alembic import op
import sqlalchemy as sa
import os


def upgrade() -> None:
    with op.batch_alter_table("projects", recreate="always") as batch:
        batch.add_column(sa.Column("extra", sa.Integer(), nullable=True))
    {end}
'''


def _digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def _filled(path: Path) -> bytes:
    """A file with one project of three revisions; its newest document."""
    database = open_database(path)
    store = ProjectStore(database)
    job = load_document(samples.two_module_board())
    made = store.create(job)
    store.save(made.id, job, "one", 1)
    last = store.save(made.id, job, "two", 2)
    database.close()
    return last.document_bytes


def test_every_connection_writes_through_waits_and_holds_keys(database: Database) -> None:
    wanted = {"journal_mode": "wal", "synchronous": 2, "busy_timeout": 5000, "foreign_keys": 1}
    with ExitStack() as stack:
        sessions: list[Session] = [stack.enter_context(database.read()) for _ in range(5)]
        sessions.append(stack.enter_context(database.write()))
        for session in sessions:
            connection = session.connection()
            found = {
                name: connection.exec_driver_sql(f"PRAGMA {name}").scalar_one() for name in wanted
            }
            assert found == wanted


def test_readers_cannot_write(database: Database) -> None:
    with database.read() as session, pytest.raises(sa.exc.OperationalError, match="readonly"):
        session.connection().exec_driver_sql("DELETE FROM projects")


def test_the_newest_step_is_the_one_named_and_gives_what_the_tables_say(
    database: Database,
) -> None:
    assert max(v for v in known_versions() if v) == HEAD
    with database.read() as session:
        context = MigrationContext.configure(session.connection())
        assert compare_metadata(context, SQLModel.metadata) == []
        assert context.get_current_revision() == HEAD


def test_a_damaged_file_is_refused_by_name_and_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "platewright.db"
    _filled(path)
    data = bytearray(path.read_bytes())
    data[4096:4096 + 2048] = b"\xff" * 2048  # the root page of the first table
    path.write_bytes(data)
    before = _digest(path)
    with pytest.raises(Unusable, match=r"platewright\.db is damaged"):
        open_database(path)
    assert _digest(path) == before


@pytest.mark.parametrize("content", [b"no database at all\n" * 200, b"\x00" * 8192])
def test_a_file_that_is_no_database_is_refused(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "platewright.db"
    path.write_bytes(content)
    with pytest.raises(Unusable, match="is damaged"):
        open_database(path)
    assert path.read_bytes() == content


def test_the_refusal_of_a_damaged_file_names_the_last_copy(tmp_path: Path) -> None:
    path = tmp_path / "platewright.db"
    path.write_bytes(b"no database at all\n" * 200)
    copy = tmp_path / "platewright.db.before-0001"
    copy.write_bytes(b"")
    with pytest.raises(Unusable, match="before-0001"):
        open_database(path)


def test_a_file_of_a_newer_program_is_refused_unchanged(tmp_path: Path) -> None:
    path = tmp_path / "platewright.db"
    _filled(path)
    with sqlite3.connect(path) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")
    connection.close()
    before = _digest(path)
    with pytest.raises(Unusable, match=r"newer Platewright.*'9999'"):
        open_database(path)
    assert _digest(path) == before


def test_a_foreign_database_is_refused_unchanged(tmp_path: Path) -> None:
    path = tmp_path / "platewright.db"
    with sqlite3.connect(path) as connection:
        connection.execute("CREATE TABLE recipes (name TEXT)")
    connection.close()
    before = _digest(path)
    with pytest.raises(Unusable):
        open_database(path)
    assert _digest(path) == before


def _with_step(monkeypatch: pytest.MonkeyPatch, folder: Path, end: str) -> None:
    """A program whose newest migration does `end` after it rebuilt the parent table."""
    steps = folder / "migrations"
    shutil.copytree(module.MIGRATIONS, steps)
    (steps / "versions" / "0002_test.py").write_text(BREAKING.format(end=end))
    monkeypatch.setattr(module, "MIGRATIONS", steps)
    monkeypatch.setattr(module, "HEAD", "0002")


def _revisions(path: Path) -> list[tuple[int, bytes]]:
    connection = sqlite3.connect(path)
    try:
        rows = connection.execute("SELECT number, document FROM revisions ORDER BY number")
        return list(rows)
    finally:
        connection.close()


@pytest.fixture
def kept(tmp_path: Path) -> Iterator[Path]:
    """A file with three revisions, which must hold the same ones when the test is over."""
    path = tmp_path / "platewright.db"
    _filled(path)
    before = _revisions(path)
    assert len(before) == 3
    yield path
    assert _revisions(path) == before


def test_a_migration_that_rebuilds_the_parent_keeps_every_revision(
    kept: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _with_step(monkeypatch, tmp_path, "pass")
    open_database(kept).close()
    assert _revisions(tmp_path / "platewright.db.before-0002") == _revisions(kept)


def test_a_migration_that_fails_leaves_the_file_as_it_was(
    kept: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = _revisions(kept)
    with monkeypatch.context() as patch:
        _with_step(patch, tmp_path, "raise ValueError('half way')")
        with pytest.raises(ValueError, match="half way"):
            open_database(kept)
    assert _revisions(kept) == before
    open_database(kept).close()  # the old program still opens it


def test_a_migration_that_loses_rows_is_undone(
    kept: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patch:
        _with_step(patch, tmp_path, "op.execute('DELETE FROM revisions WHERE number = 2')")
        with pytest.raises(RuntimeError, match="lost rows"):
            open_database(kept)


def test_a_migration_killed_half_way_leaves_the_file_as_it_was(
    kept: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = _revisions(kept)
    with monkeypatch.context() as patch:
        _with_step(patch, tmp_path, "os.kill(os.getpid(), 9)")
        code = (
            "import sys; from pathlib import Path; import webapp.database as d\n"
            "d.MIGRATIONS, d.HEAD = Path(sys.argv[1]), '0002'\n"
            "d.open_database(Path(sys.argv[2]))"
        )
        done = subprocess.run(
            [sys.executable, "-c", code, str(module.MIGRATIONS), str(kept)], check=False
        )
    assert done.returncode == -9
    assert _revisions(kept) == before
    open_database(kept).close()


def test_a_copy_made_while_writing_is_whole(tmp_path: Path) -> None:
    path = tmp_path / "platewright.db"
    _filled(path)
    database = open_database(path)
    try:
        back_up(path, tmp_path / "copy.db")
    finally:
        database.close()
    assert len(_revisions(tmp_path / "copy.db")) == 3


def test_too_little_room_for_a_copy_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "platewright.db"
    _filled(path)
    usage = type("Usage", (), {"free": 10})
    monkeypatch.setattr(shutil, "disk_usage", lambda _path: usage)
    with pytest.raises(Unusable, match="Too little room"):
        back_up(path, tmp_path / "copy.db")
    assert not (tmp_path / "copy.db").exists()


def test_a_save_waits_for_another_process_that_holds_the_file(
    database: Database, store: ProjectStore
) -> None:
    code = (
        "import sqlite3, sys\n"
        "c = sqlite3.connect(sys.argv[1], isolation_level=None)\n"
        "c.execute('BEGIN IMMEDIATE'); print('held', flush=True); sys.stdin.readline()\n"
        "c.execute('COMMIT')"
    )
    holder = subprocess.Popen(
        [sys.executable, "-c", code, str(database.path)], stdin=subprocess.PIPE,
        stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    made: list[str] = []
    document = samples.two_module_board()
    saver = threading.Thread(target=lambda: made.append(store.create(load_document(document)).id))
    assert holder.stdout is not None
    with holder, holder.stdout:
        assert holder.stdout.readline() == "held\n"
        saver.start()
        saver.join(0.3)
        assert made == []
        holder.communicate("go on\n")
        saver.join(30)
    assert store.open(made[0]).job.name == document["name"]

"""The database file: opened, checked, brought up to date, read by many, written by one.

SQLite below 3.51.3 can damage a file in WAL mode when two connections commit and checkpoint at
the same moment (sqlite.org, "The WAL-reset bug"). Here one connection writes, behind one lock;
the others only read and never checkpoint, so the two cannot meet whatever the version.
"""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy.pool import StaticPool
from sqlmodel import Session

MIGRATIONS = Path(__file__).resolve().parent / "migrations"
BUSY_MS = 5000
READERS = 4
HEAD = "0001"  # the newest migration; a test holds it against the folder


class Unusable(Exception):
    """The database file cannot be used; the message says in words why and what can be done."""


class Database:
    """One open database file. `read()` and `write()` give sessions."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._lock = threading.Lock()
        self._writer = _engine(path, poolclass=StaticPool)
        self._readers = _engine(path, readonly=True, pool_size=READERS, max_overflow=12)
        with self._writer.connect():
            pass  # turns a new file to WAL now: that change would not wait for a busy file

    @contextmanager
    def read(self) -> Iterator[Session]:
        """A session that sees one state of the file and cannot change it."""
        with Session(self._readers) as session:
            yield session

    @contextmanager
    def write(self) -> Iterator[Session]:
        """The one writing session: committed at the end, rolled back on any error."""
        with self._lock, Session(self._writer, expire_on_commit=False) as session, session.begin():
            yield session

    def close(self) -> None:
        """Close every connection; the last one folds the log into the file."""
        self._readers.dispose()
        with self._lock:
            self._writer.dispose()


def _engine(path: Path, *, readonly: bool = False, **pool: Any) -> sa.Engine:
    engine = sa.create_engine(
        f"sqlite+pysqlite:///{path.as_posix()}", connect_args={"check_same_thread": False}, **pool
    )

    @sa.event.listens_for(engine, "connect")
    def _on_connect(connection: Any, _record: Any) -> None:
        connection.isolation_level = None  # transactions are begun below, not by the driver
        set_pragmas(connection, readonly=readonly)

    @sa.event.listens_for(engine, "begin")
    def _on_begin(connection: sa.Connection) -> None:
        connection.exec_driver_sql("BEGIN" if readonly else "BEGIN IMMEDIATE")

    return engine


def set_pragmas(connection: sqlite3.Connection, *, readonly: bool = False) -> None:
    """What every connection needs: WAL, each commit on the disk, waiting writers, true keys."""
    for pragma in (
        f"busy_timeout={BUSY_MS}", "journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON",
    ):
        connection.execute(f"PRAGMA {pragma}")
    if readonly:
        connection.execute("PRAGMA query_only=ON")


def open_database(path: Path) -> Database:
    """Open the file, made when it is missing, checked and brought up to date.

    Raises:
        Unusable: a damaged file, one of a newer program, a folder that cannot be written.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        version = _checked_version(path)
        if version != HEAD:
            _migrate(path, version)
        return Database(path)
    except (OSError, sqlite3.OperationalError, sa.exc.OperationalError) as error:
        raise Unusable(f"{path} cannot be used: {error}") from None


def _checked_version(path: Path) -> str | None:
    """The migration that the file is at, None for a new file; raises Unusable."""
    if not path.exists() or path.stat().st_size == 0:
        return None
    try:
        with _closing(f"{path.as_uri()}?mode=rw") as connection:
            said = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
            if said != "ok":
                raise Unusable(_damaged(path, said))
            version = _stored_version(connection)
    except sqlite3.DatabaseError as error:
        if isinstance(error, sqlite3.OperationalError):
            raise
        raise Unusable(_damaged(path, str(error))) from None
    if version not in known_versions():
        raise Unusable(
            f"{path} was written by a newer Platewright (its version is {version!r}, this program "
            f"knows up to {HEAD!r}). Nothing was changed. Start the newer program."
        )
    return version


def _stored_version(connection: sqlite3.Connection) -> str | None:
    names = {name for (name,) in connection.execute("SELECT name FROM sqlite_master")}
    if "alembic_version" not in names:
        return None if not names else "unknown"
    row = connection.execute("SELECT version_num FROM alembic_version").fetchone()
    return row[0] if row else None


def _damaged(path: Path, said: str) -> str:
    copies = sorted(path.parent.glob(f"{path.name}.before-*"))
    last = f" The last copy is {copies[-1]}." if copies else ""
    return (
        f"{path} is damaged ({said}). Nothing was changed. Put a copy of it in its place, or "
        f"start with another folder: --data DIR.{last}"
    )


def known_versions() -> frozenset[str | None]:
    """The migrations this program knows, and None for a file without tables."""
    return frozenset({None, *(p.name.split("_")[0] for p in _scripts())})


def _scripts() -> list[Path]:
    return sorted((MIGRATIONS / "versions").glob("[0-9]*.py"))


@contextmanager
def _closing(uri: str) -> Iterator[sqlite3.Connection]:
    connection = sqlite3.connect(uri, uri=True, timeout=BUSY_MS / 1000)
    try:
        yield connection
    finally:
        connection.close()


def _migrate(path: Path, version: str | None) -> None:
    """Run the missing migrations in one transaction, after a checked copy was made."""
    from alembic import command
    from alembic.config import Config

    if version is not None:
        back_up(path, path.with_name(f"{path.name}.before-{HEAD}"))
    config = Config()
    config.set_main_option("script_location", MIGRATIONS.as_posix().replace("%", "%%"))
    config.attributes["path"] = path
    command.upgrade(config, "head")


def back_up(path: Path, copy: Path) -> None:
    """A whole copy of the file through the online backup call, checked before it counts.

    Raises:
        Unusable: too little room on the disk, or a copy that fails its check.
    """
    import shutil

    if shutil.disk_usage(path.parent).free < 2 * path.stat().st_size:
        raise Unusable(f"Too little room beside {path} for a copy of it. Nothing was changed.")
    part = copy.with_name(copy.name + ".part")
    with suppress(FileNotFoundError):
        part.unlink()
    with _closing(path.as_uri()) as source, _closing(part.as_uri()) as target:
        source.backup(target)
        said = target.execute("PRAGMA integrity_check").fetchone()[0]
    if said != "ok":
        raise Unusable(f"The copy {part} is damaged ({said}). {path} was not changed.")
    part.replace(copy)

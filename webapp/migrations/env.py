"""Migrations as one real transaction with foreign keys off, checked before they count.

SQLite's batch migrations rebuild tables; with foreign keys on, dropping a parent table would
empty its children (Alembic documentation, "Running Batch Migrations", referencing foreign keys).
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import sqlalchemy as sa
from alembic import context
from sqlmodel import SQLModel

import webapp.rows.projects
import webapp.rows.shelf  # noqa: F401 - registers its table


def _engine(path: Path) -> sa.Engine:
    engine = sa.create_engine(f"sqlite+pysqlite:///{path.as_posix()}", poolclass=sa.NullPool)

    @sa.event.listens_for(engine, "connect")
    def _on_connect(connection: Any, _record: Any) -> None:
        connection.isolation_level = None
        for pragma in ("busy_timeout=5000", "synchronous=FULL", "foreign_keys=OFF"):
            connection.execute(f"PRAGMA {pragma}")

    @sa.event.listens_for(engine, "begin")
    def _on_begin(connection: sa.Connection) -> None:
        connection.exec_driver_sql("BEGIN IMMEDIATE")

    return engine


def _row_counts(connection: sa.Connection) -> dict[str, int]:
    tables = set(sa.inspect(connection).get_table_names()) - {"alembic_version"}
    count = sa.select(sa.func.count())
    return {
        table: connection.execute(count.select_from(sa.table(table))).scalar_one()
        for table in sorted(tables)
    }


def _check(connection: sa.Connection, before: dict[str, int]) -> None:
    broken = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
    after = _row_counts(connection)
    lost = {t: n for t, n in before.items() if t in after and after[t] < n}
    if broken or lost:
        raise RuntimeError(f"migration undone: broken keys {broken[:3]}, lost rows in {lost}")


def run() -> None:
    """Bring the file named by the caller up to the newest version, or leave it as it was."""
    path: Path = context.config.attributes["path"]
    with _engine(path).connect() as connection:
        context.configure(
            connection=connection, target_metadata=SQLModel.metadata, render_as_batch=True,
            transactional_ddl=True,
        )
        with context.begin_transaction():
            before = _row_counts(connection)
            context.run_migrations()
            _check(connection, before)


run()

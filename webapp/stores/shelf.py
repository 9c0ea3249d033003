"""The shelf of part types, and what a new data folder starts with."""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import Any

from sqlmodel import select

from layout_engine import Job
from webapp.database import Database
from webapp.rows.projects import ProjectRow
from webapp.rows.shelf import PartTypeRow
from webapp.stores.projects import ProjectStore


class ShelfStore:
    """Reads the shelf."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def part_types(self) -> dict[str, dict[str, Any]]:
        """Every part type as plain JSON values, by its id, in the order of ids."""
        with self._database.read() as session:
            rows = session.exec(select(PartTypeRow).order_by(PartTypeRow.id))
            return {row.id: json.loads(row.document) for row in rows}


def is_untouched(database: Database) -> bool:
    """Whether the file holds nothing yet: neither a part type nor a job."""
    with database.read() as session:
        tables = (PartTypeRow.id, ProjectRow.id)
        return all(session.exec(select(ids).limit(1)).first() is None for ids in tables)


def fill(database: Database, projects: ProjectStore, shelf: dict[str, dict[str, Any]],
         jobs: Iterable[Job]) -> None:
    """Put the shelf and the first jobs into a new file: all of it or nothing."""
    with database.write() as session:
        for type_id, value in shelf.items():
            text = json.dumps(value, ensure_ascii=False, allow_nan=False)
            session.add(PartTypeRow(id=type_id, document=text))
        for job in jobs:
            projects.insert(session, job, "demo job")

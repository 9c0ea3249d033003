"""Projects and their revisions: one row a revision, never changed after it was written."""

from __future__ import annotations

from datetime import datetime

import sqlalchemy as sa
from sqlmodel import Field, SQLModel

NAMING = {
    "ix": "ix_%(column_0_label)s",
    "uq": "uq_%(table_name)s_%(column_0_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}
SQLModel.metadata.naming_convention = NAMING


class ProjectRow(SQLModel, table=True):
    """A job: which revision is its newest, and whether it lies in the bin."""

    __tablename__ = "projects"

    id: str = Field(primary_key=True, max_length=20)
    name: str = Field(max_length=200)
    head: int
    changed: datetime = Field(sa_type=sa.DateTime(timezone=True))
    binned: datetime | None = Field(default=None, sa_type=sa.DateTime(timezone=True))


class RevisionRow(SQLModel, table=True):
    """One state of a job.

    `undo_to` and `redo_to` name the revisions whose documents undo and redo lead to: a stack that
    lives in the rows, so that it survives a restart. `document` is the zlib-packed JSON.
    """

    __tablename__ = "revisions"

    project: str = Field(primary_key=True, max_length=20, foreign_key="projects.id")
    number: int = Field(primary_key=True)
    made: datetime = Field(sa_type=sa.DateTime(timezone=True))
    words: str
    document: bytes
    undo_to: int | None = None
    undo_words: str | None = None
    redo_to: int | None = None
    redo_words: str | None = None
    kept_as: str | None = None

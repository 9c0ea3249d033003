"""The shelf: part types that every job may take from."""

from __future__ import annotations

from sqlmodel import Field, SQLModel

from webapp.rows.projects import NAMING

SQLModel.metadata.naming_convention = NAMING


class PartTypeRow(SQLModel, table=True):
    """A part type as JSON text, under its id."""

    __tablename__ = "part_types"

    id: str = Field(primary_key=True, max_length=40)
    document: str

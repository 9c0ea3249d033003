"""Projects, their revisions, and the shelf of part types."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the first tables."""
    op.create_table(
        "projects",
        sa.Column("id", sa.String(20), nullable=False),
        sa.Column("name", sa.String(200), nullable=False),
        sa.Column("head", sa.Integer(), nullable=False),
        sa.Column("changed", sa.DateTime(timezone=True), nullable=False),
        sa.Column("binned", sa.DateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_projects"),
    )
    op.create_table(
        "revisions",
        sa.Column("project", sa.String(20), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("made", sa.DateTime(timezone=True), nullable=False),
        sa.Column("words", sa.String(), nullable=False),
        sa.Column("document", sa.LargeBinary(), nullable=False),
        sa.Column("undo_to", sa.Integer(), nullable=True),
        sa.Column("undo_words", sa.String(), nullable=True),
        sa.Column("redo_to", sa.Integer(), nullable=True),
        sa.Column("redo_words", sa.String(), nullable=True),
        sa.Column("kept_as", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(
            ["project"], ["projects.id"], name="fk_revisions_project_projects"
        ),
        sa.PrimaryKeyConstraint("project", "number", name="pk_revisions"),
    )
    op.create_table(
        "part_types",
        sa.Column("id", sa.String(40), nullable=False),
        sa.Column("document", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_part_types"),
    )

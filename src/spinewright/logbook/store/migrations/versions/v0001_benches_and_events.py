"""Benches, their recorded starts, and events as text."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """From an empty file."""
    op.create_table(
        "benches",
        sa.Column("id", sa.String, primary_key=True),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("invented", sa.Boolean, nullable=False),
        sa.Column("made", sa.String, nullable=False),
        sa.Column("used", sa.String, nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
    )
    op.create_table(
        "heads",
        sa.Column("seq", sa.Integer, primary_key=True, autoincrement=True),
        sa.Column("bench", sa.String, sa.ForeignKey("benches.id"), nullable=False),
        sa.Column("text", sa.Text, nullable=False),
        sa.Column("assumed", sa.Text, nullable=False),
        sa.Column("saved", sa.String, nullable=False),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "events",
        sa.Column("seq", sa.Integer, primary_key=True, autoincrement=True),
        sa.Column("bench", sa.String, sa.ForeignKey("benches.id"), nullable=False),
        sa.Column("id", sa.String, nullable=False),
        sa.Column("text", sa.Text, nullable=False),
        sa.Column("saved", sa.String, nullable=False),
        sa.UniqueConstraint("bench", "id"),
        sqlite_autoincrement=True,
    )

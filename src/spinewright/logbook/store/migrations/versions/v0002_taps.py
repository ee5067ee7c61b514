"""Taps on the target, each saved on its own while a walk is still going on."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Adds the taps."""
    op.create_table(
        "taps",
        sa.Column("seq", sa.Integer, primary_key=True, autoincrement=True),
        sa.Column("bench", sa.String, sa.ForeignKey("benches.id"), nullable=False),
        sa.Column("walk", sa.String, nullable=False),
        sa.Column("tap", sa.String, nullable=False),
        sa.Column("body", sa.Text, nullable=False),
        sa.Column("saved", sa.String, nullable=False),
        sqlite_autoincrement=True,
    )
    op.create_index("taps_of_walk", "taps", ["bench", "walk"])

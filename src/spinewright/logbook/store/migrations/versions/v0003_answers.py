"""What was computed for a bench, so that the story can show how the belief went."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Adds the answers."""
    op.create_table(
        "answers",
        sa.Column("seq", sa.Integer, primary_key=True, autoincrement=True),
        sa.Column("bench", sa.String, sa.ForeignKey("benches.id"), nullable=False),
        sa.Column("what", sa.String, nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("body", sa.Text, nullable=False),
        sa.Column("saved", sa.String, nullable=False),
        sqlite_autoincrement=True,
    )
    op.create_index("answers_of_bench", "answers", ["bench", "what"])

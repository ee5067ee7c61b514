"""Devices that joined, each with the hash of a token of its own; the one token all of them shared is taken out."""

from __future__ import annotations

from pathlib import Path

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    """Adds the devices, and takes away the file in which the shared token stood to be read: phones scan again."""
    op.create_table(
        "devices",
        sa.Column("seq", sa.Integer, primary_key=True, autoincrement=True),
        sa.Column("id", sa.String, nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("hash", sa.String, nullable=False),
        sa.Column("paired", sa.String, nullable=False),
        sa.Column("seen", sa.String, nullable=False),
        sa.Column("revoked", sa.String, nullable=True),
        sa.UniqueConstraint("id"),
        sqlite_autoincrement=True,
    )
    op.create_index("devices_by_hash", "devices", ["hash"], unique=True)
    engine = op.get_bind().engine
    database = engine.url.database
    if database and engine.dialect.name == "sqlite":  # on a server nothing ever lay beside it
        # last, when nothing else of this step can fail: a file that is gone does not come back
        (Path(database).parent / "pairing").unlink(missing_ok=True)

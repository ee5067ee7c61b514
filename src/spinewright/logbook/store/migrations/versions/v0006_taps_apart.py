"""After which sayings each saying of a tap was written; indexes that find the last entry and the last tap at once."""

from __future__ import annotations

import json

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"


def upgrade() -> None:
    """Adds the column and fills it: as it was not noted until now, each saying is taken to know those before it."""
    op.add_column("taps", sa.Column("after", sa.Text, nullable=False, server_default="[]"))
    run = op.get_bind().execute
    before: dict[tuple[str, str, str], str] = {}
    for seq, bench, walk, tap, saved in run(
        sa.text("SELECT seq, bench, walk, tap, saved FROM taps ORDER BY bench, saved, seq")
    ).all():
        last = before.get((bench, walk, tap))
        if last is not None:
            run(sa.text("UPDATE taps SET after = :after WHERE seq = :seq"), {"after": json.dumps([last]), "seq": seq})
        before[bench, walk, tap] = saved
    op.create_index("events_by_place", "events", ["bench", "place"])
    op.create_index("taps_by_moment", "taps", ["bench", "saved"])

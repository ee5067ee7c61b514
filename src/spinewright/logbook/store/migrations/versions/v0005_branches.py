"""What joining two logbooks needs: after which entries each was written, and room for what was written otherwise."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import datetime, timedelta
from itertools import groupby
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"


def upgrade() -> None:
    """Adds the columns and fills them: until now every bench has one story, in the order in which it was saved."""
    for table, column in (
        ("benches", sa.Column("named", sa.String, nullable=False, server_default="")),
        ("benches", sa.Column("joined", sa.Boolean, nullable=False, server_default=sa.false())),
        ("benches", sa.Column("leaves", sa.Text, nullable=False, server_default="[]")),
        ("heads", sa.Column("after", sa.Text, nullable=False, server_default="[]")),
        ("events", sa.Column("place", sa.Integer, nullable=False, server_default="0")),
        ("events", sa.Column("after", sa.Text, nullable=False, server_default="[]")),
    ):
        op.add_column(table, column)
    op.create_table(
        "variants",
        sa.Column("seq", sa.Integer, primary_key=True, autoincrement=True),
        sa.Column("bench", sa.String, sa.ForeignKey("benches.id"), nullable=False),
        sa.Column("id", sa.String, nullable=False),
        sa.Column("text", sa.Text, nullable=False),
        sa.Column("saved", sa.String, nullable=False),
        sa.Column("after", sa.Text, nullable=False),
        sqlite_autoincrement=True,
    )
    _fill()
    op.create_index("variants_of_bench", "variants", ["bench"])


def _fill() -> None:
    run = op.get_bind().execute
    run(sa.text("UPDATE benches SET named = made"))
    for bench, rows in _of_benches("SELECT bench, seq, id FROM events ORDER BY bench, seq"):
        before = "[]"
        for place, (_, seq, event) in enumerate(rows, 1):
            said = sa.text("UPDATE events SET place = :place, after = :after WHERE seq = :seq")
            run(said, {"place": place, "after": before, "seq": seq})
            before = json.dumps([event])
        run(sa.text("UPDATE benches SET leaves = :leaves WHERE id = :id"), {"leaves": before, "id": bench})
    # from now on these are in the order of their moments, which a clock that was set back must not turn round
    for table in ("heads", "taps"):
        for _, rows in _of_benches(f"SELECT bench, seq, saved FROM {table} ORDER BY bench, seq"):  # noqa: S608
            before = ""
            for _, seq, saved in rows:
                later = _later(saved, before)
                if later != saved:
                    said = sa.text(f"UPDATE {table} SET saved = :saved WHERE seq = :seq")  # noqa: S608
                    run(said, {"saved": later, "seq": seq})
                if table == "heads" and before:
                    said = sa.text("UPDATE heads SET after = :after WHERE seq = :seq")
                    run(said, {"after": json.dumps([before]), "seq": seq})
                before = later


def _of_benches(query: str) -> Iterator[tuple[str, list[Any]]]:
    rows = op.get_bind().execute(sa.text(query)).all()
    for bench, found in groupby(rows, lambda row: row[0]):
        yield bench, list(found)


def _later(saved: str, before: str) -> str:
    if saved > before:
        return saved
    try:
        return (datetime.fromisoformat(before) + timedelta(microseconds=1)).isoformat(timespec="microseconds")
    except ValueError:  # no moment at all stands there
        return saved

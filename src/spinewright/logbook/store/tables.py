"""The tables of the store as they are now; ``migrations`` holds how they came to be."""

from __future__ import annotations

from sqlalchemy import (
    Boolean,
    Column,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
    false,
)

__all__ = ["HEAD", "METADATA", "answers", "benches", "devices", "events", "heads", "taps", "variants"]

HEAD = "0006"
"""The newest migration."""

METADATA = MetaData()


def _of_bench() -> tuple[Column[int], Column[str]]:
    """What every row kept of a bench begins with: the order in which it was put in, and whose it is."""
    place = Column("seq", Integer, primary_key=True, autoincrement=True)
    return place, Column("bench", String, ForeignKey("benches.id"), nullable=False)


benches = Table(
    "benches",
    METADATA,
    Column("id", String, primary_key=True),
    Column("name", Text, nullable=False),
    Column("invented", Boolean, nullable=False),
    Column("made", String, nullable=False),
    Column("used", String, nullable=False),
    Column("revision", Integer, nullable=False),
    Column("named", String, nullable=False, server_default=""),  # the moment of its name
    Column("joined", Boolean, nullable=False, server_default=false()),  # something of another logbook was put in
    Column("leaves", Text, nullable=False, server_default="[]"),  # ids of the events that none comes after
)

heads = Table(
    "heads",
    METADATA,
    *_of_bench(),
    Column("text", Text, nullable=False),
    Column("assumed", Text, nullable=False),
    Column("saved", String, nullable=False),
    Column("after", Text, nullable=False, server_default="[]"),  # moments of the heads it was put in the place of
    sqlite_autoincrement=True,
)

events = Table(
    "events",
    METADATA,
    *_of_bench(),
    Column("id", String, nullable=False),
    Column("text", Text, nullable=False),
    Column("saved", String, nullable=False),
    Column("place", Integer, nullable=False, server_default="0"),  # in the order of the story
    Column("after", Text, nullable=False, server_default="[]"),  # ids of the events that were last when it was added
    UniqueConstraint("bench", "id"),
    Index("events_by_place", "bench", "place"),
    sqlite_autoincrement=True,
)

variants = Table(  # events with an id that is taken by another content, from another logbook
    "variants",
    METADATA,
    *_of_bench(),
    Column("id", String, nullable=False),
    Column("text", Text, nullable=False),
    Column("saved", String, nullable=False),
    Column("after", Text, nullable=False),
    Index("variants_of_bench", "bench"),
    sqlite_autoincrement=True,
)

taps = Table(
    "taps",
    METADATA,
    *_of_bench(),
    Column("walk", String, nullable=False),
    Column("tap", String, nullable=False),
    Column("body", Text, nullable=False),
    Column("saved", String, nullable=False),
    Column("after", Text, nullable=False, server_default="[]"),  # moments of the sayings it was put in the place of
    Index("taps_of_walk", "bench", "walk"),
    Index("taps_by_moment", "bench", "saved"),
    sqlite_autoincrement=True,
)

answers = Table(
    "answers",
    METADATA,
    *_of_bench(),
    Column("what", String, nullable=False),
    Column("revision", Integer, nullable=False),
    Column("body", Text, nullable=False),
    Column("saved", String, nullable=False),
    Index("answers_of_bench", "bench", "what"),
    sqlite_autoincrement=True,
)

devices = Table(
    "devices",
    METADATA,
    Column("seq", Integer, primary_key=True, autoincrement=True),
    Column("id", String, nullable=False),
    Column("name", Text, nullable=False),
    Column("hash", String, nullable=False),
    Column("paired", String, nullable=False),
    Column("seen", String, nullable=False),
    Column("revoked", String, nullable=True),
    UniqueConstraint("id"),
    Index("devices_by_hash", "hash", unique=True),
    sqlite_autoincrement=True,
)

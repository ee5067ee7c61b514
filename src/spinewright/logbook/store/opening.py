"""Opens the store: where it lies, how SQLite is set, a dated backup, and the migrations that are still to be made."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, create_engine, event, text
from sqlalchemy.exc import DatabaseError

from spinewright.errors import StoreError
from spinewright.logbook.places import STORE_NAME, bench_folder
from spinewright.logbook.store.backup import back_up
from spinewright.logbook.store.store import Store
from spinewright.logbook.store.tables import HEAD

__all__ = ["engine_for", "migrate", "open_store"]

_WAIT = 10.0  # s that another process may hold the file


def open_store(folder: Path | None = None) -> Store:
    """The store in ``folder``, brought up to the newest tables after a dated backup. Raises StoreError."""
    folder = folder or bench_folder()
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        path = folder / STORE_NAME
        if path.is_file() and path.stat().st_size:
            back_up(path, folder / "backups")
        engine = engine_for(path)
        migrate(engine)
    except (OSError, DatabaseError, sqlite3.Error) as error:
        raise StoreError(
            f"the benches in {folder} could not be opened ({_reason(error)}); nothing was changed. "
            f"Look into {folder / 'backups'} for a copy, or name another folder."
        ) from error
    return Store(engine)


def engine_for(path: Path) -> Engine:
    """An engine over ``path``: write-ahead log, every commit on the disk before it returns, foreign keys held."""
    engine = create_engine(f"sqlite:///{path}", connect_args={"timeout": _WAIT, "check_same_thread": False})

    @event.listens_for(engine, "connect")
    def _set(connection: Any, _record: object) -> None:  # noqa: ANN401 - the driver's own connection
        connection.isolation_level = None  # the two hooks say themselves when a transaction begins
        cursor = connection.cursor()
        for pragma in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON"):
            cursor.execute(f"PRAGMA {pragma}")
        cursor.close()

    @event.listens_for(engine, "begin")
    def _begin(connection: Any) -> None:  # noqa: ANN401
        writes = connection.get_execution_options().get("writes", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine


def migrate(engine: Engine, target: str = "head") -> None:
    """Bring the tables up to ``target``, each migration whole or not at all. StoreError when they are from later."""
    known = _version(engine)
    if known == HEAD and target == "head":
        return
    if known is not None and known > HEAD:
        raise StoreError(
            f"the benches were written by a later version of spinewright (tables {known}, known here {HEAD}); "
            "use that version, nothing was changed."
        )
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations"))
    with engine.connect().execution_options(writes=True) as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, target)
        connection.commit()


def _version(engine: Engine) -> str | None:
    with engine.connect() as connection:
        there = connection.execute(text("SELECT name FROM sqlite_master WHERE name = 'alembic_version'")).first()
        if there is None:
            return None
        row = connection.execute(text("SELECT version_num FROM alembic_version")).first()
        return None if row is None else str(row[0])



def _reason(error: Exception) -> str:
    cause = getattr(error, "orig", None) or error
    return getattr(cause, "strerror", None) or str(cause)

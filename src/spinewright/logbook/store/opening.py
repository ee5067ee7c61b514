"""Opens the store in a folder or on a server: settings, a dated backup, and the migrations still to be made."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event, inspect, text
from sqlalchemy.exc import SQLAlchemyError

from spinewright.errors import StoreError
from spinewright.logbook.places import STORE_NAME, bench_folder, is_address, named_store
from spinewright.logbook.store.backup import back_up
from spinewright.logbook.store.server import engine_at, read_address, reason, refused
from spinewright.logbook.store.store import Store
from spinewright.logbook.store.tables import HEAD

__all__ = ["engine_for", "located", "migrate", "open_store"]

_WAIT = 10.0  # s that another process may hold the file
_ONE_AT_A_TIME = (
    7_021_470  # the server's lock under which its tables are brought up; any number that is always the same
)


def located(named: Path | str | None = None) -> Path | URL:
    """The folder, or the server's address, that was ``named``, else where a person's data is. Raises InputError."""
    named = named or named_store()
    if isinstance(named, str) and is_address(named):
        return read_address(named)
    return Path(named) if named else bench_folder()


def open_store(named: Path | str | None = None) -> Store:
    """The store in the folder or at the address ``named``, brought up to the newest tables.

    In a folder a dated backup is made first; on a server backups are the server's own business. Raises StoreError,
    InputError.
    """
    place = located(named)
    return _on_server(place) if isinstance(place, URL) else _in_folder(place)


def _on_server(url: URL) -> Store:
    engine = engine_at(url)
    try:
        migrate(engine)
    except (OSError, SQLAlchemyError) as error:
        engine.dispose()
        raise refused(url, error) from None  # the driver's own error may show what it was given
    return Store(engine)


def _in_folder(folder: Path) -> Store:
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        path = folder / STORE_NAME
        if path.is_file() and path.stat().st_size:
            back_up(path, folder / "backups")
        engine = engine_for(path)
        migrate(engine)
    except (OSError, SQLAlchemyError, sqlite3.Error) as error:
        raise StoreError(
            f"the benches in {folder} could not be opened ({reason(error)}); nothing was changed. "
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
    with engine.connect() as connection:
        known = _version(connection)
    if known == HEAD and target == "head":
        return
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations"))
    with engine.connect().execution_options(writes=True) as connection:
        if engine.dialect.name == "postgresql":  # held until the connection is given back; another bench waits for it
            connection.execute(text("SELECT pg_advisory_lock(:key)"), {"key": _ONE_AT_A_TIME})
            connection.commit()
        try:
            _bring_up(connection, lambda: command.upgrade(config, target), config.attributes)
        finally:
            if engine.dialect.name == "postgresql":
                connection.invalidate()  # which gives the lock back, also where a step failed


def _bring_up(connection: Connection, upgrade: Callable[[], None], attributes: dict[str, object]) -> None:
    known = _version(connection)
    if known is not None and known > HEAD:
        raise StoreError(
            f"the benches were written by a later version of spinewright (tables {known}, known here {HEAD}); "
            "use that version, nothing was changed."
        )
    attributes["connection"] = connection
    upgrade()
    connection.commit()


def _version(connection: Connection) -> str | None:
    """The tables' version; the transaction it was looked up in is ended."""
    try:
        if not inspect(connection).has_table("alembic_version"):
            return None
        row = connection.execute(text("SELECT version_num FROM alembic_version")).first()
        return None if row is None else str(row[0])
    finally:
        connection.rollback()

"""A store on a PostgreSQL server: its address, how each connection is set, and in plain words why it did not open."""

from __future__ import annotations

import re
from typing import Any

from sqlalchemy import URL, Engine, create_engine, event, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError

from spinewright.errors import Place, SessionFileError, StoreError, inert

__all__ = ["engine_at", "read_address", "reason", "refused", "shown"]

_KNOWN = ("postgresql", "postgresql+psycopg", "postgres")
_RIGHT = "write postgresql://NAME@HOST/DATABASE, or the name of a folder"
_CONNECT = 5  # s until a server that does not answer counts as away
_LIMITS = {  # so that a bench that hangs half way keeps no other one waiting
    "lock_timeout": "10s",
    "statement_timeout": "30s",
    "idle_in_transaction_session_timeout": "30s",
    "synchronous_commit": "on",  # what is answered is on the server's disk, whatever the server's own setting
}
_ALIVE = {"keepalives": 1, "keepalives_idle": 10, "keepalives_interval": 5, "keepalives_count": 3}
_LONGEST = 300  # characters of a driver's own words
#: What PostgreSQL's libpq and server say (their English sources, version 15), and what it means here.
_MEANINGS = (
    ("password authentication failed", "it does not take this name and password"),
    ("no password supplied", "it asks for a password and none was given"),
    ("pg_hba.conf", "it is not set to let this machine or this name in"),
    ("does not exist", "it has no such database or no such name"),
    ("could not translate host name", "there is no machine of this name"),
    ("failed to resolve host", "there is no machine of this name"),
    ("timeout expired", "it does not answer"),
    ("connection refused", "it is away: nothing answers there"),
    ("no such file or directory", "it is away: nothing answers there"),
    ("starting up", "it is still starting"),
    ("shutting down", "it is being stopped"),
    ("permission denied", "this name may not make tables there; let it own the database"),
)
_RIGHTS = "See that the server runs and that the address is right"


def read_address(named: str) -> URL:
    """The address of a store ``named``. Raises SessionFileError, which does not quote it: it may hold a password."""
    kind = named.partition("://")[0]
    if kind not in _KNOWN:
        raise _wrong(f"'{inert(kind, 40)}://' is no kind of server that benches can be kept on")
    if named.count("@") > 1:
        raise _wrong("the address holds more than one @; write one in a name or a password as %40")
    try:
        url = make_url(named)
    except (ArgumentError, ValueError) as error:
        raise _wrong("the address of the server cannot be read") from error
    if "password" in url.query:
        raise _wrong("a password behind the ? would be shown; write it before the @, or into PGPASSWORD")
    if not url.database:
        raise _wrong("the address names no database")
    return url.set(drivername="postgresql+psycopg")


def shown(url: URL) -> str:
    """The address without name and password."""
    port = f":{url.port}" if url.port else ""
    return f"{url.host or url.query.get('host') or 'this machine'}{port}/{url.database}"


def engine_at(url: URL) -> Engine:
    """An engine over the server at ``url``; a connection that was cut is noticed and made anew. Raises StoreError."""
    try:
        import psycopg  # noqa: F401 - asked for here, so that its absence is told in one sentence
    except ImportError as error:
        raise StoreError(
            "benches on a PostgreSQL server need the driver psycopg, which is not installed; "
            "install it with: pip install 'spinewright[postgresql]'."
        ) from error
    arguments = {"connect_timeout": _CONNECT, "application_name": "spinewright", **_ALIVE}
    engine = create_engine(url, pool_pre_ping=True, pool_timeout=_CONNECT * 2, connect_args=arguments)

    @event.listens_for(engine, "connect")
    def _set(connection: Any, _record: object) -> None:  # noqa: ANN401 - the driver's own connection
        connection.autocommit = True
        for name, value in _LIMITS.items():
            connection.execute(f"SET {name} = '{value}'")
        connection.autocommit = False

    return engine


def refused(url: URL, error: Exception) -> StoreError:
    """Why the store at ``url`` did not open, in one sentence that holds no password."""
    said = reason(error)
    known = next((meaning for mark, meaning in _MEANINGS if mark in str(error).lower()), "")
    what = known or f"it could not be opened ({_without(said, url)})"
    return StoreError(f"the benches on the server {shown(url)}: {what}; nothing was changed. {_RIGHTS}.")


def reason(error: BaseException) -> str:
    """The first line of what a driver said."""
    cause = (error.orig if isinstance(error, DBAPIError) else None) or error
    text = getattr(cause, "strerror", None) or str(cause)
    return inert(text.strip().partition("\n")[0] or type(cause).__name__, _LONGEST)


def _without(text: str, url: URL) -> str:
    password = str(url.password or "")
    return re.sub(re.escape(password), "...", text) if password else text


def _wrong(what: str) -> SessionFileError:
    return SessionFileError(what, _RIGHT, Place(field="--store"))

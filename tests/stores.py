"""Where a test keeps its benches: in a folder of its own, or in a database of its own on a real server."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from soak.database_server import MISSING, DatabaseServer, database_server, programs

if TYPE_CHECKING:
    from sqlalchemy import Engine

__all__ = ["BOTH", "Place", "database", "engine_over", "place"]

Place = Callable[..., Path | str]
"""``place(name)``: the folder or the address of a store, the same one for the same name."""
BOTH = (
    pytest.param("folder", id="folder"),
    pytest.param("server", id="server", marks=pytest.mark.endurance),
)


@pytest.fixture(scope="session")
def database() -> Iterator[DatabaseServer]:
    """One server for all tests that only need databases on it; where commits need not survive a power cut."""
    if programs() is None:
        pytest.skip(f"{MISSING}: the tests of benches on a server are left out")
    with database_server() as server:
        yield server


@pytest.fixture(params=BOTH)
def place(request: pytest.FixtureRequest, tmp_path: Path) -> Place:
    """Stores in folders, and the same again in databases of a server."""
    if request.param == "folder":
        return lambda name="": tmp_path / name
    server: DatabaseServer = request.getfixturevalue("database")
    known: dict[str, str] = {}

    def named(name: str = "") -> str:
        if name not in known:
            known[name] = server.new_database()
        return known[name]

    return named


def engine_over(place: Path | str) -> Engine:
    """An engine over a store, whatever its tables."""
    from spinewright.logbook.places import STORE_NAME
    from spinewright.logbook.store.opening import engine_for
    from spinewright.logbook.store.server import engine_at, read_address

    return engine_for(place / STORE_NAME) if isinstance(place, Path) else engine_at(read_address(place))

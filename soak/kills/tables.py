"""Acts on the store as a whole: tables brought up to the newest from every earlier version, and the dated backup."""

from __future__ import annotations

import re
import sqlite3
from contextlib import closing
from pathlib import Path

from soak.kills.acts import Forked, Judged, broken_store, dump, rows_of
from soak.kills.child import Ended, Tell, Work

__all__ = ["BackedUp", "BroughtUp"]

_STORE = "benches.sqlite"
_KEPT_ROWS = ("benches", "heads", "events")
_KEPT, _MANY = 30, 3000  # events in the stores


class BroughtUp(Forked):
    """A store of every earlier version, and none at all, opened by this one: backup, then every step to the newest."""

    about = "tables brought up from every earlier version, and made anew"

    def prepare(self, folder: Path) -> None:
        """Stores as the earlier versions left them, each with a bench, and what the tables are at every version."""
        from spinewright.logbook.store import opening
        from spinewright.logbook.store.tables import HEAD

        self._head = HEAD
        self._tables: dict[str, str] = {"": ""}
        for version in [f"{number:04d}" for number in range(1, int(HEAD) + 1)]:
            path = folder / version / _STORE
            path.parent.mkdir()
            engine = opening.engine_for(path)
            opening.migrate(engine, version)
            engine.dispose()
            self._tables[version] = _schema(path)
            _put_rows(path)
            (path.parent / "pairing").write_text("a token that all phones shared", encoding="utf-8")
        self._versions = ["", *[one for one in self._tables if one not in ("", HEAD)]]

    def choose(self, number: int, folder: Path) -> None:
        """The versions take turns."""
        version = self._versions[number % len(self._versions)]
        self._began = version
        if version:
            (folder / version).rename(folder / "store")
        else:
            (folder / "store").mkdir()

    def work(self, folder: Path) -> Work:
        """Open it."""
        from spinewright.logbook.store import open_store

        def work(tell: Tell) -> None:
            store = open_store(folder / "store")
            tell("opened")
            store.close()

        return work

    def judge(self, folder: Path, ended: Ended) -> Judged:
        """The tables are those of one version, with every row; opened again they are the newest."""
        path = folder / "store" / _STORE
        found = Judged(acknowledged=len(ended.told))
        found.unsound = int(bool(broken_store(path)))
        version = _version(path)
        if _schema(path) != self._tables.get(version):
            found.half += 1
        found.lost = int(bool(ended.told) and version != self._head)
        found.untold = int(not ended.told and version == self._head)
        columns = {table: _columns(path, table) for table in _KEPT_ROWS} if version else {}
        rows = {table: rows_of(path, table, columns[table]) for table in columns}
        if self._began:
            found.lost += _KEPT - len(rows.get("events", ()))
        found.half += _bad_backups(folder / "store" / "backups")
        found.left = _parts(folder / "store")
        again = self.killed(folder, None)
        if again.broke or _schema(path) != self._tables[self._head]:
            found.faults.append(f"it could not be opened after the kill: {again.broke}")
        elif rows and any(rows_of(path, table, columns[table]) != kept for table, kept in rows.items()):
            found.faults.append("opened again, other rows are there")
        return found


def _put_rows(path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute(
            "INSERT INTO benches (id, name, invented, made, used, revision) VALUES ('b1', 'one', 0, 'x', 'x', 4)"
        )
        connection.execute("INSERT INTO heads (bench, text, assumed, saved) VALUES ('b1', 'format = 1', '[]', 'x')")
        for number in range(_KEPT):
            text = f'[[event]]\nkind = "settings good"\nid = "e{number}"\n'
            row = ("b1", f"e{number}", text, "x")
            connection.execute("INSERT INTO events (bench, id, text, saved) VALUES (?, ?, ?, ?)", row)


def _schema(path: Path) -> str:
    """The tables and indexes as SQL."""
    if not path.exists() or not path.stat().st_size:
        return ""
    with closing(sqlite3.connect(path)) as connection:
        rows = connection.execute("SELECT sql FROM sqlite_master WHERE sql IS NOT NULL ORDER BY name").fetchall()
    return "\n".join(re.sub(r"\s+", " ", row[0]) for row in rows)


def _columns(path: Path, table: str) -> str:
    """The columns that a table has in this version; later ones may add to them."""
    with closing(sqlite3.connect(path)) as connection:
        return ", ".join(row[1] for row in connection.execute(f"PRAGMA table_info({table})"))


def _version(path: Path) -> str:
    if not _schema(path):
        return ""
    return str(rows_of(path, "alembic_version")[0][0])


def _bad_backups(folder: Path) -> int:
    """How many backups are not a sound, whole store; what still carries the name of a part is none yet."""
    found = [*folder.glob("benches-*.sqlite")] if folder.is_dir() else []
    return sum(bool(broken_store(one)) or not rows_of(one, "events") for one in found)


def _parts(folder: Path) -> int:
    return len([*folder.rglob("*.part")])


class BackedUp(Forked):
    """The first opening of a day, which makes the dated backup."""

    about = "the dated backup of the logbook"

    def prepare(self, folder: Path) -> None:
        """A store of some size that has no backup yet."""
        from spinewright.logbook.store import EventRow, HeadRow, NewBench, open_store

        store = open_store(folder)
        events = tuple(
            EventRow(f"e{n}", f'[[event]]\nkind = "settings good"\nid = "e{n}"\nnote = "{"x" * 400}"\n')
            for n in range(_MANY)
        )
        store.make(NewBench("b1", "invented", True, HeadRow("format = 1", ()), events))
        store.close()

    def work(self, folder: Path) -> Work:
        """Open the store."""
        from spinewright.logbook.store import open_store

        def work(tell: Tell) -> None:
            store = open_store(folder)
            tell("backed up")
            store.close()

        return work

    def judge(self, folder: Path, ended: Ended) -> Judged:
        """The backup is there whole or not at all, and the store says what it said."""
        path = folder / _STORE
        found = Judged(acknowledged=len(ended.told))
        there = [*(folder / "backups").glob("benches-*.sqlite")]
        said = dump(path)
        found.unsound = int(bool(broken_store(path)))
        found.half = sum(bool(broken_store(one)) or dump(one) != said for one in there)
        found.lost = int(bool(ended.told) and not there) + int(len(rows_of(path, "events")) != _MANY)
        found.untold = int(bool(there) and not ended.told)
        found.left = _parts(folder)
        again = self.killed(folder, None)
        there = [*(folder / "backups").glob("benches-*.sqlite")]
        if again.broke or not there or any(dump(one) != said for one in there):
            found.faults.append(f"it could not be backed up after the kill: {again.broke}")
        return found

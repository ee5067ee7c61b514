"""The store's tables: forward from every version with everything kept, whole or not at all, backed up before."""

from __future__ import annotations

import re
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import inspect, text

from spinewright.errors import StoreError
from spinewright.logbook.places import STORE_NAME
from spinewright.logbook.store import EventRow, HeadRow, NewBench, Outrun, TapRow, open_store, opening
from spinewright.logbook.store.tables import HEAD, METADATA
from tests.stores import Place, engine_over

VERSIONS = Path(opening.__file__).parent / "migrations" / "versions"
STEPS = sorted(re.findall(r"v(\d+)_", " ".join(path.name for path in VERSIONS.glob("v*.py"))))


def _at(where: Path | str, version: str) -> None:
    """A store as version ``version`` left it, with a bench in it, written without the present tables."""
    engine = engine_over(where)
    opening.migrate(engine, version)
    with engine.begin() as connection:
        connection.execute(
            text(
                "INSERT INTO benches (id, name, invented, made, used, revision) "
                "VALUES ('b1', 'old one', false, '2026-01-01', '2026-01-02', 4)"
            )
        )
        connection.execute(
            text("INSERT INTO heads (bench, text, assumed, saved) VALUES ('b1', 'format = 1', '[\"a\"]', 'x')")
        )
        said = text("INSERT INTO events (bench, id, text, saved) VALUES (:bench, :id, :text, :saved)")
        if version >= "0002":
            tap = text("INSERT INTO taps (bench, walk, tap, body, saved) VALUES ('b1', 'w0', 't0', :body, :saved)")
            for n in range(3):
                connection.execute(tap, {"body": f"{n}", "saved": f"2026-01-01T00:00:0{n}.000000+00:00"})
        for n in range(3):
            words = f'[[event]]\nkind = "settings good"\nid = "e{n}"\n'
            connection.execute(said, {"bench": "b1", "id": f"e{n}", "text": words, "saved": "x"})
    engine.dispose()


def test_the_newest_step_is_the_one_the_tables_say() -> None:
    assert STEPS[-1] == HEAD
    assert len(STEPS) == len(set(STEPS)) >= 3


@pytest.mark.parametrize("version", STEPS)
def test_every_earlier_version_comes_forward_with_all_it_held(place: Place, version: str) -> None:
    _at(place(), version)
    store = open_store(place())
    assert [row.name for row in store.benches()] == ["old one"]
    assert store.head("b1") == HeadRow("format = 1", ("a",))
    assert [event.id for event in store.events("b1")] == ["e0", "e1", "e2"]
    taps = store.taps("b1")
    assert [one.body for one in taps] == (["0", "1", "2"] if version >= "0002" else [])
    if "0002" <= version < "0006":
        assert [one.after for one in taps] == [(), (taps[0].saved,), (taps[1].saved,)]
    store.add_tap("b1", TapRow("w", "t", "{}"))
    assert store.taps("b1") == (*taps, TapRow("w", "t", "{}"))
    assert store.last_answer("b1", "next") is None
    assert store.devices() == ()
    assert store.add_device("d1", "phone", "ab12") in store.devices()
    store.close()


def test_the_migrated_tables_are_those_the_program_uses(place: Place) -> None:
    store = open_store(place())
    found = inspect(store._engine)
    for table in METADATA.sorted_tables:
        columns = {column["name"]: column["nullable"] for column in found.get_columns(table.name)}
        assert columns == {column.name: bool(column.nullable) for column in table.columns}, table.name
        indexes = {index["name"] for index in found.get_indexes(table.name)}
        assert {index.name for index in table.indexes} <= indexes
    store.close()


@pytest.mark.parametrize("version", STEPS[:-1])
def test_a_step_that_fails_half_way_leaves_the_store_as_it_was(
    place: Place, version: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    where = place()
    _at(where, version)
    monkeypatch.chdir(tmp_path)  # a server's address is no path: nothing here may be taken for what lay beside a file
    (tmp_path / "pairing").write_text("a token that all phones shared")
    before = _dump(where)
    from alembic import op

    whole = op.create_index

    def breaks(*args: object, **keys: object) -> None:
        whole(*args, **keys)  # type: ignore[arg-type]
        raise OSError("the disk is full")

    monkeypatch.setattr(op, "create_index", breaks)
    with pytest.raises(StoreError, match="the disk is full"):
        open_store(where)
    assert _dump(where) == before
    assert (tmp_path / "pairing").is_file()
    monkeypatch.setattr(op, "create_index", whole)
    store = open_store(where)  # and goes through once the disk has room
    assert [event.id for event in store.events("b1")] == ["e0", "e1", "e2"]
    taken_out = not (tmp_path / "pairing").exists()
    assert taken_out == (isinstance(where, Path) and version < "0004"), (
        "the token that could be read is taken out with the step"
    )
    store.close()


def test_tables_of_a_later_version_are_refused_and_left_alone(place: Place) -> None:
    where = place()
    _at(where, "head")
    engine = engine_over(where)
    with engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9000'"))
    engine.dispose()
    before = _dump(where)
    with pytest.raises(StoreError, match="later version of spinewright"):
        open_store(where)
    assert _dump(where) == before


def test_what_is_no_store_is_refused_in_one_sentence(tmp_path: Path) -> None:
    (tmp_path / STORE_NAME).write_text("these are no benches, only words " * 40)
    with pytest.raises(StoreError, match="could not be opened"):
        open_store(tmp_path)


def test_a_dated_backup_is_made_at_the_start_and_holds_what_stood_in_the_log(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    store.make(NewBench("b1", "mine", False, HeadRow("format = 1", ()), (EventRow("e1", "text"),)))
    # Not closed: the rows stand in the write-ahead log alone, where a plain copy of the file would miss them.
    again = open_store(tmp_path)
    copies = list((tmp_path / "backups").glob("benches-*.sqlite"))
    assert len(copies) == 1
    assert re.fullmatch(r"benches-\d{4}-\d\d-\d\d\.sqlite", copies[0].name)
    with closing(sqlite3.connect(copies[0])) as connection:
        assert connection.execute("SELECT id FROM events").fetchall() == [("e1",)]
    again.close()
    store.close()


def test_only_so_many_backups_are_kept_and_no_torn_one(tmp_path: Path) -> None:
    open_store(tmp_path).close()
    folder = tmp_path / "backups"
    folder.mkdir(exist_ok=True)
    for day in range(1, 29):
        (folder / f"benches-2020-01-{day:02d}.sqlite").write_bytes(b"old")
    open_store(tmp_path).close()
    names = sorted(path.name for path in folder.iterdir())
    assert len(names) == 14
    assert names[0] == "benches-2020-01-16.sqlite"


def test_the_store_is_set_so_that_an_acknowledged_row_survives_a_power_cut(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    with store._engine.connect() as connection:
        pragmas = {
            name: connection.execute(text(f"PRAGMA {name}")).scalar()
            for name in ("journal_mode", "synchronous", "foreign_keys")
        }
    # synchronous 2 is FULL (SQLite documentation, PRAGMA synchronous)
    assert pragmas == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1}
    with pytest.raises(StoreError, match="FOREIGN KEY"):
        store.add_events("nobody", [EventRow("e1", "text")])
    store.close()


def test_rows_are_added_all_or_none(place: Place) -> None:
    store = open_store(place())
    store.make(NewBench("b1", "mine", False, HeadRow("format = 1", ()), (EventRow("e1", "text"),)))
    with pytest.raises(StoreError, match="nothing was changed"):
        store.add_events("b1", [EventRow("e2", "text"), EventRow("e1", "taken")])
    assert [event.id for event in store.events("b1")] == ["e1"]
    row = store.bench("b1")
    assert row is not None
    assert row.revision == 1
    store.close()


def test_who_was_outrun_adds_nothing(place: Place) -> None:
    store, other = open_store(place()), open_store(place())
    store.make(NewBench("b1", "mine", False, HeadRow("format = 1", ()), ()))
    assert other.add_events("b1", [EventRow("e1", "text")], 1).revision == 2
    with pytest.raises(Outrun, match="at the same moment"):
        store.add_events("b1", [EventRow("e2", "text")], 1)
    with pytest.raises(Outrun):
        store.add_tap("b1", TapRow("w", "t", "{}"), (), 1)
    with pytest.raises(Outrun):
        store.add_head("b1", HeadRow("other", ()), 1)
    whole = store.whole("b1")
    assert whole is not None
    assert ([one.id for one in whole.events], whole.taps, whole.head.text) == (["e1"], (), "format = 1")
    assert store.add_events("b1", [EventRow("e2", "text")], whole.row.revision).revision == 3
    store.close()
    other.close()


def _dump(where: Path | str) -> list[str]:
    """Every table with its columns and rows."""
    engine = engine_over(where)
    found = inspect(engine)
    with engine.connect() as connection:
        lines = []
        for name in sorted(found.get_table_names()):
            columns = [str(column["name"]) for column in found.get_columns(name)]
            rows = connection.execute(text(f"SELECT * FROM {name}")).all()  # noqa: S608 - the tables of this very store
            lines.append(f"{name}: {columns}: {sorted(map(str, rows))}")
    engine.dispose()
    return lines

"""Backups of all benches: whole while somebody taps, never over anything, and equal to the original when put back."""

from __future__ import annotations

import re
import shlex
import sqlite3
import threading
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest
from soak.ten_years import build, drawn_bows

from spinewright.logbook.places import STORE_NAME
from spinewright.logbook.store import sole_keeper
from spinewright.logbook.store.tables import HEAD, METADATA
from spinewright.units import System
from spinewright.workflow.benches import Benches, open_benches
from spinewright.workflow.benches.starting import make_bench
from tests.cli.conftest import Run
from tests.web.benches_samples import tap

BUSY = "bbusy"
COMMANDS = Path(__file__).parents[2] / "docs" / "commands.md"


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with benches of some years."""
    folder = tmp_path_factory.mktemp("backup") / "filled"
    rng = np.random.default_rng(6)
    build(folder, drawn_bows(4, 200, rng), rng)
    return folder


def test_a_backup_put_back_is_equal_to_the_original_row_by_row(run: Run, filled: Path) -> None:
    said = run("backup", "copy.sqlite", "--store", str(filled)).stdout
    rows = _rows(filled / STORE_NAME)
    held = f"Backed up: 4 benches with {len(rows['events'])} entries and {len(rows['taps'])} taps, "
    assert said.startswith(held)
    assert "spinewright restore copy.sqlite --store FOLDER" in said
    assert run("restore", "copy.sqlite", "--store", "back").stdout.startswith(held.replace("Backed up", "Restored"))
    assert _rows(Path("back") / STORE_NAME) == rows
    assert _texts(Path("back")) == _texts(filled)
    assert sorted(path.name for path in Path().iterdir() if path.name.startswith(("copy", ".copy"))) == ["copy.sqlite"]
    assert Path("copy.sqlite").stat().st_mode & 0o777 == 0o600


def test_backups_made_while_somebody_taps_are_each_of_one_moment_and_miss_nothing_acknowledged(run: Run) -> None:
    benches = open_benches(Path("busy"))
    make_bench(benches, BUSY, {"from": "quick"}, System.INCH)
    acknowledged: list[str] = []
    over = threading.Event()
    tapping = threading.Thread(target=_tap_on, args=(benches, acknowledged, over))
    tapping.start()
    before: list[int] = []
    try:
        for number in range(3):
            while len(acknowledged) < 5 * (number + 1):
                over.wait(0.005)
            before.append(len(acknowledged))
            run("backup", f"copy{number}.sqlite", "--store", "busy")
    finally:
        over.set()
        tapping.join()
        benches.close()
    whole = _rows(Path("busy") / STORE_NAME)
    assert len(whole["taps"]) == len(acknowledged) > before[-1]
    for number, least in enumerate(before):
        run("restore", f"copy{number}.sqlite", "--store", f"back{number}")
        rows = _rows(Path(f"back{number}") / STORE_NAME)
        assert len(rows["taps"]) >= least
        for table in ("taps", "events", "heads"):
            assert rows[table] == whole[table][: len(rows[table])]
        back = open_benches(Path(f"back{number}"))
        kept = back.bench(BUSY)
        assert {tap for walk in kept.walks.values() for tap in walk.taps} == set(acknowledged[: len(rows["taps"])])
        # the revision is of the same moment: one for the making, and one for every tap and every end of a walk
        assert kept.row.revision == 1 + len(rows["taps"])
        back.close()


def test_nothing_is_written_over(run: Run, filled: Path) -> None:
    Path("there.sqlite").write_text("mine", encoding="utf-8")
    refused = run("backup", "there.sqlite", "--store", str(filled), expect=4).stderr
    assert "there.sqlite is there already; choose another name, nothing was changed." in " ".join(refused.split())
    assert Path("there.sqlite").read_text(encoding="utf-8") == "mine"
    run("backup", "copy.sqlite", "--store", str(filled))
    before = _rows(filled / STORE_NAME)
    refused = run("restore", "copy.sqlite", "--store", str(filled), expect=4).stderr
    assert "nothing is ever written over; name another folder" in " ".join(refused.split())
    assert _rows(filled / STORE_NAME) == before
    # a log that was left beside would be taken for that of the restored store
    Path("left").mkdir()
    (Path("left") / f"{STORE_NAME}-wal").write_bytes(b"old")
    assert f"{STORE_NAME}-wal" in run("restore", "copy.sqlite", "--store", "left", expect=4).stderr
    assert not (Path("left") / STORE_NAME).exists()
    with sole_keeper(Path("served")):
        assert "open already" in " ".join(run("restore", "copy.sqlite", "--store", "served", expect=4).stderr.split())
    assert not list(Path().rglob(".*.part*"))


def test_what_is_no_sound_backup_is_refused_in_a_sentence(run: Run, filled: Path) -> None:
    run("backup", "copy.sqlite", "--store", str(filled))
    Path("text.sqlite").write_text("no database at all, and long enough to be looked at " * 40, encoding="utf-8")
    with closing(sqlite3.connect("other.sqlite")) as other, other:
        other.execute("CREATE TABLE things (id INTEGER)")
    later = Path("later.sqlite")
    later.write_bytes(Path("copy.sqlite").read_bytes())
    with closing(sqlite3.connect(later)) as other, other:
        other.execute("UPDATE alembic_version SET version_num = '9999'")
    broken = bytearray(Path("copy.sqlite").read_bytes())
    page = int.from_bytes(broken[16:18], "big")
    for at in range(3 * page, len(broken), page):  # every page but those that say what tables there are
        broken[at : at + 64] = b"\xff" * 64
    Path("broken.sqlite").write_bytes(bytes(broken))
    for name, words in (
        ("none.sqlite", "there is no file none.sqlite"),
        ("text.sqlite", "not a database"),
        ("other.sqlite", "holds no benches of spinewright"),
        ("later.sqlite", f"a later version of spinewright (tables 9999, known here {HEAD})"),
        ("broken.sqlite", "nothing was changed"),
    ):
        said = " ".join(run("restore", name, "--store", "back", expect=4).stderr.split())
        assert words in said, said
        assert not (Path("back") / STORE_NAME).exists()
    assert "there are no benches in" in run("backup", "new.sqlite", "--store", "empty", expect=4).stderr
    server = run("backup", "new.sqlite", "--store", "postgresql://shop@localhost/benches", expect=4).stderr
    assert "pg_dump" in server
    assert not list(Path().rglob(".*.part*"))
    assert not Path("new.sqlite").exists()


def test_the_steps_in_the_documents_lead_back_to_the_benches(run: Run, filled: Path) -> None:
    commands = COMMANDS.read_text(encoding="utf-8")
    section = commands.partition("## spinewright backup")[2].partition("## spinewright export")[0]
    lines = [line for line in re.findall(r"^spinewright (.+)$", section, re.MULTILINE) if "/media" not in line]
    assert [line.split()[0] for line in lines] == ["backup", "restore", "serve"]
    run(*shlex.split(lines[0]), "--store", str(filled))
    run(*shlex.split(lines[1]))
    assert _texts(Path(shlex.split(lines[2])[-1])) == _texts(filled)


def test_every_bow_exported_and_brought_into_an_empty_logbook_is_the_same_bow(filled: Path) -> None:
    old, new = open_benches(filled), open_benches(Path("empty"))
    for row in old.rows():
        kept = old.bench(row.id)
        made = make_bench(new, row.id, {"from": "file", "text": kept.text, "name": "any.toml"}, System.INCH)
        assert made.text == kept.text
        assert made.bench.state == kept.bench.state
        assert made.row.name == row.name
    assert {row.id for row in new.rows()} == {row.id for row in old.rows()}
    for one in (old, new):
        one.close()


def _tap_on(benches: Benches, acknowledged: list[str], over: threading.Event) -> None:
    number = 0
    while not over.is_set() and number < 4000:
        name = f"t{number}"
        benches.put_tap(BUSY, f"w{number // 6}", name, tap(number % 6 + 1, "bare", 0.01, 0.02))
        acknowledged.append(name)
        number += 1


def _rows(path: Path) -> dict[str, list[tuple[object, ...]]]:
    with closing(sqlite3.connect(path)) as connection:
        return {
            name: connection.execute(f"SELECT * FROM {name} ORDER BY 1").fetchall()  # noqa: S608 - our own tables
            for name in (*METADATA.tables, "alembic_version")
            if connection.execute("SELECT 1 FROM sqlite_master WHERE name = ?", (name,)).fetchone()
        }


def _texts(folder: Path) -> dict[str, str]:
    benches = open_benches(folder)
    try:
        return {row.id: benches.bench(row.id).text for row in benches.rows()}
    finally:
        benches.close()

"""Adding events: nothing is lost, whatever happens and whoever else writes; what was written is what is read."""

from __future__ import annotations

import json
import os
import stat
import subprocess
import sys
import tempfile
import time
import tomllib
from datetime import date, datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spinewright.errors import InputError, SessionFileError, StoreError
from spinewright.evidence.values import Tear, Visit
from spinewright.logbook import append, new_id, parse, read, replay
from spinewright.units import INCH, YARD

DATA = Path(__file__).parents[1] / "data"
BARE_SESSION = (DATA / "invented_bench.toml").read_text(encoding="utf-8")
FULL_SESSION = BARE_SESSION + (DATA / "invented_events.toml").read_text(encoding="utf-8")

SHOT: dict[str, object] = {
    "kind": "shots",
    "distance": "20 yd",
    "target": "fresh foam",
    "hits": [
        {"shaft": 1, "state": "fletched", "hole": "left 0.4 in, high 0.2 in"},
        {"shaft": 5, "state": "bare", "hole": "left 2.1 in", "nock_leans": "right 2 deg", "bad": None},
    ],
}


@pytest.fixture
def path(tmp_path: Path) -> Path:
    file = tmp_path / "mine.toml"
    file.write_text(BARE_SESSION)
    return file


class TestAppending:
    def test_the_old_text_stays_byte_for_byte(self, path: Path) -> None:
        old = path.read_bytes()
        session = append(path, SHOT)
        assert path.read_bytes().startswith(old)
        assert len(session.events) == 1
        assert read(path).events == session.events
        assert b"# my own comment at the top" in path.read_bytes()
        assert b"# on a good day" in path.read_bytes()

    def test_comments_among_events_stay(self, path: Path) -> None:
        path.write_text(FULL_SESSION.replace('id = "paper"', 'id = "paper"   # windy') + "# the end")
        append(path, SHOT)
        append(path, {"kind": "settings good"})
        text = path.read_text()
        assert "# windy" in text
        assert "# the end\n" in text
        assert len(read(path).events) == len(parse(FULL_SESSION).events) + 2

    @pytest.mark.parametrize("end", ["", "\n", "\n\n\n", "\n# no line end"])
    def test_however_the_file_ends(self, path: Path, end: str) -> None:
        path.write_text(BARE_SESSION.rstrip("\n") + end)
        assert len(append(path, SHOT).events) == 1

    def test_line_ends_of_another_system_stay(self, path: Path) -> None:
        path.write_bytes(BARE_SESSION.replace("\n", "\r\n").encode())
        append(path, SHOT)
        assert path.read_bytes().count(b"\n") == path.read_bytes().count(b"\r\n")
        assert len(read(path).events) == 1

    def test_an_event_gets_an_id_unless_it_has_one(self, path: Path) -> None:
        first = append(path, SHOT).events[-1].id
        assert first.startswith("e")
        assert append(path, {**SHOT, "id": None}).events[-1].id.startswith("e")
        assert append(path, {**SHOT, "id": "mine"}).events[-1].id == "mine"
        assert append(path, {"kind": "undo", "undoes": first}).events[-1].id not in ("mine", first)
        assert replay(read(path)).undone == (first,)
        assert len({new_id() for _ in range(1000)}) == 1000

    def test_moments_and_notes(self, path: Path) -> None:
        append(path, {"kind": "settings good", "when": date(2026, 5, 3), "note": 'quote " and \\ and é\nnext line'})
        append(path, {"kind": "settings good", "when": datetime(2026, 5, 3, 10, 15)})
        first, second = read(path).events
        assert (first.when, second.when) == (date(2026, 5, 3), datetime(2026, 5, 3, 10, 15))
        assert first.note == 'quote " and \\ and é\nnext line'

    @pytest.mark.parametrize(
        ("event", "words"),
        [
            ({"kind": "shots", "hits": SHOT["hits"]}, "no distance"),
            ({**SHOT, "distnace": "20 yd"}, "nearest known is 'distance'"),
            ({"kind": "cut", "throat_length": "28 in", "carbon_length": "27 3/8 in"}, "no shortest-safe-length mark"),
            ({"kind": "undo", "undoes": "nobody"}, "nothing to undo"),
            ({}, "no kind"),
            ({**SHOT, "note": object()}, "cannot be written"),
            ({**SHOT, "note": "not Unicode \udc80"}, "cannot be written"),
            ({**SHOT, "distance": "20 yd\n[[event]]"}, "20 yd"),
        ],
    )
    def test_an_event_that_does_not_replay_changes_nothing(
        self, path: Path, event: dict[str, object], words: str
    ) -> None:
        old = path.read_bytes()
        with pytest.raises(InputError, match=r"mine\.toml|cannot be written") as error:
            append(path, event)
        assert words in str(error.value)
        assert path.read_bytes() == old
        assert os.listdir(path.parent) == ["mine.toml"]

    def test_a_file_that_does_not_read_is_left_as_it_is(self, path: Path) -> None:
        broken = BARE_SESSION + '\n[[event]]\nkind = "shots"\nhits = [ { shaft = 1,'
        path.write_text(broken)
        with pytest.raises(SessionFileError, match="ends in the middle"):
            append(path, SHOT)
        assert path.read_text() == broken

    def test_permissions_and_links_stay(self, path: Path, tmp_path: Path) -> None:
        path.chmod(0o640)
        link = tmp_path / "link.toml"
        link.symlink_to(path)
        append(link, SHOT)
        assert link.is_symlink()
        assert stat.S_IMODE(path.stat().st_mode) == 0o640
        assert len(read(path).events) == 1

    def test_a_full_disk_changes_nothing(self, path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        old = path.read_bytes()

        def full(_descriptor: int) -> None:
            raise OSError(28, "No space left on device")

        monkeypatch.setattr(os, "fsync", full)
        with pytest.raises(StoreError, match=r"No space left.*nothing was changed"):
            append(path, SHOT)
        assert path.read_bytes() == old
        assert os.listdir(path.parent) == ["mine.toml"]

    def test_what_a_killed_writer_left_is_no_hindrance(self, path: Path) -> None:
        path.with_name(".mine.toml.part").write_text("half")
        append(path, SHOT)
        assert os.listdir(path.parent) == ["mine.toml"]


class TestManyShots:
    def test_ten_thousand_shots_are_read_and_added_to_in_under_two_seconds(self, path: Path) -> None:
        rows = "".join(
            f'  {{ shaft = {n % 6 + 1}, state = "{"bare" if n % 3 else "fletched"}",'
            f' hole = "left {n % 40 / 10} in, high 0.5 in",'
            ' nock_leans = "right 1.5 deg" },\n'
            for n in range(10_000)
        )
        path.write_text(f'{BARE_SESSION}\n[[event]]\nkind = "shots"\ndistance = "20 yd"\nhits = [\n{rows}]\n')
        start = time.process_time()
        session = read(path)
        taken = time.process_time() - start
        visit = replay(session).history.seen[0].what
        assert isinstance(visit, Visit)
        assert len(visit.impacts) == 10_000
        assert taken < 2.0
        wrong = path.read_text().replace('hole = "left 3.9 in', 'hole = "left 3.9 inn', 1)
        start = time.process_time()
        with pytest.raises(InputError, match=r"line \d+"):
            parse(wrong)
        assert time.process_time() - start < 2.0


SIDES = st.sampled_from([("left", 1.0), ("right", -1.0)])
HEIGHTS = st.sampled_from([("high", 1.0), ("low", -1.0), ("up", 1.0), ("down", -1.0)])
UNITS = st.sampled_from([("in", INCH), ("mm", 1e-3), ("cm", 1e-2)])
AMOUNTS = st.integers(0, 2000).map(lambda n: n / 100)


@st.composite
def offsets(draw: st.DrawFn) -> tuple[str, float, float]:
    """A place in words, and what it is [m]."""
    (side, y_sign), (height, z_sign), (unit, factor) = draw(SIDES), draw(HEIGHTS), draw(UNITS)
    y, z = draw(AMOUNTS), draw(AMOUNTS)
    return f"{side} {y} {unit}, {height} {z} {unit}", y_sign * y * factor, z_sign * z * factor


class TestRoundTrip:
    @settings(max_examples=40, deadline=None)
    @given(
        holes=st.lists(st.tuples(offsets(), st.integers(1, 12), st.booleans(), st.booleans()), min_size=1, max_size=6),
        yards=st.integers(5, 60),
        note=st.text(max_size=40),
    )
    def test_what_is_written_is_read(
        self, holes: list[tuple[tuple[str, float, float], int, bool, bool]], yards: int, note: str
    ) -> None:
        hits = [
            {"shaft": shaft, "state": "bare" if bare else "fletched", "hole": hole[0], "bad": bad}
            for hole, shaft, bare, bad in holes
        ]
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "mine.toml"
            path.write_text(BARE_SESSION)
            event = {"kind": "shots", "distance": f"{yards} yd", "hits": hits, "note": note}
            session = append(path, event)
            assert read(path).events == session.events
            stored = tomllib.loads(path.read_bytes().decode())["event"][0]
        assert stored["note"] == note
        assert session.events[0].note == note.strip()
        visit = replay(session).history.seen[0].what
        assert isinstance(visit, Visit)
        assert visit.distance == pytest.approx(yards * YARD)
        for (hole, shaft, bare, bad), impact in zip(holes, visit.impacts, strict=True):
            assert (impact.shaft, impact.bare, impact.called_bad) == (shaft, bare, bad)
            assert (impact.y, impact.z) == pytest.approx(hole[1:])

    @settings(max_examples=40, deadline=None)
    @given(tail=offsets())
    def test_tears_too_and_mirrored_for_the_other_hand(self, tail: tuple[str, float, float]) -> None:
        event = f'\n[[event]]\nkind = "tear"\nshaft = 1\nstate = "bare"\ndistance = "6 ft"\ntail = "{tail[0]}"\n'
        for hand, sign in (("right", 1.0), ("left", -1.0)):
            session = BARE_SESSION.replace('hand = "right"', f'hand = "{hand}"') + event
            try:
                tear = replay(parse(session)).history.seen[0].what
            except InputError:
                assert max(map(abs, tail[1:])) > 0.3  # beyond what a tear can be
                continue
            assert isinstance(tear, Tear)
            assert (tear.tail_y, tear.tail_z) == pytest.approx((sign * tail[1], tail[2]))


WRITER = """
import sys
from spinewright.logbook import append
for number in range(int(sys.argv[3])):
    append(sys.argv[1], {"kind": "settings good", "id": f"{sys.argv[2]}-{number}"})
"""

# One process forks a writer, lets it run for a random time, kills it with SIGKILL and looks at the file; 20 times, and
# more where the machine is so busy that hardly one was written.
KILLER = """
import json, os, random, signal, sys, time
from spinewright.logbook import append, read
path, seed = sys.argv[1], int(sys.argv[2])
chance = random.Random(seed)
append(path, {"kind": "settings good"})  # loads everything before the clock runs
began = time.perf_counter()
for one in range(3):
    append(path, {"kind": "settings good"})
usual = (time.perf_counter() - began) / 3  # a busy machine with a slow disk takes many times as long as a quiet one
start = open(path, "rb").read()
known, killed_amid, rounds = 4, 0, 0
while rounds < 20 or (known < 6 and rounds < 200):
    rounds += 1
    report, tell = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            while True:
                append(path, {"kind": "settings good", "note": "x" * chance.randrange(20000)})
                os.write(tell, b".")
        finally:
            os._exit(1)
    os.close(tell)
    time.sleep(chance.uniform(0.1, 5.0) * usual)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    acknowledged = 0
    while chunk := os.read(report, 65536):
        acknowledged += len(chunk)
    os.close(report)
    count = len(read(path).events)
    assert known + acknowledged <= count <= known + acknowledged + 1, (known, acknowledged, count)
    assert open(path, "rb").read().startswith(start)
    left = [name for name in os.listdir(os.path.dirname(path)) if name != os.path.basename(path)]
    assert left in ([], [f".{os.path.basename(path)}.part"]), left
    killed_amid += bool(left) or count > known + acknowledged
    known = count
append(path, {"kind": "settings good", "id": "after"})
assert os.listdir(os.path.dirname(path)) == [os.path.basename(path)]
print(json.dumps({"events": known, "killed_amid": killed_amid}))
"""


@pytest.mark.skipif(sys.platform == "win32", reason="needs fork and SIGKILL")
class TestOthers:
    def test_a_kill_at_any_moment_leaves_the_old_or_the_new_file(self, path: Path) -> None:
        run = subprocess.run(  # noqa: S603 - our own text
            [sys.executable, "-c", KILLER, str(path), "20260503"],
            capture_output=True,
            text=True,
            timeout=60,
            check=False,
        )
        assert run.returncode == 0, run.stderr
        told = json.loads(run.stdout)
        assert told["events"] > 5  # the writers did write in between
        assert len(read(path).events) == told["events"] + 1
        assert path.read_text().startswith(BARE_SESSION)

    def test_writers_at_the_same_time_lose_nothing(self, path: Path) -> None:
        writers = [
            subprocess.Popen([sys.executable, "-c", WRITER, str(path), name, "8"])  # noqa: S603 - our own text
            for name in ("a", "b", "c")
        ]
        assert [writer.wait(timeout=60) for writer in writers] == [0, 0, 0]
        ids = {event.id for event in read(path).events}
        assert ids == {f"{name}-{number}" for name in "abc" for number in range(8)}

"""How the page is started: the next free port, the code for a phone, the session file it brings along, its faults."""

from __future__ import annotations

import asyncio
import socket
import time
from pathlib import Path
from typing import Any

import pytest
import segno
from fastapi.testclient import TestClient

from spinewright.cli.serve import _blocks
from spinewright.errors import InputError, StoreError
from spinewright.logbook import template
from spinewright.units import System
from spinewright.web.app import make_app
from spinewright.web.guard import POLICY, Door
from spinewright.web.jobs import Jobs
from spinewright.web.serving import Address, _listen
from spinewright.workflow.benches import open_benches
from spinewright.workflow.benches.starting import bring_along
from tests.web.benches_samples import HERE, HOST, in_a_loop, log, make, served, tap


def test_the_next_free_port_is_taken() -> None:
    [first] = _listen(("127.0.0.1",), 0)
    with first:
        first.listen()
        taken = first.getsockname()[1]
        [second] = _listen(("127.0.0.1",), taken)
        with second:
            assert taken < second.getsockname()[1] < taken + 20


def test_an_answer_in_two_parts_does_not_wait_for_the_other_side_to_confirm_the_first() -> None:
    async def delays() -> int:
        said: asyncio.Future[int] = asyncio.get_running_loop().create_future()

        def met(_reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
            said.set_result(writer.get_extra_info("socket").getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY))
            writer.close()

        [listening] = _listen(("127.0.0.1",), 0)
        server = await asyncio.start_server(met, sock=listening)
        async with server:
            _, writer = await asyncio.open_connection(*listening.getsockname())
            no_delay = await said
            writer.close()
        return no_delay

    assert in_a_loop(delays()) != 0


def test_no_free_port_is_said_in_one_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(_self: socket.socket, _address: object) -> None:
        raise OSError(98, "in use")

    monkeypatch.setattr(socket.socket, "bind", refuse)
    with pytest.raises(StoreError, match="no port from 8470 to 8489 is free"):
        _listen(("127.0.0.1",), 8470)


def test_the_code_on_the_terminal_is_the_code() -> None:
    address = Address(8470, "192.168.7.5", "code")
    assert address.join == "http://192.168.7.5:8470/pair#code"
    assert Address(8470, "", "").join == ""
    matrix = segno.make(address.join, error="m").matrix
    lines = _blocks(matrix)
    assert len({len(line) for line in lines}) == 1
    # two rows a line; a light module is drawn, a dark one left out; four light modules all round (ISO/IEC 18004)
    light = {"█": (1, 1), "▀": (1, 0), "▄": (0, 1), " ": (0, 0)}
    rows = [[light[mark][half] for mark in line] for line in lines for half in (0, 1)]
    inside = [row[4 : 4 + len(matrix)] for row in rows[4 : 4 + len(matrix)]]
    assert inside == [[1 - int(bool(dark)) for dark in row] for row in matrix]
    assert all(rows[n][k] == 1 for n in range(4) for k in range(len(rows[0])))


def test_a_session_file_is_brought_along_once(tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    file.write_text(template(filled=True))
    benches = open_benches(tmp_path / "store")
    first, again = bring_along(benches, file), bring_along(benches, file)
    assert first.row.id == again.row.id
    assert len(benches.rows()) == 1
    assert not first.row.invented
    with pytest.raises(InputError, match="no such file"):
        bring_along(benches, tmp_path / "other.toml")
    benches.close()


def test_a_disk_that_refuses_leaves_the_tap_to_be_sent_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with served(tmp_path) as client:
        make(client, "b1", **{"from": "quick"})
        store = client.app.state.desk.benches._store  # type: ignore[attr-defined]

        with monkeypatch.context() as patched:
            patched.setattr(store, "add_tap", _full)
            refused = client.put("/api/benches/b1/walks/w/taps/t", json=tap(1, "bare", 0.0, 0.0))
            assert refused.status_code == 503
            assert "disk is full" in refused.json()["error"]["sentence"]
            assert client.get("/api/benches/b1").json()["walk"] is None
        assert client.put("/api/benches/b1/walks/w/taps/t", json=tap(1, "bare", 0.0, 0.0)).status_code == 200


def test_a_fault_of_the_program_is_told_as_that(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    benches = open_benches(tmp_path)
    app = make_app(benches, Door(frozenset({HOST})))
    with TestClient(app, base_url=f"http://{HOST}", client=(HERE, 1), raise_server_exceptions=False) as client:
        monkeypatch.setattr(benches, "rows", lambda: 1 / 0)
        answer = client.get("/api/benches")
        assert answer.status_code == 500
        assert "went wrong" in answer.json()["error"]["sentence"]
        assert client.get("/").status_code == 500
        assert client.get("/").headers["content-security-policy"] == POLICY
    benches.close()


def test_work_that_cannot_be_started_is_told_and_the_next_is_tried(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with served(tmp_path) as client:
        make(client, "b1", **{"from": "quick"})

        def no_room(_self: Jobs) -> None:
            raise OSError(11, "no room for one more process")

        with monkeypatch.context() as patched:
            patched.setattr(Jobs, "_started", no_room)
            assert "no room" in _ended(client)["error"]["sentence"]
        store = client.app.state.desk.benches._store  # type: ignore[attr-defined]
        with monkeypatch.context() as patched:
            patched.setattr(store, "add_answer", _full)
            assert "could not be kept" in _ended(client)["error"]["sentence"]
        assert _ended(client)["state"] == "done"


def _full(*_args: object, **_keys: object) -> None:
    raise StoreError("this could not be saved (database or disk is full); nothing was changed.")


def _ended(client: TestClient) -> dict[str, Any]:
    job: dict[str, Any] = client.post("/api/benches/b1/ask/sheet", json={}).json()
    until = time.monotonic() + 60.0
    while job["state"] in ("waiting", "running"):
        assert time.monotonic() < until, job
        time.sleep(0.05)
        job = client.get(f"/api/jobs/{job['job']}").json()
    return job


def test_an_axis_that_did_not_move_is_not_spoken_of(tmp_path: Path) -> None:
    with served(tmp_path) as client:
        make(client, "b1", **{"from": "quick"})
        said = log(client, "b1", "e1", kind="rest moved", intended_xy=[0.000508, 0.0]).json()["said"]
        assert said == ["Rest sideways: 0.020 in right intended; 0.020 in right from the recorded start in all."]
        assert log(client, "b1", "e2", kind="rest moved", intended_xy=[0.0, 0.0]).status_code == 400
        assert client.get("/api/benches/b1").json()["units"] == System.INCH

"""Phones join by a code that is good once and for minutes, get a token each, and are taken off one by one."""

from __future__ import annotations

import hashlib
import re
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from httpx2 import Response
from sqlalchemy import text

from spinewright.errors import StoreError
from spinewright.logbook.places import STORE_NAME
from spinewright.web.entrance import MINUTES, PER_ADDRESS, WINDOW, Entrance, NotPaired, TooMany
from spinewright.web.guard import COOKIE, DEVICE, Guard
from spinewright.web.hub import Hub
from spinewright.workflow.benches import Missing, open_benches
from spinewright.workflow.benches.devices import Devices
from tests.stores import Place
from tests.web.benches_samples import asking, in_a_loop, make, served

PHONE, OTHER = "192.168.7.20", "192.168.7.21"


class Clock:
    """Seconds that pass when a test says so."""

    def __init__(self) -> None:
        self.now = 1000.0

    def __call__(self) -> float:
        return self.now


def shown(here: TestClient) -> str:
    """The code on the page 'Join with a phone'."""
    found = re.search(r"/pair#([\w-]{20,})", here.get("/join").text)
    assert found
    return found[1]


def join(phone: TestClient, code: str, name: str = "") -> Response:
    """What the page for a scanned code sends; the token is kept as a browser keeps it."""
    return phone.post("/api/pair", json={"code": code, "name": name})


def phone_of(here: TestClient, address: str = PHONE) -> TestClient:
    return asking(here.app, address)  # type: ignore[arg-type]


def test_a_phone_joins_with_a_code_and_has_a_token_of_its_own(tmp_path: Path) -> None:
    with served(tmp_path, shared=True) as here:
        phone = phone_of(here)
        assert phone.get("/api/benches").status_code == 401
        assert "not paired" in phone.get("/", headers={"accept": "text/html"}).text
        assert phone.get("/pair").status_code == 200
        assert join(phone, "guess").status_code == 401
        assert phone.get("/api/benches").status_code == 401
        code = shown(here)
        joined = join(phone, code, "  Range <b>phone</b> ")
        assert (joined.status_code, joined.json()) == (200, {"url": "/"})
        cookie = joined.headers["set-cookie"].lower()
        assert "httponly" in cookie
        assert "samesite=strict" in cookie
        token = joined.cookies[COOKIE]
        assert len(token) >= 43, "256 bits are 43 characters of base64"
        assert token != code
        assert make(phone, "b1", **{"from": "quick"})["id"] == "b1"
        second = phone_of(here, OTHER)
        again = join(second, code)
        assert again.status_code == 401
        assert "used already" in again.json()["error"]["sentence"]
        assert join(second, shown(here)).cookies[COOKIE] != token
        page = here.get("/join").text
        assert "Range &lt;b&gt;phone&lt;/b&gt;" in page
        assert "Phone 1" in page


def test_a_right_token_is_let_in_only_whole(tmp_path: Path) -> None:
    with served(tmp_path, shared=True) as here:
        phone = phone_of(here)
        token = join(phone, shown(here)).cookies[COOKIE]
        for wrong in (token[:-1], token + "a", token.swapcase(), hashlib.sha256(token.encode()).hexdigest(), "\u00e9"):
            stranger = phone_of(here, OTHER)
            raw = f"{COOKIE}={wrong}".encode()
            assert stranger.get("/api/benches", headers=[(b"cookie", raw)]).status_code == 401
        assert phone.get("/api/benches").status_code == 200


def test_the_store_keeps_a_hash_and_never_a_token(tmp_path: Path) -> None:
    with served(tmp_path, shared=True) as here:
        code = shown(here)
        token = join(phone_of(here), code, "mine").cookies[COOKIE]
        with closing(sqlite3.connect(tmp_path / STORE_NAME)) as connection:
            [row] = connection.execute("SELECT name, hash, paired, seen, revoked FROM devices").fetchall()
        assert row[:2] == ("mine", hashlib.sha256(token.encode()).hexdigest())
        assert row[2] == row[3]
        assert row[4] is None
    for path in tmp_path.rglob("*"):
        if path.is_file():
            assert token.encode() not in path.read_bytes(), path
            assert code.encode() not in path.read_bytes(), path


def test_a_phone_stays_paired_over_a_restart_until_it_is_taken_off(tmp_path: Path) -> None:
    with served(tmp_path, shared=True) as here:
        tokens = [join(phone_of(here), shown(here), name).cookies[COOKIE] for name in ("one", "two")]
    with served(tmp_path, shared=True) as here:
        phones = [phone_of(here), phone_of(here, OTHER)]
        for phone, token in zip(phones, tokens, strict=True):
            phone.cookies.set(COOKIE, token)
            assert phone.get("/api/benches").status_code == 200
        known = {one["name"]: one["id"] for one in here.get("/api/devices").json()["devices"]}
        assert set(known) == {"one", "two"}
        left = here.delete(f"/api/devices/{known['one']}").json()["devices"]
        assert [one["name"] for one in left] == ["two"]
        assert [phone.get("/api/benches").status_code for phone in phones] == [401, 200]
        assert here.delete(f"/api/devices/{known['one']}").status_code == 404
    with served(tmp_path, shared=True) as here:
        phone = phone_of(here)
        phone.cookies.set(COOKIE, tokens[0])
        assert phone.get("/api/benches").status_code == 401


def test_the_code_and_the_devices_are_seen_on_the_machine_itself_only(tmp_path: Path) -> None:
    with served(tmp_path, shared=True) as here:
        page = here.get("/join").text
        assert "<svg" in page
        phone = phone_of(here)
        join(phone, shown(here), "my own phone")
        fresh = shown(here)
        seen = phone.get("/join").text
        assert fresh not in seen
        assert "my own phone" not in seen
        [device] = here.get("/api/devices").json()["devices"]
        assert phone.get("/api/devices").status_code == 403
        assert phone.delete(f"/api/devices/{device['id']}").status_code == 403
        assert phone.get("/api/benches").status_code == 200


def test_nobody_joins_a_page_that_is_not_shared(tmp_path: Path) -> None:
    with served(tmp_path) as here:
        phone = phone_of(here)
        assert join(phone, "").status_code == 401
        phone.cookies.set(COOKIE, "")
        assert phone.get("/api/benches").status_code == 401
        assert "/pair#" not in here.get("/join").text


def test_a_code_is_good_once_and_for_minutes(tmp_path: Path) -> None:
    benches, clock = open_benches(tmp_path), Clock()
    entrance = Entrance(benches.devices, clock)
    code = entrance.code()
    assert entrance.code() == code, "a page that is looked at again shows the same one"
    clock.now += MINUTES * 60 * 0.6
    later = entrance.code()
    assert later != code, "and another while there is time left to scan it"
    entrance.pair(code, "", PHONE)
    clock.now += MINUTES * 60 * 1.01
    for old in (code, later, ""):
        with pytest.raises(NotPaired, match="older than 5 minutes"):
            entrance.pair(old, "", PHONE)
    entrance.pair(entrance.code(), "", PHONE)
    assert [row.name for row in benches.devices.all()] == ["Phone 2", "Phone 1"]
    benches.close()


def test_wrong_ones_are_counted_for_each_address_and_in_all(tmp_path: Path) -> None:
    benches, clock = open_benches(tmp_path), Clock()
    entrance = Entrance(benches.devices, clock)
    token = benches.devices.pair("")
    for n in range(PER_ADDRESS):
        with pytest.raises(NotPaired):
            entrance.known(f"wrong {n}", PHONE)
    with pytest.raises(NotPaired):
        entrance.known("wrong 1", PHONE)  # the same again is no new guess
    with pytest.raises(TooMany, match="wait 5 minutes"):
        entrance.known("another", PHONE)
    with pytest.raises(TooMany):
        entrance.pair(entrance.code(), "", PHONE)
    assert entrance.known(token, PHONE).name == "Phone 1", "nobody can lock a paired phone out"
    entrance.pair(entrance.code(), "", OTHER)
    for n in range(PER_ADDRESS, 40):  # from ever new addresses
        with pytest.raises(NotPaired):
            entrance.pair("guess", "", f"10.0.0.{n}")
    with pytest.raises(TooMany):
        entrance.pair("guess", "", "10.0.0.99")
    with pytest.raises(TooMany):
        entrance.pair(entrance.code(), "", OTHER)
    clock.now += WINDOW
    entrance.pair(entrance.code(), "", PHONE)
    benches.close()


def test_too_many_is_said_in_a_sentence_with_429(tmp_path: Path) -> None:
    with served(tmp_path, shared=True) as here:
        phone = phone_of(here)
        answers = []
        for n in range(PER_ADDRESS + 1):
            phone.cookies.set(COOKIE, f"wrong{n}")
            answers.append(phone.get("/api/benches"))
        assert [one.status_code for one in answers] == [401] * PER_ADDRESS + [429]
        assert answers[-1].headers["retry-after"] == "300"
        assert "wait 5 minutes" in answers[-1].json()["error"]["sentence"]
        refused = join(phone, shown(here))
        assert (refused.status_code, refused.headers["retry-after"]) == (429, "300")
        assert here.get("/api/benches").status_code == 200, "this machine is never shut out"
        assert join(phone_of(here, OTHER), shown(here)).status_code == 200


def test_streams_of_a_device_end_when_it_is_taken_off() -> None:
    async def run() -> tuple[list[str], list[str], list[str]]:
        hub, may = Hub(), {"d1": True}
        ends: list[list[str]] = []
        streams = [hub.stream("b1", 1, "", device, lambda: may["d1"]) for device in ("d1", "d1")]
        mine = hub.stream("b1", 1, "")
        for one in (*streams, mine):
            assert "hello" in await anext(one)
        may["d1"] = False
        hub.leave("d1")
        ends = [[text async for text in one] for one in streams]
        hub.changed("b1", 2, "tap", "t1")
        heard = await anext(mine)
        late = [text async for text in hub.stream("b1", 2, "", "d1", lambda: may["d1"])]
        hub.close()
        return ends[0] + ends[1], late, [heard]

    ended, late, heard = in_a_loop(run())
    assert ended == []
    assert late == [], "nor does one begin that was asked for just before"
    assert '"revision": 2' in heard[0]


def test_the_guard_says_which_device_asks(tmp_path: Path) -> None:
    with served(tmp_path, shared=True) as here:
        phone = phone_of(here)
        join(phone, shown(here))
        [device] = here.get("/api/devices").json()["devices"]
        token = phone.cookies[COOKIE]
        found: list[object] = []

        async def app(scope: dict[str, object], _receive: object, _send: object) -> None:
            found.append(scope[DEVICE])

        guard = Guard(app, here.app.state.desk.door)  # type: ignore[arg-type, attr-defined]
        headers = [(b"host", b"testserver"), (b"cookie", f"{COOKIE}={token}".encode())]
        base = {"type": "http", "method": "GET", "path": "/", "headers": headers, DEVICE: "made up"}
        for address in (PHONE, "127.0.0.1"):
            in_a_loop(guard({**base, "client": (address, 1)}, None, None))  # type: ignore[arg-type]
        assert found == [device["id"], ""]


def test_when_a_device_was_last_seen_is_noted_once_a_minute(place: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    benches = open_benches(place())
    store, devices = benches._store, benches.devices
    device = devices.find(devices.pair("mine"))
    assert device is not None
    devices.note(device.id)
    assert devices.all() == (device,), "it was noted a moment ago"
    with store._engine.begin() as connection:
        connection.execute(text("UPDATE devices SET seen = '2026-01-01T10:00:00.000000+00:00'"))
    again = Devices(store)
    [old] = again.all()
    assert again.is_due(old)
    again.note(old.id)
    assert Devices(store).all()[0].seen > old.seen
    with pytest.raises(Missing):
        again.take_off("dnobody")

    def full(_device: str) -> None:
        raise StoreError("the disk is full")

    monkeypatch.setattr(store, "revoke_device", full)
    with pytest.raises(StoreError):
        again.take_off(old.id)
    assert again.may_come(old.id), "what could not be saved is not said to hold"
    benches.close()

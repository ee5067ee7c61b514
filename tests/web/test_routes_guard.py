"""Who may ask: the right host, the page's own origin, JSON; nothing that a page loads comes from elsewhere."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from starlette.websockets import WebSocketDisconnect

from spinewright.web.assets import STATIC
from spinewright.web.guard import POLICY
from spinewright.web.serving import _listen, page_config
from tests.web.benches_samples import HOST, asking, make, served

PHONE = "192.168.7.20"
FETCHES = {"sec-fetch-site": "cross-site", "sec-fetch-mode": "no-cors"}


def test_another_name_for_this_machine_is_refused(tmp_path: Path) -> None:
    with served(tmp_path) as client:
        for host in ("rebound.example", f"{HOST}:81", f"{HOST}.example", "127.0.0.1", ""):
            answer = client.get("/api/health", headers={"host": host})
            assert answer.status_code == 403, host
            assert "the one it printed" in answer.json()["error"]["sentence"]
        assert client.get("/api/health").status_code == 200


def test_another_site_can_change_nothing(tmp_path: Path) -> None:
    with served(tmp_path) as client:
        body = {"from": "quick"}
        for origin in ("http://elsewhere.example", "null", f"https://{HOST}", f"http://{HOST}:81", ""):
            assert client.put("/api/benches/b1", json=body, headers={"origin": origin}).status_code == 403, origin
            for method in ("POST", "PATCH", "DELETE", "OPTIONS", "TRACE"):
                assert client.request(method, "/api/jobs/j1", headers={"origin": origin}).status_code == 403, method
            assert client.get("/api/benches", headers={"origin": origin}).json()["benches"] == []
        assert client.put("/api/benches/b1", json=body, headers={"origin": f"http://{HOST}"}).status_code == 200


def test_a_write_that_does_not_say_where_it_comes_from_is_refused(tmp_path: Path) -> None:
    with served(tmp_path) as client:
        del client.headers["origin"]
        refused = client.put("/api/benches/b1", json={"from": "quick"})
        assert refused.status_code == 403
        assert "'Origin'" in refused.json()["error"]["sentence"]
        assert client.get("/api/benches").json()["benches"] == []


def test_another_site_takes_nothing_home(tmp_path: Path) -> None:
    with served(tmp_path) as client:
        make(client, "b1", **{"from": "quick"})
        for path in ("/api/benches", "/b/b1", "/static/page.css", "/join"):
            for site in ("cross-site", "same-site"):
                assert client.get(path, headers={**FETCHES, "sec-fetch-site": site}).status_code == 403
            assert client.get(path, headers={**FETCHES, "sec-fetch-site": "same-origin"}).status_code == 200
            found = client.get(path)
            assert found.status_code == 200
            assert "access-control-allow-origin" not in found.headers
            assert found.headers["cross-origin-resource-policy"] == "same-origin"
            assert found.headers["x-frame-options"] == "DENY"
        link = {"sec-fetch-site": "cross-site", "sec-fetch-mode": "navigate"}
        assert client.get("/b/b1", headers=link).status_code == 200, "a link from elsewhere opens the page"
        assert client.post("/api/benches/b1/name", json={"name": "x"}, headers=link).status_code == 403


def test_nobody_opens_a_socket(tmp_path: Path) -> None:
    with served(tmp_path) as client, pytest.raises(WebSocketDisconnect) as refused:
        client.websocket_connect("/").__enter__()
    assert refused.value.code == 1008


def test_only_json_of_a_sensible_and_known_size_is_taken(tmp_path: Path) -> None:
    with served(tmp_path) as client:
        form = {"content-type": "text/plain"}
        assert client.put("/api/benches/b1", content='{"from": "quick"}', headers=form).status_code == 403
        kind = {"content-type": "application/json"}
        for size in (str(10**9), "-1", "many"):
            big = {**kind, "content-length": size}
            assert client.put("/api/benches/b1", content="{}", headers=big).status_code == 413
        pieces = client.put("/api/benches/b1", content=iter([b"{", b"}"]), headers=kind)
        assert pieces.status_code == 411
        broken = client.put("/api/benches/b1", content="{", headers=kind)
        assert broken.status_code == 400
        assert broken.json()["error"]["sentence"]


def test_what_a_stranger_may_send_is_short(tmp_path: Path) -> None:
    with served(tmp_path, shared=True, client=PHONE) as stranger:
        assert stranger.post("/api/pair", json={"code": "x" * 2_000}).status_code == 413
        assert stranger.post("/api/pair", json={"code": "x"}).status_code == 401


def test_whoever_has_no_address_is_not_this_machine(tmp_path: Path) -> None:
    with served(tmp_path) as here:
        app = here.app
        for address in ("", "testclient", "10.0.0.1", "127.0.0.10"):
            assert asking(app, address).get("/api/benches").status_code == 401  # type: ignore[arg-type]
        assert here.get("/api/benches").status_code == 200


def test_an_address_that_a_request_only_says_is_not_believed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FORWARDED_ALLOW_IPS", "*")
    with served(tmp_path) as client:
        config = page_config(client.app)  # type: ignore[arg-type]
    assert not config.proxy_headers
    assert config.ws == "none"


def test_it_listens_on_the_addresses_it_was_told_alone() -> None:
    both = _listen(("127.0.0.1", "127.0.0.2"), 0)
    try:
        assert [one.getsockname()[0] for one in both] == ["127.0.0.1", "127.0.0.2"]
        assert len({one.getsockname()[1] for one in both}) == 1
        [other] = _listen(("127.0.0.1",), 0)
        other.close()
    finally:
        for one in both:
            one.close()


def test_the_policy_lets_a_page_load_its_own_files_and_nothing_else() -> None:
    rules = dict(rule.strip().split(" ", 1) for rule in POLICY.split(";"))
    assert rules.pop("default-src") == "'none'"
    assert {name: rules.pop(name) for name in ("base-uri", "frame-ancestors")} == {
        "base-uri": "'none'",
        "frame-ancestors": "'none'",
    }
    assert set(rules.values()) == {"'self'"}, rules


def test_no_file_of_the_page_names_another_place() -> None:
    """An address of another place in any file, beside the names of XML that are no addresses and a licence's text."""
    wrong = []
    files = [*STATIC.rglob("*"), *STATIC.parent.joinpath("templates").rglob("*")]
    for path in files:
        if path.suffix in (".js", ".css", ".html", ".svg"):
            text = path.read_text().replace("http://www.w3.org/2000/svg", "")
            wrong += [
                f"{path.name}: {found}" for found in re.findall(r"(?:https?:|wss?:|data:)?//[a-z0-9.]+\.[a-z]+", text)
            ]
            wrong += [f"{path.name}: {found}" for found in re.findall(r"(?:href|src)=[\"']data:|url\(data:", text)]
            wrong += [f"{path.name}: {found}" for found in re.findall(r" style=\"|<script>| on[a-z]+=\"", text)]
    assert len(files) > 40
    assert not wrong, wrong


def test_a_refusal_carries_the_headers_too_and_nothing_of_the_page(tmp_path: Path) -> None:
    with served(tmp_path, shared=True, client=PHONE) as stranger:
        for host, status in (("elsewhere.example", 403), (HOST, 401)):
            answer = stranger.get("/", headers={"host": host, "accept": "text/html"})
            assert answer.status_code == status
            assert answer.headers["content-security-policy"] == POLICY
            assert answer.headers["content-type"].startswith("text/html")
            assert "script" not in answer.text

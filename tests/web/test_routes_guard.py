"""Who may ask: the right host, the page's own origin, JSON, a paired phone."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.web.benches_samples import HOST, make, served

PHONE = "192.168.7.20"
TOKEN = "a-token-nobody-guesses"  # noqa: S105 - of this test alone


def test_another_name_for_this_machine_is_refused(tmp_path: Path) -> None:
    with served(tmp_path) as client:
        answer = client.get("/api/health", headers={"host": "rebound.example"})
        assert answer.status_code == 403
        assert "the one it printed" in answer.json()["error"]["sentence"]
        assert client.get("/api/health").status_code == 200


@pytest.mark.parametrize("origin", ["http://elsewhere.example", "null", f"https://{HOST}", f"http://{HOST}:81"])
def test_another_site_can_change_nothing(tmp_path: Path, origin: str) -> None:
    with served(tmp_path) as client:
        body = {"from": "quick"}
        assert client.put("/api/benches/b1", json=body, headers={"origin": origin}).status_code == 403
        assert client.delete("/api/jobs/j1", headers={"origin": origin}).status_code == 403
        assert client.get("/api/benches").json()["benches"] == []
        assert client.put("/api/benches/b1", json=body, headers={"origin": f"http://{HOST}"}).status_code == 200


def test_only_json_of_a_sensible_size_is_taken(tmp_path: Path) -> None:
    with served(tmp_path) as client:
        form = {"content-type": "text/plain"}
        assert client.put("/api/benches/b1", content='{"from": "quick"}', headers=form).status_code == 403
        big = {"content-type": "application/json", "content-length": str(10**9)}
        assert client.put("/api/benches/b1", content="{}", headers=big).status_code == 413
        broken = client.put("/api/benches/b1", content="{", headers={"content-type": "application/json"})
        assert broken.status_code == 400
        assert broken.json()["error"]["sentence"]


def test_a_phone_joins_with_the_code_alone(tmp_path: Path) -> None:
    with served(tmp_path, token=TOKEN, url=f"http://{HOST}", client=PHONE) as phone:
        assert phone.get("/api/benches").status_code == 401
        assert "not paired" in phone.get("/", headers={"accept": "text/html"}).text
        assert phone.get("/api/health").status_code == 200
        wrong = phone.get("/pair", params={"token": "guess"}, follow_redirects=False)
        assert wrong.status_code == 401
        assert phone.get("/api/benches").status_code == 401
        right = phone.get("/pair", params={"token": TOKEN}, follow_redirects=False)
        assert (right.status_code, right.headers["location"]) == (303, "/")
        cookie = right.headers["set-cookie"].lower()
        assert "httponly" in cookie
        assert "samesite=strict" in cookie
        assert phone.get("/api/benches").status_code == 200
        assert make(phone, "b1", **{"from": "quick"})["id"] == "b1"


def test_nobody_joins_a_page_that_is_not_shared(tmp_path: Path) -> None:
    with served(tmp_path, client=PHONE) as phone:
        assert phone.get("/pair", params={"token": ""}, follow_redirects=False).status_code == 401
        phone.cookies.set("pair", "")
        assert phone.get("/api/benches").status_code == 401


def test_the_code_is_shown_on_the_machine_itself_only(tmp_path: Path) -> None:
    with served(tmp_path / "a", token=TOKEN, url=f"http://{HOST}") as here:
        page = here.get("/join").text
        assert TOKEN in page
        assert "<svg" in page
    with served(tmp_path / "b", token=TOKEN, url=f"http://{HOST}", client=PHONE) as phone:
        phone.cookies.set("pair", TOKEN)
        assert TOKEN not in phone.get("/join").text

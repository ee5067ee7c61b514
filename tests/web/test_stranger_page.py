"""Whoever is not let in gets a calm page that says why, and a device that has not joined how to."""

from __future__ import annotations

import pytest
from starlette.applications import Starlette
from starlette.testclient import TestClient

from spinewright.web.guard import POLICY, Door, Guard
from spinewright.web.stranger_page import stranger_page

BROWSER = {"accept": "text/html,application/xhtml+xml"}


def _phone() -> TestClient:
    """A phone of the network before a guard that lets nobody join."""
    guard = Guard(Starlette(), Door(frozenset({"testserver"})))
    return TestClient(guard, base_url="http://testserver", client=("192.168.7.20", 50_000))


def test_a_phone_that_has_not_joined_is_told_how_to() -> None:
    answer = _phone().get("/b/b1", headers=BROWSER)
    assert answer.status_code == 401
    assert answer.headers["content-security-policy"] == POLICY
    for told in ("This device has not joined yet", "Join with a phone", "Scan the code", 'name="viewport"', "page.css"):
        assert told in answer.text
    assert "No phone in the hand" in answer.text


def test_a_program_still_gets_one_sentence() -> None:
    answer = _phone().get("/api/benches")
    assert answer.status_code == 401
    assert answer.json()["error"]["sentence"].endswith(".")


@pytest.mark.parametrize("status", [403, 429])
def test_any_other_refusal_says_why_and_nothing_of_joining(status: int) -> None:
    page = stranger_page(status, "Not this <b>one</b>.")
    assert "Not this &lt;b&gt;one&lt;/b&gt;." in page
    assert "How to join" not in page

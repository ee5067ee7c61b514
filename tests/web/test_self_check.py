"""The check of who gets in: all passes against the page as it is, each hole it looks for is found and fails."""

from __future__ import annotations

import sys
import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import pytest
from typer.testing import CliRunner

from spinewright.cli import app
from spinewright.errors import StoreError
from spinewright.web import self_check
from spinewright.web.check_caller import Answer, Caller
from spinewright.web.check_tries import Attempt, _cookie_kept, try_all, try_unshared

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="a second address of this machine is Linux's own")
STRANGER = "127.0.0.2"  # not this machine's own address to the guard, and there without any network


class _Open(BaseHTTPRequestHandler):
    """Lets everybody do everything, and loads a script from elsewhere."""

    protocol_version = "HTTP/1.1"

    def answer(self) -> None:
        body = b'<script src="https://elsewhere.example/x.js"></script> /pair#everybodys-one-code'
        self.rfile.read(int(self.headers.get("content-length", 0)))
        self.send_response(200)
        self.send_header("content-length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    do_GET = do_PUT = do_POST = do_DELETE = answer  # noqa: N815 - the library calls them so

    def log_message(self, *_args: object) -> None:
        """Say nothing."""


@pytest.fixture
def careless() -> Iterator[int]:
    server = ThreadingHTTPServer(("", 0), _Open)
    thread = threading.Thread(target=server.serve_forever, args=(0.05,), daemon=True)
    thread.start()
    yield server.server_address[1]
    server.shutdown()
    server.server_close()
    thread.join()


def test_against_a_page_that_lets_everybody_in_it_fails(careless: int) -> None:
    attempts = list(try_all(Caller("127.0.0.1", careless), Caller(STRANGER, careless)))
    right = {one.words for one in attempts if one.passed}
    # what should be let in is let in there too
    assert right == {
        "A phone that scanned the code",
        "The phone asks for the benches",
        "The phone writes from the page itself",
        "The phone is taken off",
    }
    assert len(attempts) >= 29
    assert not any(one.passed for one in try_unshared(Caller("127.0.0.1", careless), STRANGER))


def test_it_passes_against_the_page_over_http(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(self_check, "lan_address", lambda: STRANGER)
    ended = CliRunner().invoke(app, ["serve", "--check", "--port", "0"])
    assert ended.exit_code == 0, ended.output
    lines = [line for line in ended.output.splitlines() if line.startswith("  PASSED  ")]
    words = " ".join(lines)
    for tried in (
        "without a token",
        "A wrong token",
        "foreign Origin",
        "foreign Host",
        "without Origin",
        "What it had open",
    ):
        assert tried in words
    assert "Its token after that: refused (401)" in words
    assert "Too many wrong tokens: refused (429)" in words
    assert f"{len(lines)} of {len(lines)} PASSED." in ended.output
    assert len(lines) == 31


def test_what_failed_is_said_and_is_the_exit_code(monkeypatch: pytest.MonkeyPatch) -> None:
    made = (Attempt("A wrong token", "refused (401)", "answered (200)"), Attempt("Other", "x", "x"))
    monkeypatch.setattr(self_check, "check_door", lambda _port: self_check.Report("Asked.", made))
    ended = CliRunner().invoke(app, ["serve", "--check"])
    assert ended.exit_code == 1
    assert "  FAILED  A wrong token: answered (200), not refused (401)" in ended.output
    assert "1 of 2 PASSED. 1 FAILED." in ended.output


def test_without_a_network_and_right_after_another_check_it_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    with monkeypatch.context() as patched:
        patched.setattr(self_check, "lan_address", lambda: "")
        with pytest.raises(StoreError, match="no address on a local network"):
            self_check.check_door(8470)
    monkeypatch.setattr(Caller, "ask", lambda *_args, **_keys: Answer(429))
    with pytest.raises(StoreError, match="less than 5 minutes ago"):
        next(try_all(Caller("127.0.0.1", 1), Caller(STRANGER, 1)))
    assert _cookie_kept(Answer(200)) == "open to them"

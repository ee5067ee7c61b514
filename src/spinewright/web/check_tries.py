"""What is tried, in order: strangers, a phone that joins, what it may not do, the phone taken off, guessing."""

from __future__ import annotations

import json
import re
import secrets
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from http.client import HTTPException
from http.cookies import SimpleCookie

from spinewright.errors import StoreError
from spinewright.web.check_caller import Answer, Caller, OpenStream
from spinewright.web.entrance import PER_ADDRESS, WINDOW
from spinewright.web.guard import COOKIE, POLICY

__all__ = ["Attempt", "try_all", "try_unshared"]

_FOREIGN = "http://elsewhere.example"
_NAME = "Check of who gets in"
_CODE = re.compile(r"/pair#([\w-]+)")
_ELSEWHERE = re.compile(r"""(?:src|href|action|content)\s*=\s*["']?\s*(?:[a-z]+:)?//""", re.IGNORECASE)
_WRITE = ("PUT", "/api/units", {"units": "inch"})  # what a device chooses for itself: nothing is changed by it


@dataclass(frozen=True, slots=True)
class Attempt:
    """One thing that was tried: in ``words``, what was ``wanted`` and what it ``got``."""

    words: str
    wanted: str
    got: str

    @property
    def passed(self) -> bool:
        """Whether it went as it should."""
        return self.wanted == self.got

    @property
    def outcome(self) -> str:
        """PASSED or FAILED."""
        return "PASSED" if self.passed else "FAILED"


def try_all(here: Caller, there: Caller) -> Iterator[Attempt]:
    """Everything against a shared page: ``here`` is this machine, ``there`` asks at the address on the network."""
    if there.ask("GET", "/api/benches", token=secrets.token_urlsafe(32)).status == 429:
        raise StoreError(
            f"wrong codes were tried from this machine less than {WINDOW / 60:.0f} minutes ago, by this check or by "
            "somebody; wait so long and check again."
        )
    yield from _strangers(there)
    before = _devices(here)
    code = _code(here)
    joined = there.ask("POST", "/api/pair", {"code": code, "name": _NAME}, origin=there.origin)
    device = next(iter(_devices(here) - before), "")
    token = _token(joined)
    try:
        yield Attempt("A phone that scanned the code", "answered (200)", _got(joined))
        yield Attempt("The cookie it was given", "kept from scripts and other sites", _cookie_kept(joined))
        yield _status(
            "The same code once more", 401, there.ask("POST", "/api/pair", {"code": code}, origin=there.origin)
        )
        yield _status("The phone asks for the benches", 200, there.ask("GET", "/api/benches", token=token))
        yield from _phone(there, token)
        yield from _sites(here, there, token)
        yield from _taken_off(here, there, token, device)
    finally:
        if device:
            here.ask("DELETE", f"/api/devices/{device}", origin=here.origin)
    yield from _guessing(here, there)


def try_unshared(here: Caller, lan: str) -> Iterator[Attempt]:
    """Against a page that is not shared."""
    answer = Caller(lan, here.port).ask("GET", "/api/health")
    yield Attempt(f"A stranger asks at {lan}", "no answer", _got(answer))
    yield from _other_sites(here, "")


def _strangers(there: Caller) -> Iterator[Attempt]:
    wrong = secrets.token_urlsafe(32)
    lying = {"x-forwarded-for": "127.0.0.1", "x-real-ip": "127.0.0.1", "forwarded": "for=127.0.0.1"}
    yield _status("A stranger without a token asks for the benches", 401, there.ask("GET", "/api/benches"))
    yield _status("A stranger without a token opens the page", 401, there.ask("GET", "/"))
    yield _status("A stranger asks for the code that phones scan", 401, there.ask("GET", "/join"))
    yield _status("A wrong token", 401, there.ask("GET", "/api/benches", token=wrong))
    told = there.ask("GET", "/api/benches", headers=lying)
    yield _status("A stranger who says to come from this machine", 401, told)
    method, path, body = _WRITE
    yield _status("A stranger without a token writes", 401, there.ask(method, path, body, origin=there.origin))
    guess = there.ask("POST", "/api/pair", {"code": secrets.token_urlsafe(16)}, origin=there.origin)
    yield _status("A code that was guessed", 401, guess)


def _phone(there: Caller, token: str) -> Iterator[Attempt]:
    """What a paired phone may not do."""
    shown = _CODE.search(there.ask("GET", "/join", token=token).text)
    yield Attempt("The phone asks for the code of the next", "not shown", "shown" if shown else "not shown")
    yield _status("The phone asks who has joined", 403, there.ask("GET", "/api/devices", token=token))
    method, path, body = _WRITE
    own = there.ask(method, path, body, token=token, origin=there.origin)
    yield _status("The phone writes from the page itself", 200, own)


def _sites(here: Caller, there: Caller, token: str) -> Iterator[Attempt]:
    """What a page of another site tries in a browser that is let in."""
    yield from _other_sites(there, token)
    yield from _other_sites(here, "")
    answers = [there.ask("GET", path, token=token) for path in ("/", "/pair", "/static/page.css", "/nowhere")]
    answers.append(there.ask("GET", "/"))
    strict = all(one.headers.get("content-security-policy") == POLICY for one in answers)
    yield Attempt("The content policy on pages, files and refusals", "strict", "strict" if strict else "not strict")
    found = [match[0] for one in answers for match in [_ELSEWHERE.search(one.text)] if match]
    yield Attempt("What the pages load from elsewhere", "nothing", found[0] if found else "nothing")


def _other_sites(caller: Caller, token: str) -> Iterator[Attempt]:
    at = f"at {caller.host}"
    method, path, body = _WRITE
    host = {"host": f"rebound.example:{caller.port}"}
    yield _status(f"A foreign Host {at}", 403, caller.ask("GET", "/api/benches", token=token, headers=host))
    foreign = caller.ask(method, path, body, token=token, origin=_FOREIGN)
    yield _status(f"A write with a foreign Origin {at}", 403, foreign)
    yield _status(f"A write without Origin {at}", 403, caller.ask(method, path, body, token=token))
    form = {"content-type": "text/plain"}
    sent = caller.ask(method, path, body, token=token, origin=caller.origin, headers=form)
    yield _status(f"A write as a form of any site can send it {at}", 403, sent)
    crossed = {"sec-fetch-site": "cross-site", "sec-fetch-mode": "no-cors"}
    read = caller.ask("GET", "/api/benches", token=token, headers=crossed)
    yield _status(f"A page of another site reads {at}", 403, read)


def _taken_off(here: Caller, there: Caller, token: str, device: str) -> Iterator[Attempt]:
    stream = _opened(there, token)
    yield _status("The phone is taken off", 200, here.ask("DELETE", f"/api/devices/{device}", origin=here.origin))
    if stream is not None:
        yield Attempt("What it had open", "ended", "ended" if stream.ends() else "still open")
        stream.close()
    yield _status("Its token after that", 401, there.ask("GET", "/api/benches", token=token))


def _opened(there: Caller, token: str) -> OpenStream | None:
    """A stream of the first bench, None when there is no bench."""
    with suppress(ValueError, LookupError, TypeError, OSError, HTTPException):
        benches = json.loads(there.ask("GET", "/api/benches", token=token).text)["benches"]
        return there.stream(benches[0]["id"], token)
    return None


def _guessing(here: Caller, there: Caller) -> Iterator[Attempt]:
    for _ in range(PER_ADDRESS + 1):
        answer = there.ask("GET", "/api/benches", token=secrets.token_urlsafe(32))
        if answer.status == 429:
            break
    yield _status("Too many wrong tokens", 429, answer)
    body = {"code": _code(here)}
    yield _status("Even the right code after that", 429, there.ask("POST", "/api/pair", body, origin=there.origin))


def _status(words: str, wanted: int, answer: Answer) -> Attempt:
    return Attempt(words, _said(wanted), _got(answer))


def _got(answer: Answer) -> str:
    return _said(answer.status)


def _said(status: int) -> str:
    if not status:
        return "no answer"
    return f"refused ({status})" if status >= 400 else f"answered ({status})"


def _code(here: Caller) -> str:
    found = _CODE.search(here.ask("GET", "/join").text)
    return found[1] if found else ""


def _devices(here: Caller) -> set[str]:
    try:
        return {str(one["id"]) for one in json.loads(here.ask("GET", "/api/devices").text)["devices"]}
    except (ValueError, LookupError, TypeError):
        return set()


def _token(joined: Answer) -> str:
    cookie: SimpleCookie = SimpleCookie(joined.headers.get("set-cookie", ""))
    return cookie[COOKIE].value if COOKIE in cookie else ""


def _cookie_kept(joined: Answer) -> str:
    said = {part.strip().lower() for part in str(joined.headers.get("set-cookie", "")).split(";")}
    return "kept from scripts and other sites" if {"httponly", "samesite=strict"} <= said else "open to them"

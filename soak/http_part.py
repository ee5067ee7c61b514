"""The part 'http': every route of the page asked with good, spoilt and senseless requests; none may answer 5xx."""

from __future__ import annotations

import json
import logging
import traceback
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import schemathesis
from fastapi import FastAPI
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st
from numpy.random import Generator
from schemathesis.core.result import Ok
from schemathesis.schemas import APIOperation
from starlette.types import Message, Receive, Scope, Send

from soak.bad_input.requests import bodies_for, good_benches, places
from soak.figures import Figures
from spinewright.web.app import make_app
from spinewright.web.guard import Door
from spinewright.workflow.benches import Benches, open_benches

__all__ = ["Asked", "asked_everything", "run"]

_HOST = "testserver"
_ENDLESS = "/stream"  # it sends messages for as long as a page is open
_ABOUT = (
    "Requests made from the page's own OpenAPI description (which is not served), and such with the ids of real "
    "benches and with bodies that pages send, whole and spoilt: keys left out, values of another type, endless, not "
    "finite, very deep, with halves of characters. Wrong is every answer of 500 and above, and a refusal (400, 422) "
    "that names no field. Long work is asked for but not started, and the stream of messages is left out, because it "
    "never ends."
)


@dataclass(slots=True)
class Asked:
    """What the routes answered: how often each status, and what failed."""

    statuses: dict[str, Counter[int]] = field(default_factory=dict)
    faults: dict[str, str] = field(default_factory=dict)


def run(amount: float, rng: Generator) -> Figures:
    """The figures of ``amount`` requests to each route."""
    logging.getLogger("asyncio").setLevel(logging.ERROR)
    found = asked_everything(max(1, int(amount)), int(rng.integers(2**31)))
    rows = []
    for route, counted in found.statuses.items():
        kinds = [sum(n for status, n in counted.items() if status // 100 == hundred) for hundred in (2, 3, 4, 5)]
        rows.append((f"`{route}`", *(str(n) for n in (counted.total(), *kinds))))
    columns = ("route", "requests", "done", "sent on", "refused", "failed")
    faults = tuple(f"{route}: {what}" for route, what in found.faults.items())
    total = sum(counted.total() for counted in found.statuses.values())
    return Figures(_ABOUT, f"{total:,} requests", columns, tuple(rows), faults)


def asked_everything(examples: int, chosen: int) -> Asked:
    """Every route asked ``examples`` times, with the choices that the number ``chosen`` leads to."""
    found = Asked()
    with TemporaryDirectory() as folder, _open(Path(folder)) as benches:
        app = make_app(benches, Door(frozenset({_HOST})))
        app.state.desk.jobs.close()  # what takes long is only taken on: its process has tests of its own
        good_benches(benches)
        shown = _Shown(app)
        schema = schemathesis.openapi.from_asgi("/openapi.json", shown)
        for each in schema.get_all_operations():
            assert isinstance(each, Ok)  # noqa: S101 - the description is our own
            operation = each.ok()
            if not operation.path.endswith(_ENDLESS):
                _ask(operation, shown, examples, chosen, found)
    return found


@contextmanager
def _open(folder: Path) -> Iterator[Benches]:
    benches = open_benches(folder)
    try:
        yield benches
    finally:
        benches.close()


class _Shown:
    """The page's application with its description at an address, asked from this machine by the page itself."""

    def __init__(self, app: FastAPI) -> None:
        self._app = app
        self._description = app.openapi()
        self.broke = ""

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "http" and scope["path"] == "/openapi.json":
            await self._describe(send)
            return
        if scope["type"] == "http":
            own = [(b"host", _HOST.encode()), (b"origin", f"http://{_HOST}".encode())]
            kept = [(name, value) for name, value in scope["headers"] if name not in (b"host", b"origin")]
            scope = {**scope, "client": ("127.0.0.1", 50_000), "headers": [*kept, *own]}
        self.broke = ""
        try:
            await self._app(scope, receive, send)
        except Exception as error:  # it was answered with 500 by then; what it was is said in the figures
            last = traceback.extract_tb(error.__traceback__)[-1]
            place = last.filename.rpartition("site-packages/")[2].rpartition("spinewright/")[2]
            self.broke = f"{type(error).__name__} in {place}, {last.name}: {str(error)[:120]}"

    async def _describe(self, send: Send) -> None:
        body = json.dumps(self._description).encode()
        start: Message = {"type": "http.response.start", "status": 200}
        start["headers"] = [(b"content-type", b"application/json")]
        await send(start)
        await send({"type": "http.response.body", "body": body})


def _ask(operation: APIOperation[Any, Any, Any, Any], shown: _Shown, examples: int, chosen: int, found: Asked) -> None:
    route = f"{operation.method.upper()} {operation.path}"
    counted = found.statuses.setdefault(route, Counter())
    own = bodies_for(operation.path)

    @seed(chosen)
    @settings(
        max_examples=examples,
        database=None,
        deadline=None,
        derandomize=False,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(data=st.data())
    def one(data: st.DataObject) -> None:
        case = data.draw(operation.as_strategy())
        for name, value in places(data.draw(st.integers(0, 9)), case.path_parameters or {}).items():
            case.path_parameters[name] = value
        if own is not None and data.draw(st.integers(0, 3)):
            sent = data.draw(own)
            # as JSON of Python has it: not finite numbers and halves of characters are sent too
            answer = case.call(data=json.dumps(sent).encode(), headers={"content-type": "application/json"})
        else:
            sent, answer = case.body, case.call()
        counted[answer.status_code] += 1
        if answer.status_code in (400, 422) and answer.json()["error"]["field"] is None:
            what = f"a refusal names no field: {answer.json()['error']['what']}"
            found.faults.setdefault(f"{route}, {what}", f"{what} (sent {str(sent)[:150]!a})")
        if answer.status_code >= 500:
            what = shown.broke or str(answer.text)[:200]
            found.faults.setdefault(f"{route}, {what.partition(':')[0]}", f"{what} (sent {str(sent)[:150]!a})")

    one()

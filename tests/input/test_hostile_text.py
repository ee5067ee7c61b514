"""Hostile text comes back as text: on every page, in every answer, in pictures, on sheets, in the session file."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from fastapi.testclient import TestClient

from spinewright.logbook import event_text, parse
from spinewright.report.paper import paper_pdf
from spinewright.report.plot_picture import draw_plots, plot_svg
from spinewright.web.pages import PLACES
from spinewright.workflow.around import papers
from spinewright.workflow.around.account import Account, Plot, Series
from tests.web.benches_samples import HOST, log, served

MARKUP = "</script><pwn onmouseover=\"x()\" href='javascript:x()'>&lt;{{ 7*7 }}{% x %}${7}"
FORMULA = "=HYPERLINK(\"x\")+cmd|' /C x'!A0\t@x"
STEERING = "\u202egnp.exe\u202c \u2066\u2069 \x1b[2J\x07\x08\x00\x7f\x9b31m \u2028\u2029"
HOSTILE = {
    "markup": MARKUP,
    "formula and path": f"{FORMULA} " + "../../../etc/x\\..\\..\\C:\\x\r\nset-cookie: x=1",
    "long": "x" * 20_000,
    "right to left": f"קשת שמאל עברית (left 2 in) خط {STEERING}",
    "mathematics": "$\\frac{$ #eval(x) *b* _u_ `r` @ref <label> \\u{41}",
}
_STEERS = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\u2028\u2029\ud800-\udfff]")


class _Elements(HTMLParser):
    """The elements of a page and whatever in them could run."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.runs: list[str] = []
        self.data: list[str] = []
        self._script = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        self.tags.add(tag)
        self.runs += [name for name, value in attrs if name.startswith("on") or "javascript:" in (value or "")[:20]]
        kind = given.get("type") if tag == "script" else None
        self._script = kind == "application/json"
        if tag == "script" and "src" not in given and not self._script:
            self.runs.append("script")

    def handle_data(self, data: str) -> None:
        if self._script:
            self.data.append(data)
            self._script = False


def _texts(value: Any) -> Iterator[str]:  # noqa: ANN401 - JSON
    if isinstance(value, dict):
        for name, one in value.items():
            yield from (name, *_texts(one))
    elif isinstance(value, list):
        for one in value:
            yield from _texts(one)
    elif isinstance(value, str):
        yield value


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    with served(tmp_path_factory.mktemp("hostile")) as made:
        made.headers["origin"] = f"http://{HOST}"
        yield made


@pytest.fixture(scope="module", params=list(HOSTILE))
def bench(request: pytest.FixtureRequest, client: TestClient) -> tuple[str, str]:
    """A bench that says something hostile wherever a person may write words."""
    text, name = HOSTILE[request.param], f"b{list(HOSTILE).index(request.param)}"
    values: dict[str, Any] = {
        "scope.hand": "left",
        **dict.fromkeys(("bow.name", "shaft.name", "archer.name", "start.note"), text),
    }
    values |= {"limits": [{"about": text, "says": text, "dated": "2026-01-15"}]}
    assert client.put(f"/api/benches/{name}", json={"from": "quick", "values": values}).status_code == 200
    assert client.post(f"/api/benches/{name}/name", json={"name": text}).status_code == 200
    answers: dict[str, Any] = {"kind": "answers", "to": "limits", "answers": [{"question": "limit", "answer": text}]}
    changed = {"kind": "bow changed", "what": text, "note": text}
    for number, event in enumerate((answers, changed)):
        assert log(client, name, f"e{number}", **event).status_code == 200
    return name, text


def test_pages_show_it_as_text(client: TestClient, bench: tuple[str, str]) -> None:
    name, _ = bench
    pages = [page for page in PLACES if page not in ("bench", "nock", "moves", "map")]  # those show no words of anybody
    for path in ("/", f"/b/{name}", f"/b/{name}/around/limits", *(f"/b/{name}/{page}" for page in pages)):
        answer = client.get(path)
        assert answer.status_code == 200, path
        seen = _Elements()
        seen.feed(answer.text)
        assert "pwn" not in seen.tags, path
        assert seen.runs == [], path
        assert _STEERS.search(answer.text) is None, path
        for data in seen.data:
            said = json.loads(data)
            assert not any(_STEERS.search(one) for one in _texts(said)), path


def test_answers_and_downloads_are_inert(client: TestClient, bench: tuple[str, str]) -> None:
    name, text = bench
    for page in (*PLACES, "around/limits", ""):
        answer = client.get(f"/api/benches/{name}/{page}".rstrip("/"))
        if answer.status_code == 404:
            continue  # the bench's own page has its data elsewhere
        assert not any(_STEERS.search(one) for one in _texts(answer.json())), page
    sent = client.get(f"/api/benches/{name}/export")
    assert re.fullmatch(r'attachment; filename="[a-z0-9-]{1,90}\.toml"', sent.headers["content-disposition"])
    assert "set-cookie" not in sent.headers
    kept = parse(sent.text, "a.toml")  # the file itself keeps every character, as codes where they steer
    assert kept.start.bow.name == text.strip()
    assert _STEERS.search(sent.text) is None


def test_refusals_quote_it_inertly(client: TestClient, bench: tuple[str, str]) -> None:
    name, text = bench
    sent = (
        client.put(f"/api/benches/{name}/setup", json={"values": {"bow.peak_weight": text}}),
        client.put(f"/api/benches/{name}/setup", json={"values": {text: "1"}}),
        log(client, name, "ex", kind=text),
        log(client, name, "ex", kind="tear", shaft=1, state=text, distance="6 ft", tail="left 1 in"),
        client.post(f"/api/benches/{name}/read", json={"event": {"kind": "tear", text: text}}),
        client.put("/api/units", json={"units": text}),
    )
    for answer in sent:
        assert answer.status_code == 400
        error = answer.json()["error"]
        assert len(error["sentence"]) < 1200
        assert not any(_STEERS.search(one) for one in _texts(error))


@pytest.mark.parametrize("text", HOSTILE.values(), ids=list(HOSTILE))
def test_the_session_file_gives_it_back_unchanged(text: str) -> None:
    event = {"kind": "bow changed", "what": text, "note": text}
    written = event_text(event)
    assert tomllib.loads(written) == {"event": [event]}
    assert _STEERS.search(written) is None


@pytest.mark.parametrize("text", HOSTILE.values(), ids=list(HOSTILE))
def test_pictures_and_sheets_hold_it_as_text(text: str, tmp_path: Path) -> None:
    points = Series(text[:300], (1, 2), (2, 3), (1, 2), (3, 4), False, (text[:40], "b"))
    plot = Plot(text[:300], text[:40], text[:40], (points,), text[:300]).to_json()
    drawn = plot_svg(plot)
    assert not {one.tag.rpartition("}")[2] for one in ElementTree.fromstring(drawn).iter()} & {"script", "pwn", "a"}  # noqa: S314
    assert _STEERS.search(drawn) is None
    account = Account("try", text, "Yes.", plots=(Plot(text[:300], "x", "y", (points,), "w"),)).to_json()
    assert draw_plots(account, tmp_path / "a.png").stat().st_size > 0
    sheet = papers.Paper("s", text[:500], (papers.words(text), papers.grid([text[:60]], [[text[:60]]])), text[:100])
    pdf = paper_pdf([sheet.to_json()])
    assert not re.search(rb"/(JavaScript|JS|URI|Launch|OpenAction|AA)\b", pdf)

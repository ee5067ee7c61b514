"""What is too large, too deep or packed is refused by its size with a sentence, and memory does not grow with it."""

from __future__ import annotations

import gzip
import json
import tracemalloc
from collections.abc import Iterator
from typing import Any

import pytest
from fastapi.testclient import TestClient

from spinewright.errors import InputError, SessionFileError
from spinewright.web.sent import checked
from spinewright.workflow.benches.tasks import usual_wishes
from tests.web.benches_samples import HOST, served

JSON = {"content-type": "application/json", "origin": f"http://{HOST}"}
MEGABYTE = 1_000_000


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    with served(tmp_path_factory.mktemp("sizes")) as made:
        yield made


def _put(client: TestClient, path: str, content: bytes, **headers: str) -> tuple[int, str]:
    answer = client.put(path, content=content, headers={**JSON, **headers})
    return answer.status_code, str(answer.json()["error"]["sentence"])


@pytest.mark.parametrize(("path", "most"), [("/api/benches/b1", 8_000), ("/api/units", 256)])
def test_a_hundred_megabytes_are_refused_before_they_are_read(client: TestClient, path: str, most: int) -> None:
    body = b'{"text": "' + bytes(100 * MEGABYTE) + b'"}'
    tracemalloc.start()
    status, sentence = _put(client, path, body)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert (status, sentence) == (413, f"That is too large: at most {most:,} kB can be sent here.")
    assert peak < 8 * MEGABYTE  # what the client itself copies is far below the body


@pytest.mark.parametrize("size", ["9" * 30, "-1", "²", "0x10", "1e3", "", "9" * 5000])
def test_a_length_that_is_none_is_refused(client: TestClient, size: str) -> None:
    said = [
        *((name.encode(), value.encode()) for name, value in JSON.items()),
        (b"content-length", size.encode("latin-1")),
    ]
    answer = client.put("/api/units", content=b"{}", headers=said)
    assert answer.status_code == 413


def test_a_body_of_unsaid_length_is_refused(client: TestClient) -> None:
    answer = client.put("/api/units", content=iter([b"{}"]), headers=JSON)
    assert answer.status_code == 411
    assert answer.json()["error"]["sentence"]


def test_a_packed_body_is_not_unpacked(client: TestClient) -> None:
    packed = gzip.compress(bytes(50 * MEGABYTE))
    assert len(packed) < 256_000
    tracemalloc.start()
    status, sentence = _put(client, "/api/units", packed, **{"content-encoding": "gzip"})
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert status == 400
    assert "not a JSON object" in sentence
    assert peak < 8 * MEGABYTE


@pytest.mark.parametrize(
    "bomb", [b"[" * 200_000, b'{"a":' * 40_000 + b"1" + b"}" * 40_000, b"9" * 200_000, b"[" * 900 + b"]" * 900]
)
def test_json_that_is_deep_or_endless_is_refused(client: TestClient, bomb: bytes) -> None:
    for body in (bomb, b'{"event": ' + bomb + b"}"):
        status, sentence = _put(client, "/api/benches/b1/events/e1", body)
        assert status == 400
        assert sentence


def test_a_list_of_millions_stays_below_its_bound(client: TestClient) -> None:
    # the worst JSON there is for its size: some twenty bytes of memory for each that was sent
    body = b'{"values": [' + b"[]," * 80_000 + b"[]]}"
    tracemalloc.start()
    assert _put(client, "/api/benches/b1/setup", body)[0] == 400
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 40 * len(body)
    assert _put(client, "/api/benches/b1/setup", body + bytes(len(body)))[0] == 413


@pytest.mark.parametrize(
    ("value", "field"),
    [
        ({"a": [1, {"b": 2**63}]}, "a[2].b"),
        ({"a": float("nan")}, "a"),
        ({"a": {"b": [float("-inf")]}}, "a.b[1]"),
        ({"a": "\ud800"}, "a"),
        ({"a": {"\udfff": 1}}, "a"),
        ({"a": [[[[[[[[[[[[[[[[[[1]]]]]]]]]]]]]]]]]]}, "a[1]"),
    ],
)
def test_what_nobody_can_mean_is_refused_with_its_place(client: TestClient, value: dict[str, Any], field: str) -> None:
    with pytest.raises(SessionFileError) as error:
        checked(value)
    assert str(error.value.place.field).startswith(field)
    answer = client.post("/api/drawing", content=json.dumps(value).encode(), headers=JSON)
    assert answer.status_code == 400
    assert answer.json()["error"]["field"].startswith(field)


@pytest.mark.parametrize(
    ("what", "wishes"),
    [
        ("next", {"bows": True}),
        ("next", {"bows": 10**9}),
        ("map", {"distance": 20}),
        ("map", {"face": ["40 cm"]}),
        ("map", {"sizes": {"creep": 1}}),
        ("stroke", {"best": {"point": "x", "length": 1}}),
        ("stroke", {"after": ["undo"]}),
        ("around-limits", {"given": 5}),
        ("around-limits", {"given": {"limit": "x"}}),
        ("around-limits", {"given": {"limit": [1]}}),
    ],
)
def test_a_wish_of_another_form_is_refused_before_the_work_starts(what: str, wishes: dict[str, Any]) -> None:
    with pytest.raises(InputError) as error:
        usual_wishes(what, wishes)
    assert error.value.place.field == next(iter(wishes))

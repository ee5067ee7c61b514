"""A left-hander's bench is a right-hander's in the mirror: every place, shape and path that a page draws."""

from __future__ import annotations

from base64 import b64decode
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from fastapi.testclient import TestClient
from numpy.typing import NDArray

from spinewright.workflow.benches.tasks import run_task
from tests.web.benches_samples import SHOTS, log, make, served, tap

MIRRORED = ("x", "lean_x")


def _bench(client: TestClient, hand: str) -> None:
    sign = 1.0 if hand == "right" else -1.0
    make(client, hand, **{"from": "quick", "values": {"scope.hand": hand}})
    for number, (state, x, y) in enumerate(SHOTS, 1):
        sent = tap(number, state, sign * x, y, lean_x=sign * -0.03)
        assert client.put(f"/api/benches/{hand}/walks/w1/taps/t{number}", json=sent).status_code == 200
    for event, keys in (
        ("e1", {"kind": "rest moved", "clicks_xy": [sign * 3, 2]}),
        ("e2", {"kind": "tear", "shaft": 3, "state": "bare", "distance": "6 ft", "tail_xy": [sign * -0.02, 0.01]}),
    ):
        assert log(client, hand, event, **keys).status_code == 200


def _held(right: Any, left: Any, place: str = "") -> int:  # noqa: ANN401 - whatever JSON holds
    """How many numbers are mirrored; fails where one is neither mirrored nor the same."""
    if isinstance(right, dict):
        assert right.keys() == left.keys(), place
        return sum(_held(right[name], left[name], f"{place}.{name}") for name in right)
    if isinstance(right, list):
        assert len(right) == len(left), place
        return sum(_held(a, b, f"{place}[{n}]") for n, (a, b) in enumerate(zip(right, left, strict=True)))
    if isinstance(right, float):
        name = place.rpartition(".")[2]
        # 1e-12: the same sums in another order
        assert left == pytest.approx(-right if name in MIRRORED else right, rel=1e-9, abs=1e-12), place
        return int(name in MIRRORED and right != 0.0)
    return 0


def test_what_the_pages_draw_is_mirrored(tmp_path: Path) -> None:
    with served(tmp_path) as client:
        for hand in ("right", "left"):
            _bench(client, hand)
        mirrored = 0
        for page in ("line", "paper", "nock", "checks"):
            pair = [client.get(f"/api/benches/{hand}/{page}").json() for hand in ("right", "left")]
            mirrored += _held(*pair)
        gaps = [client.get(f"/api/benches/{hand}/story").json()["gaps"] for hand in ("right", "left")]
        assert gaps[0][0]["text"] == gaps[1][0]["text"].replace("left", "right")
        mirrored += _held(*gaps)
        assert mirrored >= 15
        first = [client.get(f"/api/benches/{hand}/meaning").json()["first"] for hand in ("right", "left")]
        assert first[0]["need"] == first[1]["need"]
        assert first[0]["could_be"][0] != first[1]["could_be"][0]


@pytest.mark.slow
def test_motion_and_paths_are_mirrored(tmp_path: Path) -> None:
    texts = []
    with served(tmp_path) as client:
        for hand in ("right", "left"):
            _bench(client, hand)
            texts.append(client.get(f"/api/benches/{hand}/export").text)
    right, left = (_computed("stroke", text) for text in texts)
    for one, other in zip(right["cases"], left["cases"], strict=True):
        a, b = _array(one["shape"]), _array(other["shape"])
        assert np.abs(a).max() > 1e-4
        np.testing.assert_allclose(b, a * np.array([-1.0, 1.0])[:, None, None], atol=1e-7)
    right, left = (_computed("paths", text) for text in texts)
    for one, other in zip(right["cases"], left["cases"], strict=True):
        np.testing.assert_allclose(other["x"], -np.array(one["x"]), atol=2e-6)  # rounded to a micrometre
        np.testing.assert_allclose(other["low_x"], -np.array(one["high_x"]), atol=2e-6)
        np.testing.assert_allclose(other["turn"], -np.array(one["turn"]), atol=2e-6)
        np.testing.assert_allclose(other["y"], one["y"], atol=2e-6)


def _array(sent: dict[str, Any]) -> NDArray[np.float64]:
    return np.frombuffer(b64decode(sent["data"]), dtype="<f4").reshape(sent["shape"]).astype(np.float64)


def _computed(what: str, text: str) -> dict[str, Any]:
    found: Any = run_task(what, text, {}, lambda _share: None)["inch"]
    return dict(found)

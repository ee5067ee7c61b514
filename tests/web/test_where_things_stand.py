"""The overview says where the tune is in one sentence without numbers, for either hand, and when it no longer holds."""

from __future__ import annotations

from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from tests.web.benches_samples import SHOTS, log, make, served, tap

FAR = 2.0  # times further than the sample's bare holes, which a usual archer's scatter might still make


def _standing(client: TestClient, bench: str) -> str:
    data = client.get(f"/api/benches/{bench}/meaning").json()
    shown = client.get(f"/b/{bench}").text
    assert data["standing"] in shown
    assert not any(letter.isdigit() for letter in data["standing"])
    assert shown.index("Where the tune is") < shown.index("The next move") < shown.index("This bow and arrow")
    return str(data["standing"])


@pytest.mark.parametrize(("hand", "sign"), [("right", 1.0), ("left", -1.0)])
def test_where_the_tune_is_follows_what_was_shot(tmp_path: Path, hand: str, sign: float) -> None:
    side = "right" if sign > 0 else "left"
    with served(tmp_path) as client:
        make(client, "b1", **{"from": "quick", "values": {"scope.hand": hand}})
        assert _standing(client, "b1") == "Nothing was seen yet."
        torn = {"kind": "tear", "shaft": 3, "state": "bare", "distance": "6 ft", "tail_xy": [sign * 0.0254, 0.0]}
        assert log(client, "b1", "etear", **torn).status_code == 200
        assert _standing(client, "b1").startswith("No walk with both bare and fletched arrows")
        for times, end in ((FAR, "further than your own scatter makes it."), (0.05, "may make it.")):
            walk = "ewalk" + str(times)[-1]
            for number, (state, x, y) in enumerate(SHOTS, 1):
                far = times if state == "bare" else 0.0
                sent = tap(number, state, sign * far * x, far * y)
                assert client.put(f"/api/benches/b1/walks/{walk}/taps/{walk}{number}", json=sent).status_code == 200
            told = _standing(client, "b1")
            assert told.startswith(f"Bare lies {side}")
            assert told.endswith(end)
        assert log(client, "b1", "erest", kind="rest moved", clicks_xy=[sign, 0]).status_code == 200
        assert _standing(client, "b1").startswith(f"Before the last change bare lay {side}")

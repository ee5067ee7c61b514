"""The page says what the command line says: the same session, the same words and numbers."""

from __future__ import annotations

import json
import time
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient
from typer.testing import CliRunner

from spinewright.advice import MoveKind
from spinewright.cli import app
from tests.web.benches_samples import log, make, served, shoot
from tests.web.conftest import WISHES
from tests.web.server_process import ServerProcess, answered


def _run(*args: str) -> dict[str, Any]:
    outcome = CliRunner().invoke(app, [*args, "--json"])
    assert outcome.exit_code == 0, outcome.output
    found: dict[str, Any] = json.loads(outcome.stdout)
    return found


def _exported(client: TestClient, bench: str, folder: Path) -> str:
    path = folder / "exported.toml"
    path.write_text(client.get(f"/api/benches/{bench}/export").text, encoding="utf-8")
    return str(path)


@pytest.mark.slow
def test_the_demo_bench_is_answered_alike(demo_server: ServerProcess, benches: dict[str, str], tmp_path: Path) -> None:
    demo = benches["demo"]
    path = f"/api/benches/{demo}"

    def shown(page: str) -> Any:  # noqa: ANN401 - an object of page.md
        return demo_server.ask("GET", f"{path}/{page}")[1]

    (tmp_path / "exported.toml").write_text(shown("export"), encoding="utf-8")
    file = str(tmp_path / "exported.toml")
    meaning = shown("meaning")
    assert meaning["fresh"]
    command = _run("next", file, "--bows", str(WISHES["next"]["bows"]))
    assert meaning["answer"] == command
    assert meaning["bench"]["next"]["words"] == command["explanation"]["move"]
    assert meaning["log"][0]["events"] == command["move"]["events"]
    moves = shown("moves")
    assert [one["words"] for one in moves["others"]] == [
        one["words"] for one in command["others"] if one["kind"] != MoveKind.STOP
    ]
    # +x is the archer's right, 'left' is positive in the command line's objects
    assert moves["chosen"]["gap"]["x"] == pytest.approx(-command["move"]["gap"]["middle"]["left"])
    assert answered(demo_server, demo, "sheet", {})["answer"] == _run("sheet", file)
    chart = shown("map")["answer"]
    fine = chart.pop("fine")
    assert chart == _run("map", file, "--bows", "20", "--mistakes", "expert", "--mistakes", "creep: 1/8 in")
    _fine_agrees(fine, chart)
    again = demo_server.ask("POST", f"{path}/ask/next", dict(WISHES["next"]))[1]
    assert again["state"] == "done", "nothing changed, so nothing is computed again"
    story = shown("story")
    assert len(story["beliefs"]) == 1
    assert story["beliefs"][0]["under_an_inch"] == command["diagnosis"]["under_an_inch"]
    _drawn(shown("seeing"), story["beliefs"][0]["gap"])


def test_an_answer_is_called_old_as_soon_as_something_was_logged(tmp_path: Path) -> None:
    with served(tmp_path / "store") as client:
        make(client, "bdemo", **{"from": "demo"})
        asked = client.post("/api/benches/bdemo/ask/sheet", json={}).json()
        until = time.monotonic() + 240.0
        while asked["state"] in ("waiting", "running"):
            assert time.monotonic() < until, asked
            time.sleep(0.05)
            asked = client.get(f"/api/jobs/{asked['job']}").json()
        assert client.get("/api/benches/bdemo/sheet").json()["fresh"]
        assert log(client, "bdemo", "e1", kind="rest moved", clicks="right 2").status_code == 200
        assert client.get("/api/benches/bdemo/sheet").json()["fresh"] is False


def _fine_agrees(fine: dict[str, Any], chart: dict[str, Any]) -> None:
    """At the builds themselves the fine map has their middle miss."""
    lengths, points = fine["lengths"], fine["points"]
    for build in chart["builds"]:
        if build["own_mistakes"] is None:
            continue
        k = min(range(len(lengths)), key=lambda i: abs(lengths[i] - build["length"]))
        p = min(range(len(points)), key=lambda i: abs(points[i] - build["point"]))
        # the map's text takes the median of the same draws; rounding to a micrometre
        assert fine["own"][p][k] == pytest.approx(build["own_mistakes"]["middle"], abs=2e-6)


def _drawn(seeing: dict[str, Any], gap: dict[str, float]) -> None:
    titles = [case["which"] for case in seeing["stroke"]["answer"]["cases"]]
    assert titles[:4] == ["now", "now", "after", "after"]
    case = seeing["stroke"]["answer"]["cases"][0]
    assert case["shape"]["shape"] == [2, len(case["time"]), len(case["along"])]
    assert case["nock_forward"][0] == 0.0
    # times are sent to a tenth of a microsecond
    assert case["rest"]["lets_go"] < case["departs"] <= case["time"][-1] + 1e-7
    paths = seeing["paths"]["answer"]
    fletched, bare = paths["cases"]
    assert fletched["x"][-1] == pytest.approx(0.0, abs=1e-6)
    # two draws of the same belief with different bows: within half an inch of one another (its own interval is wider)
    assert (bare["x"][-1], bare["y"][-1]) == pytest.approx((gap["x"], gap["y"]), abs=0.0127)


@pytest.mark.parametrize("hand", ["right", "left"])
def test_what_is_logged_is_read_back_alike(tmp_path: Path, hand: str) -> None:
    with served(tmp_path / "store") as client:
        make(client, "b1", **{"from": "quick", "values": {"scope.hand": hand}})
        file = _exported(client, "b1", tmp_path)
        walk = shoot(client, "b1")["walk"]
        said = client.post(f"/api/benches/b1/walks/{walk['id']}/close", json={}).json()["said"]
        arrows = []
        for one in walk["taps"]:
            hole = one["words"].partition("hole ")[2].rstrip(".")
            arrows += [f"--{one['state']}", f"{one['shaft']}: {hole}"]
        command = _run("log", file, "shots", "--distance", "20 yd", "--target", "fresh foam", *arrows)
        # the words round to 0.01 in, so the read-back is compared, not the file
        assert command["said"] == said
        page = log(client, "b1", "e1", kind="rest moved", clicks_xy=[-3, 2]).json()
        command = _run("log", file, "rest", "--clicks", "left 3, up 2")
        assert (page["said"], page["notices"]) == (command["said"], command["notices"])
        page = log(
            client, "b1", "e2", kind="tear", shaft=3, state="bare", distance="6 ft", tail_xy=[0.0254, 0.0]
        ).json()
        command = _run("log", file, "tear", "--shaft", "3", "--bare", "--distance", "6 ft", "--tail", "right 1 in")
        assert page["said"] == command["said"]
        page = log(client, "b1", "e3", kind="undo", undoes="last").json()
        assert page["said"] == _run("log", file, "undo", "last")["said"]

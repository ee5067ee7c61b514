"""The tasks around the tune on the page: listed, asked, followed, shown, printed and kept."""

from __future__ import annotations

import time
from collections.abc import Iterator
from typing import Any

import pytest

from spinewright.workflow.around.register import TASKS
from tests.web.server_process import ServerProcess

LIMIT = "shaft diameter at most 9.3 mm, 2026-03-01, <b>indoor</b> round"


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ServerProcess]:
    with ServerProcess(tmp_path_factory.mktemp("around") / "store") as made:
        made.ask("PUT", "/api/benches/b1", {"from": "quick"})
        yield made


def _worked_out(server: ServerProcess, task: str, given: dict[str, list[str]]) -> dict[str, Any]:
    _, job = server.ask("POST", f"/api/benches/b1/ask/around-{task}", {"given": given})
    until = time.monotonic() + 60.0
    while job["state"] in ("waiting", "running") and time.monotonic() < until:
        time.sleep(0.05)
        _, job = server.ask("GET", f"/api/jobs/{job['job']}")
    return dict(job)


def test_every_task_is_listed_and_opens(server: ServerProcess) -> None:
    status, listed = server.ask("GET", "/api/benches/b1/around")
    assert status == 200
    assert [one["name"] for one in listed["tasks"]] == list(TASKS)
    for name in TASKS:
        status, found = server.ask("GET", f"/api/benches/b1/around/{name}")
        assert (status, found["title"]) == (200, TASKS[name].title)
        status, page = server.ask("GET", f"/b/b1/around/{name}")
        assert status == 200
        for question in TASKS[name].questions:
            assert f'id="q-{question.name}"' in page


def test_numbers_in_a_table_stay_whole(server: ServerProcess) -> None:
    assert _worked_out(server, "recheck", {})["state"] == "done"
    _, page = server.ask("GET", "/b/b1/around/recheck")
    # a fraction alone in the next line reads as a number of its own
    assert "6\N{NO-BREAK SPACE}1/2\N{NO-BREAK SPACE}in</td>" in page


def test_a_task_is_worked_out_shown_and_kept(server: ServerProcess) -> None:
    assert _worked_out(server, "limits", {"limit": [LIMIT]})["state"] == "done"
    _, found = server.ask("GET", "/api/benches/b1/around/limits")
    assert found["fresh"]
    assert found["account"]["answer"] == "Every limit you wrote down is kept."
    _, page = server.ask("GET", "/b/b1/around/limits")
    assert "Every limit you wrote down is kept." in page
    assert "<b>indoor</b>" not in page
    event = {"kind": "answers", "to": "limits", "answers": [{"question": "limit", "answer": LIMIT}]}
    status, _ = server.ask("PUT", "/api/benches/b1/events/ekeep", {"event": event})
    assert status == 200
    _, found = server.ask("GET", "/api/benches/b1/around/limits")
    assert not found["fresh"]  # something was logged since
    assert found["questions"][0]["value"] == LIMIT


def test_a_table_without_rows_is_left_out_of_the_page(server: ServerProcess) -> None:
    assert _worked_out(server, "recheck", {})["state"] == "done"
    _, page = server.ask("GET", "/b/b1/around/recheck")
    assert "Nothing to put back" in page
    assert "<h2>Put back</h2>" not in page


def test_a_wrong_value_in_a_list_names_list_line_and_column(server: ServerProcess) -> None:
    given = {"points": ["mass,kind\n100 gr,sharp\n"]}
    error = _worked_out(server, "builds", given)["error"]
    assert error["field"] == "points"
    assert error["sentence"] == "Line 2, kind: 'sharp' is not a kind of head; known are field, fixed, mechanical."


def test_a_wrong_answer_is_told_in_one_sentence(server: ServerProcess) -> None:
    job = _worked_out(server, "limits", {"limit": ["nonsense"]})
    assert job["state"] == "failed"
    assert "is not a limit with the day it was read" in job["error"]["sentence"]
    assert job["error"]["field"] == "limit"


def test_what_is_not_there_is_not_found(server: ServerProcess) -> None:
    assert server.ask("GET", "/api/benches/b1/around/nonsense")[0] in (400, 404)
    assert server.ask("POST", "/api/benches/b1/ask/around-nonsense", {})[0] == 404
    assert server.ask("GET", "/api/benches/b1/around/limits/plots/7.svg")[0] == 404

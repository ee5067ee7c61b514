"""The worked demo is a story with an end: made up and said so, its last prediction came true, and it is tuned."""

from __future__ import annotations

from spinewright.workflow.benches.invented import invented_session
from tests.web.server_process import ServerProcess


def test_the_worked_demo_ends_tuned_after_a_prediction_that_came_true(
    demo_server: ServerProcess, benches: dict[str, str]
) -> None:
    """What the page says of it is worked out anew each time; the file holds but what was done and seen."""
    _, told = demo_server.ask("GET", f"/api/benches/{benches['demo']}/meaning")
    assert told["bench"]["invented"]
    checked = told["answer"]["checked"]
    assert checked["came_true"]
    shown = demo_server.ask("GET", f"/b/{benches['demo']}/meaning")[1]
    assert f"Foretold was {checked['foretold']['middle']['text']}" in shown
    assert f"of earlier walks, was {checked['seen']['text']}" in shown
    assert told["answer"]["move"]["kind"] == "stop: tuned"
    assert "3 bare" in told["first"]["observed"]
    story = demo_server.ask("GET", f"/api/benches/{benches['demo']}/story")[1]
    assert [one["kind"] for one in story["events"]].count("cut") == 2


def test_the_worked_demo_says_that_it_is_invented_in_its_first_line() -> None:
    assert invented_session().startswith("# INVENTED from the first number to the last")

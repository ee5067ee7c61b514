"""The worked demo is a story with an end: made up and said so, its last prediction came true, and it is tuned."""

from __future__ import annotations

from playwright.sync_api import Browser

from spinewright.workflow.benches.invented import AT_WORK, invented_session
from tests.web.browsing import DESKTOP, address, ready, visit
from tests.web.server_process import ServerProcess, answered


def test_the_worked_demo_ends_tuned_after_a_prediction_that_came_true(
    chromium: Browser, demo_server: ServerProcess
) -> None:
    """What the page says of it is worked out anew each time; the file holds but what was done and seen."""
    with visit(chromium, DESKTOP) as page:
        page.goto(address(demo_server, "/start"))
        page.get_by_role("button", name="Open the worked demo").click()
        page.wait_for_url("**/b/*")
        ready(page)
        bench = page.url.split("/")[4]
    told = answered(demo_server, bench, "next", {"bows": 60})
    assert told["bench"]["invented"]
    checked = told["answer"]["checked"]
    assert checked["came_true"]
    shown = demo_server.ask("GET", f"/b/{bench}/meaning")[1]
    assert f"Foretold was {checked['foretold']['middle']['text']}" in shown
    assert f"of earlier walks, was {checked['seen']['text']}" in shown
    assert told["answer"]["move"]["kind"] == "stop: tuned"
    assert "3 bare" in told["first"]["observed"]


def test_the_worked_demo_says_that_it_is_invented_in_its_first_line() -> None:
    whole, at_work = invented_session(), invented_session(AT_WORK)
    assert whole.startswith("# INVENTED from the first number to the last")
    assert whole.startswith(at_work)
    assert at_work.count("[[event]]") == AT_WORK < whole.count("[[event]]")

"""Nothing tapped is lost: the server killed in the middle of tapping, the page closed, a second device looking on."""

from __future__ import annotations

import random
import re
import threading
from pathlib import Path

import pytest
from playwright.sync_api import APIResponse, Browser, Page, Route, expect

from tests.web.browsing import DESKTOP, PHONE, address, make_bench, middle, ready, saved, visit
from tests.web.quick_server import QuickServer
from tests.web.server_process import ServerProcess


def _taps(server: ServerProcess | QuickServer, bench: str) -> set[tuple[float, float]]:
    _, told = server.ask("GET", f"/api/benches/{bench}/line")
    walks = ([told["walk"]] if told["walk"] else []) + told["walks"]
    return {(round(tap["x"], 4), round(tap["y"], 4)) for walk in walks for tap in walk["taps"]}


@pytest.mark.parametrize("kills", [3, pytest.param(20, marks=pytest.mark.endurance)])
def test_server_killed_while_tapping_loses_nothing(chromium: Browser, tmp_path: Path, kills: int) -> None:
    """Each round: taps while the server is killed at a moment nobody chose, then it comes back; all must be there."""
    moments = random.Random(8)  # noqa: S311 - moments, not secrets
    folder = tmp_path / "store"
    server = QuickServer(folder)
    bench = make_bench(server, "bkilledki", **{"from": "quick", "values": {"scope.hand": "right"}})
    port = server.port
    try:
        with visit(chromium, PHONE) as page:
            page.goto(f"http://127.0.0.1:{port}/b/{bench}/line")
            ready(page)
            for number in range(kills):
                killer = threading.Timer(moments.uniform(0.0, 0.05), server.process.kill)
                killer.start()
                _tap(page, number)
                killer.join()
                server.kill()
                server = QuickServer(folder, port)
                assert server.port == port
            saved(page)
            assert page.locator("[data-tap]").count() == kills
        assert len(_taps(server, bench)) == kills
    finally:
        server.kill()


def _tap(page: Page, number: int) -> None:
    x, y = middle(page.locator("svg.target").first)
    page.touchscreen.tap(x - 130 + 60 * (number % 5), y - 120 + 60 * (number // 5))


def test_a_closed_page_keeps_what_was_not_saved_and_says_so(chromium: Browser, tmp_path: Path) -> None:
    folder = tmp_path / "store"
    server = QuickServer(folder)
    bench = make_bench(server, "bclosedcl", **{"from": "quick", "values": {"scope.hand": "left"}})
    port = server.port
    try:
        with visit(chromium, PHONE) as page:
            page.goto(address(server, f"/b/{bench}/line"))
            ready(page)
            server.kill()
            for number in range(3):
                _tap(page, number)
            expect(page.locator("#saving")).to_have_text("3 not saved yet")
            other = page.context.new_page()
            page.close()
            server = QuickServer(folder, port)
            other.goto(address(server, f"/b/{bench}/line"))
            ready(other)
            saved(other)
            expect(other.locator("[data-tap]")).to_have_count(3)
            expect(other.locator("#saving")).to_be_empty()
        assert len(_taps(server, bench)) == 3
    finally:
        server.kill()


ALONE = "Kept on this device, not yet in the logbook"


def test_holes_are_listed_while_the_line_is_away_and_said_to_be_on_this_device(
    chromium: Browser, tmp_path: Path
) -> None:
    folder = tmp_path / "store"
    server = QuickServer(folder)
    bench = make_bench(server, "bawayaway", **{"from": "quick", "values": {"scope.hand": "right"}})
    port = server.port
    try:
        with visit(chromium, PHONE) as page:
            page.goto(address(server, f"/b/{bench}/line"))
            ready(page)
            _tap(page, 0)
            saved(page)
            rows = page.locator("#holes tr")
            expect(rows).to_have_count(1)
            server.kill()
            for number in (1, 2, 3):
                _tap(page, number)
            expect(rows).to_have_count(4)
            expect(page.locator("#none")).to_be_hidden()
            expect(rows.filter(has_text=ALONE)).to_have_count(3)
            expect(rows.nth(0)).not_to_contain_text(ALONE)
            expect(rows.nth(3)).to_contain_text(re.compile("Shaft 4, bare: hole right [0-9.]+ in, high"))
            expect(page.locator("#read-back")).to_contain_text("Kept on this device only.")
            expect(page.locator("#gap")).to_contain_text("Without the 3 holes that are kept on this device")
            page.get_by_role("button", name="Take back the hole of shaft 2").tap()
            expect(rows).to_have_count(3)
            server = QuickServer(folder, port)
            saved(page)
            expect(page.locator("#holes")).not_to_contain_text(ALONE)
            expect(page.locator("#gap")).not_to_contain_text("kept on this device")
            _, told = server.ask("GET", f"/api/benches/{bench}/line")
            assert [rows.nth(n).locator("td").nth(1).inner_text() for n in range(3)] == [
                tap["words"] for tap in told["walk"]["taps"]
            ]
    finally:
        server.kill()


def test_a_change_that_is_refused_leaves_the_hole_as_it_was(chromium: Browser, demo_server: ServerProcess) -> None:
    bench = make_bench(demo_server, "brefusedr", **{"from": "quick", "values": {"scope.hand": "right"}})
    with visit(chromium, PHONE) as page:
        page.goto(address(demo_server, f"/b/{bench}/line"))
        ready(page)
        page.get_by_label("Head on the next shafts").select_option("fixed-blade head")
        _tap(page, 0)
        saved(page)
        page.get_by_role("button", name="Shaft 1, fletched").tap()
        page.get_by_role("button", name="Bare", exact=True).tap()
        expect(page.locator("#told")).to_contain_text("This hole stays as it was.")
        expect(page.locator("#holes tr")).to_contain_text("Shaft 1, fletched")
        expect(page.locator("[data-tap]")).to_have_count(1)
    _, told = demo_server.ask("GET", f"/api/benches/{bench}/line")
    assert [tap["state"] for tap in told["walk"]["taps"]] == ["fletched"]


@pytest.mark.parametrize("left", [0, 9])
def test_an_answer_torn_on_the_way_is_asked_for_once_more(
    chromium: Browser, demo_server: ServerProcess, left: int
) -> None:
    """The bench wrote the hole and died while it answered: the page sends it again, and one hole stands."""
    bench = make_bench(demo_server, f"btornanswer{left}", **{"from": "quick", "values": {"scope.hand": "right"}})
    torn: list[str] = []

    def tear(route: Route) -> None:
        answer = route.fetch()
        if torn:
            route.fulfill(response=answer)
            return
        torn.append(answer.text())
        route.fulfill(status=answer.status, content_type="application/json", body=torn[0][:left])

    with visit(chromium, PHONE) as page:
        page.goto(address(demo_server, f"/b/{bench}/line"))
        ready(page)
        page.route("**/walks/*/taps/*", tear)
        _tap(page, 0)
        expect(page.locator("#saving")).to_have_text("1 not saved yet")
        saved(page)
        expect(page.locator("[data-tap]")).to_have_count(1)
    assert torn
    assert len(_taps(demo_server, bench)) == 1


def test_an_answer_that_was_overtaken_takes_no_hole_away(chromium: Browser, demo_server: ServerProcess) -> None:
    """A look at the walk is answered before the second tap and comes after that tap's own answer."""
    bench = make_bench(demo_server, "bovertake", **{"from": "quick", "values": {"scope.hand": "right"}})
    held: list[tuple[Route, APIResponse]] = []
    with visit(chromium, PHONE) as page:
        page.goto(address(demo_server, f"/b/{bench}/line"))
        ready(page)
        _tap(page, 0)
        saved(page)
        page.route("**/api/benches/*/line", lambda route: held.append((route, route.fetch())))
        status, _ = demo_server.ask("POST", f"/api/benches/{bench}/name", {"name": "another name"})
        assert status == 200
        page.wait_for_timeout(500)
        assert len(held) == 1
        _tap(page, 1)
        saved(page)
        expect(page.locator("[data-tap]")).to_have_count(2)
        route, answer = held[0]
        route.fulfill(response=answer)
        page.wait_for_timeout(300)
        expect(page.locator("[data-tap]")).to_have_count(2)


def test_a_second_device_sees_a_tap(chromium: Browser, demo_server: ServerProcess) -> None:
    bench = make_bench(demo_server, "bseconddd", **{"from": "quick", "values": {"scope.hand": "right"}})
    path = f"/b/{bench}/line"
    with visit(chromium, PHONE) as phone, visit(chromium, DESKTOP) as desk:
        for page in (phone, desk):
            page.goto(address(demo_server, path))
            ready(page)
        for number in range(3):
            _tap(phone, number)
            expect(desk.locator("[data-tap]")).to_have_count(number + 1, timeout=3_000)


def test_a_walk_ended_elsewhere_keeps_its_holes_and_the_next_tap_begins_another(
    chromium: Browser, demo_server: ServerProcess
) -> None:
    bench = make_bench(demo_server, "bendedend", **{"from": "quick", "values": {"scope.hand": "right"}})
    with visit(chromium, PHONE) as page:
        page.goto(address(demo_server, f"/b/{bench}/line"))
        ready(page)
        _tap(page, 0)
        saved(page)
        event = {"event": {"kind": "rest moved", "intended": "left 1/64 in"}}
        assert demo_server.ask("PUT", f"/api/benches/{bench}/events/eelsewher", event)[0] == 200
        expect(page.locator("[data-tap]")).to_have_count(0)
        _tap(page, 1)
        saved(page)
    _, told = demo_server.ask("GET", f"/api/benches/{bench}/line")
    assert len(told["walks"][0]["taps"]) == len(told["walk"]["taps"]) == 1
    assert told["walk"]["id"] != told["walks"][0]["id"]

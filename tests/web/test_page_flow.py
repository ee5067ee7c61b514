"""The whole way of a first-time user with a finger: empty start, set-up, tear, taps, lean, move, undo, cut, export."""

from __future__ import annotations

import re
from pathlib import Path

from playwright.sync_api import Browser, Page, expect

from tests.web.browsing import (
    DESKTOP,
    PHONE,
    THINKING,
    address,
    fewer_bows,
    fingers,
    make_bench,
    middle,
    ready,
    saved,
    touch,
    visit,
)
from tests.web.server_process import ServerProcess


def test_from_empty_start_to_a_logged_move_and_back(chromium: Browser, server: ServerProcess, tmp_path: Path) -> None:
    with visit(chromium, PHONE, accept_downloads=True) as page:
        fewer_bows(page)
        page.goto(address(server))
        bench = _start(page)
        _checks(page, server, bench)
        _tear(page, server, bench)
        _walk(page, server, bench)
        _move(page, server, bench)
        _story(page, server, bench, tmp_path)


def test_fingers_are_refused_with_the_choice_to_make(chromium: Browser, demo_server: ServerProcess) -> None:
    with visit(chromium, PHONE) as page:
        page.goto(address(demo_server, "/start"))
        page.get_by_role("button", name="Fingers").tap()
        page.get_by_role("button", name="Nothing yet").tap()
        said = "Shooting off the fingers is not supported yet; choose 'release aid'."
        expect(page.locator("#told")).to_have_text(said)
        expect(page.get_by_role("button", name="Release aid")).to_be_focused()
        page.get_by_role("button", name="Release aid").tap()
        page.get_by_role("button", name="Nothing yet").tap()
        page.wait_for_url(re.compile("/checks$"))


def _start(page: Page) -> str:
    expect(page.locator("h1")).to_contain_text("Three questions")
    page.get_by_role("button", name="Left hand").tap()
    shown = page.locator(".behind >> visible=true")
    expect(shown).to_have_count(1)
    expect(shown).to_have_attribute("data-hand", "left")
    page.get_by_label("Name").fill("my first bow")
    page.get_by_label("Peak weight").fill("61 stones")
    page.get_by_role("button", name="Nothing yet").tap()
    expect(page.locator("#told")).to_contain_text("Peak weight: 'stones'")
    page.get_by_label("Peak weight").fill("61 lb")
    page.get_by_role("button", name="Nothing yet").tap()
    page.wait_for_url(re.compile("/b/b[a-z0-9]{8}/checks$"))
    return page.url.split("/")[4]


def _checks(page: Page, server: ServerProcess, bench: str) -> None:
    ready(page)
    for kind, all_of in (("bow check", "All in order"), ("contact check", "All clean")):
        page.get_by_role("button", name=all_of).tap()
        with page.expect_response(lambda response: "/events/" in response.url) as kept:
            page.locator(f"[data-save='{kind}']").tap()
        assert kept.value.ok, kept.value.text()
        expect(page.locator("#told")).to_contain_text("Kept.")
    _, told = server.ask("GET", f"/api/benches/{bench}")
    assert [told["checks"][one]["state"] for one in ("bow", "contact")] == ["passed", "passed"]


def _tear(page: Page, server: ServerProcess, bench: str) -> None:
    page.locator(".thumb").get_by_text("Paper").tap()
    ready(page)
    x, y = middle(page.locator("#tear svg"))
    fingers(page, [(x, y)], [(x + 40, y - 5)], [(x + 84, y - 2)])
    expect(page.locator("#read-back")).to_contain_text("tail tore right")
    page.get_by_role("button", name="Keep this tear").tap()
    expect(page.locator("#read-back")).to_contain_text("Kept.")
    saved(page)
    _, told = server.ask("GET", f"/api/benches/{bench}/paper")
    assert len(told["tears"]) == 1
    assert told["tears"][0]["x"] > 0.01


def _walk(page: Page, server: ServerProcess, bench: str) -> None:
    page.locator(".thumb").get_by_text("At the line").tap()
    ready(page)
    target = page.locator("svg.target").first
    target.scroll_into_view_if_needed()
    x, y = middle(target)
    for across, up in ((-8, 6), (10, -4), (4, 12)):
        touch(page, x + across, y - up)
    for across, up in ((70, -30), (86, -44)):
        touch(page, x + across, y - up)
    expect(page.locator("[data-tap]")).to_have_count(5)
    saved(page)
    expect(page.locator("[data-gap]")).to_contain_text("right")
    _, told = server.ask("GET", f"/api/benches/{bench}/line")
    taps = told["walk"]["taps"]
    assert [tap["state"] for tap in taps] == ["fletched"] * 3 + ["bare"] * 2
    assert all(tap["x"] > 0.04 for tap in taps[3:])
    _lean(page, server, bench, taps[4]["id"])
    page.get_by_role("button", name="Undo tap").tap()
    saved(page)
    page.get_by_role("button", name="Called bad").tap()
    saved(page)
    page.get_by_role("button", name="Called bad").tap()
    saved(page)
    _, told = server.ask("GET", f"/api/benches/{bench}/line")
    assert told["walk"]["taps"][4]["lean_x"] is None, "the undo of the lean was not saved"


def _lean(page: Page, server: ServerProcess, bench: str, tap: str) -> None:
    knob = middle(page.locator(f"[data-knob={tap}]"))
    hole = middle(page.locator(f"[data-tap={tap}] circle").last)
    fingers(page, [knob], [(hole[0] - 30, hole[1])], [(hole[0] - 48, hole[1])])
    saved(page)
    _, told = server.ask("GET", f"/api/benches/{bench}/line")
    lean = next(one for one in told["walk"]["taps"] if one["id"] == tap)["lean_x"]
    assert -0.10 < lean < -0.04, "48 px from the hole is 4 degrees to the left"


def _move(page: Page, server: ServerProcess, bench: str) -> None:
    page.get_by_role("button", name="That was this walk").tap()
    page.wait_for_url(re.compile("/meaning$"))
    expect(page.locator("[data-observed]")).to_contain_text("3 fletched and 2 bare at 20 yd, bare holes right")
    expect(page.locator("[data-move]")).to_be_visible(timeout=THINKING)
    _, told = server.ask("GET", f"/api/benches/{bench}/meaning")
    assert page.locator("[data-move]").inner_text() == told["answer"]["explanation"]["move"]
    page.get_by_text("Why", exact=True).tap()
    assert told["answer"]["explanation"]["why"][0] in page.locator("#why").inner_text()
    if not told["log"]:
        return
    page.get_by_role("button", name="I did this as intended").first.tap()
    expect(page.locator("#told")).to_contain_text("Logged.")
    _, after = server.ask("GET", f"/api/benches/{bench}")
    assert after["last"]["kind"] == told["log"][0]["events"][-1]["kind"]


def _story(page: Page, server: ServerProcess, bench: str, folder: Path) -> None:
    page.locator(".thumb").get_by_text("Story").tap()
    ready(page)
    _, before = server.ask("GET", f"/api/benches/{bench}/story")
    page.locator("[data-undo]").first.tap()
    expect(page.locator("#told .care")).to_be_visible()
    _, after = server.ask("GET", f"/api/benches/{bench}/story")
    assert len(after["events"]) == len(before["events"]) + 1
    assert sum(not one["counts"] for one in after["events"]) == 1
    with page.expect_download(timeout=10_000) as waiting:
        page.get_by_role("link", name="Save the session file").tap()
    waiting.value.save_as(folder / "session.toml")
    _, other = server.ask(
        "PUT", "/api/benches/bagainaaa", {"from": "file", "text": (folder / "session.toml").read_text()}
    )
    assert other["bench"]["events"] == len(after["events"])


def test_a_cut_is_confirmed_with_what_is_left_and_what_is_safe(chromium: Browser, demo_server: ServerProcess) -> None:
    bench = make_bench(demo_server, "bcutcutcu", **{"from": "demo"})
    with visit(chromium, DESKTOP) as page:
        page.goto(address(demo_server, f"/b/{bench}/story"))
        ready(page)
        page.get_by_label("What was done").select_option("cut")
        page.get_by_label("Nock throat to shaft end").fill("28 11/16 in")
        page.get_by_label("Shaft end to shaft end").fill("28 3/16 in")
        page.get_by_role("button", name="Log it").click()
        expect(page.locator("#told")).to_contain_text("shortest safe length: 27 5/8 in")
        _, told = demo_server.ask("GET", f"/api/benches/{bench}")
        assert told["events"] == 18, "nothing is cut before it was confirmed"
        page.get_by_role("button", name="Log it").click()
        expect(page.locator("#told")).to_contain_text("Cut 0.503 in")
        _, told = demo_server.ask("GET", f"/api/benches/{bench}")
        assert told["events"] == 19


def test_the_same_way_with_a_mouse_at_the_desktop(chromium: Browser, demo_server: ServerProcess) -> None:
    bench = make_bench(demo_server, "bmousemou", **{"from": "quick", "values": {"scope.hand": "right"}})
    with visit(chromium, DESKTOP, "dark") as page:
        page.goto(address(demo_server, f"/b/{bench}/line"))
        ready(page)
        x, y = middle(page.locator("svg.target").first)
        page.mouse.click(x, y)
        page.get_by_role("button", name="Shaft 4, bare").click()
        page.mouse.click(x + 150, y)
        saved(page)
        expect(page.locator("[data-gap]")).to_contain_text("right")
        page.mouse.move(x + 150, y)
        page.mouse.down()
        page.mouse.move(x - 100, y, steps=4)
        page.mouse.up()
        saved(page)
        expect(page.locator("[data-gap]")).to_contain_text("left")
        page.get_by_role("button", name="That was this walk").click()
        expect(page.locator("[data-observed]")).to_contain_text("bare hole left")


def test_the_target_with_keys_alone(chromium: Browser, demo_server: ServerProcess) -> None:
    bench = make_bench(demo_server, "bkeyskeys", **{"from": "quick", "values": {"scope.hand": "right"}})
    with visit(chromium, DESKTOP) as page:
        page.goto(address(demo_server, f"/b/{bench}/line"))
        ready(page)
        page.locator("svg.target").first.focus()
        for key in ("ArrowLeft", "ArrowLeft", "ArrowUp", "Enter", "l", "ArrowRight", "ArrowRight", "l"):
            page.keyboard.press(key)
        saved(page)
        _, told = demo_server.ask("GET", f"/api/benches/{bench}/line")
        tap = told["walk"]["taps"][0]
        assert (round(tap["x"], 5), round(tap["y"], 5)) == (-0.0127, 0.00635)
        assert abs(tap["lean_x"] - 0.0349) < 1e-3
        page.keyboard.press("Delete")
        saved(page)
        _, told = demo_server.ask("GET", f"/api/benches/{bench}/line")
        assert not (told["walk"] or {"taps": []})["taps"]


def test_a_broadhead_on_a_bare_shaft_is_refused_in_words(chromium: Browser, demo_server: ServerProcess) -> None:
    bench = make_bench(demo_server, "bheadhead", **{"from": "quick", "values": {"scope.hand": "right"}})
    with visit(chromium, PHONE) as page:
        page.goto(address(demo_server, f"/b/{bench}/line"))
        ready(page)
        page.get_by_label("Head on the next shafts").select_option("fixed-blade head")
        page.get_by_role("button", name="Shaft 4, bare").tap()
        target = page.locator("svg.target").first
        target.scroll_into_view_if_needed()
        touch(page, *middle(target))
        expect(page.locator("#told")).to_contain_text("unfletched")
        expect(page.locator("[data-tap]")).to_have_count(0)
        saved(page)

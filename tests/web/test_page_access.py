"""Every page for every eye and hand: no violation axe-core knows, both sizes, light and dark, left and right."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.web.browsing import DESKTOP, PHONE, address, make_bench, ready, visit
from tests.web.server_process import ServerProcess

AXE = Path(__file__).parent / "vendor" / "axe.min.js"
BENCH_PAGES = (
    *("", "line", "paper", "nock", "meaning", "moves", "seeing", "map", "setup", "checks", "story"),
    *("around", "around/limits"),
)
COLOURS = ("color-contrast", "link-in-text-block")  # a scheme changes colours and nothing else
SMALL = """() => [...document.querySelectorAll('button, select, input, summary, .thumb a, .rail a')]
  .filter((one) => one.checkVisibility() && !one.disabled && !one.closest('label.tick'))
  .map((one) => [one.getBoundingClientRect(), one.outerHTML.slice(0, 90)])
  .filter(([box]) => box.height < 43.5 || box.width < 43.5).map(([, text]) => text)"""


def _violations(page: Page, rules: Sequence[str] = ()) -> list[str]:
    """What axe-core finds wrong, by all its rules or by these alone."""
    found = page.evaluate(
        """async (rules) => (await axe.run(document, { resultTypes: ['violations'],
        ...(rules.length ? { runOnly: { type: 'rule', values: rules } } : {}) })).violations""",
        list(rules),
    )
    return [f"{one['id']}: {one['nodes'][0]['html'][:200]}" for one in found]


@pytest.mark.parametrize("size", [PHONE, pytest.param(DESKTOP, marks=pytest.mark.endurance)], ids=["phone", "desktop"])
def test_every_page_is_open_to_everybody(
    chromium: Browser, demo_server: ServerProcess, benches: dict[str, str], size: tuple[int, int]
) -> None:
    """Each page is loaded once at each size; in the dark, whose colours are the same at any size, on the phone."""
    wrong = []
    places = ["/", "/start", "/join", "/nowhere", *(f"/b/{benches['demo']}/{one}".rstrip("/") for one in BENCH_PAGES)]
    if size == PHONE:  # a left-hander's empty bench has the same pages with less in them
        places += [f"/b/{benches['empty']}/{one}".rstrip("/") for one in BENCH_PAGES]
    with visit(chromium, size, bypass_csp=True, reduced_motion="reduce") as page:
        page.add_init_script(path=AXE)
        for place in places:
            page.goto(address(demo_server, place))
            page.wait_for_load_state("load")
            page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
            page.emulate_media(color_scheme="light")
            wrong += [f"{place}: {one}" for one in _violations(page)]
            if size == PHONE:
                page.emulate_media(color_scheme="dark")
                wrong += [f"{place}, dark: {one}" for one in _violations(page, COLOURS)]
            if page.evaluate("document.documentElement.scrollWidth > innerWidth"):
                wrong.append(f"{place}: wider than the screen")
            if size == PHONE:
                wrong += [f"{place}: too small for a thumb: {one}" for one in page.evaluate(SMALL)]
    assert not wrong, "\n".join(wrong)


UNDER = """() => { const one = document.activeElement, bar = document.querySelector('.thumb');
  const box = one.getBoundingClientRect(), edge = bar.getBoundingClientRect().top;
  return bar.contains(one) || box.top < 0 || box.bottom <= edge + 1 ? '' : one.outerHTML.slice(0, 90); }"""


def test_the_focus_is_never_under_the_places_at_the_thumb(
    chromium: Browser, demo_server: ServerProcess, benches: dict[str, str]
) -> None:
    with visit(chromium, PHONE) as page:
        page.goto(address(demo_server, f"/b/{benches['demo']}/story"))
        ready(page)
        stops = []
        for _ in range(40):
            page.keyboard.press("Tab")
            stops.append(page.evaluate(UNDER))
        assert not any(stops), stops


def test_the_keyboard_goes_on_from_where_something_was_logged_or_undone(
    chromium: Browser, demo_server: ServerProcess
) -> None:
    bench = make_bench(demo_server, "bkeeponon", **{"from": "quick", "values": {"scope.hand": "left"}})
    with visit(chromium, DESKTOP) as page:
        page.goto(address(demo_server, f"/b/{bench}/story"))
        ready(page)
        page.get_by_label("Clicks").fill("left 3")
        page.keyboard.press("Enter")
        expect(page.locator("[data-undo]")).to_be_visible()
        expect(page.get_by_label("What was done")).to_be_focused()
        page.locator("[data-undo]").focus()
        page.keyboard.press("Enter")
        expect(page.locator("#told")).to_contain_text("Undone")
        expect(page.locator("[data-live=events]")).to_be_focused()


def test_pictures_are_mirrored_for_the_other_hand(chromium: Browser, demo_server: ServerProcess) -> None:
    right = make_bench(demo_server, "brighttwo", **{"from": "quick", "values": {"scope.hand": "right"}})
    left = make_bench(demo_server, "blefttwoo", **{"from": "quick", "values": {"scope.hand": "left"}})
    places = {}
    with visit(chromium, DESKTOP) as page:
        for hand, bench in (("right", right), ("left", left)):
            page.goto(address(demo_server, f"/b/{bench}"))
            places[hand] = page.evaluate(
                """() => { const box = document.querySelector('.behind').getBoundingClientRect();
                const riser = document.querySelector('.behind .riser').getBoundingClientRect();
                return [riser.left - box.left, box.right - riser.right]; }"""
            )
    assert places["right"] == pytest.approx(places["left"][::-1], abs=0.5)
    assert places["right"][0] > places["right"][1] + 5, "a right-hander's riser stands right of the middle"


def test_units_are_switched_everywhere(chromium: Browser, demo_server: ServerProcess, benches: dict[str, str]) -> None:
    with visit(chromium, DESKTOP) as page:
        page.goto(address(demo_server, f"/b/{benches['demo']}/meaning"))
        assert " in" in page.locator("[data-move]").inner_text()
        page.get_by_role("button", name="Show metric units").click()
        page.wait_for_selector("body[data-units=metric]", timeout=8_000)
        assert " mm" in page.locator("[data-live=causes]").inner_text()
        assert "cm at" in (page.locator("#gap-drawing").text_content() or "")

"""Every page for every eye and hand: no violation axe-core knows, both sizes, light and dark, left and right."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.web.browsing import DESKTOP, PHONE, address, make_bench, ready, saved, visit
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


@pytest.mark.parametrize(
    ("size", "bench"),
    [
        (PHONE, "demo"),
        pytest.param(PHONE, "empty", marks=pytest.mark.endurance),  # a left-hander's: the same pages with less in them
        pytest.param(DESKTOP, "demo", marks=pytest.mark.endurance),
    ],
    ids=["phone", "phone, empty", "desktop"],
)
def test_every_page_is_open_to_everybody(
    chromium: Browser, demo_server: ServerProcess, benches: dict[str, str], size: tuple[int, int], bench: str
) -> None:
    """Each page is loaded once at each size; in the dark, whose colours are the same at any size, on the phone."""
    wrong = []
    places = [] if bench == "empty" else ["/", "/start", "/join", "/nowhere"]
    places += [f"/b/{benches[bench]}/{one}".rstrip("/") for one in BENCH_PAGES]
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


STOP = """() => { const one = document.activeElement, box = one.getBoundingClientRect();
  const part = one.closest('.skip, .head, .rail, main, .foot, .thumb');
  return [part ? part.className.split(' ')[0] || 'main' : '', box.left >= 0 && box.top >= 0 && box.height > 0]; }"""


@pytest.mark.parametrize("size", [PHONE, DESKTOP], ids=["phone", "desktop"])
def test_the_keyboard_goes_through_a_page_in_the_order_it_is_seen(
    chromium: Browser, demo_server: ServerProcess, benches: dict[str, str], size: tuple[int, int]
) -> None:
    """First a link to the page's content, in sight; then the parts as they stand, the rail below them on a phone."""
    with visit(chromium, size) as page:
        page.goto(address(demo_server, f"/b/{benches['demo']}/checks"))
        ready(page)
        parts: list[str] = []
        while True:
            page.keyboard.press("Tab")
            part, seen = page.evaluate(STOP)
            if not part:  # the browser's own
                break
            assert seen, part
            parts += [part] if parts[-1:] != [part] else []
        beside = ["rail", "main"] if size == DESKTOP else ["main", "rail"]
        assert parts == ["skip", "head", *beside, "foot", *(["thumb"] if size == PHONE else [])]
        page.goto(address(demo_server, f"/b/{benches['demo']}/checks"))
        page.keyboard.press("Tab")
        skip = page.get_by_role("link", name="To the page's content")
        expect(skip).to_be_focused()
        expect(skip).to_be_in_viewport(ratio=1)
        page.keyboard.press("Enter")
        expect(page.locator("main")).to_be_focused()
        page.keyboard.press("Tab")
        assert page.evaluate(STOP) == ["main", True]


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


def test_the_keyboard_stays_where_it_is_while_holes_are_chosen_and_taken_back(
    chromium: Browser, demo_server: ServerProcess
) -> None:
    bench = make_bench(demo_server, "bkeystayk", **{"from": "quick", "values": {"scope.hand": "right"}})
    with visit(chromium, DESKTOP) as page:
        page.goto(address(demo_server, f"/b/{bench}/line"))
        ready(page)
        for shaft in ("Shaft 1, fletched", "Shaft 4, bare"):
            page.get_by_role("button", name=shaft).focus()
            page.keyboard.press("Enter")
            expect(page.get_by_role("button", name=shaft)).to_be_focused()
            page.locator("svg.target").first.focus()
            page.keyboard.press("Enter")
        saved(page)
        choose = page.get_by_role("button", name="Choose shaft 1")
        choose.focus()
        page.keyboard.press("Enter")
        expect(choose).to_have_attribute("aria-pressed", "true")
        expect(choose).to_be_focused()
        page.get_by_role("button", name="Take back the hole of shaft 1").focus()
        page.keyboard.press("Enter")
        saved(page)
        expect(page.locator("#holes tr")).to_have_count(1)
        expect(page.locator("#holes")).to_be_focused()


def test_plain_words_have_one_colour_with_and_without_a_bench(
    chromium: Browser, demo_server: ServerProcess, benches: dict[str, str]
) -> None:
    with visit(chromium, PHONE) as page:
        seen = set()
        for place in ("/", "/start", "/join", f"/b/{benches['demo']}", f"/b/{benches['empty']}/line"):
            page.goto(address(demo_server, place))
            plain = page.locator("body, main, h1")
            seen |= set(plain.evaluate_all("all => all.map((one) => getComputedStyle(one).color)"))
        assert len(seen) == 1, seen


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

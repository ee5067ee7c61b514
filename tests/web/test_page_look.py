"""How the page looks: head, content and foot begin on one line, a map can be read, plots suit the dark."""

from __future__ import annotations

import re
from io import BytesIO

import pytest
from PIL import Image, ImageStat
from playwright.sync_api import Browser, Page, expect

from tests.web.browsing import DESKTOP, PHONE, address, ready, visit
from tests.web.server_process import ServerProcess, answered

LEFTS = """() => ['.mark', 'h1', '.foot button'].map((one) => {
  const found = document.querySelector(one).getBoundingClientRect(); return Math.round(found.left); })"""
LEVELS = """() => {
  const box = (one) => { const b = one.getBoundingClientRect(); return [b.left, b.top, b.right, b.bottom]; };
  const words = [...document.querySelectorAll('#map svg text')];
  return { levels: words.filter((one) => one.classList.contains('level')).map(box), words: words.map(box),
    size: Math.min(...words.map((one) => parseFloat(getComputedStyle(one).fontSize) * one.getScreenCTM().a)),
    frame: box(document.querySelector('#map svg')) }; }"""


@pytest.mark.parametrize("size", [PHONE, DESKTOP], ids=["phone", "desktop"])
def test_head_content_and_foot_begin_on_one_line(
    chromium: Browser, demo_server: ServerProcess, benches: dict[str, str], size: tuple[int, int]
) -> None:
    with visit(chromium, size) as page:
        lefts = {}
        for path in ("/", "/start", f"/b/{benches['demo']}"):
            page.goto(address(demo_server, path))
            lefts[path] = page.evaluate(LEFTS)
        for path in ("/", "/start"):
            assert len(set(lefts[path])) == 1, lefts
        heads = {(mark, foot) for mark, _, foot in lefts.values()}
        assert len(heads) == 1, "head and foot stand where they stand on a bench's pages"


def _apart(boxes: list[list[float]], by: float) -> bool:
    return not any(
        min(a[2], b[2]) - max(a[0], b[0]) > -by and min(a[3], b[3]) - max(a[1], b[1]) > -by
        for number, a in enumerate(boxes)
        for b in boxes[:number]
    )


@pytest.mark.parametrize("size", [PHONE, DESKTOP], ids=["phone", "desktop"])
def test_the_numbers_of_the_map_can_be_read(
    chromium: Browser, demo_server: ServerProcess, benches: dict[str, str], size: tuple[int, int]
) -> None:
    with visit(chromium, size) as page:
        page.goto(address(demo_server, f"/b/{benches['demo']}/map"))
        ready(page)
        found = page.evaluate(LEVELS)
        assert len(found["levels"]) >= 3
        assert _apart(found["levels"], 1.0)
        assert _apart(found["words"], -3.0), "letters' boxes are higher than their ink"
        assert found["size"] > 12, "px"
        left, top, right, bottom = found["frame"]
        assert all(b[0] > left and b[1] > top and b[2] < right and b[3] < bottom for b in found["words"])
        expect(page.locator("#map figcaption")).to_contain_text(re.compile(r"^Lines: miss at 20 yd, in inches\."))


def test_a_plot_is_light_on_the_dark_sheet(
    chromium: Browser, demo_server: ServerProcess, benches: dict[str, str]
) -> None:
    wishes: dict[str, object] = {"given": {"wind": ["10 mph"], "from": ["right"], "distances": ["20, 40 yd"]}}
    answered(demo_server, benches["demo"], "around-wind", wishes)
    shades: dict[str, tuple[float, float]] = {}
    for scheme in ("dark", "light"):
        with visit(chromium, PHONE, scheme) as page:
            page.goto(address(demo_server, f"/b/{benches['demo']}/around/wind"))
            ready(page)
            plate = page.locator(".plate").first
            page.wait_for_function("() => document.querySelector('.plate img').naturalWidth > 0")
            with Image.open(BytesIO(plate.screenshot())) as shot:
                found = ImageStat.Stat(shot.convert("L"))
                shades[scheme] = (found.median[0], found.extrema[0][1])
            assert _colour(page, ".plate") == _colour(page, ".sheet"), "the sheet shows through"
    assert shades["dark"][0] < 50 < shades["dark"][1] - 100, "a dark ground, light ink"
    assert shades["light"][0] > 240


def _colour(page: Page, which: str) -> str:
    return str(page.locator(which).first.evaluate("(one) => getComputedStyle(one).backgroundColor"))


def test_a_wrong_list_is_named_where_it_is_said(
    chromium: Browser, demo_server: ServerProcess, benches: dict[str, str]
) -> None:
    with visit(chromium, PHONE) as page:
        page.goto(address(demo_server, f"/b/{benches['empty']}/around/builds"))
        ready(page)
        page.get_by_label("Your points and heads", exact=False).first.fill("mass,kind\n100 gr,sharp")
        page.get_by_role("button", name="Work it out").tap()
        told = page.locator("#task-job .care")
        expect(told).to_have_text(
            "Your points and heads: Line 2, kind: 'sharp' is not a kind of head; known are field, fixed, mechanical."
        )


def test_a_shaft_in_a_list_is_called_so_on_a_phone(
    chromium: Browser, demo_server: ServerProcess, benches: dict[str, str]
) -> None:
    listed = "shaft,mass\n1,251 gr\n2,252 gr\n3,251.4 gr"
    answered(demo_server, benches["demo"], "around-alike", {"given": {"shafts": [listed], "count": ["2"]}})
    for size, name in ((PHONE, "shaft 1"), (DESKTOP, "1")):
        with visit(chromium, size) as page:
            page.goto(address(demo_server, f"/b/{benches['demo']}/around/alike"))
            ready(page)
            names = page.locator("section", has_text="Set A").locator("th[scope=row]").all_inner_texts()
            assert name in names

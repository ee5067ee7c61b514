"""The documents' two pictures of the page, from the worked demo; SPINEWRIGHT_PICTURES=write takes them anew."""

from __future__ import annotations

import os
from pathlib import Path

from playwright.sync_api import Browser, expect

from tests.web.browsing import DESKTOP, PHONE, THINKING, address, make_bench, middle, ready, saved, visit
from tests.web.server_process import ServerProcess

PICTURES = Path(__file__).parents[2] / "docs" / "pictures"
WRITE = os.environ.get("SPINEWRIGHT_PICTURES") == "write"
LEAST = 15_000  # bytes: an empty page is smaller


def test_pictures_of_the_documents_can_be_taken(
    chromium: Browser, demo_server: ServerProcess, benches: dict[str, str], tmp_path: Path
) -> None:
    folder = PICTURES if WRITE else tmp_path
    bench = make_bench(demo_server, "bpicturep", **{"from": "demo"})
    with visit(chromium, DESKTOP) as page:
        # Answered with as many plausible bows as a person's page asks for when it is to be kept, else with a few.
        page.goto(address(demo_server, f"/b/{bench if WRITE else benches['demo']}/meaning"))
        expect(page.locator("[data-move]")).to_be_visible(timeout=THINKING)
        page.set_viewport_size({"width": DESKTOP[0], "height": 1180})  # down to the end of the next move
        meaning = page.screenshot(path=folder / "page-meaning.png")
    with visit(chromium, PHONE, device_scale_factor=2) as page:
        page.goto(address(demo_server, f"/b/{bench}/line"))
        ready(page)
        x, y = middle(page.locator("svg.target").first)
        for across, up in ((-16, 12), (22, -8), (4, 30)):
            page.touchscreen.tap(x + across, y - up)
        page.get_by_role("button", name="Shaft 7, bare").tap()
        for across, up in ((72, -34), (98, -4)):
            page.touchscreen.tap(x + across, y - up)
        saved(page)
        expect(page.locator("[data-gap]")).to_contain_text("right")
        page.wait_for_timeout(100)
        line = page.screenshot(path=folder / "page-line-phone.png")
    assert min(len(meaning), len(line)) > LEAST

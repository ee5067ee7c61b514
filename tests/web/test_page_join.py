"""A phone joins on its own page and is taken off on the machine's, in a browser, with nothing axe-core knows wrong."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.web.browsing import DESKTOP, PHONE, visit
from tests.web.quick_server import QuickServer
from tests.web.test_page_access import AXE, SMALL, _violations

SHARED = "127.0.0.2"  # another address of this machine, there without any network


def _nothing_wrong(page: Page) -> None:
    assert not _violations(page)
    assert not page.evaluate(SMALL)
    assert not page.evaluate("document.documentElement.scrollWidth > innerWidth")


@pytest.mark.endurance
def test_a_phone_joins_and_is_taken_off(chromium: Browser, tmp_path: Path) -> None:
    server = QuickServer(tmp_path / "store", lan=SHARED)
    try:
        with (
            visit(chromium, DESKTOP, bypass_csp=True, reduced_motion="reduce") as machine,
            visit(chromium, PHONE, bypass_csp=True, reduced_motion="reduce") as phone,
        ):
            for page in (machine, phone):
                page.add_init_script(path=AXE)
            machine.goto(f"http://127.0.0.1:{server.port}/join")
            expect(machine.locator("[data-live=devices]")).to_contain_text("None.")
            address = machine.get_by_text(f"http://{SHARED}:{server.port}/pair#").inner_text()
            phone.goto(address)
            phone.get_by_label("What shall this device be called?").fill("Range phone")
            _nothing_wrong(phone)
            phone.get_by_role("button", name="Join").tap()
            phone.wait_for_url(f"http://{SHARED}:{server.port}/start")
            [cookie] = [one for one in phone.context.cookies() if one["name"] == "pair"]
            assert cookie["httpOnly"]
            assert cookie["sameSite"] == "Strict"
            expect(machine.locator("[data-device]")).to_contain_text("Range phone")
            expect(machine.get_by_text(address, exact=True)).to_have_count(0)  # it is used up; the next stands there
            _nothing_wrong(machine)
            phone.goto(f"http://{SHARED}:{server.port}/join")
            phone.goto(address)
            phone.get_by_role("button", name="Join").tap()
            expect(phone.get_by_role("alert")).to_contain_text("used already")
            machine.get_by_role("button", name="Take off Range phone").click()
            expect(machine.get_by_role("alert")).to_contain_text("Range phone was taken off.")
            expect(machine.locator("[data-device]")).to_have_count(0)
    finally:
        server.kill()

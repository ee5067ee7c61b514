"""How quick the bench page is in Chromium: time to use, tap to read-back, and a second device; beside a bare answer."""

from __future__ import annotations

import shutil
import statistics
import tempfile
import time
from pathlib import Path

from playwright.sync_api import Browser, CDPSession, Page, sync_playwright
from tests.web.browsing import DESKTOP, PHONE, address, make_bench, middle, ready, saved, visit
from tests.web.conftest import ARGUMENTS
from tests.web.server_process import ServerProcess

__all__ = ["rows"]

SLOWED = 6.0  # times
LOADS, TAPS = 5, 8
# Milliseconds from the finger's lift to the read-back of the hole, for each tap.
WATCH = """() => { window.times = []; const place = document.getElementById('read-back');
  document.querySelector('svg.target').addEventListener('pointerup', () => { const from = performance.now();
    const look = new MutationObserver(() => { if (!place.textContent.includes('hole')) return; look.disconnect();
      window.times.push(performance.now() - from); });
    look.observe(place, {childList: true, characterData: true, subtree: true}); }, {capture: true}); }"""
LOADED = "performance.getEntriesByType('navigation')[0].loadEventEnd"
# What can be used before it can be seen cannot be used.
USABLE = """Math.max(performance.getEntriesByName('usable')[0].startTime,
  performance.getEntriesByName('first-contentful-paint')[0]?.startTime ?? 0)"""


def rows() -> list[tuple[str, str]]:
    """What was measured; without Chromium one line that says so."""
    chromium = shutil.which("chromium") or shutil.which("chromium-headless-shell")
    if chromium is None:
        return [("the page in a browser", "Chromium is not installed")]
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=chromium, args=list(ARGUMENTS))
        server = ServerProcess(Path(folder) / "store")
        try:
            return [*_loads(browser, server), *_taps(browser, server), _second_device(browser, server)]
        finally:
            server.kill()
            browser.close()


def _loads(browser: Browser, server: ServerProcess) -> list[tuple[str, str]]:
    """Time until the page at the line can be used, and until a bare drawing is there, in browsers that keep nothing.

    The least of several says what the page needs, the median what it took beside all else that the machine did.
    """
    bench = make_bench(server, "bloadsloa", **{"from": "demo"})
    found = []
    for rate in (1.0, SLOWED):
        first, again, bare, works = [], [], [], []
        for _ in range(LOADS):
            with visit(browser, PHONE) as page:
                driver = page.context.new_cdp_session(page)
                driver.send("Emulation.setCPUThrottlingRate", {"rate": rate})
                driver.send("Performance.enable", {"timeDomain": "threadTicks"})
                first.append(_load(page, address(server, f"/b/{bench}/line"), USABLE))
                works.append(_work(driver))
                again.append(_load(page, address(server, f"/b/{bench}/line"), USABLE))
            with visit(browser, PHONE) as page:
                page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": rate})
                bare.append(_load(page, address(server, "/static/mark.svg"), LOADED))
        told = (
            f"{_least(first)} at first, {_least(again)} later, {_least(bare)} for a bare drawing; "
            f"the page's own work at first {_least(works)}"
        )
        found.append((f"page at the line usable, processor slowed {rate:.0f} times", told))
    return found


def _least(times: list[float]) -> str:
    return f"{min(times):.0f} ms (median {statistics.median(times):.0f})"


def _work(driver: CDPSession) -> float:
    """Milliseconds of processor time that scripts, styles and layout took."""
    found = {one["name"]: float(one["value"]) for one in driver.send("Performance.getMetrics")["metrics"]}
    return 1000.0 * sum(found[name] for name in ("ScriptDuration", "LayoutDuration", "RecalcStyleDuration"))


def _load(page: Page, url: str, figure: str) -> float:
    page.goto(url)
    if figure == USABLE:
        ready(page)
    else:
        page.wait_for_load_state("load")
    return float(page.evaluate(figure))


def _taps(browser: Browser, server: ServerProcess) -> list[tuple[str, str]]:
    """Tap to read-back: alone, with the bows being thought through, and on a slow phone; against a bare answer."""
    bare = statistics.median(_asked(server) for _ in range(20))
    found = []
    for what, bows, rate in (("alone", 0, 1.0), ("500 bows thought through", 500, 1.0), ("slowed", 0, SLOWED)):
        bench = make_bench(server, f"btaps{bows}x{rate:.0f}", **{"from": "demo"})
        with visit(browser, PHONE) as page:
            page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": rate})
            page.goto(address(server, f"/b/{bench}/line"))
            ready(page)
            if bows:
                server.ask("POST", f"/api/benches/{bench}/ask/next", {"bows": bows})
            times = _tapped(page)
        told = (
            f"{statistics.median(times):.0f} ms, worst {max(times):.0f} ({statistics.median(times) / bare:.1f} times)"
        )
        found.append((f"tap to read-back, {what} (against a bare answer)", told))
    return found


def _asked(server: ServerProcess) -> float:
    began = time.perf_counter()
    server.ask("GET", "/api/health")
    return 1000.0 * (time.perf_counter() - began)


def _tapped(page: Page) -> list[float]:
    page.evaluate(WATCH)
    x, y = middle(page.locator("svg.target").first)
    for number in range(TAPS):
        page.touchscreen.tap(x - 120 + 32 * number, y + (60 if number % 2 else -60))
        saved(page)
        page.wait_for_timeout(60)
    return [float(one) for one in page.evaluate("window.times")]


def _second_device(browser: Browser, server: ServerProcess) -> tuple[str, str]:
    bench = make_bench(server, "bsecondse", **{"from": "quick", "values": {"scope.hand": "right"}})
    lags = []
    with visit(browser, PHONE) as phone, visit(browser, DESKTOP, bypass_csp=True) as desk:
        for page in (phone, desk):
            page.goto(address(server, f"/b/{bench}/line"))
            ready(page)
        x, y = middle(phone.locator("svg.target").first)
        for number in range(TAPS):
            phone.touchscreen.tap(x - 120 + 32 * number, y)
            began = time.perf_counter()
            desk.wait_for_function(f"document.querySelectorAll('[data-tap]').length > {number}")
            lags.append(1000.0 * (time.perf_counter() - began))
    return "a second device shows the hole", f"{statistics.median(lags):.0f} ms, worst {max(lags):.0f}"

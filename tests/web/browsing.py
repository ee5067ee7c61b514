"""What the tests of the page in a browser share: a phone and a desktop, fingers, and waits that end."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from playwright.sync_api import Browser, Locator, Page, expect

from tests.web.quick_server import QuickServer
from tests.web.server_process import ServerProcess

PHONE, DESKTOP = (390, 844), (1280, 800)
WAIT = 20_000  # ms; a wait ends with what it waits for, so only a busy machine comes near
expect.set_options(timeout=WAIT)
_RESTING = 80  # ms that fingers rest before they lift: a flick makes Chromium swallow the tap after it
_LIFTED = 320  # ms that a hand needs to its next touch; Chromium takes quicker ones for one gesture
THINKING = 45_000  # ms for the plausible bows on a busy machine


def address(server: ServerProcess | QuickServer, path: str = "/") -> str:
    """Where ``path`` is."""
    return f"http://127.0.0.1:{server.port}{path}"


@contextmanager
def visit(
    browser: Browser, size: tuple[int, int] = PHONE, scheme: str = "light", **more: bool | str | float
) -> Iterator[Page]:
    """A page in a browser that knows nothing yet; what its console complains of is an error."""
    width, height = size
    phone = size == PHONE
    options: dict[str, Any] = {"color_scheme": scheme, "has_touch": phone, "is_mobile": phone, **more}
    context = browser.new_context(viewport={"width": width, "height": height}, **options)
    context.set_default_timeout(WAIT)
    page = context.new_page()
    wrong: list[str] = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    try:
        yield page
        assert not wrong, wrong
    finally:
        context.close()


def make_bench(server: ServerProcess | QuickServer, bench: str, **body: object) -> str:
    """A bench, made as the page makes it; its id."""
    status, answer = server.ask("PUT", f"/api/benches/{bench}", body)
    assert status == 200, answer
    return bench


def ready(page: Page) -> None:
    """Wait until the page's module has drawn."""
    page.wait_for_selector("body[data-ready=yes]", timeout=WAIT)


def middle(target: Locator) -> tuple[float, float]:
    """The middle of a drawing on the screen."""
    box = target.bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def touch(page: Page, x: float, y: float) -> None:
    """One finger, down and up."""
    page.touchscreen.tap(x, y)


def fingers(page: Page, *steps: Sequence[tuple[float, float]]) -> None:
    """Fingers that go down at the first step, through the others, and up."""
    driver = page.context.new_cdp_session(page)
    points: list[dict[str, float]] = []
    for number, places in enumerate(steps):
        points = [{"x": x, "y": y, "id": finger} for finger, (x, y) in enumerate(places)]
        kind = "touchStart" if number == 0 else "touchMove"
        driver.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    page.wait_for_timeout(_RESTING)
    nearly = [{**point, "y": point["y"] + 0.5} for point in points]
    driver.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": nearly})
    driver.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    driver.detach()
    page.wait_for_timeout(_LIFTED)


def saved(page: Page) -> None:
    """Wait until nothing waits to be sent."""
    page.wait_for_selector("body[data-waiting='0']", timeout=WAIT)


def fewer_bows(page: Page, bows: int = 40) -> None:
    """Let the page ask for fewer plausible bows than it does for a person, so that a test does not take a minute."""
    page.route("**/ask/next", lambda route: route.continue_(post_data={"bows": bows}))

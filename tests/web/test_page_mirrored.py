"""Every drawing of a left-hander's pages is a right-hander's in the mirror, shape by shape as the browser draws it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from playwright.sync_api import Browser, Page

from tests.web.benches_samples import SHOTS, tap
from tests.web.browsing import DESKTOP, address, make_bench, ready, visit
from tests.web.server_process import ServerProcess, answered

NEAR = 0.75  # px, of a place or a size on the screen
SHAPES = """() => [...document.querySelectorAll('svg.drawing, svg.target')].filter((svg) => svg.checkVisibility())
  .map((svg) => { const frame = svg.getBoundingClientRect();
    return [...svg.querySelectorAll('path, circle, ellipse, line, rect')].filter((one) => !one.closest('defs'))
      .map((one) => { const box = one.getBoundingClientRect();
        return [`${one.tagName} ${one.getAttribute('class') || ''}`, box.left + box.width / 2 - frame.left,
          box.top - frame.top, box.width, box.height, frame.width]; }); })"""


def _bench(server: ServerProcess, hand: str) -> str:
    sign = 1.0 if hand == "right" else -1.0
    bench = make_bench(server, f"bmirr{hand}", **{"from": "quick", "values": {"scope.hand": hand}})
    for number, (state, x, y) in enumerate(SHOTS, 1):
        sent = tap(number, state, sign * x, y, lean_x=sign * 0.05 * number)
        assert server.ask("PUT", f"/api/benches/{bench}/walks/w1/taps/t{number}", sent)[0] == 200
    answered(server, bench, "next", {"bows": 20})
    return bench


def _drawn(page: Page, server: ServerProcess, bench: str, place: str, prepare: Callable[[Page], None] | None) -> Any:  # noqa: ANN401
    page.goto(address(server, f"/b/{bench}/{place}".rstrip("/")))
    ready(page)
    if prepare is not None:
        prepare(page)
    page.wait_for_timeout(150)  # a drawing is made again once its size is known
    return page.evaluate(SHAPES)


def _unmatched(right: list[list[Any]], left: list[list[Any]]) -> list[str]:
    """Shapes of the one drawing that the other has no mirror image of."""
    rest, alone = list(left), []
    for what, x, y, wide, high, frame in right:
        wanted = (frame - x, y, wide, high)
        found = next(
            (
                one
                for one in rest
                if one[0] == what and all(abs(a - b) < NEAR for a, b in zip(one[1:5], wanted, strict=True))
            ),
            None,
        )
        if found is None:
            alone.append(f"{what} at {x:.1f}, {y:.1f}, {wide:.1f} by {high:.1f}")
        else:
            rest.remove(found)
    return alone + [f"only the left-hander's: {one}" for one in rest]


def _pressed(key: str) -> Callable[[Page], None]:
    def press(page: Page) -> None:
        page.locator("#tear svg").focus()
        for _ in range(6):
            page.keyboard.press(key)

    return press


def _turned(way: str) -> Callable[[Page], None]:
    def turn(page: Page) -> None:
        page.locator("#turning").select_option(way)
        page.locator("#more").click()

    return turn


def test_every_drawing_is_mirrored(chromium: Browser, demo_server: ServerProcess) -> None:
    benches = [_bench(demo_server, hand) for hand in ("right", "left")]
    ways = {
        "paper": (_pressed("ArrowRight"), _pressed("ArrowLeft")),
        "nock": (_turned("clockwise"), _turned("counterclockwise")),
    }
    lopsided = 0
    with visit(chromium, DESKTOP) as page:
        for place in ("", "line", "paper", "nock", "meaning", "moves"):
            pair = [
                _drawn(page, demo_server, bench, place, way)
                for bench, way in zip(benches, ways.get(place, (None, None)), strict=True)
            ]
            assert len(pair[0]) == len(pair[1]) > 0, place
            for right, left in zip(*pair, strict=True):
                assert not _unmatched(right, left), place
                lopsided += bool(_unmatched(right, right))
    assert lopsided >= 6, "a drawing that is its own mirror image would show nothing"

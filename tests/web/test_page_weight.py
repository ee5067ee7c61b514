"""How heavy the page is: the weight of its first load. How quick it is, is measured in benchmarks/page.py."""

from __future__ import annotations

import gzip
from pathlib import Path
from urllib.parse import urlsplit

from playwright.sync_api import Browser

from tests.web.browsing import PHONE, address, make_bench, visit
from tests.web.server_process import ServerProcess

HEAVIEST = 150_000  # bytes of a first load, compressed
MOST_ANSWERS = 5  # beside the page itself: style, script, font, mark, and the stream of news
STATIC = Path(__file__).parents[2] / "src" / "spinewright" / "web" / "static"


def test_first_load_is_light(chromium: Browser, demo_server: ServerProcess) -> None:
    bench = make_bench(demo_server, "blightlig", **{"from": "demo"})
    for path in ("/start", f"/b/{bench}", f"/b/{bench}/line", f"/b/{bench}/map"):
        with visit(chromium, PHONE) as page:
            page.goto(address(demo_server, path))
            page.wait_for_load_state("load")
            seen = page.evaluate("performance.getEntriesByType('resource').map((one) => one.name)")
        # each further answer costs a slow phone more than its bytes: style, script, font and mark, each but once
        assert len({urlsplit(one).path for one in seen}) == len(seen) <= MOST_ANSWERS, seen
        loaded = [address(demo_server, path), *(one for one in seen if "/stream" not in one)]
        weight = sum(_weight(demo_server, one) for one in loaded)
        assert 20_000 < weight < HEAVIEST, f"{path}: {weight} bytes in {len(loaded)} answers"


def _weight(server: ServerProcess, url: str) -> int:
    """Bytes of an answer, compressed as the server sends it; fonts are compressed already."""
    path = urlsplit(url).path
    if path.endswith(".woff2"):
        return (STATIC / path.removeprefix("/static/")).stat().st_size
    status, body = server.ask("GET", path)
    assert status == 200, url
    return len(gzip.compress(str(body).encode(), 6))

"""What is drawn and touched beside the main way: pinch, magnifier, dial, set-up, motion, map, cut, work cancelled."""

from __future__ import annotations

import time
from importlib import resources

import pytest
from playwright.sync_api import Browser, Locator, Page, Route, expect

from tests.web.benches_samples import SHOTS, tap
from tests.web.browsing import DESKTOP, PHONE, THINKING, address, fingers, make_bench, middle, ready, saved, visit
from tests.web.server_process import ServerProcess, answered

TYPED_OVER = """one => { one.value = '29.6 in'; one.dispatchEvent(new Event('input'));
  return one.closest('dialog').querySelector('.go').disabled; }"""
BOXES = """texts => texts.map((one) => { const box = one.getBoundingClientRect();
  return [one.textContent, box.left, box.top, box.right, box.bottom]; })"""

CROSSED = """drawing => { const words = [...drawing.querySelectorAll("text[stroke]")]
    .map((one) => one.getBoundingClientRect());
  return [...drawing.querySelectorAll("ellipse")].map((ring) => Array.from({ length: 200 }, (_, n) => {
    const at = ring.getPointAtLength(ring.getTotalLength() * n / 200).matrixTransform(ring.getScreenCTM());
    return words.filter((box) => at.x > box.left && at.x < box.right && at.y > box.top && at.y < box.bottom).length;
  }).reduce((sum, one) => sum + one, 0)); }"""


def _overlapping(words: list[tuple[str, float, float, float, float]]) -> list[tuple[str, str]]:
    """Words of a drawing that stand on one another by more than 3 px each way."""
    pairs = [(a, b) for number, a in enumerate(words) for b in words[:number]]
    return [
        (a[0], b[0])
        for a, b in pairs
        if min(a[3], b[3]) - max(a[1], b[1]) > 3 and min(a[4], b[4]) - max(a[2], b[2]) > 3
    ]


def test_pinch_zooms_and_a_finger_sees_through_a_magnifier(chromium: Browser, demo_server: ServerProcess) -> None:
    bench = make_bench(demo_server, "bpinchpin", **{"from": "quick", "values": {"scope.hand": "right"}})
    with visit(chromium, PHONE) as page:
        page.goto(address(demo_server, f"/b/{bench}/line"))
        ready(page)
        x, y = middle(page.locator("svg.target").first)
        wide = page.locator("svg.target").first.evaluate("one => one.getBoundingClientRect().width")
        fingers(page, [(x - 20, y), (x + 20, y)], [(x - 50, y), (x + 50, y)], [(x - 80, y), (x + 80, y)])
        assert page.locator("[data-tap]").count() == 0, "two fingers put no hole"
        driver = page.context.new_cdp_session(page)
        for kind, at in (("touchStart", (x + 40, y)), ("touchMove", (x + 80, y - 20))):
            driver.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": at[0], "y": at[1]}]})
        expect(page.locator(".loupe")).to_be_visible()
        driver.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
        expect(page.locator(".loupe")).to_be_hidden()
        saved(page)
    _, told = demo_server.ask("GET", f"/api/benches/{bench}/line")
    tap = told["walk"]["taps"][0]
    # The drawing's width shows 20 in, pinched to a quarter; the finger lifts 80 px right and 20 px up of the spot.
    assert abs(tap["x"] - 80 * 0.508 / wide / 4) < 3e-4, tap
    assert abs(tap["y"] - 20 * 0.508 / wide / 4) < 3e-4, tap


def test_a_series_on_the_nock_dial(chromium: Browser, demo_server: ServerProcess) -> None:
    bench = make_bench(demo_server, "bdialdial", **{"from": "quick", "values": {"scope.hand": "right"}})
    with visit(chromium, PHONE) as page:
        page.goto(address(demo_server, f"/b/{bench}/nock"))
        ready(page)
        for number in range(4):
            page.locator("#keep").scroll_into_view_if_needed()
            page.wait_for_timeout(100)
            x, y = middle(page.locator("#tear svg"))
            fingers(page, [(x, y)], [(x + 20, y)], [(x + 60 - 10 * number, y - 10)])
            page.get_by_role("button", name="Keep this reading").tap()
        page.get_by_role("button", name="Save the series").tap()
        expect(page.locator("#read-back")).to_contain_text("Kept.")
    _, told = demo_server.ask("GET", f"/api/benches/{bench}/nock")
    readings = told["series"][0]["readings"]
    assert [round(one["angle"], 2) for one in readings] == [0.0, 0.35, 0.7, 1.05]
    assert readings[0]["x"] > readings[3]["x"] > 0.005


@pytest.mark.parametrize("size", [PHONE, DESKTOP], ids=["phone", "desktop"])
def test_dial_angle_and_tear_are_on_one_screen(
    chromium: Browser, demo_server: ServerProcess, size: tuple[int, int]
) -> None:
    bench = make_bench(demo_server, f"bonescr{size[0]}", **{"from": "quick", "values": {"scope.hand": "right"}})
    with visit(chromium, size) as page:
        page.goto(address(demo_server, f"/b/{bench}/nock"))
        ready(page)
        page.evaluate("scrollTo(0, 0)")
        floor = page.evaluate("document.querySelector('.thumb').getBoundingClientRect().top || innerHeight")
        for part in ("#dial svg", "#angle", "#more", "#less", "#tear svg", "#keep", "#drop", "#save"):
            box = page.locator(part).bounding_box()
            assert box is not None
            assert box["y"] > 0, part
            assert box["y"] + box["height"] <= floor, part
        words = page.locator("#dial svg text")
        sizes = words.evaluate_all(
            "all => all.map((one) => parseFloat(getComputedStyle(one).fontSize) * one.getScreenCTM().a)"
        )
        assert min(sizes) > 11, "px"
        assert not _overlapping(words.evaluate_all(BOXES))


def test_setting_up_draws_while_typing_and_keeps_when_told(chromium: Browser, demo_server: ServerProcess) -> None:
    bench = make_bench(demo_server, "bsettingu", **{"from": "quick", "values": {"scope.hand": "right"}})
    with visit(chromium, DESKTOP) as page:
        page.goto(address(demo_server, f"/b/{bench}/setup"))
        ready(page)
        before = page.locator("#arrow-words").inner_text()
        expect(page.locator("[data-key='bow.draw_length']")).to_have_css("border-top-style", "dashed")
        mass = page.locator("[data-key='arrow.point.mass']")
        page.locator("details.sheet:has([data-key='arrow.point.mass']) > summary").click()
        mass.fill("200 gr")
        expect(page.locator("#arrow-words")).not_to_have_text(before)
        mass.fill("heavy")
        expect(page.locator("#errors")).to_contain_text("heavy")
        mass.fill("125 gr")
        page.get_by_text("Paste a scale's readings").click()
        readings = ((7, 0), (9, 25), (11.5, 47), (14, 57), (17, 58), (20.5, 57), (23.5, 42), (25.5, 21), (27, 11))
        page.locator("#paste").fill("\n".join(f"{draw} in  {force} lb" for draw, force in readings))
        expect(page.locator("[data-list='bow.draw_readings'] tbody tr")).to_have_count(len(readings))
        expect(page.locator("#curve circle")).to_have_count(len(readings))
        page.get_by_role("button", name="Keep these values").click()
        expect(page.locator("#told")).to_contain_text("Kept.")
    _, told = demo_server.ask("GET", f"/api/benches/{bench}/setup")
    assert told["values"]["arrow.point.mass"] == "125 gr"
    assert len(told["values"]["bow.draw_readings"]) == len(readings)
    assert "arrow.point.mass" not in told["assumed"]
    assert "bow.draw_length" in told["assumed"], "what nobody typed stays a stand-in"


def test_the_arrow_stays_in_sight_above_its_values_on_a_phone(chromium: Browser, demo_server: ServerProcess) -> None:
    bench = make_bench(demo_server, "bbesidebe", **{"from": "quick", "values": {"scope.hand": "right"}})
    with visit(chromium, PHONE) as page:
        page.goto(address(demo_server, f"/b/{bench}/setup"))
        ready(page)
        for section in page.locator("#arrow-part details").all():
            section.evaluate("one => { one.open = true; }")
        drawing = page.locator("#arrow svg")
        for key in ("shaft.spine", "arrow.throat_length", "arrow.vanes.mass", "arrow.point.mass"):
            page.locator(f"[data-key='{key}']").focus()
            expect(page.locator(f"[data-key='{key}']")).to_be_in_viewport(ratio=1)
            expect(drawing).to_be_in_viewport(ratio=0.95)
            floor = drawing.evaluate("one => one.getBoundingClientRect().bottom")
            top = page.evaluate("document.activeElement.getBoundingClientRect().top")
            assert top > floor, f"the drawing covers {key}"
        before = drawing.get_attribute("aria-label") or ""
        page.locator("[data-key='arrow.point.mass']").fill("200 gr")
        expect(drawing).not_to_have_attribute("aria-label", before)
        words = drawing.locator("text")
        assert not _overlapping(words.evaluate_all(BOXES))
        page.locator("[data-key='arrow.point.mass']").fill("heavy")
        expect(page.locator("#arrow")).to_contain_text("heavy")
        expect(page.locator("#arrow")).to_be_in_viewport(ratio=0.95)
        page.locator("[data-key='bow.draw_length']").focus()
        expect(page.locator("#arrow")).not_to_be_in_viewport()


def test_motion_paths_and_map_are_drawn_and_touched(
    chromium: Browser, demo_server: ServerProcess, benches: dict[str, str]
) -> None:
    with visit(chromium, DESKTOP) as page:
        page.goto(address(demo_server, f"/b/{benches['demo']}/seeing"))
        ready(page)
        first = page.locator("#stroke path.fletched").first.get_attribute("d")
        page.wait_for_timeout(300)
        assert page.locator("#stroke path.fletched").first.get_attribute("d") != first, "it moves"
        assert "times larger" in page.locator("#stroke figcaption").inner_text()
        assert page.locator("#paths path.bare").count() == 2
        page.goto(address(demo_server, f"/b/{benches['demo']}/map"))
        ready(page)
        box = page.locator("#map svg").bounding_box()
        assert box is not None
        expect(page.get_by_label("with the mistakes of")).to_have_value("expert")
        page.get_by_text("What each stated mistake costs").click()
        expect(page.get_by_role("region", name="Mistakes")).to_contain_text("0.125 in")
        expect(page.locator("#mistakes")).to_contain_text("typical for an expert, as chosen. Given by you: creeping")
        width, height = PHONE
        page.set_viewport_size({"width": width, "height": height})
        assert page.locator("#mistakes .scroll").evaluate("(one) => one.scrollWidth <= one.clientWidth + 1")
        width, height = DESKTOP
        page.set_viewport_size({"width": width, "height": height})
        page.get_by_label("with the mistakes of").select_option("an archer who is still learning")
        page.get_by_label("Hand torque").fill("0.2 deg")
        page.route("**/ask/map", lambda route: route.abort())
        with page.expect_request("**/ask/map") as waiting:
            page.get_by_role("button", name="Work it out anew").click()
        asked = waiting.value.post_data_json or {}
        assert (asked["level"], asked["sizes"]) == ("learning", {"creep": "1/8 in", "torque": "0.2 deg"})
        here = page.locator("#map h2").inner_text()
        # the map may have moved down the page since; a click on it waits until it stands still
        page.locator("#map svg").click(position={"x": box["width"] * 0.35, "y": box["height"] * 0.3})
        expect(page.locator("#map h2")).not_to_have_text(here)
        words = page.locator("#map svg text").evaluate_all(BOXES)
        assert not _overlapping(words)
        for what in ("Offset at 20 yd", "Miss by own mistakes", "Speed"):
            expect(page.locator("#map dl")).to_contain_text(what)
        page.keyboard.press("ArrowRight")
        page.keyboard.press("ArrowRight")
        expect(page.locator("#map h2")).not_to_have_text(here)


def test_a_cut_that_next_advises_is_confirmed_first(chromium: Browser, demo_server: ServerProcess) -> None:
    """The worked demo up to its first cut: there the next move is that cut."""
    whole = (resources.files("spinewright.workflow.benches") / "invented_bench.toml").read_text(encoding="utf-8")
    head, *events = whole.split("[[event]]")
    upto = next(n for n, one in enumerate(events) if 'kind = "cut"' in one)
    text = head + "".join(f"[[event]]{one}" for one in events[:upto])
    bench = make_bench(demo_server, "badvisedc", **{"from": "file", "text": text, "name": "demo.toml"})
    told = answered(demo_server, bench, "next", {"bows": 60})
    [cut] = told["log"][0]["events"]
    assert [cut] == told["answer"]["move"]["events"]
    assert (told["answer"]["move"]["kind"], cut["kind"]) == ("cut the shaft", "cut")
    with visit(chromium, PHONE) as page:
        page.goto(address(demo_server, f"/b/{bench}/meaning"))
        ready(page)
        assert told["answer"]["move"]["cannot_undo"] in page.locator("#next").inner_text()
        page.get_by_role("button", name="I did this as intended").first.tap()
        box = page.get_by_role("dialog")
        for shown in (told["cut"]["left"]["text"], told["cut"]["safe"]["text"], "cannot be undone"):
            expect(box).to_contain_text(shown)
        yes = box.get_by_role("button", name="Yes, it is cut")
        expect(yes).to_be_enabled()
        _decided_in_sight(box)
        expect(box.get_by_label("Nock throat to shaft end")).to_have_value("29 11/16 in")
        expect(box.get_by_label("Shaft end to shaft end")).to_have_value("29 3/16 in")
        # what was typed over is not what is shown as left: no yes to it in the same moment, nor before it was looked at
        assert box.get_by_label("Nock throat to shaft end").evaluate(TYPED_OVER)
        box.get_by_label("Nock throat to shaft end").fill("27 1/2 in")
        box.get_by_label("Shaft end to shaft end").fill("27 in")
        box.get_by_label("Shaft end to shaft end").press("Tab")
        expect(box.locator(".cut-foot")).to_contain_text("SHORTER")
        expect(yes).to_be_disabled()
        page.set_viewport_size({"width": PHONE[0], "height": 480})  # as much as a phone's keyboard leaves
        _decided_in_sight(box)
        expect(box.locator(".cut-foot")).to_contain_text("27 5/8 in")
        box.get_by_label("Nock throat to shaft end").fill("fred")
        expect(box.locator(".cut-foot")).to_contain_text("'fred'")
        expect(box.get_by_text("fall off the rest")).to_be_hidden()
        _decided_in_sight(box)
        page.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})
        box.get_by_label("Nock throat to shaft end").fill("29.7 in")
        box.get_by_label("Shaft end to shaft end").fill("29.2 in")
        box.get_by_label("Shaft end to shaft end").press("Tab")
        expect(box).not_to_contain_text("SHORTER")
        expect(yes).to_be_enabled()
        box.get_by_role("button", name="Not now").tap()
        assert demo_server.ask("GET", f"/api/benches/{bench}")[1]["events"] == upto
        page.get_by_role("button", name="I did this as intended").first.tap()
        yes.tap()
        expect(page.locator("#told")).to_contain_text("Cut 0.5")
        _, after = demo_server.ask("GET", f"/api/benches/{bench}")
        assert (after["last"]["kind"], after["events"]) == ("cut", upto + 1)


def _decided_in_sight(box: Locator) -> None:
    """Both answers to a cut, each large enough for a thumb, and the two lengths they are given by."""
    for part in (*box.get_by_role("button").all(), *box.locator(".cut-foot dd").all()):
        expect(part).to_be_in_viewport(ratio=1)
    sizes = box.get_by_role("button").evaluate_all("all => all.map((one) => one.getBoundingClientRect().height)")
    assert len(sizes) == 2
    assert min(sizes) >= 44


def test_long_work_shows_how_far_it_is_and_is_cancelled(chromium: Browser, demo_server: ServerProcess) -> None:
    bench = make_bench(demo_server, "bcancelca", **{"from": "demo"})
    with visit(chromium, PHONE) as page:
        page.goto(address(demo_server, f"/b/{bench}"))
        ready(page)
        page.get_by_role("button", name="Work out the next move").tap()
        expect(page.locator("progress")).to_be_visible()
        page.get_by_role("button", name="Stop this").tap()
        expect(page.locator("progress")).to_have_count(0, timeout=2_000)
        assert _answer(page, bench) is None


def _answer(page: Page, bench: str) -> object:
    return page.evaluate("async (url) => (await (await fetch(url)).json()).answer", f"/api/benches/{bench}/meaning")


def test_a_session_file_is_brought_in(chromium: Browser, demo_server: ServerProcess, benches: dict[str, str]) -> None:
    _, text = demo_server.ask("GET", f"/api/benches/{benches['demo']}/export")
    with visit(chromium, DESKTOP) as page:
        page.goto(address(demo_server, "/start#import"))
        page.locator("#file").set_input_files({"name": "mine.toml", "mimeType": "text/plain", "buffer": text.encode()})
        page.get_by_role("button", name="Bring it in").click()
        expect(page.locator("h1")).to_have_text("Where things stand")
        assert page.url.split("/")[4] != benches["demo"]


OVERLAPS = """() => {
  const boxes = [...document.querySelectorAll('svg.target .number-of')].map((one) => one.getBoundingClientRect());
  const shrunk = boxes.map((box) => ({ l: box.left + 1, r: box.right - 1, t: box.top + 3, b: box.bottom - 3 }));
  const meet = (a, b) => a.l < b.r && b.l < a.r && a.t < b.b && b.t < a.b;
  return shrunk.flatMap((a, n) => shrunk.slice(n + 1).filter((b) => meet(a, b))).length; }"""


def test_numbers_of_a_tight_group_stay_legible(chromium: Browser, demo_server: ServerProcess) -> None:
    bench = make_bench(demo_server, "btighttig", **{"from": "quick", "values": {"scope.hand": "right"}})
    near = ((4, 2), (-6, 5), (8, -6), (2, 0), (-2, -3), (6, 1))  # mm from the spot
    for shaft, (x, y) in enumerate(near, 1):
        walk = {"kind": "shots", "distance": "20 yd", "target": "fresh foam"}
        hole = {"shaft": shaft, "state": "bare" if shaft > 3 else "fletched", "x": x / 1000, "y": y / 1000}
        path = f"/api/benches/{bench}/walks/etighttig/taps/t{shaft}"
        assert demo_server.ask("PUT", path, {"walk": walk, "tap": hole})[0] == 200
    for size in (PHONE, DESKTOP):
        with visit(chromium, size) as page:
            page.goto(address(demo_server, f"/b/{bench}/line"))
            ready(page)
            expect(page.locator("svg.target .number-of")).to_have_count(len(near))
            assert page.evaluate(OVERLAPS) == 0


def test_quick_work_is_shown_although_it_is_done_before_its_name_is_known(
    chromium: Browser, demo_server: ServerProcess
) -> None:
    """The answer that names the work is held back until the work is done and its message has gone by."""
    bench = make_bench(demo_server, "bquickwor", **{"from": "quick"})

    def late(route: Route) -> None:
        answer = route.fetch()
        path = f"/api/jobs/{answer.json()['job']}"
        while demo_server.ask("GET", path)[1]["state"] in ("waiting", "running"):
            time.sleep(0.05)
        time.sleep(0.3)  # by then its message has gone by
        route.fulfill(response=answer)

    with visit(chromium, PHONE) as page:
        page.goto(address(demo_server, f"/b/{bench}/around/limits"))
        page.route("**/ask/around-limits", late)
        page.locator("#q-limit").fill("arrow mass at least 100 gr, 2026-03-01, a round of our own")
        page.get_by_role("button", name="Work it out").click()
        expect(page.locator("[data-live=account] .big")).to_be_visible(timeout=THINKING)
        expect(page.locator("#task-job progress")).to_have_count(0)


@pytest.mark.parametrize("size", [PHONE, DESKTOP], ids=["phone", "desktop"])
def test_lists_of_the_setup_have_room_to_type_in(
    chromium: Browser, demo_server: ServerProcess, size: tuple[int, int]
) -> None:
    """A row of many columns is not one line of slits, and the draw curve is seen where its readings are typed in."""
    bench = make_bench(demo_server, f"brooms{size[0]}", **{"from": "quick", "values": {"scope.hand": "right"}})
    with visit(chromium, size) as page:
        page.goto(address(demo_server, f"/b/{bench}/setup"))
        ready(page)
        page.locator("#section-owned > summary").click()
        shafts = page.locator("[data-list='owned.shafts']")
        shafts.get_by_role("button", name="One more row").click()
        widths = shafts.locator("tbody input").evaluate_all(
            "all => all.map((one) => one.getBoundingClientRect().width)"
        )
        assert len(widths) > 5
        assert min(widths) > 100
        readings = page.locator("[data-list='bow.draw_readings']")
        readings.get_by_role("button", name="One more row").click()
        readings.get_by_label("draw, new row").scroll_into_view_if_needed()
        readings.get_by_label("draw, new row").fill("20 in")
        expect(page.locator("#curve svg")).to_be_in_viewport(ratio=0.8)


def test_an_empty_bench_explains_nothing_that_is_not_there(
    chromium: Browser, demo_server: ServerProcess, benches: dict[str, str]
) -> None:
    with visit(chromium, DESKTOP) as page:
        for place, words in (("meaning", "offset of bare from fletched"), ("story", "bars = four cases of five")):
            for bench, there in ((benches["empty"], False), (benches["demo"], True)):
                page.goto(address(demo_server, f"/b/{bench}/{place}"))
                ready(page)
                expect(page.get_by_text(words)).to_be_visible(visible=there)
        page.goto(address(demo_server, f"/b/{benches['empty']}/nock"))
        ready(page)
        expect(page.locator("#none")).to_be_visible()
        page.get_by_role("button", name="Keep this reading").click()
        expect(page.locator("#none")).to_be_hidden()


def test_a_reason_against_several_moves_is_said_once(
    chromium: Browser, demo_server: ServerProcess, benches: dict[str, str]
) -> None:
    _, told = demo_server.ask("GET", f"/api/benches/{benches['demo']}/moves")
    reasons = [one["reason"] for one in told["refused"]]
    assert len(reasons) > len(set(reasons))
    with visit(chromium, DESKTOP) as page:
        page.goto(address(demo_server, f"/b/{benches['demo']}/moves"))
        ready(page)
        refused = page.locator("section", has_text="May not be made now")
        text = refused.inner_text().lower()
        assert all(text.count(reason.lower()) == 1 for reason in reasons)
        assert all(one["words"].lower() in text for one in told["refused"])


def test_a_walk_that_goes_on_is_read_back_with_words_unbroken(chromium: Browser, demo_server: ServerProcess) -> None:
    bench = make_bench(demo_server, "bgoesongo", **{"from": "quick", "values": {"scope.hand": "left"}})
    for number, (state, x, y) in enumerate(SHOTS, 1):
        sent = tap(number, state, -x, y, lean_x=0.03)
        assert demo_server.ask("PUT", f"/api/benches/{bench}/walks/w1/taps/t{number}", sent)[0] == 200
    with visit(chromium, PHONE) as page:
        page.goto(address(demo_server, f"/b/{bench}/line"))
        ready(page)
        expect(page.locator("#read-back")).to_contain_text("Shaft 4, bare: hole left")
        heights = page.locator("#holes button").evaluate_all(
            "all => all.map((one) => one.getBoundingClientRect().height)"
        )
        assert len(heights) == 2 * len(SHOTS)
        assert max(heights) < 70, "two words are at most two lines, never broken letter by letter"


def test_words_of_the_first_drawing_can_be_read_on_a_phone(chromium: Browser, demo_server: ServerProcess) -> None:
    with visit(chromium, PHONE) as page:
        page.goto(address(demo_server, "/start"))
        expect(page.locator(".behind >> visible=true")).to_be_visible()
        words = page.locator(".behind >> visible=true").locator("text")
        sizes = words.evaluate_all(
            "all => all.map((one) => parseFloat(getComputedStyle(one).fontSize) * one.getScreenCTM().a)"
        )
        assert min(sizes) > 11, "px"
        assert not _overlapping(words.evaluate_all(BOXES))


def test_the_words_of_an_offset_are_not_laid_across_its_ring(
    chromium: Browser, demo_server: ServerProcess, benches: dict[str, str]
) -> None:
    with visit(chromium, PHONE) as page:
        page.goto(address(demo_server, f"/b/{benches['demo']}/meaning"))
        drawing = page.locator("#gap-drawing svg")
        expect(drawing.locator("text[stroke]")).to_be_visible()
        assert drawing.evaluate(CROSSED) == [0, 0], "the ring of what may be seen and the one of what is right"


def test_what_was_checked_is_said_at_once_where_it_was_put_in(chromium: Browser, demo_server: ServerProcess) -> None:
    bench = make_bench(demo_server, "bchecknow", **{"from": "quick", "values": {"scope.hand": "left"}})
    with visit(chromium, PHONE) as page:
        page.goto(address(demo_server, f"/b/{bench}/checks"))
        ready(page)
        page.get_by_role("button", name="All clean").tap()
        page.locator("[data-save='contact check']").tap()
        expect(page.locator("[data-live=contact-now]")).to_contain_text("Now: everything")
        page.locator("[data-key='mark']").fill("27 1/2 in")
        for tick in page.locator("[data-safe]").all():
            tick.check()
        page.locator("[data-save='safe length']").tap()
        expect(page.locator("[data-live=mark-now]")).to_contain_text("27 1/2 in")
        expect(page.locator("[data-live=bow-now]")).to_contain_text("not made yet")

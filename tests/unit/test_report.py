"""Pictures and sheets: deterministic, mirrored, complete, and nothing written over anything else."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.text import Text
from tests.unit.outlook_samples import ARCHER, DISTANCE, bench, members, visit

from spinewright.errors import StoreError
from spinewright.outlook import (
    ForgivenessMap,
    Line,
    MapSettings,
    OwnMistakes,
    Range,
    build_figures,
    choose_grid,
    forgiveness_map,
)
from spinewright.report import (
    draw_map,
    draw_sheet,
    draw_target,
    map_picture,
    settings_rows,
    sheet_picture,
    sheet_text,
    target_picture,
)
from spinewright.report.style import paragraph
from spinewright.units import DEGREE, GRAIN, INCH, Hand, System

PNG = b"\x89PNG\r\n\x1a\n"


@pytest.fixture(scope="module")
def chart() -> ForgivenessMap:
    grid = choose_grid(bench(), points=3)
    drawn = forgiveness_map(members(16), grid, Line.of(ARCHER, DISTANCE), settings=MapSettings(bows=16))
    x, y = np.meshgrid(np.linspace(-1, 1, len(grid.lengths)), np.linspace(-1, 1, len(grid.point_masses)))
    middle = -0.03 * (x + y)
    gap = np.stack([np.stack([middle + d, 0 * middle], axis=-1) for d in (-0.015, 0.0, 0.015)])
    return replace(drawn, gap=gap)


@pytest.fixture
def pages(monkeypatch: pytest.MonkeyPatch) -> list[Figure]:
    """Collects the pages instead of writing them."""
    kept: list[Figure] = []

    def keep(page: Figure, path: Path) -> Path:
        page.draw_without_rendering()  # while its type is set; nothing here looks at a pixel
        kept.append(page)
        return path

    for module in (map_picture, sheet_picture, target_picture):
        monkeypatch.setattr(module, "save_page", keep)
    return kept


def _drawn_texts(page: Figure) -> list[Text]:
    """Every text of a page that is drawn; ticks outside of what an axis shows are not."""
    texts = [*page.texts, *(text for legend in page.legends for text in legend.get_texts())]
    for axes in page.axes:
        texts += axes.texts
        for axis in (axes.xaxis, axes.yaxis):
            low, high = sorted(axis.get_view_interval())
            texts.append(axis.label)
            texts += [tick.label1 for tick in axis.get_major_ticks() if low <= tick.get_loc() <= high]
    return [text for text in texts if text.get_text().strip()]


def _overlaps(page: Figure) -> list[tuple[str, str]]:
    """Pairs of texts that lie on one another, and texts that leave the page."""
    boxes = [(text.get_text(), text.get_window_extent()) for text in _drawn_texts(page)]
    wide, high = page.get_size_inches() * page.dpi
    found = [(text, "the edge") for text, b in boxes if b.x0 < 0 or b.y0 < 0 or b.x1 > wide or b.y1 > high]
    for (one, a), (other, b) in combinations(boxes, 2):
        across = min(a.x1, b.x1) - max(a.x0, b.x0)
        up = min(a.y1, b.y1) - max(a.y0, b.y0)
        if across > 2.0 and up > 2.0:
            found.append((one, other))
    return found


@pytest.mark.parametrize(
    ("hand", "system"),
    [
        (Hand.RIGHT, System.INCH),
        (Hand.LEFT, System.METRIC),
        pytest.param(Hand.RIGHT, System.METRIC, marks=pytest.mark.endurance),
        pytest.param(Hand.LEFT, System.INCH, marks=pytest.mark.endurance),
    ],
)
def test_no_words_lie_on_others(chart: ForgivenessMap, pages: list[Figure], hand: Hand, system: System) -> None:
    draw_map(chart, Path("map.png"), system, hand)
    turned = replace(bench(), rest_y=-0.4e-3, rest_z=0.2e-3, nock_angle=40 * DEGREE)
    draw_sheet(build_figures(turned), Path("sheet.png"), system, hand)
    draw_target(visit((-0.05, 0.03)), Path("target.png"), system, hand)
    assert [_overlaps(page) for page in pages] == [[], [], []]


def test_the_number_of_a_hole_does_not_lie_on_its_neighbour(pages: list[Figure]) -> None:
    walk = visit((0.0, 0.0))
    # The second hole lies where the first one's number would stand: a tenth of an inch right and high of it.
    first, second = walk.impacts[0], replace(walk.impacts[1], y=-2.9e-3, z=2.6e-3)
    draw_target(
        replace(walk, impacts=(replace(first, y=0.0, z=0.0), second)), Path("target.png"), System.INCH, Hand.RIGHT
    )
    page = pages[-1]
    (axes,) = page.axes
    number = next(text for text in axes.texts if text.get_text() == str(first.shaft)).get_window_extent()
    neighbour = axes.transData.transform((2.9e-3 / INCH, 2.6e-3 / INCH))
    assert not number.padded(5.0).contains(*neighbour)


def test_same_input_same_bytes(chart: ForgivenessMap, tmp_path: Path) -> None:
    one, two = tmp_path / "one.png", tmp_path / "two.png"
    pictures = []
    for path in (one, two):
        drawn = [draw_map(chart, path, System.INCH, Hand.RIGHT).read_bytes()]
        drawn.append(draw_sheet(build_figures(bench()), path, System.INCH, Hand.RIGHT).read_bytes())
        drawn.append(draw_target(visit((0.02, 0.01)), path, System.INCH, Hand.RIGHT).read_bytes())
        pictures.append(drawn)
    assert pictures[0] == pictures[1]
    assert all(picture.startswith(PNG) for picture in pictures[0])
    assert len(set(pictures[0])) == 3
    assert sorted(path.name for path in tmp_path.iterdir()) == ["one.png", "two.png"]


def test_both_panels_are_named_and_stay_apart(chart: ForgivenessMap, pages: list[Figure]) -> None:
    draw_map(chart, Path("map.png"), System.INCH, Hand.RIGHT)
    titles = {text.get_text() for text in pages[0].texts}
    assert {"Your own mistakes", "Heads and differences between arrows"} <= titles
    assert len(pages[0].axes) == 2


def test_a_band_narrower_than_a_step_of_the_map_is_drawn_in_one_piece(
    chart: ForgivenessMap, pages: list[Figure]
) -> None:
    assert chart.gap is not None
    half = np.array([5e-4, 0.0])
    middle = chart.gap[1] + half
    narrow = replace(chart, gap=np.stack([middle - half, middle, middle + half]))
    draw_map(narrow, Path("map.png"), System.INCH, Hand.RIGHT)
    (path,) = pages[0].axes[0].collections[0].get_paths()
    assert len(path.to_polygons()) == 1


def test_letters_are_legible_on_a_phone(pages: list[Figure], chart: ForgivenessMap) -> None:
    draw_map(chart, Path("map.png"), System.INCH, Hand.RIGHT)
    draw_sheet(build_figures(bench()), Path("sheet.png"), System.INCH, Hand.RIGHT)
    draw_target(visit((-0.05, 0.03)), Path("target.png"), System.INCH, Hand.RIGHT)
    for page in pages:
        smallest = min(float(text.get_fontsize()) for text in _drawn_texts(page))
        assert smallest / 72.0 * 390.0 / page.get_size_inches()[0] > 10.0  # letters of 10 dots on a screen 390 wide


def _shapes(chart: ForgivenessMap) -> tuple[ForgivenessMap, ForgivenessMap]:
    """A bowl and a valley with many lines close together, and one where where you are is on a line. Invented."""
    x, y = np.meshgrid(np.linspace(-1, 1, len(chart.grid.lengths)), np.linspace(-1, 1, len(chart.grid.point_masses)))
    bowl, valley = 0.02 + 0.05 * (x**2 + y**2), 0.02 + 0.12 * np.abs(x + 0.3 * y + 0.2)
    bows = chart.own.shape[2]
    own, apart = (np.repeat(one[..., None], bows, axis=2) for one in (bowl, valley))
    first = replace(chart, own=own, apart=apart)
    return first, replace(first, own=first.apart, gap=None)


def _numbers(axes: Axes) -> list[Text]:
    return [one for one in axes.texts if re.fullmatch(r"[\d.]+", one.get_text())]


@pytest.mark.parametrize("system", list(System))
def test_the_numbers_of_lines_keep_clear_of_one_another(
    chart: ForgivenessMap, pages: list[Figure], system: System
) -> None:
    for one in _shapes(chart):
        draw_map(one, Path("map.png"), system, Hand.RIGHT)
    for page in pages:
        assert _overlaps(page) == []
        for axes in page.axes:
            numbers = _numbers(axes)
            assert 3 <= len(numbers) <= 12
            boxes = [one.get_window_extent() for one in numbers]
            ring = np.asarray(axes.lines[0].get_xydata())[0]
            assert not any(box.contains(*axes.transData.transform(ring)) for box in boxes)
            frame = axes.get_window_extent()
            assert all(frame.contains(*box.min) and frame.contains(*box.max) for box in boxes)


def test_the_unit_of_the_lines_is_said_where_there_are_lines(chart: ForgivenessMap, pages: list[Figure]) -> None:
    lines, _ = _shapes(chart)
    for one in (lines, replace(lines, own=np.full_like(chart.own, 8.5e-3))):
        draw_map(one, Path("map.png"), System.METRIC, Hand.RIGHT)
    said = [" ".join(text.get_text() for text in page.texts).count("Lines in millimetres.") for page in pages]
    assert said == [2, 1]


def test_a_flat_map_says_its_number_and_draws_no_lines(chart: ForgivenessMap, pages: list[Figure]) -> None:
    flat = replace(chart, own=np.full_like(chart.own, 8.5e-3))
    draw_map(flat, Path("map.png"), System.METRIC, Hand.RIGHT)
    axes = pages[0].axes[0]
    [about] = [text for text in axes.texts if text.get_text() == "everywhere about 8.5 mm"]
    ring = np.asarray(axes.lines[0].get_xydata())[0]
    assert not about.get_window_extent().contains(*axes.transData.transform(ring))


def test_the_picture_quotes_what_it_is_given_and_explains_itself(chart: ForgivenessMap, pages: list[Figure]) -> None:
    one = Range(7.7e-3, 7.1e-3, 8.8e-3)
    own = OwnMistakes(chart.line, (), one, one, 0.25)
    draw_map(chart, Path("map.png"), System.METRIC, Hand.RIGHT, own=own)
    said = " ".join(text.get_text() for text in pages[0].texts).replace("\N{NO-BREAK SPACE}", " ")
    assert "Where you are: 7.7 mm (7.1 to 8.8), in four cases of five." in said
    assert "that is 0.25 points an arrow" in said
    assert "two of three move less" in said
    assert "rms" not in said
    assert "club'" not in said


def test_the_side_of_the_bare_hole_mirrors(chart: ForgivenessMap, pages: list[Figure]) -> None:
    for hand in Hand:
        draw_map(chart, Path("map.png"), System.INCH, hand)
    words = [{t.get_text() for t in page.axes[0].texts if "bare" in t.get_text()} for page in pages]
    assert words[0] == words[1] == {"bare left of fletched", "bare right of fletched"}
    corners = [page.axes[0].texts for page in pages]
    first = [next(t.get_text() for t in texts if "bare" in t.get_text()) for texts in corners]
    assert first[0] != first[1]


def test_a_map_without_gaps_or_with_unsolved_builds_is_drawn(chart: ForgivenessMap, pages: list[Figure]) -> None:
    solved = chart.solved.copy()
    solved[0, :2] = False
    draw_map(replace(chart, gap=None, solved=solved), Path("map.png"), System.METRIC, Hand.LEFT)
    assert _overlaps(pages[0]) == []


def test_a_target_is_mirrored_for_a_left_hander(pages: list[Figure]) -> None:
    for hand in Hand:
        draw_target(visit((-0.05, 0.03)), Path("target.png"), System.INCH, hand)
    right, left = ([line.get_xydata() for line in page.axes[0].lines] for page in pages)
    holes = [(np.asarray(a)[0], np.asarray(b)[0]) for a, b in zip(right, left, strict=True) if len(np.asarray(a)) == 1]
    assert len(holes) == 8
    for one, other in holes:
        assert one[0] == pytest.approx(-other[0])
        assert one[1] == pytest.approx(other[1])
    # the right-handed frame has left positive, the page right
    assert np.median([one[0] for one, _ in holes[:4]]) > 0.0


def test_sheet_rows_hold_what_the_builder_needs() -> None:
    rows = dict(sheet_text(build_figures(bench()), System.INCH))
    for label in (
        "static spine",
        "total mass",
        "balance from the nock throat",
        "FOC",
        "moment of inertia",
        "natural frequencies",
        "nodes, mode 1",
        "speed",
        "kinetic energy",
        "momentum",
        "mass per draw weight",
        "time on the string",
        "stored energy",
        "virtual mass",
        "limit: weakest spine",
    ):
        assert rows[label]
    assert rows["shaft length, end to end"] == "28.4 in"
    assert "±" in rows["speed"]
    assert "bare" in rows["total mass"]
    assert rows["limit: weakest spine"] == "not known"


def test_settings_in_the_hands_own_words() -> None:
    moved = replace(bench(), rest_y=0.5e-3, nock_angle=20 * DEGREE, bolt_turns=-0.5)
    right, left = (dict(settings_rows(moved, hand, System.METRIC)) for hand in Hand)
    assert right["rest, against its start"] == "left 0.50 mm"
    assert left["rest, against its start"] == "right 0.50 mm"
    assert right["nock point, against its start"] == "where it was"
    assert right["both limb bolts, against the start"] == "0.5 turns out"
    assert right["nocks turned"] == "20 deg clockwise, seen from behind"
    assert left["nocks turned"] == "20 deg counterclockwise, seen from behind"


def test_blocks_of_a_session_take_the_place_of_the_settings(pages: list[Figure]) -> None:
    blocks = [("Changes so far", [("rest, sideways", "6 clicks right, 0.012 in intended"), ("", "A sentence.")])]
    figures = build_figures(bench())
    draw_sheet(figures, Path("sheet.png"), System.INCH, Hand.RIGHT, subject="left-handed", blocks=blocks)
    texts = {t.get_text() for t in pages[0].texts}
    assert {"Changes so far", "A sentence.", "left-handed"} <= texts
    assert "6 clicks right, 0.012 in intended" in {
        t.get_text().replace("\N{NO-BREAK SPACE}", " ") for t in pages[0].texts
    }


def test_a_refusing_file_system_leaves_the_old_picture(tmp_path: Path) -> None:
    gone = tmp_path / "nowhere" / "sheet.png"
    with pytest.raises(StoreError, match="nothing was changed"):
        draw_sheet(build_figures(bench()), gone, System.INCH, Hand.RIGHT)
    folder = tmp_path / "sheet.png"
    folder.mkdir()
    with pytest.raises(StoreError, match="nothing was changed"):
        draw_sheet(build_figures(bench()), folder, System.INCH, Hand.RIGHT)
    assert [path.name for path in tmp_path.iterdir()] == ["sheet.png"]


def test_heavy_points_fit_their_place() -> None:
    heavy = replace(bench(), build=replace(bench().build, head=replace(bench().build.head, mass=250 * GRAIN)))
    rows = dict(sheet_text(build_figures(heavy), System.METRIC, Hand.LEFT))
    assert rows["point"] == "16.2 g field point"


def test_a_number_and_its_unit_stay_on_one_line() -> None:
    lines = paragraph("it lies between 0.64 in and 4.04 in, with 80 % probability", 20)
    assert max(len(line) for line in lines) <= 20
    assert not any(line.endswith(("0.64", "4.04", "80")) for line in lines)

"""What is printed and drawn: same bytes for the same input, true to scale, nothing written becomes markup."""

from __future__ import annotations

import re
import zlib
from itertools import combinations, product
from pathlib import Path

import numpy as np
import pytest
from matplotlib.transforms import Bbox

from spinewright.errors import InputError, StoreError
from spinewright.report.paper import _literal, _picture, paper_pdf, print_papers
from spinewright.report.plot_picture import _plot, draw_plots, plot_svg
from spinewright.report.style import blank_page
from spinewright.report.typeface import own_type
from spinewright.workflow.around import papers as p
from spinewright.workflow.around.account import Account, Plot, Series, Table

_LINE = Series("line", (1, 2, 3), (1, 4, 9), (0, 3, 8), (2, 5, 10))
_POINTS = Series("points", (1, 2), (2, 3), (1, 2), (3, 4), False, ("a", "b"))
PLOT = Plot("A plot", "distance (yd)", "drop (in)", (_LINE, _POINTS), "It grows.")
HOSTILE = '#panic("x") \\ "quoted" $x$ *b* _u_ `r` @ref <label> // c\n= head \u202e\x00\x1b end'
SHEET = p.Paper(
    "sheet",
    HOSTILE,
    (
        p.heading(HOSTILE),
        p.words(HOSTILE),
        p.words("Mind.", care=True),
        p.facts([(HOSTILE, HOSTILE)]),
        p.grid(["a", HOSTILE], [["1", HOSTILE]]),
        p.blanks(["shaft", HOSTILE], 2),
        p.checkline(),
        p.strip([(10.0, "20 yd", True), (25.0, HOSTILE, False), (99.0, "off the strip", False)], 60.0, title=HOSTILE),
        p.labels(["1", HOSTILE, "3"]),
        p.signature(HOSTILE),
        p.picture(PLOT.to_json()),
    ),
    HOSTILE,
)
ACCOUNT = Account("try", "A task", "Yes.", plots=(PLOT,), papers=(SHEET,)).to_json()


def _drawing(pdf: bytes) -> str:
    """Everything that is drawn in a PDF, as its operators."""
    streams = re.findall(rb"stream\r?\n(.*?)\r?\nendstream", pdf, re.DOTALL)
    found = []
    for one in streams:
        try:
            found.append(zlib.decompress(one).decode("latin-1"))
        except zlib.error:
            continue
    return "\n".join(found)


def test_the_same_sheet_gives_the_same_bytes(tmp_path: Path) -> None:
    one = print_papers(ACCOUNT, tmp_path / "one.pdf").read_bytes()
    assert one == paper_pdf([SHEET.to_json()])
    assert one.startswith(b"%PDF")
    assert plot_svg(PLOT.to_json()) == plot_svg(PLOT.to_json())
    assert draw_plots(ACCOUNT, tmp_path / "a.png").read_bytes() == draw_plots(ACCOUNT, tmp_path / "b.png").read_bytes()


def test_the_check_line_is_a_hundred_millimetres() -> None:
    alone = paper_pdf([p.Paper("s", "t", (p.checkline(),)).to_json()])
    lengths = [
        abs(float(x)) for x, y in re.findall(r"0 0 m\s+(-?[\d.]+) (-?[\d.]+) l", _drawing(alone)) if float(y) == 0
    ]
    assert max(lengths) == pytest.approx(100 / 25.4 * 72, abs=0.02)  # a point of PDF is 1/72 in (ISO 32000)


def test_a_strip_is_true_to_scale() -> None:
    marks = [(10.0, "", True), (47.5, "", True)]
    drawn = _drawing(paper_pdf([p.Paper("s", "t", (p.strip(marks, 60.0, 14.0),)).to_json()]))
    downs = [float(y) for y in re.findall(r"1 0 0 -?1 -?[\d.]+ (-?[\d.]+) cm", drawn)]
    apart = 37.5 / 25.4 * 72  # the two marks, in points of PDF
    assert min(abs(abs(a - b) - apart) for a in downs for b in downs) < 0.02


def test_a_title_ends_on_the_page() -> None:
    title = "What each length should show at 20 yd (18.3 m)"  # the widest there is
    plot = Plot(title, "x", "y", (Series("s", (1, 2), (1, 2)),), "It grows.").to_json()
    with own_type():
        page = blank_page(3.6)
        _plot(page, plot, (0, 1))
    drawn = page.texts[0].get_window_extent()
    assert drawn.x1 < 0.99 * page.bbox.width
    assert drawn.y1 < page.bbox.height


def _drawn_boxes(series: tuple[Series, ...]) -> tuple[list[str], list[Bbox], list[Bbox], Bbox]:
    """Words, where they stand, where the marks stand, and the frame of a plot of these series [dots]."""
    with own_type():
        page = blank_page(3.6)
        _plot(page, Plot("A plot", "x", "y", series, "It grows.").to_json(), (0, 1))
        page.canvas.draw()
        (axes,) = page.axes
        words = [one for one in axes.texts if one.get_text()]
        boxes = [one.get_window_extent() for one in words]
    half = 3.0 * page.dpi / 72
    spots = [axes.transData.transform((x, y)) for one in series for x, y in zip(one.x, one.y, strict=True)]
    marks = [Bbox([spot - half, spot + half]) for spot in spots]
    return [one.get_text() for one in words], boxes, marks, axes.get_window_extent()


def _on_one_another(boxes: list[Bbox], marks: list[Bbox]) -> int:
    return sum(one.overlaps(other) for one, other in [*combinations(boxes, 2), *product(boxes, marks)])


def _shafts(count: int) -> tuple[Series, ...]:
    """So many numbered shafts in three sets, drawn from a generator of their own: invented."""
    drawn = np.random.default_rng(58)
    x, y = drawn.normal(357.0, 4.0, count), drawn.normal(252.0, 1.5, count)
    return tuple(
        Series(name, tuple(x[k::3]), tuple(y[k::3]), line=False, labels=tuple(map(str, range(k + 1, count + 1, 3))))
        for k, name in enumerate(("set A", "set B", "left out"))
    )


def test_every_shaft_of_a_set_has_its_number_and_none_lies_on_another() -> None:
    words, boxes, marks, frame = _drawn_boxes(_shafts(18))
    assert sorted(map(int, words)) == list(range(1, 19))
    assert _on_one_another(boxes, marks) == 0
    assert all(frame.contains(*one.min) and frame.contains(*one.max) for one in boxes)


def test_numbers_without_room_are_left_out_rather_than_laid_on_others() -> None:
    words, boxes, marks, _ = _drawn_boxes(_shafts(72))
    assert 30 < len(words) < 72
    assert _on_one_another(boxes, marks) == 0


def test_a_number_keeps_clear_of_the_bars() -> None:
    speeds, behind = (271.4, 271.9, 272.4, 272.9), (0.1, 0.5, 0.3, 0.7)
    high = tuple(one + 0.8 for one in behind)
    series = (Series("builds", speeds, behind, behind, high, False, ("1", "2", "3", "4")),)
    words, boxes, _, _ = _drawn_boxes(series)
    assert sorted(words) == ["1", "2", "3", "4"]
    with own_type():
        page = blank_page(3.6)
        _plot(page, Plot("A plot", "x", "y", series, "It grows.").to_json(), (0, 1))
    change = page.axes[0].transData.transform
    for x, low, top in zip(speeds, behind, high, strict=True):
        (at, foot), (_, head) = change([(x, low), (x, top)])
        assert not any(one.x0 < at < one.x1 and one.y0 < head and foot < one.y1 for one in boxes)


def test_a_picture_on_paper_is_the_one_of_the_page() -> None:
    plot = Plot("Last walk, 20 yd", "x", "y", (Series("s", (1, 2), (1, 2)),), "It grows.").to_json()
    assert _literal(plot_svg(plot)) in _picture(p.picture(plot, 60.0))


def test_nothing_to_draw_or_print_is_said(tmp_path: Path) -> None:
    empty = Account("try", "A task", "Yes.").to_json()
    with pytest.raises(InputError, match="nothing to print"):
        print_papers(empty, tmp_path / "x.pdf")
    with pytest.raises(InputError, match="nothing to draw"):
        draw_plots(empty, tmp_path / "x.png")
    with pytest.raises(StoreError, match="nothing was changed"):
        print_papers(ACCOUNT, tmp_path / "no" / "x.pdf")
    assert list(tmp_path.iterdir()) == []


def test_a_table_that_does_not_fit_is_a_fault() -> None:
    with pytest.raises(ValueError, match="do not fit"):
        Table("t", ("a", "b"), (("1",),))

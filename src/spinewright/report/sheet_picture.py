"""The build sheet as a picture: the arrow to scale, its figures with their doubts, the settings, and what to mind."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from spinewright.equipment import HeadKind
from spinewright.outlook import BuildFigures, sheet_cautions
from spinewright.report.saving import save_page
from spinewright.report.sheet_rows import bow_rows, build_rows, energy_rows, settings_rows
from spinewright.report.style import (
    BLUE,
    FAINT,
    GROUND,
    INK,
    OCHRE,
    QUIET,
    SAND,
    TEXT,
    WIDTH,
    blank_page,
    lines_of,
    paragraph,
)
from spinewright.report.typeface import own_type
from spinewright.units import Hand, Kind, System, show

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["draw_sheet"]

Block = tuple[str, Sequence[tuple[str, str]]]  # title, rows of label and value

_LINE = 0.2  # inches of height of a row
_LEFT, _MIDDLE, _RIGHT = 0.06, 0.38, 0.70  # where labels, fletched and bare begin
_LABEL, _CELL, _VALUE = 18, 18, 35  # characters of a label; of fletched or bare; of a value beside its label
_ARROW = 1.45  # inches of height of the drawing


class _Page:
    """A page that is written from the top down."""

    def __init__(self, page: Figure, height: float) -> None:
        self.page, self.height, self.top = page, height, 0.32

    def write(self, x: float, text: str, colour: str = INK, *, size: float = TEXT, bold: bool = False) -> None:
        """Text at ``x`` (share of the width) on the present line."""
        weight = "bold" if bold else "normal"
        y = 1 - self.top / self.height
        self.page.text(x, y, text, fontsize=size, color=colour, weight=weight, va="center")

    def down(self, inches: float = _LINE) -> None:
        """Go ``inches`` further down."""
        self.top += inches

    def lines(self, texts: Sequence[str], colour: str, x: float = _LEFT) -> None:
        """One line under the other."""
        for text in texts:
            self.write(x, text, colour)
            self.down()

    def heading(self, text: str, colour: str = BLUE) -> None:
        """A heading with a little air above."""
        self.down(0.14)
        self.write(_LEFT, text, colour, size=11, bold=True)
        self.down(0.26)


@own_type()
def draw_sheet(
    figures: BuildFigures,
    path: Path,
    system: System,
    hand: Hand,
    *,
    subject: str = "",
    blocks: Sequence[Block] | None = None,
) -> Path:
    """Draw the sheet of ``figures`` into the PNG ``path`` and return it.

    ``blocks`` are titled rows (label, value), a row without a label a sentence: the parts, settings, limits, checks and
    changes of a session (``workflow.Sheet.blocks``). Without them the settings of the setup alone are shown.
    ``subject`` says whose sheet it is, and of when.
    """
    if blocks is None:
        blocks = [("Settings against the recorded start", settings_rows(figures.setup, hand, system))]
        bow = bow_rows(figures, system)
    else:
        bow = energy_rows(figures, system)
    cautions = sheet_cautions(figures, system)
    table, head = build_rows(figures, system), paragraph(subject or _subject(figures, system))
    titled = [("The bow's energy" if len(bow) < 5 else "The bow", bow), *blocks]
    rows = (
        sum(max(map(len, _cells(row))) for row in table)
        + 1
        + sum(_lines(pairs) for _, pairs in titled)
        + lines_of(cautions)
        + len(head)
    )
    height = 0.32 + 0.4 + _ARROW + (len(titled) + 2) * 0.4 + rows * _LINE + 0.25
    page = _Page(blank_page(height), height)
    page.write(_LEFT, "Build sheet", size=15, bold=True)
    page.down(0.3)
    page.lines(head, QUIET)
    page.down(0.1)
    _arrow(page, figures, system)
    page.heading("The arrow")
    _table(page, table)
    for title, pairs in titled:
        page.heading(title)
        _pairs(page, pairs)
    page.heading("Mind", OCHRE)
    for caution in cautions:
        page.lines(paragraph(caution), INK)
    return save_page(page.page, path)


def _subject(figures: BuildFigures, system: System) -> str:
    build = figures.setup.build
    parts = (
        f"spine {show(build.shaft.static_spine, Kind.SPINE, system)}",
        f"shaft {show(build.carbon_length, Kind.LENGTH, system)} end to end",
        f"{show(build.head.mass, Kind.MASS, system)} {build.head.kind}",
    )
    return ", ".join(parts)


def _table(page: _Page, rows: list[tuple[str, str, str]]) -> None:
    page.write(_MIDDLE, "fletched", QUIET)
    page.write(_RIGHT, "bare", QUIET)
    page.down()
    for row in rows:
        _side_by_side(page, _cells(row), (_LEFT, _MIDDLE, _RIGHT))


def _cells(row: tuple[str, str, str]) -> list[list[str]]:
    """Lines of a row's label and of its two values."""
    return [paragraph(text, wide) for text, wide in zip(row, (_LABEL, _CELL, _CELL), strict=True)]


def _pairs(page: _Page, rows: Sequence[tuple[str, str]]) -> None:
    for label, value in rows:
        if label:
            _side_by_side(page, _broken(label, value), (_LEFT, _MIDDLE))
        else:
            page.lines(paragraph(value), INK)


def _side_by_side(page: _Page, columns: list[list[str]], places: tuple[float, ...]) -> None:
    """Write ``columns`` of lines beside one another, the first as a label, and go down past the longest."""
    top = page.top
    for x, texts in zip(places, columns, strict=True):
        page.top = top
        page.lines(texts, QUIET if x == _LEFT else INK, x)
    page.top = top + _LINE * max(map(len, columns))


def _broken(label: str, value: str) -> list[list[str]]:
    """A value beside its label, or a sentence over the whole width."""
    return [paragraph(label, _LABEL), paragraph(value, _VALUE)] if label else [paragraph(value)]


def _lines(rows: Sequence[tuple[str, str]]) -> int:
    return sum(max(map(len, _broken(label, value))) for label, value in rows)


def _arrow(page: _Page, figures: BuildFigures, system: System) -> None:
    """The fletched arrow to scale, balance point and FOC above it, the nodes of its lowest bending below."""
    build, arrow = figures.setup.build, figures.fletched
    length, tip = build.throat_length, build.throat_length + build.head.length
    axes = page.page.add_axes(
        (0.06, 1 - (page.top + _ARROW) / page.height, 0.88, _ARROW / page.height), facecolor=GROUND
    )
    axes.set_axis_off()
    across = 0.88 * WIDTH
    left, right = -0.01, tip + 0.01
    up = (right - left) * _ARROW / across / 2  # equal scale along and across
    axes.set_xlim(left, right)
    axes.set_ylim(-up, up)
    _draw_shaft(axes, figures)
    balance, radius = arrow.masses.balance, build.shaft.outer_diameter / 2
    high, low = 0.55 * up, -0.45 * up
    axes.plot([balance, balance], [radius, high], color=BLUE, lw=1.2)
    axes.plot(balance, radius, marker=7, ms=7, color=BLUE)
    axes.plot([length / 2, length / 2], [radius, high], color=QUIET, lw=1.0, ls=":")
    axes.annotate("", (balance, high), (length / 2, high), arrowprops={"arrowstyle": "<->", "color": BLUE, "lw": 1.2})
    where = show(balance, Kind.LENGTH, system, digits=2 if system is System.INCH else 0)
    axes.text(balance + 0.008, high, f"balance {where}", color=BLUE, fontsize=9.5, va="center")
    foc = f"middle; FOC {show(arrow.masses.foc, Kind.FRACTION, system, digits=1)}"
    axes.text(length / 2 - 0.008, high, foc, color=BLUE, fontsize=9.5, va="center", ha="right")
    for node in arrow.nodes[0]:
        axes.plot([node, node], [-radius, low], color=OCHRE, lw=1.2)
        axes.plot(node, -radius, marker=6, ms=7, color=OCHRE)
        where = show(node, Kind.LENGTH, system, digits=1 if system is System.INCH else 0)
        axes.text(node, low - 0.06 * up, f"node {where}", color=OCHRE, fontsize=9.5, va="top", ha="center")
    page.down(_ARROW)


def _draw_shaft(axes: Axes, figures: BuildFigures) -> None:
    from matplotlib.patches import Polygon, Rectangle

    build = figures.setup.build
    radius, start, length = build.shaft.outer_diameter / 2, build.carbon_start, build.throat_length
    axes.add_patch(Rectangle((start, -radius), build.carbon_length, 2 * radius, facecolor=INK, lw=0))
    axes.add_patch(Rectangle((0.0, -0.7 * radius), start, 1.4 * radius, facecolor=OCHRE, lw=0))
    vanes, rear = build.fletching, build.fletching.from_rear
    front = rear + vanes.length
    for side in (1, -1):
        corners = [(rear, radius), (rear + 0.12 * vanes.length, radius + vanes.height), (front, radius)]
        axes.add_patch(Polygon([(x, side * y) for x, y in corners], facecolor=SAND, edgecolor=QUIET, lw=0.8))
    tip, wide = length + build.head.length, max(radius, build.head.width / 2)
    outline = [(length, wide), (tip, 0.0), (length, -wide)]
    if build.head.kind is HeadKind.FIELD:
        outline = [(length, radius), (length + 0.45 * build.head.length, radius), (tip, 0.0)]
        outline += [(x, -y) for x, y in reversed(outline[:2])]
    axes.add_patch(Polygon(outline, facecolor=QUIET, edgecolor=FAINT, lw=0.6))

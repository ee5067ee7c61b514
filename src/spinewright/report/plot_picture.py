"""Draws the plots of a task around the tune: one under another as a PNG, or one alone as an SVG."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from io import StringIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

from spinewright.errors import InputError
from spinewright.report.labels import label_marks
from spinewright.report.saving import save_page
from spinewright.report.style import BLUE, FAINT, INK, OCHRE, QUIET, as_written, blank_page, paragraph
from spinewright.report.typeface import own_type

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["draw_plots", "plot_svg"]

_HIGH = 3.6  # inches of height of one plot
_TITLE = 45  # characters of a line of its title: the widest letters of one still end on the page
#: Series differ in colour, dashes and mark at once.
_LOOKS = ((BLUE, "-", "o"), (OCHRE, "--", "s"), (INK, "-.", "^"), (QUIET, ":", "D"))


@own_type()
def draw_plots(account: Mapping[str, Any], path: Path) -> Path:
    """Draw every plot of ``account`` (as its ``to_json`` gives it) into the PNG ``path``; returns it.

    Raises InputError when there is nothing to draw, StoreError when the file system refuses.
    """
    plots = account["plots"]
    if not plots:
        raise InputError(f"'{account['title']}' has nothing to draw here", "leave --plot out")
    page = blank_page(_HIGH * len(plots))
    for k, plot in enumerate(plots):
        _plot(page, plot, (k, len(plots)))
    return save_page(page, path)


@own_type()
def plot_svg(plot: Mapping[str, Any]) -> str:
    """One plot as an SVG whose bytes depend on nothing but the plot; the sheet or the paper shows through.

    Words are outlines: a picture in a page has no fonts but the system's, and a typesetter takes another for letters
    that the first of a family lacks.
    """
    import matplotlib as mpl

    with mpl.rc_context({"svg.fonttype": "path"}):
        page = blank_page(_HIGH)
        _plot(page, plot, (0, 1))
        drawn = StringIO()
        as_written(page)
        page.savefig(drawn, format="svg", facecolor="none", metadata={"Date": None, "Creator": None})
    return drawn.getvalue()


def _plot(page: Figure, plot: Mapping[str, Any], place: tuple[int, int]) -> None:
    """One plot at its ``place`` (which of how many) on the page."""
    number, of = place
    share = 1.0 / of
    foot = 1.0 - (number + 1) * share
    title = page.text(0.06, foot + share * 0.93, "\n".join(paragraph(plot["title"], _TITLE)), fontsize=12, va="center")
    title.set(color=INK, weight="bold")
    many = len(plot["series"]) > 1
    axes = page.add_axes((0.15, foot + share * 0.17, 0.8, share * (0.58 if many else 0.67)), facecolor="none")
    for one, (colour, dash, mark) in zip(plot["series"], _LOOKS * (1 + len(plot["series"]) // 4), strict=False):
        _series(axes, one, (colour, dash, mark))
    if plot.get("even"):  # what was stored before plots could be even has no such key
        axes.set_aspect("equal", adjustable="datalim")
    axes.set_xlabel(plot["x"], fontsize=10, color=INK)
    axes.set_ylabel(plot["y"], fontsize=10, color=INK)
    axes.tick_params(labelsize=9.5, colors=INK, length=3)
    axes.grid(color=FAINT, lw=0.5)
    axes.set_axisbelow(True)
    for spine in axes.spines.values():
        spine.set_color(FAINT)
    if many:
        axes.legend(fontsize=9.5, frameon=False, loc="lower left", bbox_to_anchor=(0.0, 1.0), ncols=2, labelcolor=INK)
    _labels(axes, [one for one in plot["series"] if not one["line"]])


def _labels(axes: Axes, series: Sequence[Mapping[str, Any]]) -> None:
    """The words of all points, once everything else is drawn."""
    marks: list[tuple[float, float, str]] = []
    bars: list[tuple[float, float, float]] = []
    for one in series:
        words = [*one["labels"], *[""] * (len(one["x"]) - len(one["labels"]))]
        marks += zip(one["x"], one["y"], words, strict=True)
        if one["low"]:
            bars += zip(one["x"], one["low"], one["high"], strict=True)
    label_marks(axes, marks, bars)


def _series(axes: Axes, one: Mapping[str, Any], look: tuple[str, str, str]) -> None:
    """A line with its band, or points with their bars."""
    colour, dash, mark = look
    x, y, low, high = one["x"], one["y"], one["low"], one["high"]
    if one["line"]:
        axes.plot(x, y, color=colour, ls=dash, lw=1.8, label=one["name"])
        if low:
            axes.fill_between(x, low, high, color=colour, alpha=0.15, lw=0)
        return
    axes.plot(x, y, ls="none", marker=mark, ms=6, color=colour, label=one["name"])
    if low:
        axes.vlines(x, low, high, color=colour, lw=1.2)

"""The holes of one walk to the target, bare beside fletched, with their middles and the doubt of the gap."""

from __future__ import annotations

from collections.abc import Sequence
from math import degrees, hypot
from pathlib import Path
from typing import TYPE_CHECKING

from spinewright.evidence import Gap, Visit, gap
from spinewright.report.saving import save_page
from spinewright.report.style import (
    BLUE,
    FAINT,
    GROUND,
    INK,
    OCHRE,
    QUIET,
    TEXT,
    WIDTH,
    blank_page,
    lines_of,
    paragraph,
)
from spinewright.report.typeface import own_type
from spinewright.units import INCH, Hand, Kind, System, show, show_offset

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["draw_target"]

_LINE = 0.19  # inches of height a line of text takes
#: Where a mark's number may stand, and how far from other ink is far enough [points of print].
_CORNERS, _FREE = ((10.0, 9.0), (-10.0, 9.0), (10.0, -9.0), (-10.0, -9.0)), 14.0
_CROWD = 100  # with more holes no corner is free anyway
_SQUARE = 0.8  # of the page's width: the side of the target


@own_type()
def draw_target(visit: Visit, path: Path, system: System, hand: Hand, archer_sd: float | None = None) -> Path:
    """Draw ``visit`` as the archer sees it into the PNG ``path`` and return it.

    Holes come in the right-handed frame and are mirrored for a left-hander. ``archer_sd`` [m] is the archer's one-axis
    scatter at that distance, when known; the ellipse about the gap then uses it.
    """
    apart = gap(visit, archer_sd)
    subtitle = f"At {show(visit.distance, Kind.DISTANCE, system)}, seen by the archer; {visit.target}"
    sentences, side = _sentences(apart, system, hand), _SQUARE * WIDTH
    height = 1.5 + side + _LINE * lines_of([subtitle, *sentences])
    page = blank_page(height)
    page.text(0.06, 1 - 0.32 / height, "Bare beside fletched", fontsize=15, color=INK, weight="bold", va="center")
    top = _lines_down(page, 0.62, [subtitle], QUIET)
    axes = page.add_axes((0.15, 1 - (top + side) / height, _SQUARE, side / height), facecolor=GROUND)
    unit, label = (INCH, "in") if system is System.INCH else (1e-3, "mm")
    _frame(axes, visit, unit, label)
    _holes(axes, visit, unit, hand)
    if apart is not None:
        _gap(axes, apart, unit, hand)
    _lines_down(page, top + side + 0.65, sentences, INK)
    return save_page(page, path)


def _lines_down(page: Figure, top: float, texts: list[str], colour: str) -> float:
    """Write ``texts`` from ``top`` [in] down and return where they end."""
    height = page.get_size_inches()[1]
    for line in [line for text in texts for line in paragraph(text)]:
        page.text(0.06, 1 - top / height, line, fontsize=TEXT, color=colour, va="center")
        top += _LINE
    return top


def _frame(axes: Axes, visit: Visit, unit: float, label: str) -> None:
    reach = 1.25 * max(*(max(abs(hole.y), abs(hole.z)) for hole in visit.impacts), 1.2 * INCH) / unit
    axes.set_xlim(-reach, reach)
    axes.set_ylim(-reach, reach)
    axes.axhline(0.0, color=FAINT, lw=0.8, zorder=0)
    axes.axvline(0.0, color=FAINT, lw=0.8, zorder=0)
    axes.set_xlabel(f"left  ·  {label} from the aiming spot  ·  right", fontsize=10, color=INK)
    axes.tick_params(labelsize=9.5, colors=INK, length=3)
    axes.xaxis.set_major_formatter(lambda value, _: f"{abs(value):g}")
    axes.yaxis.set_major_formatter(lambda value, _: f"{abs(value):g}")
    axes.set_ylabel("low  ·  high", fontsize=10, color=INK)
    for spine in axes.spines.values():
        spine.set_color(FAINT)


def _holes(axes: Axes, visit: Visit, unit: float, hand: Hand) -> None:
    """Fletched as blue crosses, bare as open ochre rings with the shaft's number, called bad ones faint."""
    placed: list[tuple[float, float]] = []
    for hole in visit.impacts:
        x, z = -hole.y * hand.sideways_sign / unit, hole.z / unit
        colour = OCHRE if hole.bare else BLUE
        marker, fill = ("o", GROUND) if hole.bare else ("x", colour)
        fade = 0.35 if hole.called_bad else 1.0
        axes.plot(x, z, marker=marker, ms=9, mfc=fill, mec=colour, mew=2, ls="none", alpha=fade, zorder=3)
        placed.append((x, z))
    # In points of print, to see what ink is near.
    scale = _SQUARE * WIDTH * 72 / (axes.get_xlim()[1] - axes.get_xlim()[0])
    ink = [(x * scale, z * scale) for x, z in placed]
    for k, hole in enumerate(visit.impacts):
        corner = _free_corner(k, ink) if len(placed) <= _CROWD else _CORNERS[0]
        ink.append((ink[k][0] + corner[0], ink[k][1] + corner[1]))
        number = axes.annotate(str(hole.shaft), placed[k], corner, textcoords="offset points", zorder=4)
        number.set(fontsize=9.5, color=OCHRE if hole.bare else BLUE, ha="center", va="center")


def _free_corner(mark: int, ink: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """The corner of a mark that is farthest from all other ``ink`` [points], the first of those that are far enough."""
    x, z = ink[mark]
    others = [spot for place, spot in enumerate(ink) if place != mark]

    def room(corner: tuple[float, float]) -> float:
        return min([_FREE, *(hypot(x + corner[0] - a, z + corner[1] - b) for a, b in others)])

    return max(_CORNERS, key=room)


def _gap(axes: Axes, apart: Gap, unit: float, hand: Hand) -> None:
    """An arrow from the fletched middle to the bare one, and the 80 % ellipse about its end."""
    from matplotlib.patches import Ellipse

    sign = hand.sideways_sign
    start = (-apart.fletched.y * sign / unit, apart.fletched.z / unit)
    end = (-apart.bare.y * sign / unit, apart.bare.z / unit)
    axes.annotate(
        "", end, start, arrowprops={"arrowstyle": "-|>", "color": INK, "lw": 1.6, "shrinkA": 0, "shrinkB": 0}, zorder=5
    )
    ellipse = apart.best.ellipse
    if ellipse is None:
        return
    # Direction runs from left toward up; on the page left is -x (for a left-hander the frame's left is right).
    turned = -degrees(ellipse.direction) * sign
    width, height = 2 * ellipse.major / unit, 2 * ellipse.minor / unit
    axes.add_patch(
        Ellipse(end, width, height, angle=turned, facecolor="none", edgecolor=INK, lw=1.2, ls="--", zorder=4)
    )


def _sentences(apart: Gap | None, system: System, hand: Hand) -> list[str]:
    legend = "Rings are bare shafts, crosses fletched ones, with their numbers; faint ones were called bad."
    if apart is None:
        return [legend, "Bare and fletched arrows are both needed to see a gap."]
    place = show_offset(apart.y, apart.z, hand, system)
    doubt = (
        "the dashed ellipse holds its true place with 80 % probability" if apart.best.ellipse else apart.best.why_not
    )
    return [legend, f"Bare stands {place} of fletched; {doubt}."]

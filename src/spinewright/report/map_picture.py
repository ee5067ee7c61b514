"""The forgiveness map as a picture: two panels that are never mixed, with doubt, bounds and where you are."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from spinewright.outlook import (
    ForgivenessMap,
    HeadsAndDifferences,
    OwnMistakes,
    Range,
    finer,
    flat_sentence,
    flatness,
    gap_sentence,
    show_length,
    show_range,
    whose_words,
)
from spinewright.report.saving import save_page
from spinewright.report.style import BLUE, FAINT, GROUND, INK, OCHRE, QUIET, SAND, TEXT, blank_page, lines_of, paragraph
from spinewright.report.typeface import own_type
from spinewright.units import GRAIN, INCH, Hand, Kind, System, show, side_word

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from numpy.typing import NDArray

__all__ = ["draw_map"]

_LINE = 0.185  # inches of height a line of text takes
_PANEL = 2.9  # inches of height of one panel
_HEAD, _UNDER = 0.78, 0.78  # inches above the first panel; below each for its axis
_BAND = 40  # places in each step of the map at which the band's edges are looked up
_EDGE, _WORDS = 0.08, 0.14  # shares of a panel along its edges: numbers would be cut off; words stand there
_NUMBER = (0.06, 0.04)  # half the room a line's number takes, as shares of a panel
_TITLE = 0.24  # inches between a panel's title and what explains it


@dataclass(frozen=True, slots=True)
class _Panel:
    """One panel: what it shows and how."""

    title: str
    explains: str
    colour: str
    own: bool


@dataclass(frozen=True, slots=True)
class _Scale:
    """The archer's units along the two axes: SI per unit and label."""

    length: float
    length_label: str
    mass: float
    mass_label: str
    step: float  # [m] least distance of contour lines

    @classmethod
    def of(cls, system: System) -> _Scale:
        if system is System.INCH:
            return cls(INCH, "shaft length, end to end (in)", GRAIN, "point weight (gr)", 0.05 * INCH)
        return cls(1e-3, "shaft length, end to end (mm)", 1e-3, "point weight (g)", 1e-3)


@own_type()
def draw_map(
    chart: ForgivenessMap,
    path: Path,
    system: System,
    hand: Hand,
    *,
    own: OwnMistakes | None = None,
    heads: HeadsAndDifferences | None = None,
) -> Path:
    """Draw ``chart`` into the PNG ``path`` and return it; sides in words are those of ``hand``.

    ``own`` and ``heads`` are the present build's, so that the picture quotes the numbers of the text; without them the
    chart's nearest build is quoted.
    """
    distance = show(chart.line.distance, Kind.DISTANCE, system)
    panels = (
        _Panel(
            "Your own mistakes",
            f"How far they move a typical fletched hit at {distance}; two of three move less."
            f"{_lines_in(chart, True, system)}",
            BLUE,
            True,
        ),
        _Panel(
            "Heads and differences between arrows",
            f"How far a typical arrow with a fixed-blade head lands from the field points at {distance}."
            f"{_lines_in(chart, False, system)}",
            OCHRE,
            False,
        ),
    )
    now = (own.miss if own is not None else None, heads.apart if heads is not None else None)
    sentences = [_under(chart, panel, here, system) for panel, here in zip(panels, now, strict=True)]
    if own is not None and own.points is not None:
        sentences[0] += f" On the face that is {own.points:.2f} points an arrow."
    closing = _closing(chart)
    texts = [*sentences, *closing]
    subject = _subject(chart, system)
    explained = lines_of([subject, *(panel.explains for panel in panels)])
    height = _HEAD + 2 * (_PANEL + _UNDER + 0.4) + _LINE * (lines_of(texts) + explained + 2.2) + 0.3
    page = blank_page(height)
    _write(page, 0.06, 1 - 0.32 / height, "Where this bow forgives", 15, INK, bold=True)
    top = _text(page, 0.62, [subject], QUIET) + 0.15
    for panel, sentence in zip(panels, sentences, strict=True):
        _write(page, 0.06, 1 - (top + 0.02) / height, panel.title, 12, panel.colour, bold=True)
        bottom = _text(page, top + _TITLE, [panel.explains], QUIET) + _PANEL
        axes = page.add_axes((0.15, 1 - bottom / height, 0.79, _PANEL / height), facecolor=GROUND)
        _draw_panel(axes, chart, panel, system, hand)
        top = _text(page, bottom + 0.62, [sentence], INK) + 0.2
    _key(page, top + 0.08, chart)
    _text(page, top + 0.5, closing, QUIET)
    return save_page(page, path)


def _write(page: Figure, x: float, y: float, text: str, size: float, colour: str, *, bold: bool = False) -> None:
    weight = "bold" if bold else "normal"
    page.text(x, y, text, fontsize=size, color=colour, weight=weight, va="center")


def _text(page: Figure, top: float, texts: list[str], colour: str) -> float:
    """Write ``texts`` from ``top`` [in] down and return where they end."""
    height = page.get_size_inches()[1]
    for text in texts:
        for line in paragraph(text):
            _write(page, 0.06, 1 - top / height, line, TEXT, colour)
            top += _LINE
    return top


def _lines_in(chart: ForgivenessMap, own: bool, system: System) -> str:
    """The unit of the lines' numbers, where lines are drawn."""
    told = flatness(chart.own if own else chart.apart, chart.safe)
    if told is not None and told.flat:
        return ""
    return f" Lines in {'inches' if system is System.INCH else 'millimetres'}."


def _subject(chart: ForgivenessMap, system: System) -> str:
    shaft = chart.grid.setups[0][0].build.shaft
    spine = show(shaft.static_spine, Kind.SPINE, system)
    weight = show(chart.grid.setups[0][0].present_peak_weight, Kind.FORCE, system, digits=1)
    return f"Spine {spine}, peak weight {weight}; {chart.own.shape[2]} plausible bows."


def _under(chart: ForgivenessMap, panel: _Panel, now: Range | None, system: System) -> str:
    draws = chart.own if panel.own else chart.apart
    at = chart.grid.here_at
    if now is None and chart.solved[at]:
        now = Range.of(draws[at])
    here = "" if now is None else f" Where you are: {show_range(now, system)}, in four cases of five."
    return flat_sentence(chart, panel.own, system) + here


def _closing(chart: ForgivenessMap) -> list[str]:
    stated = (
        f"The sizes of the mistakes ({whose_words(chart.line)}), the head and the differences within a "
        "set are stated, not measured. Your own mistakes come from the model of the arrow alone; heads and band also "
        "from what this bow's holes showed."
    )
    longer = "Longer than where you are needs new shafts."
    mark = (
        ""
        if chart.settings.safe_length is not None
        else " No safe length was marked, so the shortest is only computed."
    )
    seen = {one.what for row in chart.broken for cell in row for one in cell}
    why = f" Hatched for: {', '.join(sorted(str(what) for what in seen))}." if seen else ""
    return [gap_sentence(chart), f"{longer}{mark}{why}", stated]


def _draw_panel(axes: Axes, chart: ForgivenessMap, panel: _Panel, system: System, hand: Hand) -> None:
    scale = _Scale.of(system)
    x, y = chart.grid.lengths / scale.length, chart.grid.point_masses / scale.mass
    _frame(axes, x, y, scale)
    if chart.gap is not None:
        _band(axes, x, y, chart, hand)
    _contours(axes, (x, y), chart, panel, system)
    _hatch(axes, x, y, ~chart.safe)
    here = (chart.grid.here[1] / scale.length, chart.grid.here[0] / scale.mass)
    axes.plot(*here, marker="o", ms=11, mfc=GROUND, mec=INK, mew=2.2, zorder=6, clip_on=False)
    axes.plot(*here, marker="o", ms=3.2, color=INK, zorder=7, clip_on=False)
    for mass, mine in zip(y, chart.grid.owned, strict=True):
        if mine:
            axes.plot(x[0], mass, marker=4, ms=7, color=INK, clip_on=False, zorder=8)


def _frame(axes: Axes, x: NDArray[np.float64], y: NDArray[np.float64], scale: _Scale) -> None:
    axes.set_xlim(x[0], x[-1])
    axes.set_ylim(y[0], y[-1])
    axes.set_xlabel(scale.length_label, fontsize=10, color=INK)
    axes.set_ylabel(scale.mass_label, fontsize=10, color=INK)
    axes.tick_params(labelsize=9.5, colors=INK, length=3)
    for spine in axes.spines.values():
        spine.set_color(FAINT)


def _band(axes: Axes, x: NDArray[np.float64], y: NDArray[np.float64], chart: ForgivenessMap, hand: Hand) -> None:
    """Where zero lies inside the central 80 % of the sideways gap, its middle, and the sides in words.

    The bounds are carried between the builds first and compared then: a band narrower than a step of the map would
    otherwise be cut to pieces.
    """
    assert chart.gap is not None  # noqa: S101 - the caller asked for it
    low, middle, high = chart.gap[:, :, :, 0] - chart.settings.aim[0]
    lows, middles, highs = (finer(x, y, one, between=_BAND) for one in (low, middle, high))
    outside = np.maximum(lows.values, -highs.values)
    axes.contourf(lows.x, lows.y, outside, levels=[-1e9, 0.0], colors=[SAND], alpha=0.75, zorder=1)
    if middle.min() < 0.0 < middle.max():
        for colour, line, wide in ((SAND, "-", 4.0), (INK, "--", 1.6)):  # the middle is in the band, however narrow
            axes.contour(
                lows.x,
                lows.y,
                middles.values,
                levels=[0.0],
                colors=[colour],
                linestyles=line,
                linewidths=wide,
                zorder=3,
            )
    for value, corner in ((middle[0, 0], (0.02, 0.03)), (middle[-1, -1], (0.98, 0.97))):
        side = side_word(float(value), hand)
        text = f"bare {side} of fletched"
        box = {"facecolor": GROUND, "edgecolor": "none", "alpha": 0.85, "pad": 1.5}
        across, up = ("left", "bottom") if corner[0] < 0.5 else ("right", "top")
        axes.text(*corner, text, transform=axes.transAxes, fontsize=9, color=INK, zorder=9, bbox=box, ha=across, va=up)


def _contours(
    axes: Axes,
    places: tuple[NDArray[np.float64], NDArray[np.float64]],
    chart: ForgivenessMap,
    panel: _Panel,
    system: System,
) -> None:
    from matplotlib.patheffects import withStroke
    from matplotlib.ticker import MaxNLocator

    draws = chart.own if panel.own else chart.apart
    found = flatness(draws, chart.safe)
    if found is not None and found.flat:  # lines of what cannot be told apart would only be noise
        about = show_length(0.5 * (found.least + found.most), system)
        _in_the_middle(axes, f"everywhere about {about}", chart)
        return
    unit = INCH if system is System.INCH else 1e-3
    fine = finer(*places, np.median(draws, axis=2) / unit, chart.solved)
    # Each fine place belongs to the build nearest to it.
    own = np.ix_(*(np.abs(at[:, None] - of).argmin(axis=1) for at, of in ((fine.y, places[1]), (fine.x, places[0]))))
    values = np.ma.masked_where(~chart.solved[own], fine.values)
    scale = _Scale.of(system)
    step = scale.step / unit
    kept = values[chart.safe[own]] if chart.safe.any() else values  # lines where there is something to choose
    levels = np.asarray(MaxNLocator(5).tick_values(float(kept.min()), float(kept.max())))
    if levels[1] - levels[0] < step:
        levels = np.arange(np.floor(values.min() / step), np.ceil(values.max() / step) + 1) * step
    inside = [float(level) for level in levels if values.min() < level < values.max()]
    if not inside:
        _in_the_middle(axes, f"everywhere about {show_length(float(values.mean()) * unit, system)}", chart)
        return
    drawn = axes.contour(fine.x, fine.y, values, levels=inside, colors=[panel.colour], linewidths=1.8, zorder=4)
    halo = [withStroke(linewidth=3.5, foreground=GROUND)]
    decimals = 2 if system is System.INCH else 0
    here = np.array([chart.grid.here[1] / scale.length, chart.grid.here[0] / scale.mass])
    for level, x, y in _numbered(zip(inside, drawn.allsegs, strict=True), places, chart.safe, here):
        number = axes.text(x, y, f"{level:.{decimals}f}", fontsize=10, color=panel.colour, ha="center", va="center")
        number.set(zorder=5, path_effects=halo)


def _in_the_middle(axes: Axes, text: str, chart: ForgivenessMap) -> None:
    """``text`` across the middle, or above it where you are is there."""
    masses = chart.grid.point_masses
    share = (chart.grid.here[0] - masses[0]) / (masses[-1] - masses[0])
    up = 0.5 if abs(share - 0.5) > 0.1 else 0.66
    box = {"facecolor": GROUND, "edgecolor": "none", "alpha": 0.85, "pad": 2.0}
    axes.text(0.5, up, text, transform=axes.transAxes, fontsize=10, color=INK, ha="center", zorder=9, bbox=box)


def _numbered(
    lines: Iterable[tuple[float, Sequence[NDArray[np.float64]]]],
    places: tuple[NDArray[np.float64], NDArray[np.float64]],
    safe: NDArray[np.bool_],
    here: NDArray[np.float64],
) -> list[tuple[float, float, float]]:
    """A level and its place for every line that has room: on its safe part, clear of ``here``, other numbers and lines.

    Of all clear places the one nearest to the middle of the panel's height. Of two lines of one level each has its own.
    """
    x, y = places
    corner, size = np.array([x[0], y[0]]), np.array([x[-1] - x[0], y[-1] - y[0]])
    pieces = [(level, (one - corner) / size) for level, of_level in lines for one in of_level if len(one) > 1]
    taken = [(here - corner) / size]
    found: list[tuple[float, float, float]] = []
    for k, (level, share) in enumerate(pieces):
        usable = np.all((share > _EDGE) & (share < 1.0 - _EDGE), axis=1)
        usable &= np.abs(share[:, 1] - 0.5) < 0.5 - _WORDS
        for aside in (-_NUMBER[0], 0.0, _NUMBER[0]):
            column = np.abs(share[:, :1] + aside - (x - corner[0]) / size[0]).argmin(axis=1)
            row = np.abs(share[:, 1:] - (y - corner[1]) / size[1]).argmin(axis=1)
            usable &= safe[row, column]
        others = [one for j, (_, one) in enumerate(pieces) if j != k]
        for spots, room in ((np.array(taken), 2.0), *((one, 1.0) for one in others)):
            off = np.abs(share[:, None] - spots) / np.array(_NUMBER)
            usable &= np.all(off.max(axis=2) > room, axis=1)
        if usable.any():
            best = np.flatnonzero(usable)[np.argmin(np.abs(share[usable, 1] - 0.5))]
            taken.append(share[best])
            found.append((level, *(corner + share[best] * size).tolist()))
    return found


def _hatch(axes: Axes, x: NDArray[np.float64], y: NDArray[np.float64], unsafe: NDArray[np.bool_]) -> None:
    """Hatch the surroundings of every unsafe build."""
    from matplotlib.patches import Rectangle

    across, up = _edges(x), _edges(y)
    for p, k in np.argwhere(unsafe):
        size = (across[k + 1] - across[k], up[p + 1] - up[p])
        axes.add_patch(
            Rectangle((across[k], up[p]), *size, facecolor=GROUND, alpha=0.6, edgecolor="none", linewidth=0, zorder=4.5)
        )
        axes.add_patch(
            Rectangle((across[k], up[p]), *size, fill=False, hatch="////", edgecolor=QUIET, linewidth=0, zorder=4.6)
        )


def _edges(values: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.concatenate([[values[0]], 0.5 * (values[1:] + values[:-1]), [values[-1]]])


def _key(page: Figure, top: float, chart: ForgivenessMap) -> None:
    """Ring, arrow head, band and hatching with their words, in one row."""
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    ring = Line2D([], [], marker="o", ms=9, mfc=GROUND, mec=INK, mew=2, ls="none", label="you are here")
    mine = Line2D([], [], marker=4, ms=7, color=INK, ls="none", label="points you own")
    unsafe = Patch(facecolor=GROUND, edgecolor=QUIET, hatch="////", linewidth=0, label="unsafe or out of bounds")
    entries = [ring, mine, unsafe]
    if chart.gap is not None:
        entries.insert(2, Patch(facecolor=SAND, label="bare meets fletched"))
    height = page.get_size_inches()[1]
    page.legend(
        handles=entries,
        loc="center",
        bbox_to_anchor=(0.5, 1 - top / height),
        ncol=2,
        frameon=False,
        fontsize=10,
        labelcolor=INK,
        handletextpad=0.5,
        columnspacing=1.3,
    )

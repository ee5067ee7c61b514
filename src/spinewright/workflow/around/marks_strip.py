"""The sheet of sight marks: a strip true to scale to stick on the sight, and the marks as a table."""

from __future__ import annotations

from typing import TYPE_CHECKING

from spinewright.errors import SolveError
from spinewright.logbook import BenchState
from spinewright.units import YARD, Kind, System, show
from spinewright.workflow.around import papers
from spinewright.workflow.around.account import text_of
from spinewright.workflow.around.marks_tables import WIDE, marks_tables
from spinewright.workflow.around.papers import Paper
from spinewright.workflow.around.sighting import Sighted
from spinewright.workflow.showing import Voice

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    FloatArray = NDArray[np.float64]

__all__ = ["strip_papers"]

_MOST_DOUBT = 0.05  # of its length, central 80 %, beyond which a strip is no use
_MARGIN = 6.0  # mm of paper beyond the first and last line
_LABEL = 2.6  # mm between two labels that can both be read
_LINE = 0.35  # mm between two lines that can be told apart
_LONGEST = 230.0  # mm that fit a page


def strip_papers(
    voice: Voice, state: BenchState, sighted: Sighted, distances: FloatArray, where: str
) -> tuple[Paper, ...]:
    """One sheet, or none where nothing says how long the strip is."""
    fit = sighted.fit
    if len(distances) < 2:
        return ()
    try:
        whole, travel = _whole(voice, sighted, distances)
    except SolveError:
        return ()
    if len(whole) < 2 or travel[-1] - travel[0] > _LONGEST - 2 * _MARGIN:
        return ()
    off = WIDE * float(fit.marks_at(whole[[0, -1]] * _yard(voice)).apart[0])
    if 1e3 * off > _MOST_DOUBT * travel[-1]:
        return ()
    length = float(travel[-1]) + 2 * _MARGIN
    marks = [
        (length - _MARGIN - at if where == "carriage" else at + _MARGIN, label, long)
        for at, label, long in _lines(whole, travel)
    ]
    first, last = (f"{one:g} {_unit(voice)}" for one in (whole[0], whole[-1]))
    table = marks_tables(voice, sighted, fit.marks_at(distances))[0]
    name = state.now.bow.name
    blocks = (
        papers.words(
            "Cut the strip out along its frame. Set the sight to a mark you shot in, and stick the strip so that the "
            f"line of that distance stands at the pointer. It runs from {first} to {last} in whole {_words(voice)} and "
            + ("is for the bar, far at the bottom." if where == "bar" else "is for the carriage, far at the top.")
        ),
        papers.strip(sorted(marks), length, title=f"{_unit(voice)}"),
        papers.checkline(),
        papers.words(
            f"From its first line to its last it is {travel[-1]:.1f} mm, known to {1e3 * off:.1f} mm either way in "
            "four cases of five. Shoot the furthest distance before you trust it."
        ),
        papers.heading(table.title),
        papers.grid(table.columns, [[text_of(cell) for cell in row] for row in table.rows]),
        papers.words("In brackets stands what holds in four cases of five."),
        papers.words("A new mark is tried from near to far, with the backstop well behind the target.", care=True),
    )
    arrow = show(state.now.build.total_mass(bare=False), Kind.MASS, voice.system)
    foot = f"{name}, arrow of {arrow}" if name else f"arrow of {arrow}"
    return (Paper("sight-marks", "Sight marks", blocks, foot),)


def _yard(voice: Voice) -> float:
    return YARD if voice.system is System.INCH else 1.0


def _unit(voice: Voice) -> str:
    return "yd" if voice.system is System.INCH else "m"


def _words(voice: Voice) -> str:
    return "yards" if voice.system is System.INCH else "metres"


def _whole(voice: Voice, sighted: Sighted, distances: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Whole distances [yd or m] over which the pin goes down, and its travel below the first of them [mm]."""
    import numpy as np
    from scipy.interpolate import make_interp_spline

    from spinewright.outlook.slopes import nearest_rising

    yard = _yard(voice)
    near = max(float(distances[0]), nearest_rising(sighted.fit, float(distances[-1])))
    if near >= distances[-1]:
        return np.zeros(0), np.zeros(0)
    knots = np.linspace(near, float(distances[-1]), 16)
    curve = make_interp_spline(knots, sighted.fit.marks_at(knots).travel, k=3)
    whole = np.arange(np.ceil(near / yard - 1e-6), np.floor(distances[-1] / yard + 1e-6) + 1.0)
    travel = 1e3 * np.asarray(curve(whole * yard))
    return whole, travel - travel[0] if len(travel) else travel


def _lines(whole: FloatArray, travel: FloatArray) -> list[tuple[float, str, bool]]:
    """Lines (mm below the first, label, long): tens before fives before the rest, as far as they can be read."""
    labelled: list[int] = []
    for every in (10, 5, 1):
        for k, one in enumerate(whole):
            clear = all(abs(travel[k] - travel[n]) >= _LABEL for n in labelled)
            if one % every == 0 and k not in labelled and clear:
                labelled.append(k)
    lines: list[tuple[float, str, bool]] = []
    for k, one in enumerate(whole):
        if k in labelled:
            lines.append((float(travel[k]), f"{one:g}", True))
        elif all(abs(travel[k] - at) >= _LINE for at, *_ in lines):
            lines.append((float(travel[k]), "", False))
    return lines

"""Tables and the plot of the task of sight marks."""

from __future__ import annotations

from math import isnan
from typing import TYPE_CHECKING

from spinewright.units import YARD, Kind, System, height_word, show
from spinewright.workflow.around.account import Cell, Plot, Series, Table
from spinewright.workflow.around.sighting import Sighted
from spinewright.workflow.showing import SI_UNITS, Json, Voice

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from spinewright.outlook.sight_marks import Known, MarkFit

    FloatArray = NDArray[np.float64]

__all__ = ["WIDE", "fit_table", "marks_plot", "marks_tables", "shot_table", "slope_tables", "span", "worth"]

WIDE = 1.2816  # sds that hold the central 80 % of a normal
_MOST_SLOPED = 7
_INCHES = 25.4  # mm


def worth(voice: Voice, sd: float) -> str:
    """Half the central 80 % [m] as text."""
    digits = 1 if voice.system is System.INCH else 0
    return show(max(WIDE * sd, 0.1 * 0.0254 if digits else 1e-3), Kind.LENGTH, voice.system, digits=digits)


def span(voice: Voice, middle: float, sd: float, kind: Kind, digits: int) -> Json:
    """A middle with its central 80 % [SI], printed with so many decimals."""
    low, high = middle - WIDE * sd, middle + WIDE * sd
    texts = [show(float(one), kind, voice.system, digits=digits) for one in (middle, low, high)]
    bare = [one.rpartition(" ")[0] for one in texts]
    return {
        "middle": float(middle),
        "low": float(low),
        "high": float(high),
        "unit": SI_UNITS[kind],
        "text": f"{texts[0]} ({bare[1]} to {bare[2]})",
    }


def _on_sight(voice: Voice, middle: float, sd: float) -> Json:
    return span(voice, middle, sd, Kind.LENGTH, 2 if voice.system is System.INCH else 1)


def _number(sighted: Sighted, reading: float) -> str:
    """A reading as it stands on the scale."""
    if sighted.shown == "in":
        return f"{reading / _INCHES:.2f}"
    return f"{reading:.1f}" if sighted.shown or abs(reading) >= 10.0 else f"{reading:.2f}"


def _reading(sighted: Sighted, middle: float, sd: float) -> Json:
    """A reading with its central 80 %, in what the person reads."""
    ends = (middle, middle - WIDE * sd, middle + WIDE * sd)
    texts = [_number(sighted, one) for one in ends]
    factor, unit = (1e-3, "m") if sighted.shown else (1.0, "1")
    label = f" {sighted.shown}" if sighted.shown else ""
    return {
        "middle": float(middle * factor),
        "low": float(ends[1] * factor),
        "high": float(ends[2] * factor),
        "unit": unit,
        "text": f"{texts[0]}{label} ({texts[1]} to {texts[2]})",
    }


def marks_tables(voice: Voice, sighted: Sighted, known: Known) -> list[Table]:
    """Every distance with its mark and what that is good for, where there is one, and how far the pin moves."""
    fit = sighted.fit
    marks: list[tuple[Cell, ...]] = []
    gaps: list[tuple[Cell, ...]] = []
    for k, distance in enumerate(known.distance):
        there = voice.quantity(distance, Kind.DISTANCE)
        mark = _reading(sighted, known.reading[k], known.reading_sd[k])
        marks.append((there, mark, worth(voice, known.height_sd[k]), _speed(voice, fit, known, k)))
        moved = known.travel[k] - known.travel[0]
        last = k + 1 == len(known.distance)
        gaps.append(
            (
                there,
                _on_sight(voice, moved, known.since_first[k]) if k else "",
                "" if last else _on_sight(voice, known.travel[k + 1] - known.travel[k], known.apart[k]),
            )
        )
    settled = Table(
        "Marks",
        ("distance", "mark", "on the target within", "speed there"),
        tuple(marks),
        "'On the target within' is how far high or low that mark may shoot, in four cases of five.",
    )
    between = Table(
        "Gaps on the sight",
        ("distance", "pin below the first", "to the next"),
        tuple(gaps),
        "Lengths on the sight: so far apart stand fixed pins.",
    )
    return [*([settled] if fit.settled else []), *([between] if len(gaps) > 1 else [])]


def _speed(voice: Voice, fit: MarkFit, known: Known, k: int) -> Json:
    """Speed at the target: what the launch and the drag are not known to, first order."""
    import numpy as np

    from spinewright.outlook.sight_marks import Unknown

    speed = float(known.passed.speed[k])
    slowed = float(np.log(fit.speed / speed))
    row = np.zeros(len(Unknown))
    row[Unknown.SPEED], row[Unknown.DRAG] = 1.0, -slowed
    return span(voice, speed, speed * float(np.sqrt(row @ fit.covariance @ row)), Kind.SPEED, 0)


def shot_table(voice: Voice, sighted: Sighted) -> Table:
    """The marks that were shot beside what all of it says."""
    import numpy as np

    from spinewright.outlook.sight_marks import Unknown

    fit, marks = sighted.fit, sighted.marks
    known = fit.marks_at(np.array([mark.distance for mark in marks]))
    scale = float(np.exp(fit.at[Unknown.SCALE])) * fit.prior.grows
    rows: list[tuple[Cell, ...]] = []
    for k, mark in enumerate(marks):
        off = (mark.reading - known.reading[k]) / scale * mark.distance
        label = f" {sighted.shown}" if sighted.shown else ""
        verdict = "may be wrong" if k in sighted.odd else "goes with the rest"
        rows.append(
            (
                voice.there(mark.distance),
                f"{_number(sighted, mark.reading)}{label}",
                str(mark.arrows),
                _reading(sighted, known.reading[k], known.reading_sd[k]) if fit.settled else "",
                _goes(voice, off),
                "left out" if k == sighted.left_out else verdict,
            )
        )
    columns = ("distance", "shot", "arrows", "all of it says", "the shot mark would go", "stands")
    day = "0.15 in at 20 yd" if voice.system is System.INCH else "4 mm at 18 m"
    note = (
        f"Each mark is known to the scatter of its arrows, to {day} from one day to another, and to 0.2 mm of setting "
        "the sight."
    )
    return Table("What you shot", columns, tuple(rows), note)


def _goes(voice: Voice, off: float) -> str:
    """Where a mark shoots, high or low of the spot [m]; no side where it shows none."""
    text = show(abs(off), Kind.LENGTH, voice.system, digits=1 if voice.system is System.INCH else 0)
    return f"{height_word(off)} {text}" if float(text.split()[0]) else "on the spot"


def fit_table(voice: Voice, sighted: Sighted, furthest: float) -> Table:
    """Speed, drag and sight: beforehand, and with the marks."""
    import numpy as np

    from spinewright.outlook.sight_marks import DRAG_SD, Unknown

    fit, prior = sighted.fit, sighted.fit.prior
    speed, doubt = fit.speed, fit.sd(Unknown.SPEED)
    rows: list[tuple[Cell, ...]] = [
        (
            "arrow speed at the bow",
            span(voice, prior.speed, prior.speed * prior.speed_sd, Kind.SPEED, 0),
            span(voice, speed, speed * doubt, Kind.SPEED, 0),
        )
    ]
    far = np.array([furthest])
    before = _lost(fit, far, np.log(prior.speed), 0.0)
    after = _lost(fit, far, np.log(speed), np.log(fit.drag))
    there = voice.quantity(furthest, Kind.DISTANCE)["text"]
    rows.append(
        (
            f"speed lost over {there}",
            span(voice, before, before * DRAG_SD, Kind.FRACTION, 1),
            span(voice, after, after * fit.sd(Unknown.DRAG), Kind.FRACTION, 1),
        )
    )
    if prior.unit is not None:
        radius = float(np.exp(fit.at[Unknown.SCALE])) * prior.unit
        pair = [(prior.radius, prior.radius_sd), (radius, fit.sd(Unknown.SCALE))]
        rows.append(("peep to pin", *(span(voice, r, r * sd, Kind.LENGTH, _tape(voice)) for r, sd in pair)))
    pair = [(prior.peep, prior.peep_sd), (float(fit.at[Unknown.PEEP]), fit.sd(Unknown.PEEP))]
    rows.append(("peep over the arrow", *(span(voice, h, sd, Kind.LENGTH, _tape(voice)) for h, sd in pair)))
    note = "Marks tell slow from draggy only when near and far are both shot with many arrows."
    return Table("What it is made from", ("what", "without the marks", "with them"), tuple(rows), note)


def _tape(voice: Voice) -> int:
    return 1 if voice.system is System.INCH else 0


def _lost(fit: MarkFit, far: FloatArray, log_speed: float, log_drag: float) -> float:
    """Share of the speed lost on the way."""
    import numpy as np

    from spinewright.outlook.sight_line import Aims, passing_line

    speed = float(np.exp(log_speed))
    one = np.ones(1)
    aims = Aims(far, 0.0 * one, speed * one, float(np.exp(log_drag)) * one, fit.prior.peep * one)
    return 1.0 - float(passing_line(fit.leaves, aims).speed[0]) / speed


def slope_tables(voice: Voice, fit: MarkFit, distances: FloatArray, slopes: tuple[float, ...]) -> list[Table]:
    """How far level marks shoot high on a slope, and which mark to use there."""
    import numpy as np

    from spinewright.outlook.slopes import on_slopes

    few = distances[np.unique(np.linspace(0, len(distances) - 1, _MOST_SLOPED).round().astype(int))]
    ways = [(slope * sign, word) for slope in slopes for sign, word in ((1.0, "up"), (-1.0, "down"))]
    found = on_slopes(fit, few, [angle for angle, _ in ways])
    names = [f"{show(abs(angle), Kind.ANGLE, voice.system)} {word}" for angle, word in ways]
    high: list[tuple[Cell, ...]] = []
    use: list[tuple[Cell, ...]] = []
    for k, distance in enumerate(few):
        there = voice.quantity(distance, Kind.DISTANCE)
        high.append((there, *(_high(voice, one.high[k], one.high_sd[k]) for one in found)))
        use.append((there, *(_level(voice, one.shoot_as[k], one.shoot_as_sd[k]) for one in found)))
    return [
        Table(
            "The level mark on a slope shoots high by",
            ("distance", *names),
            tuple(high),
            "The distance is along the line of sight, as a range finder reads it without its own angle reckoning.",
        ),
        Table(
            "Mark to use on a slope", ("distance", *names), tuple(use), "The level distance whose mark is right there."
        ),
    ]


def _high(voice: Voice, middle: float, sd: float) -> Json:
    return span(voice, middle, sd, Kind.LENGTH, 1 if voice.system is System.INCH else 0)


def _level(voice: Voice, middle: float, sd: float) -> Cell:
    return "nearer than any mark" if isnan(middle) else span(voice, middle, sd, Kind.DISTANCE, 1)


def _plain(values: FloatArray) -> tuple[float, ...]:
    return tuple(float(one) for one in values)


def marks_plot(voice: Voice, sighted: Sighted, distances: FloatArray) -> Plot:
    """The marks over the distance, with the central 80 % and what was shot."""
    import numpy as np

    fit = sighted.fit
    known = fit.marks_at(np.linspace(distances[0], distances[-1], 25))
    yard = voice.system is System.INCH
    x = known.distance / (YARD if yard else 1.0)
    if fit.settled:
        factor = 1.0 / _INCHES if sighted.shown == "in" else 1.0
        y, sd = known.reading * factor, known.reading_sd * factor
        name = f"mark ({sighted.shown})" if sighted.shown else "mark"
    else:
        factor = 1.0 / 0.0254 if yard else 1e3
        y, name = (known.travel - known.travel[0]) * factor, f"pin below the first ({'in' if yard else 'mm'})"
        sd = known.since_first * factor
    low, high = y - WIDE * sd, y + WIDE * sd
    series = [Series("worked out", _plain(x), _plain(y), _plain(low), _plain(high))]
    if fit.settled:
        shot = [mark for k, mark in enumerate(sighted.marks) if k != sighted.left_out]
        series.append(
            Series(
                "shot",
                tuple(mark.distance / (YARD if yard else 1.0) for mark in shot),
                tuple(mark.reading * factor for mark in shot),
                line=False,
            )
        )
    words = "The line is what everything together says, the band holds it in four cases of five."
    return Plot("Sight marks", f"distance ({'yd' if yard else 'm'})", name, tuple(series), words)

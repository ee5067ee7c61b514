"""Reads what a person says of sight, marks and distances; shared by the tasks of sight marks and of wind."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from spinewright.errors import InputError, Place, SolveError
from spinewright.logbook import BenchState
from spinewright.units import YARD, Kind, System, parse
from spinewright.workflow.around.answers import Answers, answers_of
from spinewright.workflow.around.asks.marks import TASK as MARKS
from spinewright.workflow.around.keeping import kept_answers

if TYPE_CHECKING:
    from spinewright.equipment import Setup
    from spinewright.outlook.sight_marks import MarkFit, ShotMark

__all__ = ["Sighted", "distances_of", "kept_sight", "sight_of", "speed_of"]

MOST_DISTANCES = 60
MOST_MARKS = 100
_NEAREST, _FURTHEST = 5.0, 150.0  # m; nearer, the arrow has hardly left the bow
_RADIUS_READ, _RADIUS_USUAL = 0.005, 0.12  # sd of the ln of peep to pin: with a tape; from draw length (from memory)
_PEEP_READ, _PEEP_USUAL = 0.003, 0.012  # [m] one sd of the peep's height: with a rule; from memory
_REPEATS = 0.6  # [m/s] one sd of a chronograph's reading (evidence/noise.py)
_USUAL_ARROWS = 6
_RANGE = re.compile(r"(?P<first>.+?)\s+to\s+(?P<last>.+?)(?:\s+by\s+(?P<step>.+))?", re.IGNORECASE)
_UNIT = re.compile(r"[a-z\"']+\s*$", re.IGNORECASE)
_MARK_HINT = "write for example '20 yd, 14.5 mm, 6 arrows'"


@dataclass(frozen=True, slots=True)
class Sighted:
    """What was made of the answers.

    fit      with all marks that go together; marks in order of distance, all of them
    shown    in what the scale is read: 'mm', 'in' or '' for plain numbers
    unit     [m] of 1 on the scale, None = not known
    odd      numbers of marks of which one must be wrong; left_out the one that is certain
    amiss    whether marks, speed and sight contradict each other and no single mark mends it
    measured what was measured and not taken as usual: 'speed', 'radius', 'peep'
    """

    fit: MarkFit
    marks: tuple[ShotMark, ...]
    shown: str
    unit: float | None
    odd: tuple[int, ...]
    left_out: int | None
    amiss: bool
    measured: tuple[str, ...]


def distances_of(text: str, system: System, field: str = "distances") -> tuple[float, ...]:
    """Distances [m] in rising order, of '20, 30, 40 yd' or '20 to 60 yd by 5 yd'; the usual ones for ''."""
    usual = "20 to 60 yd by 5 yd" if system is System.INCH else "20 to 60 m by 5 m"
    text = text or usual
    place = Place(field=field)
    match = _RANGE.fullmatch(text.strip())
    if match is None:
        pieces = [piece for piece in re.split(r"[,;]", text) if piece.strip()]
        found = [_distance(piece, text, field) for piece in pieces]
    else:
        step = _length_step(match["step"], text, field) if match["step"] else (YARD if _yards(text) else 1.0) * 5.0
        first, last = (_distance(match[name], text, field) for name in ("first", "last"))
        if step < 0.1 or last < first or (last - first) / step > MOST_DISTANCES:
            raise InputError(
                f"'{text}' is no run of at most {MOST_DISTANCES} distances", "write '20 to 60 yd by 5 yd'", place
            )
        found = [first + k * step for k in range(int((last - first) / step + 1e-6) + 1)]
    if not 1 <= len(found) <= MOST_DISTANCES:
        raise InputError(f"'{text}' names {len(found)} distances", f"name 1 to {MOST_DISTANCES}", place)
    return tuple(sorted(dict.fromkeys(round(one, 6) for one in found)))


def _yards(text: str) -> bool:
    return re.search(r"\b(yd|yds|yard|yards)\b", text, re.IGNORECASE) is not None


def _with_unit(piece: str, text: str) -> str:
    """``piece`` with the unit that is given once for all."""
    piece = piece.strip()
    unit = _UNIT.search(text.split(" by ", maxsplit=1)[0]) or _UNIT.search(text)
    return piece if _UNIT.search(piece) or unit is None else f"{piece} {unit.group().strip()}"


def _length_step(piece: str, text: str, field: str) -> float:
    return parse(_with_unit(piece, text), Kind.DISTANCE, field=field)


def _distance(piece: str, text: str, field: str) -> float:
    found = parse(_with_unit(piece, text), Kind.DISTANCE, field=field)
    if not _NEAREST <= found <= _FURTHEST:
        raise InputError(f"'{piece.strip()}' is no distance to shoot a mark at", "5 to 150 m", Place(field=field))
    return found


def speed_of(state: BenchState, answered: float | None) -> tuple[float, float, bool]:
    """Speed [m/s] of the arrow as it leaves, sd of its ln, and whether it was measured with this arrow."""
    from math import hypot

    from spinewright.equipment.virtual_mass import CHRONOGRAPH_OFF
    from spinewright.evidence import SpeedShot

    if answered is not None:
        if not 20.0 <= answered <= 150.0:
            hint = "arrows leave a bow at 20 to 150 m/s (66 to 492 ft/s)"
            raise InputError("no arrow leaves a bow at that speed", hint, Place(field="speed"))
        return answered, hypot(CHRONOGRAPH_OFF, _REPEATS / answered), True
    shots = [
        one.what
        for one in state.history.seen
        if isinstance(one.what, SpeedShot) and not one.what.bare and one.setup == state.now
    ]
    if shots:
        weight = sum(1.0 / shot.doubt**2 for shot in shots)
        speed = sum(shot.speed / shot.doubt**2 for shot in shots) / weight
        return speed, hypot(CHRONOGRAPH_OFF, weight**-0.5 / speed), True
    return (*_computed_speed(state.now), False)


@lru_cache(maxsize=16)
def _computed_speed(setup: Setup) -> tuple[float, float]:
    """Speed [m/s] from the draw curve and the bow's chronograph readings, and sd of its ln."""
    from spinewright.outlook import build_figures

    figures = build_figures(setup).fletched
    return figures.launch.speed, figures.speed_doubt / figures.launch.speed


def kept_sight(state: BenchState, speed: str = "") -> Sighted:
    """What is known of arrow and sight from the answers kept for the sight marks, and a ``speed`` if there is one."""
    return sight_of(state, answers_of(MARKS, {"speed": (speed,)} if speed else {}, kept_answers(state, MARKS)))


def sight_of(state: BenchState, answers: Answers) -> Sighted:
    """The fit to everything the answers say. Raises InputError."""
    from dataclasses import replace

    from spinewright.outlook.sight_line import departure_of
    from spinewright.outlook.sight_marks import SightPrior, contradicting, fit_marks, runs, without

    marks, shown = _marks(state, answers)
    per_unit = _within(answers, "per-unit", (1e-5, 0.1), "0.01 to 100 mm")
    unit = 1e-3 if shown else per_unit
    radius, peep = _within(answers, "sight-radius", (0.3, 2.0), "12 to 79 in"), _peep(answers)
    speed, speed_sd, clocked = speed_of(state, answers.maybe("speed"))
    prior = SightPrior(
        speed=speed,
        speed_sd=speed_sd,
        radius=_usual_radius(state) if radius is None else radius,
        radius_sd=_RADIUS_USUAL if radius is None else _RADIUS_READ,
        peep=state.now.bow.peep_above if peep is None else peep,
        peep_sd=_PEEP_USUAL if peep is None else _PEEP_READ,
        unit=unit,
    )
    leaves = departure_of(state.now)
    try:
        told = runs(leaves, prior, marks) if len(marks) > 1 else 0
        prior = replace(prior, grows=_grows(answers, told))
        fit = fit_marks(leaves, prior, marks)
        odd = contradicting(fit)
    except SolveError as error:
        hint = "look at the distances, the readings and the speed once more"
        raise InputError("no arrow of this bow fits these marks", hint, Place(field="mark")) from error
    if unit is None and fit.settled and not told:
        raise InputError(
            "the nearest and the furthest mark read the same", "look at both once more", Place(field="mark")
        )
    one = odd[0] if len(odd) == 1 and odd[0] >= 0 else None
    measured = [("speed", clocked), ("radius", radius is not None), ("peep", peep is not None)]
    return Sighted(
        fit=fit if one is None else without(fit, one),
        marks=marks,
        shown=shown,
        unit=unit,
        odd=tuple(k for k in odd if k >= 0),
        left_out=one,
        amiss=odd == (-1,),
        measured=tuple(name for name, known in measured if known),
    )


def _usual_radius(state: BenchState) -> float:
    from spinewright.outlook.mistakes import SIGHT_AHEAD

    return state.now.bow.nock_to_pivot + SIGHT_AHEAD


def _grows(answers: Answers, told: int) -> int:
    said = {"grow": 1, "fall": -1, "": 0}[answers.choice("numbers")]
    if said and told and said != told:
        does = "grow" if told > 0 else "fall"
        raise InputError(
            f"the marks say that the numbers {does} as the sight goes down",
            "look at the marks once more, or change the answer",
            Place(field="numbers"),
        )
    return said or told or 1


def _within(answers: Answers, name: str, bounds: tuple[float, float], words: str) -> float | None:
    found = answers.maybe(name)
    if found is not None and not bounds[0] <= found <= bounds[1]:
        asked = answers.task.question(name)
        what = asked.asks if asked is not None else name
        raise InputError(f"'{answers.text(name)}' cannot be right for '{what}'", words, Place(field=name))
    return found


def _peep(answers: Answers) -> float | None:
    return _within(answers, "peep", (0.02, 0.4), "1 to 15 in")


def _marks(state: BenchState, answers: Answers) -> tuple[tuple[ShotMark, ...], str]:
    """The marks in order of distance, readings in units of the scale (mm where it is read as a length)."""
    from spinewright.outlook.sight_marks import ShotMark

    lines = answers.lines("mark")
    if len(lines) > MOST_MARKS:
        raise InputError(f"there are {len(lines)} marks", f"at most {MOST_MARKS}", Place(field="mark"))
    found: list[ShotMark] = []
    shown: dict[str, None] = {}
    for line in lines:
        distance, reading, unit, arrows = _mark(line)
        shown[unit] = None
        found.append(ShotMark(distance, reading, arrows, state.archer.scatter))
    if "" in shown and len(shown) > 1:
        raise InputError(
            "some marks are lengths and some are plain numbers", "write all of them the same way", Place(field="mark")
        )
    return tuple(sorted(found, key=lambda mark: (mark.distance, mark.reading))), next(iter(shown), "")


def _mark(line: str) -> tuple[float, float, str, int]:
    """Distance [m], reading, in what it is shown, arrows."""
    pieces = [piece.strip() for piece in line.split(",") if piece.strip()]
    place = Place(field="mark")
    if not 2 <= len(pieces) <= 3:
        raise InputError(f"'{line}' is no mark", _MARK_HINT, place)
    distance = _distance(pieces[0], pieces[0], "mark")
    arrows = _arrows(pieces[2]) if len(pieces) == 3 else _USUAL_ARROWS
    if re.fullmatch(r"[-+]?(\d+\.?\d*|\.\d+)", pieces[1]) is None:
        unit = "mm" if re.search(r"\d\s*(mm|cm|m)\b|metre|meter", pieces[1], re.IGNORECASE) else "in"
        return distance, parse(pieces[1], Kind.LENGTH, field="mark") / 1e-3, unit, arrows
    reading = float(pieces[1])
    if abs(reading) > 1e5:
        raise InputError(f"'{pieces[1]}' is no reading of a sight's scale", _MARK_HINT, place)
    return distance, reading, "", arrows


def _arrows(piece: str) -> int:
    match = re.fullmatch(r"(\d{1,4})\s*(?:arrows?)?", piece, re.IGNORECASE)
    if match is None or not 1 <= int(match[1]) <= 1000:
        raise InputError(f"'{piece}' does not say how many arrows", _MARK_HINT, Place(field="mark"))
    return int(match[1])

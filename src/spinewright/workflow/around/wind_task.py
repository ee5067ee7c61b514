"""Drift and hold-off by wind speed and direction, from what is known of the arrow's speed and drag."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from math import cos, radians, sin
from typing import TYPE_CHECKING

from spinewright.errors import InputError, Place, SolveError
from spinewright.logbook import BenchState
from spinewright.units import YARD, Kind, System, height_word, parse, show_distance, side_word
from spinewright.workflow.around.account import Account, Cell, Plot, Series, Table
from spinewright.workflow.around.answers import Answers
from spinewright.workflow.around.marks_tables import WIDE, span
from spinewright.workflow.around.marks_task import safety_of
from spinewright.workflow.around.sighting import Sighted, distances_of, kept_sight
from spinewright.workflow.showing import Json, Voice

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from spinewright.outlook.wind_drift import Moved

    FloatArray = NDArray[np.float64]

__all__ = ["account"]

_USUAL = {System.INCH: ("5 mph", "10 mph", "15 mph"), System.METRIC: ("2 m/s", "4 m/s", "6 m/s")}
_SPACING = {System.INCH: "20 to 60 yd by 10 yd", System.METRIC: "20 to 70 m by 10 m"}
_MOST_WINDS = 5
_STRONGEST = 20.0  # m/s; nobody should shoot in more
_HOURS = {"ahead": 12, "right": 3, "behind": 6, "left": 9}


@dataclass(frozen=True, slots=True)
class _Wind:
    """A wind as it was written, its speed [m/s]."""

    said: str
    speed: float


def account(state: BenchState, answers: Answers, _progress: Callable[[float], None]) -> Account:
    """What every wind does at every distance. Raises InputError."""
    import numpy as np

    voice = Voice(state.scope.hand, state.scope.system)
    winds, hour = _winds(answers, voice.system), _hour(answers)
    distances = np.array(distances_of(answers.text("distances") or _SPACING[voice.system], voice.system))
    sighted = kept_sight(state, answers.text("speed"))
    moved = _moved(voice, sighted, distances, [(wind.speed, hour) for wind in winds])
    way = _way(hour)
    worst = winds[-1]
    tables = (*_tables(voice, sighted, (winds, way), distances, moved), _clock(voice, sighted, worst, distances))
    return Account(
        "wind",
        answers.task.title,
        _answer(voice, moved, (worst, way), distances),
        _sentences(sighted),
        tables,
        (_plot(voice, moved, winds, distances, way),) if len(distances) > 1 else (),
        cautions=(*safety_of(state), *_CAUTIONS),
        rests_on=_RESTS,
    )


def _tables(
    voice: Voice, sighted: Sighted, blown: tuple[list[_Wind], str], distances: FloatArray, moved: Moved
) -> tuple[Table, Table]:
    """Where the arrow goes, and how far the sight follows it."""
    winds, way = blown
    columns = ("distance", *(wind.said for wind in winds))
    rows = [(voice.there(one), d) for d, one in enumerate(distances)]
    goes = tuple((there, *(_both(voice, moved, w, d) for w in range(len(winds)))) for there, d in rows)
    sight = tuple(
        (there, *(_sight(voice, sighted, moved, (w, d), distances[d]) for w in range(len(winds)))) for there, d in rows
    )
    return (
        Table(f"Where the arrow goes, wind {way}", columns, goes, "Hold off as far the other way."),
        Table(f"Or move the sight, wind {way}", columns, sight, "Lengths on the sight; the sight follows the arrow."),
    )


def _clock(voice: Voice, sighted: Sighted, wind: _Wind, distances: FloatArray) -> Table:
    """One wind from every side at one distance."""
    import numpy as np

    far = distances[len(distances) // 2]
    moved = _moved(voice, sighted, np.array([far]), [(wind.speed, hour) for hour in range(1, 13)])
    rows = tuple((f"{k + 1} o'clock", _side(voice, moved, k, 0), _height(voice, moved, k, 0)) for k in range(12))
    title = f"{wind.said} from every side at {show_distance(far, voice.system)}"
    return Table(title, ("from", "sideways", "height"), rows, "The target stands at 12 o'clock.")


_CAUTIONS = ("Do not shoot where a gust could carry an arrow past the backstop.",)
_RESTS = (
    "One steady wind over the whole way. Wind near the bow counts for more than wind near the target, and a flag shows "
    "neither.",
    "In brackets stands what holds in four cases of five for this arrow in exactly that wind. A wind a third stronger "
    "than you read it moves the arrow a third further than said: that doubt is the larger one.",
    "What the wind does to bow and archer is not in it; shoot groups in wind to see that.",
)


def _winds(answers: Answers, system: System) -> list[_Wind]:
    lines = answers.lines("wind") or _USUAL[system]
    if len(lines) > _MOST_WINDS:
        raise InputError(f"there are {len(lines)} winds", f"at most {_MOST_WINDS}", Place(field="wind"))
    found = []
    for line in lines:
        speed = parse(line, Kind.SPEED, field="wind")
        if not 0.0 < speed <= _STRONGEST:
            hint = "up to 20 m/s (45 mph); in more nobody should shoot"
            raise InputError(f"'{line}' is no wind to shoot in", hint, Place(field="wind"))
        found.append(_Wind(line, speed))
    return sorted(found, key=lambda wind: wind.speed)


def _hour(answers: Answers) -> float:
    """Where the wind comes from, as on a clock."""
    text = " ".join(answers.text("from").lower().replace("-", " ").split())
    if text in _HOURS:
        return _HOURS[text]
    match = re.fullmatch(r"(\d{1,2}(?:\.5)?)(?:\s*o.?\s?clock|\s*h)?", text)
    if match is not None and 0.0 < float(match[1]) < 13.0:
        return float(match[1]) % 12.0 or 12.0
    raise InputError(
        f"'{text}' does not say where the wind comes from",
        "write left, right, ahead, behind, or for example 10 o'clock",
        Place(field="from"),
    )


def _way(hour: float) -> str:
    """Where from, in words."""
    named = {clock: word for word, clock in _HOURS.items()}
    if hour not in named:
        return f"from {hour:g} o'clock"
    word = named[int(hour)]
    return f"from the {word}" if word in {"left", "right"} else f"from {word}"


def _moved(voice: Voice, sighted: Sighted, distances: FloatArray, winds: list[tuple[float, float]]) -> Moved:
    """Hits moved, in the right-handed frame: a wind from 9 o'clock blows to this archer's right."""
    import numpy as np

    from spinewright.outlook.wind_drift import moved_by_wind

    turned = [(speed, radians(30.0 * hour)) for speed, hour in winds]
    across = np.array([speed * sin(angle) * voice.hand.sideways_sign for speed, angle in turned])
    against = np.array([speed * cos(angle) for speed, angle in turned])
    across[np.abs(across) < 1e-9] = 0.0
    try:
        return moved_by_wind(sighted.fit, distances, across, against)
    except SolveError as error:
        raise InputError(error.step, "ask for shorter distances", Place(field="distances")) from error
    except ValueError as error:
        raise InputError(str(error), "ask for less wind", Place(field="wind")) from error


def _digits(voice: Voice) -> int:
    return 1 if voice.system is System.INCH else 0


def _nothing(middle: float, sd: float, voice: Voice) -> bool:
    """Whether it rounds to nothing, ends and all."""
    step = 0.05 * 0.0254 if voice.system is System.INCH else 0.5e-3
    return abs(middle) + WIDE * sd < step


def _worded(voice: Voice, middle: float, sd: float, word: str, digits: int) -> str:
    return f"{word} {span(voice, abs(middle), sd, Kind.LENGTH, digits)['text']}"


def _both(voice: Voice, moved: Moved, w: int, d: int) -> Cell:
    """Where the hit goes, sideways and in height, with the doubt of each."""
    texts = [_side(voice, moved, w, d)["text"], _height(voice, moved, w, d)["text"]]
    said = ", ".join(str(one) for one in texts if one != "nothing") or "nothing"
    return {**voice.offset((moved.side[w, d], moved.height[w, d])), "text": said}


def _side(voice: Voice, moved: Moved, w: int, d: int) -> Json:
    y, sd = float(moved.side[w, d]), float(moved.side_sd[w, d])
    word = side_word(y, voice.hand)
    text = "nothing" if _nothing(y, sd, voice) else _worded(voice, y, sd, word, _digits(voice))
    return {**voice.offset((y, 0.0)), "text": text}


def _height(voice: Voice, moved: Moved, w: int, d: int) -> Json:
    z, sd = float(moved.height[w, d]), float(moved.height_sd[w, d])
    text = "nothing" if _nothing(z, sd, voice) else _worded(voice, z, sd, height_word(z), _digits(voice))
    return {**voice.offset((0.0, z)), "text": text}


def _sight(voice: Voice, sighted: Sighted, moved: Moved, at: tuple[int, int], distance: float) -> Cell:
    """How far the sight goes sideways: peep to pin over the distance."""
    from math import hypot

    fit, y = sighted.fit, float(moved.side[at])
    share = fit.radius / distance
    sd = share * hypot(float(moved.side_sd[at]), y * fit.radius_sd)
    if abs(y) * share < 5e-5:
        return "nothing"
    text = _worded(voice, y * share, sd, side_word(y, voice.hand), 3 if voice.system is System.INCH else 1)
    return {**voice.offset((y * share, 0.0)), "text": text}


def _answer(voice: Voice, moved: Moved, wind: tuple[_Wind, str], distances: FloatArray) -> str:
    worst, way = wind
    cell = _both(voice, moved, -1, -1)
    there = show_distance(distances[-1], voice.system)
    said = cell if isinstance(cell, str) else cell["text"]
    return f"A wind of {worst.said} {way} takes the arrow {said} at {there}; hold off as far the other way."


def _sentences(sighted: Sighted) -> tuple[str, ...]:
    said = []
    count = len(sighted.fit.marks)
    if sighted.amiss or len(sighted.odd) > 1:
        said.append("The sight marks you kept do not go together: put them right before you trust this.")
    if count:
        kept = f"the {count} sight marks" if count > 1 else "the sight mark"
        said.append(f"Speed and drag follow from {kept} you kept, taken as shot with bow and arrow as they are now.")
    elif "speed" not in sighted.measured:
        said.append(
            "The speed is computed from the draw curve; a chronograph, or kept sight marks, narrow the brackets."
        )
    if "radius" not in sighted.measured:
        said.append("Peep to pin is taken from the draw length; measure it for how far to move the sight.")
    return tuple(said)


def _plot(voice: Voice, moved: Moved, winds: list[_Wind], distances: FloatArray, way: str) -> Plot:
    yard, inch = (YARD, 0.0254) if voice.system is System.INCH else (1.0, 1e-3)
    x = tuple(float(one / yard) for one in distances)
    series = []
    for w, wind in enumerate(winds):
        ends = [moved.side[w] + k * WIDE * moved.side_sd[w] for k in (0.0, -1.0, 1.0)]
        left = [[float(one) * voice.hand.sideways_sign / inch for one in end] for end in ends]
        low, high = (tuple(pick(pair) for pair in zip(*left[1:], strict=True)) for pick in (min, max))
        series.append(Series(wind.said, x, tuple(left[0]), low, high))
    label = f"left of the aim ({'in' if inch > 0.01 else 'mm'})"
    words = "Above the middle the arrow goes left, below it right; each band holds it in four cases of five."
    return Plot(f"Wind {way}", f"distance ({'yd' if yard < 1.0 else 'm'})", label, tuple(series), words)

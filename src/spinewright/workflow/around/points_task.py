"""What can be expected on a round, and what a smaller group, a set sight or another build is worth there."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from spinewright.errors import InputError, Place, SolveError
from spinewright.logbook import BenchState
from spinewright.units import INCH, YARD, Kind, System, parse, show, show_distance
from spinewright.workflow.around.account import Account, Cell, Plot, Series, Table
from spinewright.workflow.around.answers import Answers
from spinewright.workflow.around.marks_task import safety_of
from spinewright.workflow.showing import Json, Voice

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from spinewright.belief import Members
    from spinewright.equipment import Setup
    from spinewright.outlook.points import Round

    FloatArray = NDArray[np.float64]

__all__ = ["account"]

_GROUND, _BOWS = 200, 40  # plausible bows the belief rests on, and how many of them shoot each build
_DRAWS, _SEED = 200, 20_240_501
_GROUP = 6  # arrows of the group that is meant
_MOST_SIZES = 6
_MOST_ARROWS = 300
_USUAL_SIZES = {System.INCH: (INCH / 8, INCH / 4, INCH / 2), System.METRIC: (3e-3, 6e-3, 12e-3)}
_USUAL_AT = {System.INCH: 20 * YARD, System.METRIC: 18.0}


@dataclass(frozen=True, slots=True, eq=False)
class _Shot:
    """What is shot: the round, equally likely scatters (N,) [rad], shaft diameter [m], logged arrows behind them,
    and sd of the ln of the scatter."""

    round_: Round
    scatter: FloatArray
    shaft: float
    arrows: int
    doubt: float

    def points(self, scatter: FloatArray | None = None, off: float = 0.0) -> FloatArray:
        """Expected scores (N,); the group's middle ``off`` [m]."""
        from spinewright.outlook.points import points_of

        return points_of(self.round_, self.scatter if scatter is None else scatter, self.shaft, off)


def account(state: BenchState, answers: Answers, _progress: Callable[[float], None]) -> Account:
    """Expected score and what would change it. Raises InputError."""
    voice = Voice(state.scope.hand, state.scope.system)
    shot = _shot(state, _round(answers))
    at = answers.maybe("group-at") or _USUAL_AT[voice.system]
    if not 5.0 <= at <= 100.0:
        raise InputError("no group is measured at that distance", "5 to 100 m", Place(field="group-at"))
    sizes = _sizes(answers, voice.system)
    builds, safety = _builds(state, answers, voice)
    base = shot.points()
    worth = [_smaller(shot, base, size, at) for size in sizes]
    tables = [
        _expected_table(voice, shot, base, at),
        _worth_table(voice, shot, base, (sizes, worth), at),
        _build_table(state, shot, base, builds),
    ]
    return Account(
        "points",
        answers.task.title,
        _answer(voice, shot, base, (sizes[-1], worth[-1], at)),
        _said(shot),
        tuple(tables),
        (_plot(voice, shot, at),),
        cautions=(*safety_of(state), *safety),
        rests_on=_rests(shot),
    )


_ROUGH = 0.25  # sd of the ln of the scatter from which on the group is known only roughly


def _said(shot: _Shot) -> tuple[str, ...]:
    said = [
        "How far bare shafts land from fletched ones scores nothing by itself: points come from a smaller group and "
        "from its middle on the middle."
    ]
    if shot.doubt > _ROUGH:
        said.insert(0, "Your group is known only roughly: log a few groups, and what stands in brackets closes.")
    return tuple(said)


def _rests(shot: _Shot) -> tuple[str, ...]:
    known = f"what the file says and {shot.arrows} logged arrows" if shot.arrows else "what the file says of you alone"
    return (
        f"Your scatter comes from {known}, as an angle that is the same at every distance. Wind and nerves are not in "
        "it.",
        "Faces, distances and arrows are those of the World Archery rule book as remembered; a shaft that touches a "
        "line takes the higher ring. Hold your round's own rules against it.",
        "What the arrow carries of your mistakes is computed on bows that fit everything logged, with mistakes of a "
        "stated size; it is not measured. Shoot both builds in turns before you believe a few points.",
        "In brackets stands what holds in four cases of five.",
    )


def _round(answers: Answers) -> Round:
    from spinewright.equipment import face_named
    from spinewright.outlook.points import Round, round_named

    name = answers.choice("round")
    if name != "own":
        return round_named(name)
    distance, arrows = answers.quantity("distance"), answers.whole("arrows")
    if not answers.has("face"):
        raise answers.missing("face")
    if not 2.0 <= distance <= 150.0:
        raise InputError("no round is shot at that distance", "2 to 150 m", Place(field="distance"))
    if not 1 <= arrows <= _MOST_ARROWS:
        raise InputError(f"{arrows} arrows are no round", f"1 to {_MOST_ARROWS}", Place(field="arrows"))
    return Round("own", face_named(answers.text("face"), field="face"), distance, arrows)


def _shot(state: BenchState, round_: Round) -> _Shot:
    import numpy as np

    from spinewright.evidence import Visit
    from spinewright.outlook.points import known_scatter, scatter_draws_of

    visits = [one.what for one in state.history.seen if isinstance(one.what, Visit)]
    scatter, doubt, arrows = known_scatter(state.archer, visits)
    draws = scatter_draws_of(scatter, doubt, _DRAWS, np.random.default_rng(_SEED))
    return _Shot(round_, draws, state.now.build.shaft.outer_diameter, arrows, doubt)


def _sizes(answers: Answers, system: System) -> tuple[float, ...]:
    lines = answers.lines("smaller")
    if len(lines) > _MOST_SIZES:
        raise InputError(f"there are {len(lines)} sizes", f"at most {_MOST_SIZES}", Place(field="smaller"))
    found = []
    for line in lines:
        size = parse(line, Kind.LENGTH, field="smaller")
        if not 1e-4 <= size <= 0.5:
            raise InputError(f"'{line}' is no size to ask for", "0.1 to 500 mm", Place(field="smaller"))
        found.append(size)
    return tuple(sorted(dict.fromkeys(found))) or _USUAL_SIZES[system]


def _builds(state: BenchState, answers: Answers, voice: Voice) -> tuple[list[tuple[str, Setup]], list[str]]:
    """Builds to hold against the present one, each with its name, and what is to be minded with them."""
    from spinewright.outlook import build_figures, with_length, with_point
    from spinewright.workflow.situations import situation_of

    found: list[tuple[str, Setup]] = []
    safety: list[str] = []
    if state.start != state.now:
        found.append(("as it was at the start", state.start))
    mass, length = answers.maybe("point"), answers.maybe("length")
    if mass is None and length is None:
        return found, safety
    other, names = state.now, []
    try:
        if mass is not None:
            other = with_point(other, mass, situation_of(state).heads_owned)
            names.append(f"point of {show(mass, Kind.MASS, voice.system)}")
        if length is not None:
            other = with_length(other, length)
            names.append(f"carbon of {show(length, Kind.LENGTH, voice.system)}")
        broken = build_figures(other).broken
    except InputError as error:
        raise error.at(field="point" if length is None else "length") from None
    safety += [f"The other build: {one.sentence(voice.system)}" for one in broken]
    if length is not None and length < state.now.build.carbon_length:
        mark = state.safe_length
        throat = other.build.throat_length
        if mark is None:
            safety.append(
                "Nobody has marked yet how short this arrow may be at full draw, so do not cut to that length."
            )
        elif throat < mark:
            safety.append("That length is shorter than your mark at full draw allows: never cut or shoot it.")
    return [*found, (" and ".join(names), other)], safety


def _smaller(shot: _Shot, base: FloatArray, size: float, at: float) -> FloatArray | None:
    """Points won (N,) by a group ``size`` [m] smaller; None when that is more than the group is wide."""
    import numpy as np

    from spinewright.equipment import expected_extent

    less = size / at / expected_extent(_GROUP)[0]
    if less > 0.8 * float(np.median(shot.scatter)):
        return None
    return shot.points(np.maximum(shot.scatter - less, 0.1 * shot.scatter)) - base


def _range(draws: FloatArray, digits: int = 0) -> Json:
    """Points with their central 80 %."""
    from spinewright.outlook import Range

    found = Range.of(draws)
    texts = [f"{round(one, digits) + 0.0:.{digits}f}" for one in (found.middle, found.low, found.high)]
    return {
        "middle": found.middle,
        "low": found.low,
        "high": found.high,
        "unit": "points",
        "text": f"{texts[0]} ({texts[1]} to {texts[2]})",
    }


def _expected_table(voice: Voice, shot: _Shot, base: FloatArray, at: float) -> Table:
    import numpy as np

    from spinewright.equipment import expected_extent
    from spinewright.outlook import Range
    from spinewright.outlook.points import most_likely_totals

    round_ = shot.round_
    few = np.sort(shot.scatter)[:: max(len(shot.scatter) // 20, 1)]
    low, high = most_likely_totals(round_, [float(one) for one in few], shot.shaft)
    middle = float(np.median(shot.scatter))
    only = most_likely_totals(round_, [middle], shot.shaft)
    extent = Range.of(shot.scatter * at * expected_extent(_GROUP)[0])
    there, digits = show_distance(at, voice.system), 1 if voice.system is System.INCH else 0
    sizes = [show(one, Kind.LENGTH, voice.system, digits=digits) for one in (extent.middle, extent.low, extent.high)]
    bare = [one.rpartition(" ")[0] for one in sizes]
    rows: tuple[tuple[Cell, ...], ...] = (
        (f"your usual group of {_GROUP} at {there}", f"{sizes[0]} ({bare[1]} to {bare[2]})"),
        ("on average", _range(base)),
        ("one round, if your group is what is thought", f"{only[0]} to {only[1]}"),
        ("one round, with what is not known of your group", f"{low} to {high}"),
        ("one arrow", _range(base / round_.arrows, 2)),
    )
    far = round_.name if round_.name != "own" else show_distance(round_.distance, voice.system)
    face = f"{round_.arrows} arrows at {far}, face {round_.face.name}"
    return Table(f"What to expect: {face}, at most {round_.highest}", ("what", "points"), rows)


def _worth_table(
    voice: Voice,
    shot: _Shot,
    base: FloatArray,
    worth: tuple[tuple[float, ...], list[FloatArray | None]],
    at: float,
) -> Table:
    there = show_distance(at, voice.system)
    rows: list[tuple[Cell, ...]] = []
    for size, won in zip(*worth, strict=True):
        off = size / at * shot.round_.distance
        lost = base - shot.points(off=off)
        less = "more than the group is wide" if won is None else _range(won, 1)
        rows.append((_size(voice, size), less, _range(lost, 1)))
    return Table(
        f"Worth in points, at {there}",
        ("how much", "a group that much smaller wins", "a middle that far off loses"),
        tuple(rows),
        f"Groups of {_GROUP} at {there}, from hole to hole. A middle that is off, the sight mends.",
    )


def _size(voice: Voice, size: float) -> str:
    return show(size, Kind.LENGTH, voice.system)


def _build_table(state: BenchState, shot: _Shot, base: FloatArray, builds: list[tuple[str, Setup]]) -> Table:
    """What builds are worth beside the present one, and the most that forgiveness can buy."""
    import numpy as np

    from spinewright.outlook import Line, Range
    from spinewright.outlook.points import build_scatters, own_miss

    line = Line.of(state.archer, shot.round_.distance)
    try:
        members = _bows(state)
        missed = [own_miss(members, setup, line) for setup in (state.now, *(one for _, one in builds))]
    except SolveError as error:
        raise InputError(error.step, "ask for a build nearer to yours", Place(field="length")) from error
    now, *others = (np.resize(one, len(shot.scatter)) for one in missed)
    rows: list[tuple[Cell, ...]] = []
    for (name, _), other in zip(builds, others, strict=True):
        gained = shot.points(build_scatters(shot.scatter, now, other)) - base
        found = Range.of(gained)
        told = "cannot be told apart" if found.low <= 0.0 <= found.high else ("better" if found.low > 0.0 else "worse")
        rows.append((name, _range(gained, 1), told))
    most = shot.points(build_scatters(shot.scatter, now, np.zeros_like(now))) - base
    rows.append(("an arrow that would forgive everything", _range(most, 1), "nobody can build it"))
    return Table(
        "Other builds, against yours as it is now",
        ("build", "points more", "stands"),
        tuple(rows),
        "The last row is the most that any choice of shaft, length and point could ever buy; your aim is the rest.",
    )


def _bows(state: BenchState) -> Members:
    """Some of the plausible bows that fit everything logged; before any shot those that are usual."""
    from spinewright.belief import BeliefSettings, believe, break_ground
    from spinewright.outlook import some_rows
    from spinewright.workflow.situations import situation_of

    history = situation_of(state).history
    bows = believe(break_ground(history, (), (), BeliefSettings(bows=_GROUND)), history, state.archer).bows()
    return bows.rows(some_rows(len(bows), _BOWS))


def _answer(voice: Voice, shot: _Shot, base: FloatArray, last: tuple[float, FloatArray | None, float]) -> str:
    size, won, at = last
    text = f"Expect about {_range(base)['text']} of {shot.round_.highest} as you shoot now."
    there = show_distance(at, voice.system)
    if won is None:
        return (
            f"{text} Your group at {there} is hardly wider than {_size(voice, size)}, so less than that is to be won."
        )
    return f"{text} A group {_size(voice, size)} smaller at {there} is worth {_range(won, 1)['text']} points."


def _plot(voice: Voice, shot: _Shot, at: float) -> Plot:
    import numpy as np

    from spinewright.equipment import expected_extent

    extent = expected_extent(_GROUP)[0]
    middle = float(np.median(shot.scatter))
    scatter = np.linspace(0.3, 1.7, 29) * middle
    unit = INCH if voice.system is System.INCH else 1e-3
    x = scatter * at * extent / unit
    score = shot.points(scatter)
    you = float(middle * at * extent / unit)
    there, label = show_distance(at, voice.system), "in" if unit > 0.01 else "mm"
    series = (
        Series("score on average", tuple(float(one) for one in x), tuple(float(one) for one in score)),
        Series("you", (you,), (float(shot.points(np.array([middle]))[0]),), line=False),
    )
    return Plot(
        f"Score over group size, of {shot.round_.highest}",
        f"group of {_GROUP} at {there} ({label})",
        "points",
        series,
        "The steeper the line where you stand, the more a smaller group is worth.",
    )

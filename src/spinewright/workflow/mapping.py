"""The forgiveness map: what your own mistakes cost, and what heads and differences do, over length and point."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np

from spinewright import outlook
from spinewright.belief import Belief, BeliefSettings, believe, break_ground
from spinewright.equipment import Face, face_named
from spinewright.errors import SolveError
from spinewright.logbook import BenchState, SkillLevel
from spinewright.outlook import ForgivenessMap, HeadsAndDifferences, HiddenSpine, Line, MapSettings, OwnMistakes, Skill
from spinewright.units import Kind, parse
from spinewright.workflow.mistake_sizes import level_from, sizes_from
from spinewright.workflow.open_bench import Source, state_of
from spinewright.workflow.showing import Json, Voice
from spinewright.workflow.situations import situation_of

__all__ = ["MapResult", "MapWishes", "Meeting", "forgiveness_map", "map_wishes"]

_BETWEEN = 400  # places along the map where its bounds are looked up
_SKILL = {SkillLevel.LEARNING: Skill.NOVICE, SkillLevel.STEADY: Skill.CLUB, SkillLevel.EXPERT: Skill.EXPERT}
_GROUND_SHARE = 0.2  # of the time goes into the plausible bows, the rest into the map's builds (measured)


@dataclass(frozen=True, slots=True)
class MapWishes:
    """What a map is wanted for.

    distance [m]  None = where the archer tests
    face          name of the face that points are counted on; '' = the one the archer's score was shot on, if any
    points        point masses the map has at least
    bows          plausible bows that are run through every build; more are slower and steadier
    settings      of the belief the bows come from
    level         whose mistakes are made; None = the archer's own, judged by the groups
    sizes         mistakes with a size of their own, by key [m, m/s or rad]; the others are the level's
    """

    distance: float | None = None
    face: str = ""
    points: int = 5
    bows: int = 40
    settings: BeliefSettings = field(default_factory=lambda: BeliefSettings(bows=60))
    level: SkillLevel | None = None
    sizes: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Meeting:
    """Where bare meets fletched sideways with one ``point`` [kg]: carbon ``length`` [m], and ``between`` which two.

    length   where the middle forecast meets the aim, None when nowhere on the map
    between  the lengths whose central 80 % holds the aim, None when there are none
    """

    point: float
    length: float | None
    between: tuple[float, float] | None


@dataclass(frozen=True, slots=True)
class MapResult:
    """Two maps that are never mixed, and the present build in detail.

    chart    both maps, with where the present build stands
    own      what each stated mistake costs with the present build
    heads    what a fixed-blade head and differences between arrows do with it
    hidden   whether the rest is hiding a wrong spine; None when the rest stands at its start
    missing  why gaps are not predicted on the map; '' when they are
    """

    state: BenchState
    wishes: MapWishes
    chart: ForgivenessMap
    own: OwnMistakes
    heads: HeadsAndDifferences
    hidden: HiddenSpine | None
    missing: str

    @property
    def voice(self) -> Voice:
        """Whose left and right, and whose units."""
        return Voice(self.state.scope.hand, self.state.scope.system)

    @property
    def face(self) -> str:
        """Name of the face points are counted on; '' when none is known."""
        return self.wishes.face or self.state.face

    @property
    def sizes_sentence(self) -> str:
        """Whose mistakes these are, and what a miss means."""
        return outlook.sizes_sentence(self.own)

    @property
    def own_sentence(self) -> str:
        """What the map of your own mistakes lets one choose."""
        return outlook.flat_sentence(self.chart, True, self.voice.system)

    @property
    def heads_sentence(self) -> str:
        """What the map of heads and differences lets one choose."""
        return outlook.flat_sentence(self.chart, False, self.voice.system)

    @property
    def meetings(self) -> tuple[Meeting, ...]:
        """Where bare may meet fletched sideways, for every point owned; () when gaps are not predicted."""
        gap, grid = self.chart.gap, self.chart.grid
        if gap is None:
            return ()
        aim = self.chart.settings.aim[0]
        return tuple(
            _meeting(float(mass), grid.lengths, gap[:, p, :, 0] - aim)
            for p, (mass, mine) in enumerate(zip(grid.point_masses, grid.owned, strict=True))
            if mine
        )

    @property
    def meeting_sentence(self) -> str:
        """How well the lengths of :attr:`meetings` are known."""
        if self.chart.gap is None:
            return self.missing
        known = [one for one in self.meetings if one.between is not None]
        if not known:
            return "With the points you have, bare most likely meets fletched sideways at none of these lengths."
        ends = (float(self.chart.grid.lengths[0]), float(self.chart.grid.lengths[-1]))
        if all(one.between == ends for one in known):
            return "That is all of this map: where bare meets fletched sideways is not known yet."
        return "In four cases of five, each by itself; height is not in it."

    @property
    def hidden_words(self) -> tuple[str, ...]:
        """Whether the rest is hiding a wrong spine, and what that costs."""
        return (
            () if self.hidden is None else outlook.hidden_spine_words(self.hidden, self.voice.hand, self.voice.system)
        )

    @property
    def mistake_rows(self) -> list[tuple[str, str, str, str, str]]:
        """Each mistake, its size, its miss, the miss of an arrow that does not bend, points; the last row is all."""
        return outlook.mistake_rows(self.own, self.voice.system)

    @property
    def difference_rows(self) -> list[tuple[str, str]]:
        """Heads and differences between arrows, each with how far it moves the hit."""
        return outlook.difference_rows(self.heads, self.voice.hand, self.voice.system)

    def to_json(self) -> Json:
        """The result by ``schema/map.json``."""
        from spinewright.workflow.map_json import map_json

        return map_json(self)


def forgiveness_map(
    source: Source, wishes: MapWishes | None = None, *, progress: Callable[[float], None] | None = None
) -> MapResult:
    """Both maps of the present shaft for a session file or a bench in memory.

    ``progress`` is called with the share done. Raises InputError, and SolveError when too few builds or plausible bows
    have an answer.
    """
    wishes = wishes or MapWishes()
    state = state_of(source)
    situation = situation_of(state)
    name = wishes.face or state.face
    face: Face | None = face_named(name) if name else None
    skill = None if wishes.level is None else _SKILL[wishes.level]
    line = Line.of(state.archer, wishes.distance or situation.distance, face, skill).with_sizes(wishes.sizes)
    grid = outlook.choose_grid(state.now, situation.heads_owned, points=wishes.points)
    belief, missing = _belief(state, grid, wishes, _part(progress, 0.0, _GROUND_SHARE))
    settings = MapSettings(bows=wishes.bows, aim=situation.aim, safe_length=situation.safe_length)
    bows = belief.bows()
    chart = outlook.forgiveness_map(
        bows,
        grid,
        line,
        belief=None if missing else belief,
        settings=settings,
        progress=_part(progress, _GROUND_SHARE, 1.0),
    )
    rows = outlook.some_rows(len(bows), wishes.bows)  # those of the chart, so that picture and text quote one number
    few, gap = bows.rows(rows), belief.gap(state.now)[rows]
    moved = outlook.rest_back(state.now, state.start) != state.now
    return MapResult(
        state=state,
        wishes=wishes,
        chart=chart,
        own=outlook.own_mistakes(few, state.now, line),
        heads=outlook.heads_and_differences(few, state.now, line.distance, gap=gap),
        hidden=outlook.hidden_spine(belief, state.now, line, bows=wishes.bows) if moved else None,
        missing=missing,
    )


def map_wishes(
    distance: str | None = None,
    face: str = "",
    bows: int = 40,
    level: str = "",
    sizes: Mapping[str, str] | None = None,
) -> MapWishes:
    """Wishes as a person writes them: a distance '50 yd', a face '122 cm', a level 'steady', sizes {'creep': '1/8 in'}.

    ``bows`` are run through every build; the belief they come from has half as many again. Raises InputError.
    """
    metres = None if distance is None else parse(distance, Kind.DISTANCE, field="distance")
    settings = BeliefSettings(bows=bows + bows // 2)
    return MapWishes(
        distance=metres, face=face, bows=bows, settings=settings, level=level_from(level), sizes=sizes_from(sizes or {})
    )


def _meeting(point: float, lengths: np.ndarray, gap: np.ndarray) -> Meeting:
    """From the gap's bounds and middle (3, L) [m] off the aim over ``lengths`` (L,) [m], a smooth line between them."""
    from scipy.interpolate import make_interp_spline

    fine = np.unique(np.concatenate([lengths, np.linspace(lengths[0], lengths[-1], _BETWEEN)]))
    low, middle, high = make_interp_spline(lengths, gap, k=min(3, len(lengths) - 1), axis=1)(fine)
    turns = np.flatnonzero(np.sign(middle[:-1]) != np.sign(middle[1:]))
    length = None
    if len(turns):
        k = int(turns[-1])  # the longest: a shaft can be cut again
        step = float(middle[k] / (middle[k] - middle[k + 1]))
        length = float(fine[k] + step * (fine[k + 1] - fine[k]))
    inside = fine[(low <= 0.0) & (high >= 0.0)]
    ends = [float(inside[0]), float(inside[-1])] if len(inside) else []
    if length is not None:  # the middle lies between the bounds, however narrow they are
        ends.append(length)
    return Meeting(point, length, (min(ends), max(ends)) if ends else None)


def _belief(
    state: BenchState, grid: outlook.MapGrid, wishes: MapWishes, progress: Callable[[float], None] | None
) -> tuple[Belief, str]:
    """A belief that knows the map's builds, or one without them and the reason."""
    back = outlook.rest_back(state.now, state.start)
    missing = ""
    try:
        ground = break_ground(state.history, [back, *grid.flat], (), wishes.settings, progress=progress)
    except SolveError as error:
        missing = f"Gaps are not predicted on this map: {error}"
        ground = break_ground(state.history, [back], (), wishes.settings, progress=progress)
    return believe(ground, state.history, state.archer), missing


def _part(progress: Callable[[float], None] | None, start: float, end: float) -> Callable[[float], None] | None:
    """``progress`` for a task that is only the share from ``start`` to ``end`` of the whole."""
    if progress is None:
        return None
    whole = progress
    return lambda share: whole(start + (end - start) * share)

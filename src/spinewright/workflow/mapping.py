"""The forgiveness map: what your own mistakes cost, and what heads and differences do, over length and point."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from spinewright import outlook
from spinewright.belief import Belief, BeliefSettings, believe, break_ground
from spinewright.equipment import Face, face_named
from spinewright.errors import SolveError
from spinewright.logbook import BenchState
from spinewright.outlook import ForgivenessMap, HeadsAndDifferences, HiddenSpine, Line, MapSettings, OwnMistakes, Range
from spinewright.units import Kind, parse
from spinewright.workflow.open_bench import Source, state_of
from spinewright.workflow.showing import Json, Voice, headed
from spinewright.workflow.situations import situation_of

__all__ = ["MapResult", "MapWishes", "forgiveness_map", "map_wishes"]

_GROUND_SHARE = 0.6  # of the time goes into the plausible bows, the rest into the map's builds (measured)


@dataclass(frozen=True, slots=True)
class MapWishes:
    """What a map is wanted for.

    distance [m]  None = where the archer tests
    face          name of the face that points are counted on; '' = no points
    points        point masses the map has at least
    bows          plausible bows that are run through every build; more are slower and steadier
    settings      of the belief the bows come from
    """

    distance: float | None = None
    face: str = ""
    points: int = 5
    bows: int = 40
    settings: BeliefSettings = field(default_factory=lambda: BeliefSettings(bows=60))


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
    def own_sentence(self) -> str:
        """What the map of your own mistakes lets one choose."""
        return outlook.flat_sentence(self.chart, True, self.voice.system)

    @property
    def heads_sentence(self) -> str:
        """What the map of heads and differences lets one choose."""
        return outlook.flat_sentence(self.chart, False, self.voice.system)

    @property
    def gap_sentence(self) -> str:
        """How well the place where bare meets fletched is known on the map."""
        return outlook.gap_sentence(self.chart)

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
        voice, grid = self.voice, self.chart.grid
        body: Json = {
            "hand": str(voice.hand),
            "units": str(voice.system),
            "cautions": list(self.state.cautions),
            "distance": voice.quantity(self.own.line.distance, Kind.DISTANCE),
            "skill": str(self.own.line.skill),
            "face": self.wishes.face or None,
            "lengths": [voice.quantity(float(v), Kind.LENGTH) for v in grid.lengths],
            "points": [
                {"mass": voice.quantity(float(m), Kind.MASS), "owned": bool(mine)}
                for m, mine in zip(grid.point_masses, grid.owned, strict=True)
            ],
            "here": {
                "point": voice.quantity(grid.here[0], Kind.MASS),
                "length": voice.quantity(grid.here[1], Kind.LENGTH),
            },
            "builds": [self._build(p, k) for p, k in np.ndindex(self.chart.solved.shape)],
            "own_mistakes": {"words": self.own_sentence, "now": _own(self.own, voice)},
            "heads_and_differences": {"words": self.heads_sentence, "now": _heads(self.heads, voice)},
            "bare_meets_fletched": self.gap_sentence,
            "gaps_missing": self.missing,
            "hidden_spine": _hidden(self.hidden, self.hidden_words, voice),
        }
        return headed("map", 1, body)

    def _build(self, p: int, k: int) -> Json:
        chart, voice = self.chart, self.voice
        solved = bool(chart.solved[p, k])

        def size(draws: np.ndarray, kind: Kind = Kind.LENGTH) -> Json | None:
            return _range(Range.of(draws[p, k]), voice, kind) if solved else None

        gap = None
        if chart.gap is not None:
            low, middle, high = ((float(g[p, k, 0]), float(g[p, k, 1])) for g in chart.gap)
            gap = voice.forecast(middle, low, high)
        return {
            "length": float(chart.grid.lengths[k]),
            "point": float(chart.grid.point_masses[p]),
            "own_mistakes": size(chart.own),
            "heads_apart": size(chart.apart),
            "set_spread": size(chart.spread),
            "speed": size(chart.speed, Kind.SPEED),
            "gap": gap,
            "safe": bool(chart.safe[p, k]),
            "unsafe_because": [one.sentence(voice.system) for one in chart.broken[p][k]],
        }


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
    face: Face | None = face_named(wishes.face) if wishes.face else None
    line = Line.of(state.archer, wishes.distance or situation.distance, face)
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
    few = outlook.some_members(bows, max(wishes.bows, 60))
    moved = outlook.rest_back(state.now, state.start) != state.now
    return MapResult(
        state=state,
        wishes=wishes,
        chart=chart,
        own=outlook.own_mistakes(few, state.now, line),
        heads=outlook.heads_and_differences(few, state.now, line.distance),
        hidden=outlook.hidden_spine(belief, state.now, line) if moved else None,
        missing=missing,
    )


def map_wishes(distance: str | None = None, face: str = "") -> MapWishes:
    """Wishes as a person writes them: a distance such as '50 yd', a face such as '122 cm'."""
    metres = None if distance is None else parse(distance, Kind.DISTANCE, field="distance")
    return MapWishes(distance=metres, face=face)


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


def _range(value: Range, voice: Voice, kind: Kind = Kind.LENGTH) -> Json:
    return voice.interval(value.middle, value.low, value.high, kind)


def _own(own: OwnMistakes, voice: Voice) -> Json:
    return {
        "all": _range(own.miss, voice),
        "all_rigid": _range(own.rigid_miss, voice),
        "points": own.points,
        "mistakes": [
            {
                "mistake": str(one.mistake),
                "amount": one.amount,
                "miss": _range(one.miss, voice),
                "miss_rigid": _range(one.rigid_miss, voice),
                "moves": voice.offset((one.sideways.middle, one.height.middle)),
                "points": one.points,
            }
            for one in own.effects
        ],
    }


def _heads(heads: HeadsAndDifferences, voice: Voice) -> Json:
    return {
        "head": {"mass": voice.quantity(heads.head.mass, Kind.MASS), "blades": heads.head.blade_count},
        "offset": voice.offset((heads.offset_sideways.middle, heads.offset_height.middle)),
        "offset_size": _range(heads.offset, voice),
        "apart": _range(heads.apart, voice),
        "spread_field": _range(heads.spread_field, voice),
        "spread_headed": _range(heads.spread_headed, voice),
        "by_difference": {str(name): _range(part, voice) for name, part in heads.by_difference.items()},
    }


def _hidden(hidden: HiddenSpine | None, words: tuple[str, ...], voice: Voice) -> Json | None:
    if hidden is None:
        return None
    now, back = hidden.gap_now, hidden.gap_back
    return {
        "hiding": hidden.hiding,
        "chance": hidden.chance,
        "rest_moved": voice.offset(hidden.moved),
        "gap_now": voice.forecast(now.middle, now.low, now.high),
        "gap_back": voice.forecast(back.middle, back.low, back.high),
        "own_mistakes_now": _range(hidden.own_now, voice),
        "own_mistakes_back": _range(hidden.own_back, voice),
        "heads_apart_now": _range(hidden.apart_now, voice),
        "heads_apart_back": _range(hidden.apart_back, voice),
        "words": list(words),
    }

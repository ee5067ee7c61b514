"""The forgiveness map as numbers with their texts, for another program."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from spinewright.outlook import HeadsAndDifferences, HiddenSpine, OwnMistakes, Range, amount_words, show_range
from spinewright.units import Kind
from spinewright.workflow.showing import Json, Voice, headed

if TYPE_CHECKING:
    from spinewright.workflow.mapping import MapResult

__all__ = ["map_json"]


def map_json(result: MapResult) -> Json:
    """``result`` by ``schema/map.json``."""
    voice, grid = result.voice, result.chart.grid
    body: Json = {
        "hand": str(voice.hand),
        "units": str(voice.system),
        "cautions": list(result.state.cautions),
        "distance": voice.quantity(result.own.line.distance, Kind.DISTANCE),
        "skill": str(result.own.line.skill),
        "face": result.face or None,
        "lengths": [voice.quantity(float(v), Kind.LENGTH) for v in grid.lengths],
        "points": [
            {"mass": voice.quantity(float(m), Kind.MASS), "owned": bool(mine)}
            for m, mine in zip(grid.point_masses, grid.owned, strict=True)
        ],
        "here": {
            "point": voice.quantity(grid.here[0], Kind.MASS),
            "length": voice.quantity(grid.here[1], Kind.LENGTH),
        },
        "builds": [_build(result, p, k) for p, k in np.ndindex(result.chart.solved.shape)],
        "own_mistakes": {"words": result.own_sentence, "sizes": result.sizes_sentence, "now": _own(result.own, voice)},
        "heads_and_differences": {"words": result.heads_sentence, "now": _heads(result.heads, voice)},
        "bare_meets_fletched": {
            "words": result.meeting_sentence,
            "meetings": [
                {
                    "point": voice.quantity(one.point, Kind.MASS),
                    "length": voice.maybe(one.length, Kind.LENGTH),
                    "between": None
                    if one.between is None
                    else [voice.quantity(value, Kind.LENGTH) for value in one.between],
                }
                for one in result.meetings
            ],
        },
        "gaps_missing": result.missing,
        "hidden_spine": _hidden(result.hidden, result.hidden_words, voice),
    }
    return headed("map", 1, body)


def _build(result: MapResult, p: int, k: int) -> Json:
    chart, voice = result.chart, result.voice
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


def _range(value: Range, voice: Voice, kind: Kind = Kind.LENGTH) -> Json:
    made = voice.interval(value.middle, value.low, value.high, kind)
    if kind is Kind.LENGTH:  # as the map's own text says it
        made["text"] = show_range(value, voice.system)
    return made


def _own(own: OwnMistakes, voice: Voice) -> Json:
    return {
        "all": _range(own.miss, voice),
        "all_rigid": _range(own.rigid_miss, voice),
        "points": own.points,
        "mistakes": [
            {
                "mistake": str(one.mistake),
                "amount": one.amount,
                "size": amount_words(one, voice.system),
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
        "leaves": {
            "angle": _range(heads.turn, voice, Kind.ANGLE),
            "bending": _range(heads.bend, voice, Kind.ANGLE),
            "off_rest": _range(heads.swing, voice),
        },
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

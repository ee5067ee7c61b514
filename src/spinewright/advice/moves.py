"""The moves a person can make, what they cost, and which are within reach now."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from types import MappingProxyType

from spinewright.advice.situation import Situation
from spinewright.equipment import Purpose, Setup
from spinewright.errors import EquipmentError
from spinewright.units import INCH

__all__ = [
    "STEP_SHOTS",
    "STRAY",
    "STRAY_HEIGHT",
    "Move",
    "MoveKind",
    "changes",
    "further",
    "in_clicks",
    "nock_point_move",
    "probes",
    "rest_back",
    "rest_move",
    "rest_sizes",
    "rest_where",
    "shoot",
    "step_back",
    "strays",
    "uncut",
]


class MoveKind(StrEnum):
    """Every kind of move."""

    MAKE_SAFE = "make it safe"
    CHECK_BOW = "check the bow"
    CHECK_CONTACT = "check for contact"
    MARK_LENGTH = "mark the shortest safe length"
    SHOOT = "shoot more"
    TURN_NOCK = "turn the nock"
    REST_SIDEWAYS = "move the rest sideways"
    REST_HEIGHT = "raise or lower the rest"
    REST_BOTH = "move the rest sideways and in height"
    NOCK_POINT = "raise or lower the nock point"
    BOLTS = "turn both limb bolts"
    POINT = "change the point"
    CUT = "cut the shaft"
    MEASURE_REST = "measure the rest"
    SET_ASIDE = "set a shaft aside"
    STEP_BACK = "step back"
    TECHNICIAN = "have a technician look"
    OTHER_SHAFT = "start with another shaft"
    PUT_BACK = "put the last move back"
    KEEP = "keep the last good settings"
    SHOOTER = "this shows the archer"
    STOP = "stop: tuned"


@dataclass(frozen=True, slots=True)
class Move:
    """One move.

    after          the setup it leads to; None when the bow and arrow stay as they are
    amount         its size in SI, sign as in Setup (left, up, in, heavier, longer positive); bare shots for SHOOT;
                   distance for STEP_BACK; sideways for REST_BOTH, whose height stands in ``after``
    fletched       fletched shots beside them, for SHOOT
    minutes        time it takes, shots to check it included
    parts          what it uses up, in words
    cannot_undo    what cannot be undone, in words; '' when all of it can
    """

    kind: MoveKind
    after: Setup | None
    amount: float
    minutes: float
    parts: str = ""
    cannot_undo: str = ""
    fletched: int = 0


#: Sizes tried for the rest [m], each way: from a few thousandths of an inch to a sixteenth (common practice: 1/64 to
#: 1/32 in shows on paper; where the learnt answer is steep, a few clicks do).
REST_STEPS = tuple(INCH * thousandths / 1000 for thousandths in (3, 4, 6, 8, 11, 14, 18, 22, 28, 36, 47, 62))
#: How far from the recorded centre shot the rest may be trimmed [m], by what is shot: common practice, no published
#: source, and people's limits differ from a sixteenth to an eighth of an inch (docs/decisions/0004).
STRAY = MappingProxyType({Purpose.TARGET: INCH / 8, Purpose.FIXED_BLADES: INCH / 16})
#: How far rest and nock point may each be moved in height [m]: from memory (nock points are tied from level to half an
#: inch above, and bows are set up near an eighth to a quarter); beyond it something else is wrong.
STRAY_HEIGHT = 3 * INCH / 16
#: How far a probe moves the rest to see what the physics answers [m]; the answer is along a straight line.
_PROBE = 0.5e-3
#: The usual cut, and the last small one (common practice).
CUT_STEPS = (0.5 * INCH, 0.25 * INCH)
BOLT_STEPS = (0.25, 0.5, 1.0)
#: What a turn of the bolts away from where the person had them is worth in minutes: it costs speed, or strength.
_BOLT_MINUTES = 6.0
# Minutes, from memory of how long it takes, six shots of checking included except for STOP and SHOOT.
_MINUTES = {
    MoveKind.REST_SIDEWAYS: 8.0,
    MoveKind.REST_HEIGHT: 8.0,
    MoveKind.REST_BOTH: 10.0,
    MoveKind.NOCK_POINT: 14.0,
    MoveKind.BOLTS: 14.0,
    MoveKind.POINT: 10.0,
    MoveKind.CUT: 18.0,
    MoveKind.OTHER_SHAFT: 90.0,
}
_BACK_TO_SHAFT = 10.0  # shafts that were shot before need nothing but their points
_MINUTES_A_SHOT = 0.7
_MINUTES_A_STEP = 5.0  # moving targets and backstop, and setting the sight
_TEN_YARDS = 10 * 0.9144
STEP_SHOTS = 3
_MINUTES_A_WALK = 2.0


def shoot(bare: int, fletched: int | None = None) -> Move:
    """So many ``bare`` and ``fletched`` arrows with the setup as it is; None = as many."""
    beside = bare if fletched is None else fletched
    minutes = _MINUTES_A_WALK + (bare + beside) * _MINUTES_A_SHOT
    return Move(MoveKind.SHOOT, None, float(bare), minutes, fletched=beside)


def step_back(situation: Situation) -> Move:
    """``STEP_SHOTS`` of each with the setup as it is, from further away: the gap grows faster than the scatter."""
    minutes = _MINUTES_A_STEP + _MINUTES_A_WALK + 2 * STEP_SHOTS * _MINUTES_A_SHOT
    return Move(MoveKind.STEP_BACK, None, further(situation), minutes)


def further(situation: Situation) -> float:
    """The next longer distance to compare at [m]: ten yards more than where the archer tests now."""
    return situation.distance + _TEN_YARDS


def changes(situation: Situation) -> tuple[Move, ...]:
    """Every change of bow and arrow within reach that the equipment allows, each once, whether wise or not.

    The gates come later; moves of rest and nock point are sized by what is believed (:func:`rest_move`).
    """
    return tuple(
        dict.fromkeys(
            [
                *_bolts(situation.now, situation.history.start),
                *_points(situation),
                *_cuts(situation.now),
                *_cuts_from_elsewhere(situation.now, situation.history.start),
                *_shafts(situation),
            ]
        )
    )


def probes(now: Setup) -> tuple[tuple[Setup, float], ...]:
    """Setups a small step away sideways, in rest height and in nock height, each with its signed step [m]."""
    found = []
    for place in ("rest_y", "rest_z", "nock_z"):
        steps = (_PROBE, -_PROBE)
        tried = [(_changed(now, **{place: getattr(now, place) + step}), step) for step in steps]
        found.append(next((setup, step) for setup, step in tried if setup is not None))
    return tuple(found)


def rest_sizes(now: Setup) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Sideways and height: the moves of the rest worth thinking of [m], both signs, in whole clicks where known."""
    rest = now.bow.rest

    def sizes(per_click: float | None) -> tuple[float, ...]:
        both = [sign * step for sign in (1.0, -1.0) for step in REST_STEPS]
        return tuple(dict.fromkeys(in_clicks(step, per_click) for step in both))

    return sizes(rest.per_click_sideways), sizes(rest.per_click_height)


def rest_move(now: Setup, sideways: float, height: float) -> Move | None:
    """The rest moved by so much [m] to the left and up; None where the equipment does not allow it."""
    kind = MoveKind.REST_BOTH if sideways and height else MoveKind.REST_SIDEWAYS if sideways else MoveKind.REST_HEIGHT
    after = _changed(now, rest_y=now.rest_y + sideways, rest_z=now.rest_z + height)
    return next(_moves(kind, after, sideways or height), None)


def nock_point_move(now: Setup, lift: float) -> Move | None:
    """The nock point raised by so much [m]; None where the equipment does not allow it."""
    return next(_moves(MoveKind.NOCK_POINT, _changed(now, nock_z=now.nock_z + lift), lift), None)


def _changed(setup: Setup, **places: float) -> Setup | None:
    """``setup`` with those places changed; None where the equipment does not allow it."""
    try:
        return replace(setup, **places)  # type: ignore[arg-type]  # the adjustments of a setup are all numbers
    except EquipmentError:
        return None


def _rebuilt(setup: Setup, **parts: object) -> Setup | None:
    """``setup`` with those parts of its arrow changed; None where the equipment does not allow it."""
    try:
        return replace(setup, build=replace(setup.build, **parts))  # type: ignore[arg-type]  # named by the callers
    except EquipmentError:
        return None


def _moves(kind: MoveKind, after: Setup | None, amount: float, minutes: float | None = None) -> Iterator[Move]:
    """The move that leads to ``after``, if there is one."""
    if after is not None:
        yield Move(kind, after, amount, _MINUTES[kind] if minutes is None else minutes)


def in_clicks(wish: float, per_click: float | None) -> float:
    """The wish rounded to whole clicks, at least one; as it is when the clicks are not known."""
    if per_click is None or per_click <= 0:
        return wish
    clicks = max(1, round(abs(wish) / per_click))
    return clicks * per_click if wish > 0 else -clicks * per_click


def _bolts(now: Setup, start: Setup) -> Iterator[Move]:
    bow = now.bow
    if bow.weight_per_turn is None or bow.turns_allowed is None:
        return
    for step in BOLT_STEPS:
        for sign in (1.0, -1.0):
            turns = sign * step
            out = bow.turns_out_now - (now.bolt_turns - start.bolt_turns) - turns
            if not 0.0 <= out <= bow.turns_allowed:
                continue
            stand, since = now.bolt_turns + turns, now.bolts_since_weighed + turns
            after = _changed(now, bolt_turns=stand, bolts_since_weighed=since)
            further = abs(stand - start.bolt_turns) - abs(now.bolt_turns - start.bolt_turns)
            yield from _moves(MoveKind.BOLTS, after, turns, _MINUTES[MoveKind.BOLTS] + _BOLT_MINUTES * further)


def _points(situation: Situation) -> Iterator[Move]:
    now = situation.now
    for head in situation.heads_owned:
        if abs(head.mass - now.build.head.mass) < 1e-5 or head.kind is not now.build.head.kind:
            continue
        yield from _moves(MoveKind.POINT, _rebuilt(now, head=head), head.mass - now.build.head.mass)


def _cuts(now: Setup) -> Iterator[Move]:
    build = now.build
    for step in CUT_STEPS:
        shorter = {"throat_length": build.throat_length - step, "carbon_length": build.carbon_length - step}
        for move in _moves(MoveKind.CUT, _rebuilt(now, **shorter), -step):
            parts, lasting = "the bare and fletched test shafts, cut alike", "a shaft cannot be made longer again"
            yield replace(move, parts=parts, cannot_undo=lasting)


def _cuts_from_elsewhere(now: Setup, start: Setup) -> Iterator[Move]:
    """A cut in place of what limb bolts or rest stood in for: those back where they began, and the shaft shorter."""
    bolts_back = now
    if now.bow.weight_per_turn is not None:  # else nobody knows what the bow would weigh
        turns = start.bolt_turns - now.bolt_turns
        since = now.bolts_since_weighed + turns
        bolts_back = _changed(now, bolt_turns=start.bolt_turns, bolts_since_weighed=since) or now
    bases = [bolts_back, rest_back(now, start), rest_back(bolts_back, start)]
    for base in dict.fromkeys(base for base in bases if base != now):
        gained = _BOLT_MINUTES * abs(base.bolt_turns - now.bolt_turns)
        for move in _cuts(base):
            yield replace(move, minutes=move.minutes + 5.0 - gained)


def strays(stood: float, stands: float, bound: float) -> bool:
    """Whether what ``stood`` so far from its recorded start [m] now ``stands`` beyond ``bound``, and further off."""
    return abs(stands) > max(abs(stood), bound)


def rest_back(setup: Setup, start: Setup) -> Setup:
    """``setup`` with the rest and nock point back at their recorded start."""
    return replace(setup, rest_y=start.rest_y, rest_z=start.rest_z, nock_z=start.nock_z)


def rest_where(setup: Setup, now: Setup) -> Setup:
    """``setup`` with rest and nock point where they stand in ``now``."""
    return replace(setup, rest_y=now.rest_y, rest_z=now.rest_z, nock_z=now.nock_z)


def uncut(move: Move, now: Setup) -> Setup:
    """Where a cut starts from: its setup with the arrow as it is now."""
    assert move.after is not None  # noqa: S101 - only cuts come here
    return replace(move.after, build=now.build)


def _shafts(situation: Situation) -> Iterator[Move]:
    """Other shafts at hand, uncut; and those that were shot before, as they were left."""
    now, history = situation.now, situation.history
    shot = {setup.build.shaft: setup for setup in (history.start, *history.setups)}
    for shaft in dict.fromkeys((*situation.shafts_owned, *shot)):
        if shaft == now.build.shaft:
            continue
        was = shot.get(shaft, history.start)
        lengths = {"throat_length": was.build.throat_length, "carbon_length": was.build.carbon_length}
        weaker = shaft.static_spine - now.build.shaft.static_spine
        if shaft in shot:
            after = _rebuilt(replace(now, nock_angle=was.nock_angle), shaft=shaft, **lengths)
            yield from _moves(MoveKind.OTHER_SHAFT, after, weaker, _BACK_TO_SHAFT)
            continue
        # A new set has its nocks where they were glued or pressed in: nothing is turned yet.
        after = _rebuilt(replace(now, nock_angle=0.0), shaft=shaft, **lengths)
        for move in _moves(MoveKind.OTHER_SHAFT, after, weaker):
            yield replace(move, parts="two bare and three fletched test shafts of the other kind")

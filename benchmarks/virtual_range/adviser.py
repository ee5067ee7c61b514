"""The adviser as a player: the product's own advice, asked with a situation built in memory."""

from __future__ import annotations

from dataclasses import dataclass, replace

from benchmarks.virtual_range.bench import Act, Bench, Choice, Notes
from benchmarks.virtual_range.without import Without, eyes, without
from spinewright.advice import Advice, Move, MoveKind, Situation, advise, ground_for
from spinewright.belief import BeliefSettings, Forecast, count_checkable
from spinewright.equipment import Setup
from spinewright.errors import EquipmentError
from spinewright.units import INCH

__all__ = ["THOROUGH", "Adviser", "choice_for"]

#: Near what `next` thinks with (500 of each). With 150 draws chances told of one history lay 0.07 apart, and hunts that
#: end at the first good one ended too soon (docs/decisions/0004).
THOROUGH = BeliefSettings(bows=200, particles=400, seed=20)

_PLAIN = {
    MoveKind.CHECK_BOW: Act.CHECK_BOW,
    MoveKind.CHECK_CONTACT: Act.CHECK_CONTACT,
    MoveKind.MARK_LENGTH: Act.MARK,
}
#: Moves that lead to a setup whose gap is not foretold with them.
_UNFORECAST = (MoveKind.TURN_NOCK, MoveKind.KEEP)
_COUNTED = {MoveKind.SHOOT: Act.SHOOT, MoveKind.SET_ASIDE: Act.SET_ASIDE}
#: Of a step back that names one of the two only: shots of each kind, and distance [m]; more shots are a distance.
_SHOTS, _FURTHER, _MOST_SHOTS = 3, 30 * 0.9144, 15.0


@dataclass(frozen=True, slots=True)
class Adviser:
    """Asks for advice before every act. ``part`` names what is left out of it for an ablation."""

    settings: BeliefSettings = THOROUGH
    part: Without = Without.NOTHING

    def choose(self, bench: Bench) -> Choice:
        """The one next move, with what was stated about it."""
        world = bench.world
        situation = Situation(
            world.archer,
            eyes(bench.history, self.part),
            heads_owned=world.truth.heads,
            shafts_owned=world.truth.shafts,
            safe_length=bench.safe_length,
        )
        with without(self.part):
            advice = advise(situation, ground_for(situation, self.settings))
            notes = _notes(advice, bench)
        return replace(choice_for(advice.move.move, advice.why), notes=notes)


def choice_for(move: Move, why: str) -> Choice:
    """What a person who takes the advice does at the bench; a word that asks for nothing to be done ends the hunt."""
    if move.kind in _PLAIN:
        return Choice(_PLAIN[move.kind], why=why)
    if move.kind in _COUNTED:
        return Choice(_COUNTED[move.kind], amount=round(move.amount), why=why, fletched=move.fletched)
    if move.kind is MoveKind.STEP_BACK:
        return _stepping_back(move, why)
    if move.after is not None and move.kind is not MoveKind.KEEP:
        return Choice(Act.CHANGE, after=move.after, why=f"{move.kind} ({why})")
    if move.kind is MoveKind.TURN_NOCK:
        return Choice(Act.SERIES, why=why)
    if move.kind is MoveKind.TECHNICIAN and why == "bow wrong":
        return Choice(Act.TECHNICIAN, why=why)
    return Choice(Act.STOP, why={"within": "tuned"}.get(why, why))


def _stepping_back(move: Move, why: str) -> Choice:
    """Shoot what stands from further away: ``amount`` is a distance [m] when it is too much for a number of shots."""
    distance = move.amount if move.amount > _MOST_SHOTS else _FURTHER
    shots = round(move.amount) if 0 < move.amount <= _MOST_SHOTS else _SHOTS
    return Choice(Act.SHOOT, amount=shots, why=why, distance=distance)


def _notes(advice: Advice, bench: Bench) -> Notes:
    """What was believed and stated: the present gap, the main cause, and the forecasts to be held against the truth."""
    diagnosis = advice.diagnosis
    reading = diagnosis.reading
    notes: Notes = {
        "believed": [round(v / INCH, 2) for v in diagnosis.gap.middle],
        "within": round(diagnosis.within, 3),
        "weak": round(diagnosis.weak, 3),
        "weak_by": [round(v / INCH, 2) for v in diagnosis.weak_by],
        "cause": str(diagnosis.causes[0].cause),
        "read": None if reading is None else [round(v / INCH, 2) for v in reading.gap],
        "stage": count_checkable(bench.history),
        "conflict": diagnosis.conflict,
        "spent": round(advice.spent, 4),
    }
    move = advice.move.move
    if move.after is not None and move.kind not in _UNFORECAST:
        notes["forecast"] = _interval(advice.move.gap)
        notes["short"] = round(advice.move.too_short, 4)
    cut = _half_inch(advice, bench.now)
    if cut is not None:
        notes["cut_setup"], notes["cut_forecast"] = cut[0], _interval(cut[1])
    return notes


def _interval(gap: Forecast) -> list[list[float]]:
    """Central 80 % of the true gap [m]: low and high of each plane."""
    return [list(gap.low), list(gap.high)]


def _half_inch(advice: Advice, now: Setup) -> tuple[Setup, Forecast] | None:
    """The setup after half an inch off with nothing else changed, and its forecast, whether it is allowed or not."""
    build = now.build
    throat, carbon = build.throat_length - 0.5 * INCH, build.carbon_length - 0.5 * INCH
    try:
        cut = replace(now, build=replace(build, throat_length=throat, carbon_length=carbon))
    except EquipmentError:
        return None
    weighed = next((w for w in (advice.move, *advice.others) if w.move.after == cut), None)
    if weighed is not None:
        return cut, weighed.gap
    if cut in advice.belief.ground.setups:  # refused, but thought through
        return cut, Forecast.of(advice.belief.gap(cut))
    return None
